import { beta } from '../shared/distributions.js';
import { refuse } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import { checkIntervalOptions } from '../shared/options.js';

/** The share of readings that agree, after each one. */
export interface CumulativeAgreement {
  readonly kind: 'cumulative-agreement';
  readonly steps: readonly {
    readonly readings: number;
    readonly agree: number;
    readonly share: number;
    readonly lower: number;
    readonly upper: number;
  }[];
  readonly notes: readonly Note[];
}

/**
 * Cumulative agreement of a trainee with an expert: after each reading, the share that are the same grade, with its exact interval.
 *
 * Clopper–Pearson: lower = Beta⁻¹(α/2; x, n − x + 1), upper = Beta⁻¹(1 − α/2; x + 1, n − x), x agreements among n readings. Each interval holds for one look; whoever looks after every reading
 * and stops when it pleases is surer than the interval allows. To decide, use `learningCurve`.
 *
 * Undefined: nothing. Missing values: a pair with `null` is passed over.
 *
 * @param pairs [trainee, expert] in order of reading. @throws InputError `bad-option`.
 * @example cumulativeAgreement([[3, 3], [2, 2]]).steps[1].lower // 0.1581
 * Source: Clopper CJ, Pearson ES. Biometrika 1934;26:404–413, doi:10.1093/biomet/26.4.404.
 */
export function cumulativeAgreement(
  pairs: readonly (readonly [trainee: number | string | null, expert: number | string | null])[],
  options: { readonly confidenceLevel?: number } = {},
): CumulativeAgreement {
  const { confidenceLevel } = checkIntervalOptions(options);
  const tail = (1 - confidenceLevel) / 2;
  let readings = 0;
  let agree = 0;
  const steps = pairs.flatMap((pair, at) => {
    if (pair.length !== 2)
      throw refuse('bad-option', ['pairs', at], 'A pair does not have two readings.', 'give [trainee, expert].');
    const [trainee, expert] = pair;
    if (trainee === null || expert === null) return [];
    readings++;
    if (trainee === expert) agree++;
    return [
      {
        readings,
        agree,
        share: agree / readings,
        lower: agree === 0 ? 0 : beta.quantile(tail, agree, readings - agree + 1),
        upper: agree === readings ? 1 : beta.quantile(1 - tail, agree + 1, readings - agree),
      },
    ];
  });
  return {
    kind: 'cumulative-agreement',
    steps,
    notes: [
      information('many-looks', 'Each interval holds for one look; looking after every reading makes one too sure.'),
    ],
  };
}

import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import { caution, type Note } from '../shared/note.js';
import { checkChoice, type IntervalOptions } from '../shared/options.js';
import type { Coefficient } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { kappaCoefficient } from './cohen-kappa.js';
import { alikeNote, undefinedNote } from './sparse-readings.js';
import { refuseMeasured, refuseUnknownAssessors } from './suitable-ratings.js';
import { agreementWeights, type Weights, weightsName } from './weights.js';

export interface LightKappaOptions extends IntervalOptions {
  /** Agreement weights. Default `'identity'` (unweighted). */
  readonly weights?: Weights;
  /**
   * `'pairwise'` (default): each pair of assessors is compared on the targets that both have read; `'listwise'`: only targets that
   * all have read enter.
   */
  readonly missing?: 'pairwise' | 'listwise';
}

/**
 * Light's kappa: the mean of Cohen's kappa over all pairs of assessors.
 *
 * κ = Σ_{g<h} κ_gh / (number of pairs), κ_gh as in `cohenKappa`.
 *
 * A pair whose kappa is not defined (both used one category throughout, or no target was read by both) is left out of the mean, and
 * a note says how many were. Undefined (`NaN` with a note) when no pair has a kappa. Missing values: see the option `missing`; a
 * target that no pair has read is counted as `excluded`.
 *
 * The asymptotic error is the delta method over targets, divisor n. `details`: pairs, undefinedPairs, lowestPair, highestPair.
 *
 * @param ratings two or more assessors, known by column.
 * @throws InputError `assessors-needed`, `unknown-choice`, `bad-weights`, `level-not-suited`, `bad-option`.
 * @example lightKappa(ratingsOf([[1, 1, 2], [2, 2, 2], [1, 1, 1], [1, 2, 2]])).value // 0.4
 * Source: Light RJ. Psychol Bull 1971;76:365–377, doi:10.1037/h0031643.
 */
export function lightKappa(ratings: Ratings, options: LightKappaOptions = {}): Estimate {
  const weights = options.weights ?? 'identity';
  const missing = options.missing ?? 'pairwise';
  const coefficient = lightCoefficient(ratings, { weights, missing });
  return coefficientEstimate(ratings, coefficient, options, {
    options: { weights, missing },
    details(totals) {
      const kappas = coefficient.pairs(totals);
      const defined = kappas.filter((kappa) => !Number.isNaN(kappa));
      return {
        pairs: kappas.length,
        undefinedPairs: kappas.length - defined.length,
        lowestPair: defined.length === 0 ? Number.NaN : Math.min(...defined),
        highestPair: defined.length === 0 ? Number.NaN : Math.max(...defined),
      };
    },
    notes: (value, totals) => [
      ...undefinedNote(value, coefficient.name),
      ...leftOutNote(coefficient.pairs(totals)),
      ...alikeNote(ratings),
    ],
  });
}

/** The coefficient behind `lightKappa`: the sums of `kappaCoefficient` for each pair of assessors, one after another. */
export function lightCoefficient(
  ratings: Ratings,
  options: Pick<LightKappaOptions, 'weights' | 'missing'>,
): Coefficient & { pairs(sums: Float64Array): number[] } {
  refuseMeasured(ratings, 'lightKappa');
  refuseUnknownAssessors(ratings, 'lightKappa');
  const missing = checkChoice('missing', options.missing ?? 'pairwise', ['pairwise', 'listwise']);
  const asked = options.weights ?? 'identity';
  const weights = agreementWeights(ratings, asked);
  const { columns, codes } = ratings;
  const pairs: Coefficient[] = [];
  for (let g = 0; g < columns; g++)
    for (let h = g + 1; h < columns; h++)
      pairs.push(kappaCoefficient(ratings.ofAssessors(ratings.assessors[g]!, ratings.assessors[h]!), weights, asked));
  const each = 1 + 2 * ratings.categories.length;
  const sumsOf = (sums: Float64Array, pair: number): Float64Array => sums.subarray(pair * each, (pair + 1) * each);
  const kappasOf = (sums: Float64Array): number[] => pairs.map((pair, at) => pair.value(sumsOf(sums, at)));
  return {
    name: asked === 'identity' ? 'Light kappa' : `Light kappa, ${weightsName(asked)} weights`,
    cells: pairs.length * each,
    scale: 'fisher',
    bootstrapForm: 'symmetric',
    asymptotic: 'normal, divisor n',
    asymptoticSource: 'delta method',
    add(target, sums, at) {
      if (missing === 'listwise') for (let g = 0; g < columns; g++) if (codes[target * columns + g]! < 0) return false;
      let entered = false;
      for (let pair = 0; pair < pairs.length; pair++)
        if (pairs[pair]!.add(target, sums, at + pair * each)) entered = true;
      return entered;
    },
    value(sums) {
      let sum = 0;
      let defined = 0;
      for (let pair = 0; pair < pairs.length; pair++) {
        const kappa = pairs[pair]!.value(sumsOf(sums, pair));
        if (Number.isNaN(kappa)) continue;
        sum += kappa;
        defined++;
      }
      return defined === 0 ? Number.NaN : sum / defined;
    },
    gradient(sums) {
      const kappas = kappasOf(sums);
      const defined = kappas.filter((kappa) => !Number.isNaN(kappa)).length;
      const result = new Float64Array(pairs.length * each);
      kappas.forEach((kappa, pair) => {
        if (Number.isNaN(kappa)) return;
        pairs[pair]!.gradient(sumsOf(sums, pair)).forEach((derivative, cell) => {
          result[pair * each + cell] = derivative / defined;
        });
      });
      return result;
    },
    pairs: kappasOf,
  };
}

function leftOutNote(kappas: readonly number[]): Note[] {
  const without = kappas.filter(Number.isNaN).length;
  if (without === 0 || without === kappas.length) return [];
  return [
    caution(
      'pairs-left-out',
      `${without} of ${kappas.length} pairs of assessors have no kappa (one category throughout, or no target in common) and are left out of the mean.`,
    ),
  ];
}

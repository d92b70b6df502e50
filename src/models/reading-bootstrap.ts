import { refuse } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';
import { DEFAULT_SEED, type LongWorkOptions } from '../shared/options.js';
import { seededRandom } from '../shared/random.js';
import { type LocatedClassFit, locatedClassFit } from './located-class-fit.js';
import { type PositionModelFit, type PositionModelOptions, positionModelFit } from './position-model-fit.js';
import { countsOf, type ReadingPatterns } from './reading-patterns.js';
import type { ReadingParameters } from './reading-probabilities.js';

export interface ReadingBootstrapOptions extends LongWorkOptions {
  /** Default 200. */
  readonly replicates?: number;
  readonly seed?: number;
  readonly spreads?: PositionModelOptions['spreads'];
  readonly priors?: PositionModelOptions['priors'];
}

/** One resampled study, fitted both ways. */
export interface ReadingDraw {
  readonly positions: ReadingParameters;
  readonly classes: {
    readonly reading: ReadingParameters;
    readonly locations: readonly number[];
    readonly shares: readonly number[];
  };
  /** How often each patient was drawn. */
  readonly patients: Int32Array;
  readonly converged: boolean;
}

export interface ReadingBootstrap {
  readonly kind: 'reading-bootstrap';
  readonly draws: readonly ReadingDraw[];
  readonly requested: number;
  readonly seed: number;
  readonly notes: readonly Note[];
}

/**
 * Both reading models refitted to studies made of patients drawn with replacement, all sites of a patient together, each fit started from the whole
 * study's. What depends on the reading model takes its uncertainty from these draws. Replicate r uses stream r of the seed, so the same
 * seed gives the same draws however many are asked for. Stopped by `signal`, it returns the draws made by then.
 *
 * @throws InputError `bad-option`.
 * @example
 * const { draws } = await readingBootstrap(patterns, continuum, classes, { replicates: 500, seed: 1 });
 *
 * Source: Davison AC, Hinkley DV. Bootstrap Methods and their Application. Cambridge 1997, section 3.8, doi:10.1017/CBO9780511802843.
 */
export async function readingBootstrap(
  patterns: ReadingPatterns,
  continuum: PositionModelFit,
  classes: LocatedClassFit,
  options: ReadingBootstrapOptions = {},
): Promise<ReadingBootstrap> {
  const requested = options.replicates ?? 200;
  const seed = options.seed ?? DEFAULT_SEED;
  if (!(Number.isInteger(requested) && requested >= 1))
    throw refuse('bad-option', ['options', 'replicates'], `replicates is ${requested}, not a whole number from 1.`);
  const draws: ReadingDraw[] = [];
  const shared = {
    ...(options.spreads === undefined ? {} : { spreads: options.spreads }),
    ...(options.priors === undefined ? {} : { priors: options.priors }),
    pointOnly: true,
  } as const;
  for (let replicate = 0; replicate < requested && options.signal?.aborted !== true; replicate++) {
    const random = seededRandom(seed, replicate);
    const patients = new Int32Array(patterns.clusters);
    for (let i = 0; i < patterns.clusters; i++) {
      const drawn = random.below(patterns.clusters);
      patients[drawn] = (patients[drawn] as number) + 1;
    }
    const counts = countsOf(patterns, patients);
    const own = positionModelFit(patterns, { ...shared, counts, start: continuum.reading });
    const located = locatedClassFit(patterns, { ...shared, counts, scale: own.reading, start: classes });
    draws.push({
      positions: own.reading,
      classes: { reading: located.reading, locations: located.locations, shares: located.shares },
      patients,
      converged: own.converged && located.converged,
    });
    options.progress?.((replicate + 1) / requested, `replicate ${replicate + 1} of ${requested}`);
    await new Promise((resolve) => setImmediate(resolve));
  }
  const failed = draws.filter(({ converged }) => !converged).length;
  return {
    kind: 'reading-bootstrap',
    draws,
    requested,
    seed,
    notes: [
      ...(draws.length < requested
        ? [caution('stopped-early', `${draws.length} of ${requested} replicates were made before it was stopped.`)]
        : []),
      ...(failed > 0
        ? [
            caution(
              'unconverged-replicates',
              `${failed} of ${draws.length} replicates did not converge; they are kept.`,
            ),
          ]
        : []),
    ],
  };
}

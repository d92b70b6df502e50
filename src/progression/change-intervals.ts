import type { MeasurementError } from '../measurement-error/measurement-error-of.js';
import { type ChangeModelFit, changeModelFit } from '../models/change-model.js';
import { readingBootstrap } from '../models/reading-bootstrap.js';
import type { Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';
import { checkIntervalOptions, type LongWorkOptions } from '../shared/options.js';
import { seededRandom } from '../shared/random.js';
import type { ChangeCalls, LimbChange } from './change-calls.js';
import { chancesOf, continuumWeight, LEAST_PAIRS, truthsOf } from './change-probability.js';

export interface ChangeIntervalOptions extends LongWorkOptions {
  /** Default 200. */
  readonly replicates?: number;
  readonly seed?: number;
  readonly confidenceLevel?: number;
}

/** The chance that the true grade of a limb-site changed, with what its estimate is worth. */
export interface ChangeInterval {
  readonly limb: LimbChange;
  /** Chance that the true grade rose or fell, kept within .05 and .95: beyond, no study of the usual size can vouch for it. */
  readonly changed: number;
  readonly interval: Interval;
}

export interface ChangeIntervals {
  readonly kind: 'change-intervals';
  readonly limbs: readonly ChangeInterval[];
  /** Share of limb-sites whose true grade rose or fell. */
  readonly share: { readonly value: number; readonly interval: Interval };
  readonly replicates: number;
  readonly seed: number;
  readonly notes: readonly Note[];
}

const LOWEST = 0.05;
const HIGHEST = 0.95;

/**
 * Intervals of the chances of change: the patients of the agreement study and the patients of the serial readings are drawn again with replacement, both models of reading and of change are refitted and weighted anew, and
 * each limb's chance is worked out anew. Draws of patients with too few limb-sites to learn from are made again. Percentiles of the replicates; the chance itself is the plug-in one, since averaging over replicates did not help in simulation.
 *
 * Long work: yields between replicates, reports progress, and keeps what it has when stopped.
 *
 * @throws InputError `no-chances` when the calls hold none, `bad-option`.
 * @example await changeIntervals(changeCalls(assessments, error), error, { replicates: 200, seed: 1 })
 * Source: Davison AC, Hinkley DV. Bootstrap Methods and their Application. Cambridge 1997, doi:10.1017/CBO9780511802843.
 */
export async function changeIntervals(
  calls: ChangeCalls,
  error: MeasurementError,
  options: ChangeIntervalOptions = {},
): Promise<ChangeIntervals> {
  const { fit } = calls;
  if (fit === undefined || error.kind !== 'grades' || error.reading === undefined)
    throw refuse('no-chances', ['calls'], 'These calls hold no chances of change; their notes say why.');
  const { seed, confidenceLevel } = checkIntervalOptions({
    ...(options.seed === undefined ? {} : { seed: options.seed }),
    ...(options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel }),
  });
  const requested = options.replicates ?? 200;
  const half = (share: number, words: string): void => options.progress?.(share / 2, words);
  const study = await readingBootstrap(error.reading.patterns, error.reading.continuum, error.reading.classes, {
    replicates: requested,
    seed,
    progress: half,
    ...(options.signal === undefined ? {} : { signal: options.signal }),
  });
  const { pairs } = fit;
  const withChance = calls.limbs.filter((limb) => limb.chance !== undefined);
  const pairsOfPatient = new Map<string, number[]>();
  withChance.forEach(({ series: { patient } }, at) => {
    pairsOfPatient.set(patient, [...(pairsOfPatient.get(patient) ?? []), pairs.pairOfTarget[at]!]);
  });
  const patients = [...pairsOfPatient.values()];
  const drawnChances: Float64Array[] = [];
  const shares: number[] = [];
  for (let replicate = 0; replicate < study.draws.length && options.signal?.aborted !== true; replicate++) {
    const draw = study.draws[replicate]!;
    const random = seededRandom(seed, 1_000_000 + replicate);
    const counts = new Float64Array(pairs.counts.length);
    for (let drawn = 0; drawn < LEAST_PAIRS; ) {
      counts.fill(0);
      for (const _ of patients) for (const pair of patients[random.below(patients.length)]!) counts[pair]!++;
      drawn = counts.reduce((sum, count) => sum + count, 0);
    }
    const truths = truthsOf(error.reading, { positions: draw.positions, classes: draw.classes });
    const continuum = changeModelFit(pairs, truths.continuum, { counts, start: fit.continuum.point, pointOnly: true });
    const classes = changeModelFit(pairs, truths.classes, { counts, start: fit.classes.point, pointOnly: true });
    drawnChances.push(Float64Array.from(chancesOf(pairs, continuum, classes), (chance) => 1 - chance.stayed));
    shares.push(changedShare(continuum, classes));
    options.progress?.(0.5 + (replicate + 1) / (2 * requested), `replicate ${replicate + 1} of ${requested}`);
    await new Promise((resolve) => setImmediate(resolve));
  }
  const method = `patients of study and visits drawn again, ${drawnChances.length} replicates, seed ${seed}`;
  const percentiles = (values: readonly number[]): Interval => {
    const sorted = [...values].sort((a, b) => a - b);
    const at = (p: number): number =>
      sorted[Math.min(sorted.length - 1, Math.max(0, Math.round(p * (sorted.length + 1)) - 1))] ?? Number.NaN;
    const tail = (1 - confidenceLevel) / 2;
    return { lower: at(tail), upper: at(1 - tail), level: confidenceLevel, method };
  };
  const kept = (value: number): number => Math.min(HIGHEST, Math.max(LOWEST, value));
  return {
    kind: 'change-intervals',
    limbs: withChance.map((limb, pair) => {
      const interval = percentiles(drawnChances.map((chances) => chances[pair]!));
      return {
        limb,
        changed: kept(1 - limb.chance!.stayed),
        interval: { ...interval, lower: kept(interval.lower), upper: kept(interval.upper) },
      };
    }),
    share: {
      value: changedShare(fit.continuum, fit.classes),
      interval: percentiles(shares),
    },
    replicates: drawnChances.length,
    seed,
    notes: [
      ...study.notes,
      ...(drawnChances.length < requested && study.draws.length === requested
        ? [
            caution(
              'stopped-early',
              `${drawnChances.length} of ${requested} replicates were made before it was stopped.`,
            ),
          ]
        : []),
      caution(
        'not-for-one-person',
        'A chance of change is about limbs read like this one. It is not for the decision about the person in front of you.',
      ),
    ],
  };
}

/** Share of limb-sites whose true grade rose or fell, both models weighted as in the chances. */
function changedShare(continuum: ChangeModelFit, classes: ChangeModelFit): number {
  const weight = continuumWeight(continuum, classes);
  return weight * (continuum.gradeRose + continuum.gradeFell) + (1 - weight) * (classes.gradeRose + classes.gradeFell);
}

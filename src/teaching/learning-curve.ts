import { refuse } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import { type BernoulliSteps, bernoulliRunLength, signalChances } from './bernoulli-run-length.js';

export interface LearningCurveOptions {
  /** Share of readings off the reference that is good enough, such as 0.1. */
  readonly acceptable: number;
  /** Share off that is not: whoever reads like this must rarely be called ready. */
  readonly unacceptable: number;
  /** Chance allowed that someone who reads at the unacceptable share is called ready within `readings`. Default 0.05. */
  readonly falselyReady?: number;
  /** Readings planned for one learner. Default 60. */
  readonly readings?: number;
}

/** One learner's readings, one after the other: shown to be good enough, or not enough readings yet. */
export interface LearningCurve {
  readonly kind: 'learning-curve';
  /** The sum after each reading; it grows with readings on the reference. */
  readonly path: readonly number[];
  readonly steps: BernoulliSteps;
  /** Place of the reading (from 1) at which it was shown; `undefined` so far. */
  readonly shownAt: number | undefined;
  readonly answer: 'shown to be good enough' | 'not enough readings yet';
  /** Exact: average readings until it is shown for one who reads at the acceptable share, and chances of being shown within the planned readings. */
  readonly design: {
    readonly averageReadings: number;
    readonly shownWithin: { readonly acceptable: number; readonly unacceptable: number };
  };
  readonly sentence: string;
}

/** Largest whole-number step; finer steps change the design less than one reading does. */
const LARGEST_STEP = 12;

/**
 * A learning curve: has a learner shown by now that readings are on the reference often enough?
 *
 * S₀ = 0, Sₜ = max(0, Sₜ₋₁ + w); for a reading on the reference w = ln((1 − a)/(1 − u)), for one off it w = ln(a/u), a the acceptable and u the unacceptable share
 * off. Both steps are taken in whole numbers of one unit in the nearest ratio, so that run lengths are exact. "Shown" at the least h for which
 * one who reads at u is falsely called ready within the planned readings with at most the chance allowed. It is never said that somebody has failed: without a signal
 * there are not enough readings yet.
 *
 * Undefined: nothing; an empty list is "not enough readings yet". Missing values: leave readings out that were not taken.
 *
 * @param off one entry a reading in order: `true` where it was off the reference.
 * @throws InputError `bad-option`.
 * @example learningCurve([false, false, true, false], { acceptable: 0.1, unacceptable: 0.3 }).answer // 'not enough readings yet'
 * Source: Biau DJ, Williams SM, Schlup MM, Nizard RS, Porcher R. Br J Surg 2008;95:925–929, doi:10.1002/bjs.6056 (DOI from memory); exact run lengths as `bernoulliRunLength`.
 */
export function learningCurve(off: readonly boolean[], options: LearningCurveOptions): LearningCurve {
  const { acceptable, unacceptable, falselyReady = 0.05, readings = 60 } = options;
  if (!(acceptable > 0 && acceptable < unacceptable && unacceptable < 1))
    throw refuse(
      'bad-option',
      ['options', 'acceptable'],
      `acceptable is ${acceptable} and unacceptable ${unacceptable}.`,
      'give fractions with 0 < acceptable < unacceptable < 1.',
    );
  if (!(falselyReady > 0 && falselyReady < 1))
    throw refuse(
      'bad-option',
      ['options', 'falselyReady'],
      `falselyReady is ${falselyReady}.`,
      'give a fraction between 0 and 1.',
    );
  if (!Number.isInteger(readings) || readings < 1 || readings > 2000)
    throw refuse(
      'bad-option',
      ['options', 'readings'],
      `readings is ${readings}.`,
      'give a whole number from 1 to 2000.',
    );
  const { success, failure } = wholeSteps(
    Math.log((1 - acceptable) / (1 - unacceptable)),
    Math.log(unacceptable / acceptable),
  );
  let decision = 1;
  while (falseChance(decision) > falselyReady) decision++;
  const steps = { failure: -failure, success, decision };
  let sum = 0;
  const path = off.map((isOff) => {
    sum = Math.max(0, sum + (isOff ? -failure : success));
    return sum;
  });
  const first = path.findIndex((value) => value >= decision);
  const good = bernoulliRunLength(steps, acceptable, readings);
  const shownAt = first < 0 ? undefined : first + 1;
  return {
    kind: 'learning-curve',
    path,
    steps,
    shownAt,
    answer: shownAt === undefined ? 'not enough readings yet' : 'shown to be good enough',
    design: {
      averageReadings: good.average,
      shownWithin: { acceptable: good.within[readings - 1]!, unacceptable: falseChance(decision) },
    },
    sentence:
      shownAt === undefined
        ? `${off.length === 0 ? 'Not' : `After ${countOfReadings(off.length)}: not`} enough readings yet. One who is off the reference in ${percent(acceptable)} needs about ${countOfReadings(Math.ceil(good.average))} to show it.`
        : `Shown after ${countOfReadings(shownAt)} to be off the reference less often than ${percent(unacceptable)}.`,
  };

  function falseChance(height: number): number {
    return signalChances({ failure: -failure, success, decision: height }, unacceptable, readings)[readings - 1]!;
  }
}

/** Two positive steps in the nearest ratio of whole numbers up to the largest step. */
function wholeSteps(success: number, failure: number): { success: number; failure: number } {
  let best = { success: 1, failure: 1, error: Number.POSITIVE_INFINITY };
  for (let up = 1; up <= LARGEST_STEP; up++) {
    const down = Math.max(1, Math.round((up * failure) / success));
    const error = Math.abs(Math.log(down / up / (failure / success)));
    if (error < best.error - 1e-12) best = { success: up, failure: down, error };
  }
  return best;
}

function countOfReadings(readings: number): string {
  return readings === 1 ? '1 reading' : `${readings} readings`;
}

function percent(share: number): string {
  return `${formatNumber(100 * share, 0)} %`;
}

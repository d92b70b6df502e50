import { refuse } from '../shared/input-error.js';

export interface CumulativeFailuresOptions {
  /** Acceptable and unacceptable share of failures. */
  readonly acceptable: number;
  readonly unacceptable: number;
  /** Chance of calling an acceptable share unacceptable. Default 0.1. */
  readonly alpha?: number;
  /** Chance of calling an unacceptable share acceptable. Default 0.1. */
  readonly beta?: number;
}

/** Failures summed against what is expected, with the lines of a sequential test. */
export interface CumulativeFailures {
  readonly kind: 'cumulative-failures';
  readonly path: readonly number[];
  /** Taken off for each success, and off the 1 of each failure. */
  readonly expected: number;
  /** Heights of the lines: the sum crosses h₀ downward (acceptable) or h₁ upward (unacceptable). */
  readonly lower: number;
  readonly upper: number;
  /** Places (from 0) at which a line was crossed, the sum being started afresh after each. */
  readonly crossedLower: readonly number[];
  readonly crossedUpper: readonly number[];
  readonly answer: 'acceptable' | 'unacceptable' | 'not enough readings yet';
}

/**
 * The cumulative sum of failures of a trainee with the lines of Wald's sequential test.
 *
 * P = ln(p₁/p₀), Q = ln((1 − p₀)/(1 − p₁)); a failure adds 1 − s, a success takes s off, s = Q/(P + Q). Lines h₀ = ln((1 − α)/β)/(P + Q) below and
 * h₁ = ln((1 − β)/α)/(P + Q) above; after a crossing the sum starts afresh there. p₀ is the acceptable and p₁ the unacceptable share. `answer` is that of the last line crossed.
 *
 * Undefined: nothing; before a crossing the answer is "not enough readings yet". Missing values: leave readings out that were not taken.
 *
 * @param failures one entry a reading in order.
 * @throws InputError `bad-option`.
 * @example cumulativeFailures([true], { acceptable: 0.1, unacceptable: 0.2 }).path[0] // 0.8548
 * Source: Kestin IG. Br J Anaesth 1995;75:805–809, doi:10.1093/bja/75.6.805; Bolsin S, Colson M. Int J Qual Health Care 2000;12:433–438, doi:10.1093/intqhc/12.5.433.
 */
export function cumulativeFailures(
  failures: readonly boolean[],
  options: CumulativeFailuresOptions,
): CumulativeFailures {
  const { acceptable, unacceptable, alpha = 0.1, beta = 0.1 } = options;
  if (!(acceptable > 0 && acceptable < unacceptable && unacceptable < 1))
    throw refuse(
      'bad-option',
      ['options', 'acceptable'],
      `acceptable is ${acceptable} and unacceptable ${unacceptable}.`,
      'give fractions with 0 < acceptable < unacceptable < 1.',
    );
  if (!(alpha > 0 && beta > 0 && alpha + beta < 1))
    throw refuse(
      'bad-option',
      ['options', 'alpha'],
      `alpha is ${alpha} and beta ${beta}.`,
      'give fractions above 0 whose sum is below 1.',
    );
  const p = Math.log(unacceptable / acceptable);
  const q = Math.log((1 - acceptable) / (1 - unacceptable));
  const expected = q / (p + q);
  const lower = Math.log((1 - alpha) / beta) / (p + q);
  const upper = Math.log((1 - beta) / alpha) / (p + q);
  const crossedLower: number[] = [];
  const crossedUpper: number[] = [];
  let sum = 0;
  let start = 0;
  const path = failures.map((failure, at) => {
    sum += failure ? 1 - expected : -expected;
    if (sum - start >= upper) {
      crossedUpper.push(at);
      start = sum;
    } else if (sum - start <= -lower) {
      crossedLower.push(at);
      start = sum;
    }
    return sum;
  });
  const [low, high] = [crossedLower.at(-1) ?? -1, crossedUpper.at(-1) ?? -1];
  return {
    kind: 'cumulative-failures',
    path,
    expected,
    lower,
    upper,
    crossedLower,
    crossedUpper,
    answer: low === high ? 'not enough readings yet' : low > high ? 'acceptable' : 'unacceptable',
  };
}

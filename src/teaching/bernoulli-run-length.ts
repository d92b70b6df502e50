import { solveGeneral } from '../models/linear-algebra.js';
import { InputError, type Problem } from '../shared/input-error.js';

/** Whole-number steps of a cumulative sum of yes/no readings that starts at 0 and is never below it. */
export interface BernoulliSteps {
  /** Added for a failure; below 0 where failures count against the signal. */
  readonly failure: number;
  readonly success: number;
  /** A signal is given at this sum or above. */
  readonly decision: number;
}

export interface BernoulliRunLength {
  /** Average number of readings to the signal. */
  readonly average: number;
  /** Chance of a signal within so many readings, for 1, 2, …, `readings`. */
  readonly within: Float64Array;
}

/**
 * Run length of a Bernoulli cumulative sum, exact: after how many readings does it signal, when each reading fails with chance p?
 *
 * S₀ = 0, Sₜ = max(0, Sₜ₋₁ + w), w the step of a failure or a success; a signal at Sₜ ≥ h. The sums 0 … h − 1 are the states of a Markov chain Q; the
 * average is the first entry of (I − Q)⁻¹ 1, and the chance of a signal within t readings is 1 − (Qᵗ1)₀.
 *
 * Undefined: where no signal can come (p = 0 or 1 against the steps) the average is Infinity. Missing values: none.
 *
 * @param failureRate 0 to 1. @param readings how far `within` goes; default 0.
 * @throws InputError `bad-steps` (no whole numbers, one not above and one not below 0, decision below 1), `bad-option`: all at once.
 * @example bernoulliRunLength({ failure: 4, success: -1, decision: 10 }, 0.1).average // 183.5999
 * Source: Reynolds MR, Stoumbos ZG. J Qual Technol 1999;31:87–108, doi:10.1080/00224065.1999.11979900 (DOI from memory).
 */
export function bernoulliRunLength(steps: BernoulliSteps, failureRate: number, readings = 0): BernoulliRunLength {
  check(steps, failureRate, readings);
  const { decision } = steps;
  const moves = movesOf(steps, failureRate);
  const matrix = new Float64Array(decision * decision);
  for (let from = 0; from < decision; from++) {
    matrix[from * decision + from]!++;
    for (const { step, chance } of moves) {
      const to = Math.max(0, from + step);
      if (to < decision) matrix[from * decision + to]! -= chance;
    }
  }
  const canSignal = moves.some(({ step, chance }) => step > 0 && chance > 0);
  const lengths = canSignal ? solveGeneral(matrix, decision, new Float64Array(decision).fill(1), 1) : undefined;
  return { average: lengths?.[0] ?? Number.POSITIVE_INFINITY, within: signalChances(steps, failureRate, readings) };
}

/** Chance of a signal within 1, 2, …, `readings` readings; the steps are not checked. */
export function signalChances(steps: BernoulliSteps, failureRate: number, readings: number): Float64Array {
  const { decision } = steps;
  const within = new Float64Array(readings);
  let state = new Float64Array(decision);
  state[0] = 1;
  let signaled = 0;
  for (let reading = 0; reading < readings; reading++) {
    const next = new Float64Array(decision);
    for (let from = 0; from < decision; from++)
      for (const { step, chance } of movesOf(steps, failureRate)) {
        const to = Math.max(0, from + step);
        if (to < decision) next[to]! += state[from]! * chance;
        else signaled += state[from]! * chance;
      }
    within[reading] = signaled;
    state = next;
  }
  return within;
}

function movesOf(steps: BernoulliSteps, failureRate: number): { step: number; chance: number }[] {
  return [
    { step: steps.failure, chance: failureRate },
    { step: steps.success, chance: 1 - failureRate },
  ];
}

function check({ failure, success, decision }: BernoulliSteps, failureRate: number, readings: number): void {
  const problems: Problem[] = [];
  const add = (path: string, message: string, expected: string): void => {
    problems.push({ code: path === 'steps' ? 'bad-steps' : 'bad-option', path: [path], message, expected });
  };
  if (![failure, success, decision].every(Number.isInteger) || decision < 1 || failure * success >= 0)
    add(
      'steps',
      `The steps are ${failure} and ${success}, the decision ${decision}.`,
      'whole numbers, one step above and one below 0, the decision 1 or more',
    );
  if (!(failureRate >= 0 && failureRate <= 1))
    add('failureRate', `failureRate is ${failureRate}.`, 'a fraction from 0 to 1');
  if (!Number.isInteger(readings) || readings < 0)
    add('readings', `readings is ${readings}.`, 'a whole number, 0 or more');
  if (problems.length > 0) throw new InputError(problems);
}

import { InputError, type Problem } from '../shared/input-error.js';
import { seededRandom } from '../shared/random.js';
import type { SerialReadings } from './chain-data.js';
import { checkModel, type HiddenMarkovModel } from './hidden-markov-model.js';

/** Who looks at whom and when, one row a reading, by subject and time. */
export interface VisitSchedule {
  readonly subject: ArrayLike<number>;
  readonly time: ArrayLike<number>;
  readonly reader?: ArrayLike<number>;
}

/** Simulated readings with the states behind them. */
export interface SimulatedReadings extends SerialReadings {
  readonly subject: Float64Array;
  readonly time: Float64Array;
  readonly reader: Int32Array;
  readonly category: Int32Array;
  /** The true state at each reading. */
  readonly state: Int32Array;
}

/**
 * Draws the course of hidden states in continuous time and the readings of it, by a schedule of visits.
 * A state holds for an exponential time with rate −q_rr and moves to s with probability q_rs/(−q_rr). Where the model
 * has an exact end, a subject that reaches it before its last visit gets one row at the exact time, and its later rows are gone;
 * otherwise the end is read like any other state. Covariates are not simulated.
 *
 * @throws InputError `bad-model`, `unequal-columns`, `unordered` (rows not by subject and time).
 * @example
 * simulateHiddenMarkov(model, { subject: [1, 1], time: [0, 1] }, { seed: 1 }).category; // two categories
 */
export function simulateHiddenMarkov(
  model: HiddenMarkovModel,
  schedule: VisitSchedule,
  options: { readonly seed?: number } = {},
): SimulatedReadings {
  checkModel(model);
  checkSchedule(schedule);
  const random = seededRandom(options.seed ?? 20260301);
  const pick = (shares: readonly number[], total: number): number => {
    let left = random.uniform() * total;
    for (let i = 0; i < shares.length; i++) {
      left -= shares[i] as number;
      if (left < 0) return i;
    }
    return shares.length - 1 - [...shares].reverse().findIndex((share) => share > 0);
  };
  const leaving = model.intensities.map((row, r) => row.reduce((sum, rate, s) => (s === r ? sum : sum + rate), 0));
  const subject: number[] = [];
  const time: number[] = [];
  const reader: number[] = [];
  const category: number[] = [];
  const states: number[] = [];
  let state = 0;
  let ended = false;
  for (let row = 0; row < schedule.subject.length; row++) {
    const who = schedule.subject[row] as number;
    const now = schedule.time[row] as number;
    if (row === 0 || who !== schedule.subject[row - 1]) {
      state = pick(model.initial, 1);
      ended = false;
    } else {
      if (ended) continue;
      let clock = schedule.time[row - 1] as number;
      for (;;) {
        const rate = leaving[state] as number;
        if (rate === 0) break;
        clock -= Math.log(1 - random.uniform()) / rate;
        if (clock > now) break;
        const here = state;
        state = pick(
          (model.intensities[here] as readonly number[]).map((q, s) => (s === here ? 0 : q)),
          rate,
        );
        if (state === model.exactEnd?.state) {
          subject.push(who);
          time.push(clock);
          reader.push(schedule.reader?.[row] ?? 0);
          category.push(model.exactEnd.category);
          states.push(state);
          ended = true;
          break;
        }
      }
      if (ended) continue;
    }
    const by = schedule.reader?.[row] ?? 0;
    subject.push(who);
    time.push(now);
    reader.push(by);
    category.push(pick(model.readings[by]?.[state] as readonly number[], 1));
    states.push(state);
  }
  return {
    subject: Float64Array.from(subject),
    time: Float64Array.from(time),
    reader: Int32Array.from(reader),
    category: Int32Array.from(category),
    state: Int32Array.from(states),
  };
}

function checkSchedule(schedule: VisitSchedule): void {
  const problems: Problem[] = [];
  const rows = schedule.subject.length;
  if (schedule.time.length !== rows || (schedule.reader !== undefined && schedule.reader.length !== rows))
    problems.push({
      code: 'unequal-columns',
      path: ['schedule'],
      message: 'The columns of the schedule differ in length.',
    });
  for (let row = 1; row < rows; row++)
    if (
      schedule.subject[row] === schedule.subject[row - 1] &&
      !((schedule.time[row] as number) >= (schedule.time[row - 1] as number))
    )
      problems.push({
        code: 'unordered',
        path: ['schedule', 'time', row],
        message: `time[${row}] is before the time above it, of the same subject.`,
        mend: 'order the rows by subject and time.',
      });
  if (problems.length > 0) throw new InputError(problems);
}

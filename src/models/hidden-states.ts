import type { SerialReadings } from './chain-data.js';
import type { ChainNumbers } from './forward-backward.js';
import { compileModel, type HiddenMarkovModel } from './hidden-markov-model.js';
import { refuseImpossible } from './intensities.js';

/** What serial readings say about the state at each visit. Rows of the matrices are visits, columns states. */
export interface HiddenStates {
  readonly kind: 'hidden-states';
  readonly states: number;
  /** Subject code and time of each visit, by subject and time. */
  readonly subject: Float64Array;
  readonly time: Float64Array;
  /** P(state | readings up to this visit), visits × states. */
  readonly filtered: Float64Array;
  /** P(state | all readings of the subject), visits × states. */
  readonly smoothed: Float64Array;
  /** The single most probable path as a whole; it need not hold the most probable state of each visit. */
  readonly mostProbablePath: Int32Array;
  /** For each subject: its code, ln P(readings), and ln P(readings and the most probable path). */
  readonly subjects: Float64Array;
  readonly logLikelihoods: Float64Array;
  readonly pathLogProbabilities: Float64Array;
}

/**
 * Filtered and smoothed probabilities of the hidden state at each visit, and the most probable path.
 * Filtered: α scaled to 1. Smoothed: γᵥ ∝ αᵥ βᵥ. Path: arg max of π(s₁) Π P(sᵥ | sᵥ₋₁) Π P(read | sᵥ) by Viterbi's
 * recursion on logarithms; the lower state wins a tie. An end at a known time is itself the state of its visit.
 *
 * @throws InputError as `hiddenMarkovLogLikelihood`; `impossible-change` where readings have probability 0.
 * @example
 * const { mostProbablePath } = hiddenStates(
 *   { subject: [1, 1, 1], time: [0, 1, 2], category: [0, 1, 0] },
 *   { intensities: [[0, 0.1], [0, 0]], initial: [1, 0], readings: [[[0.9, 0.1], [0.1, 0.9]]] },
 * ); // [0, 0, 0]: one stray reading is less surprising than a change and a misreading
 *
 * Source: Rabiner LR. Proc IEEE 1989;77:257–286, doi:10.1109/5.18626.
 */
export function hiddenStates(data: SerialReadings, model: HiddenMarkovModel): HiddenStates {
  const { compiled, likelihood, point, states } = compileModel(data, model);
  refuseImpossible(likelihood, point, compiled);
  const numbers = likelihood.numbersAt(point);
  const { starts, steps, readings } = compiled.chain;
  const visits = readings.length;
  const count = compiled.subjects.length;
  const endAt = compiled.signatures.map(({ kind }) => kind === 'end');
  const endState = model.exactEnd?.state ?? 0;
  const filtered = new Float64Array(visits * states);
  const smoothed = new Float64Array(visits * states);
  const path = new Int32Array(visits);
  const subject = new Float64Array(visits);
  const logLikelihoods = new Float64Array(count);
  const pathLogProbabilities = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const [from, to] = [starts[i] as number, starts[i + 1] as number];
    subject.fill(compiled.subjects[i] as number, from, to);
    logLikelihoods[i] = smooth(numbers, steps, readings, from, to, filtered, smoothed);
    pathLogProbabilities[i] = decode(numbers, steps, readings, from, to, path);
    // At an exact end the recursions hold the state just before it; the state of the visit is the end itself.
    if (endAt[readings[to - 1] as number] === true) {
      for (const matrix of [filtered, smoothed]) {
        matrix.fill(0, (to - 1) * states, to * states);
        matrix[(to - 1) * states + endState] = 1;
      }
      path[to - 1] = endState;
    }
  }
  return {
    kind: 'hidden-states',
    states,
    subject,
    time: Float64Array.from(compiled.visitRows, (row) => data.time[row] as number),
    filtered,
    smoothed,
    mostProbablePath: path,
    subjects: compiled.subjects,
    logLikelihoods,
    pathLogProbabilities,
  };
}

/** Fills one subject's rows of `filtered` and `smoothed`; returns ln P(readings). */
function smooth(
  numbers: ChainNumbers,
  steps: Int32Array,
  readings: Int32Array,
  from: number,
  to: number,
  filtered: Float64Array,
  smoothed: Float64Array,
): number {
  const { states, initial, transitions, logScale } = numbers;
  let logLikelihood = 0;
  for (let v = from; v < to; v++) {
    const reading = readings[v] as number;
    let total = 0;
    for (let s = 0; s < states; s++) {
      let entering = 0;
      if (v === from) entering = initial[s] as number;
      else
        for (let r = 0; r < states; r++)
          entering +=
            (filtered[(v - 1) * states + r] as number) *
            (transitions[((steps[v] as number) * states + r) * states + s] as number);
      const value = entering * (numbers.readings[reading * states + s] as number);
      filtered[v * states + s] = value;
      total += value;
    }
    for (let s = 0; s < states; s++) filtered[v * states + s] = (filtered[v * states + s] as number) / total;
    logLikelihood += Math.log(total) + (logScale[reading] as number);
  }
  const backward = new Float64Array(states).fill(1);
  for (let v = to - 1; v >= from; v--) {
    let total = 0;
    for (let s = 0; s < states; s++) {
      const value = (filtered[v * states + s] as number) * (backward[s] as number);
      smoothed[v * states + s] = value;
      total += value;
    }
    for (let s = 0; s < states; s++) smoothed[v * states + s] = (smoothed[v * states + s] as number) / total;
    if (v === from) break;
    const arriving = backward.map((b, s) => b * (numbers.readings[(readings[v] as number) * states + s] as number));
    let largest = 0;
    for (let r = 0; r < states; r++) {
      let sum = 0;
      for (let s = 0; s < states; s++)
        sum += (transitions[((steps[v] as number) * states + r) * states + s] as number) * (arriving[s] as number);
      backward[r] = sum;
      largest = Math.max(largest, sum);
    }
    for (let r = 0; r < states; r++) backward[r] = (backward[r] as number) / largest;
  }
  return logLikelihood;
}

/** Viterbi's recursion for one subject; returns the log-probability of the path with the readings. */
function decode(
  numbers: ChainNumbers,
  steps: Int32Array,
  readings: Int32Array,
  from: number,
  to: number,
  path: Int32Array,
): number {
  const { states, initial, transitions, logScale } = numbers;
  const cameFrom = new Int32Array((to - from) * states);
  let best = new Float64Array(states);
  for (let v = from; v < to; v++) {
    const reading = readings[v] as number;
    const next = new Float64Array(states);
    for (let s = 0; s < states; s++) {
      let highest = Number.NEGATIVE_INFINITY;
      if (v === from) highest = Math.log(initial[s] as number);
      else
        for (let r = 0; r < states; r++) {
          const value =
            (best[r] as number) + Math.log(transitions[((steps[v] as number) * states + r) * states + s] as number);
          if (value > highest) {
            highest = value;
            cameFrom[(v - from) * states + s] = r;
          }
        }
      next[s] = highest + Math.log(numbers.readings[reading * states + s] as number) + (logScale[reading] as number);
    }
    best = next;
  }
  let state = 0;
  for (let s = 1; s < states; s++) if ((best[s] as number) > (best[state] as number)) state = s;
  const logProbability = best[state] as number;
  for (let v = to - 1; v >= from; v--) {
    path[v] = state;
    state = cameFrom[(v - from) * states + state] as number;
  }
  return logProbability;
}

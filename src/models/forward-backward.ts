/**
 * Visits of many subjects, reduced to what a hidden chain's likelihood needs: which transition matrix
 * leads into a visit and which vector of reading probabilities belongs to it.
 */
export interface ChainData {
  /** Subject i owns visits `starts[i]` … `starts[i + 1] − 1`, in order of time; one more entry than subjects. */
  readonly starts: Int32Array;
  /** How often a subject counts (bootstrap counts, or several identical subjects written once). */
  readonly weights: Float64Array;
  /** For every visit but a subject's first: the index of the transition matrix that leads into it. −1 at the first. */
  readonly steps: Int32Array;
  /** For every visit: the index of its vector of reading probabilities. */
  readonly readings: Int32Array;
}

/** The chain's numbers at one set of parameters, matrices laid one behind the other, row by row. */
export interface ChainNumbers {
  readonly states: number;
  /** P(state at a subject's first visit); all ones makes the likelihood conditional on a first state seen without error. */
  readonly initial: Float64Array;
  readonly transitions: Float64Array;
  /** P(what was read | state); scaled freely by `logScale`. */
  readonly readings: Float64Array;
  /** Natural logarithm of the factor that was taken out of each vector of reading probabilities. */
  readonly logScale: Float64Array;
}

/**
 * Derivatives of the log-likelihood, added up over subjects. They are also expected counts: of being in a
 * state at a visit (`readings`), and, times P, of going from one state to another (`transitions`).
 */
export interface ChainSums {
  /** ∂ℓ/∂initial. */
  readonly initial: Float64Array;
  /** ∂ℓ/∂P, one matrix for each transition matrix. */
  readonly transitions: Float64Array;
  /** ∂ℓ/∂ln P(read | state) = expected visits in that state, for each vector of reading probabilities. */
  readonly readings: Float64Array;
}

/** Sums of the right sizes, all 0. */
export function emptySums(numbers: ChainNumbers): ChainSums {
  return {
    initial: new Float64Array(numbers.states),
    transitions: new Float64Array(numbers.transitions.length),
    readings: new Float64Array(numbers.readings.length),
  };
}

/**
 * Log-likelihood of a hidden Markov chain by the scaled forward recursion, and its derivatives by the backward one.
 * α₁ ∝ initial ∘ e₁, αᵥ ∝ (αᵥ₋₁ Pᵥ) ∘ eᵥ, each divided by its sum cᵥ; ℓ = Σ ln cᵥ. Nothing under- or overflows however long a history is.
 * −Infinity when a subject's readings are impossible under the numbers; `impossible` hears which subject.
 * Source: Rabiner LR. Proc IEEE 1989;77:257–286, doi:10.1109/5.18626.
 */
export function forwardBackward(
  data: ChainData,
  numbers: ChainNumbers,
  sums?: ChainSums,
  impossible?: (subject: number) => void,
): number {
  const { starts, weights, steps, readings } = data;
  const { states, transitions, initial, logScale } = numbers;
  const emission = numbers.readings;
  const size = states * states;
  let longest = 0;
  for (let i = 0; i + 1 < starts.length; i++)
    longest = Math.max(longest, (starts[i + 1] as number) - (starts[i] as number));
  const forward = new Float64Array(longest * states);
  const scales = new Float64Array(longest);
  let backward = new Float64Array(states);
  let earlier = new Float64Array(states);
  const entering = new Float64Array(states);
  let logLikelihood = 0;
  let correction = 0;

  for (let subject = 0; subject + 1 < starts.length; subject++) {
    const weight = weights[subject] as number;
    if (weight === 0) continue;
    const first = starts[subject] as number;
    const visits = (starts[subject + 1] as number) - first;
    let own = 0;
    let product = 1;
    for (let v = 0; v < visits; v++) {
      const reading = readings[first + v] as number;
      const e = reading * states;
      const row = v * states;
      let total = 0;
      if (v === 0) {
        for (let s = 0; s < states; s++) {
          const value = (initial[s] as number) * (emission[e + s] as number);
          forward[s] = value;
          total += value;
        }
      } else {
        const p = (steps[first + v] as number) * size;
        const before = row - states;
        for (let s = 0; s < states; s++) {
          let arriving = 0;
          for (let r = 0; r < states; r++)
            arriving += (forward[before + r] as number) * (transitions[p + r * states + s] as number);
          const value = arriving * (emission[e + s] as number);
          forward[row + s] = value;
          total += value;
        }
      }
      if (!(total > 0 && total < Number.POSITIVE_INFINITY)) {
        impossible?.(subject);
        return Number.isNaN(total) ? Number.NaN : Number.NEGATIVE_INFINITY;
      }
      for (let s = 0; s < states; s++) forward[row + s] = (forward[row + s] as number) / total;
      scales[v] = total;
      own += logScale[reading] as number;
      // One logarithm for many visits, as long as their product keeps its digits.
      if (total < 1e-100 || total > 1e100) own += Math.log(total);
      else product *= total;
      if (product < 1e-150 || product > 1e150) {
        own += Math.log(product);
        product = 1;
      }
    }
    own += Math.log(product);
    // Neumaier's correction: a hundred thousand subjects would otherwise cost digits that the optimizer needs.
    const added = weight * own;
    const next = logLikelihood + added;
    correction +=
      Math.abs(logLikelihood) >= Math.abs(added) ? logLikelihood - next + added : added - next + logLikelihood;
    logLikelihood = next;
    if (sums === undefined) continue;

    backward.fill(1);
    for (let v = visits - 1; v >= 0; v--) {
      const reading = readings[first + v] as number;
      const e = reading * states;
      const row = v * states;
      const scale = scales[v] as number;
      for (let s = 0; s < states; s++) {
        const at = e + s;
        const b = backward[s] as number;
        sums.readings[at] = (sums.readings[at] as number) + weight * (forward[row + s] as number) * b;
        entering[s] = ((emission[at] as number) * b) / scale;
      }
      if (v === 0) {
        for (let s = 0; s < states; s++)
          sums.initial[s] = (sums.initial[s] as number) + weight * (entering[s] as number);
        break;
      }
      const p = (steps[first + v] as number) * size;
      const before = row - states;
      for (let r = 0; r < states; r++) {
        const from = p + r * states;
        const mass = weight * (forward[before + r] as number);
        let sum = 0;
        for (let s = 0; s < states; s++) {
          const arriving = entering[s] as number;
          sum += (transitions[from + s] as number) * arriving;
          sums.transitions[from + s] = (sums.transitions[from + s] as number) + mass * arriving;
        }
        earlier[r] = sum;
      }
      [backward, earlier] = [earlier, backward];
    }
  }
  return logLikelihood + correction;
}

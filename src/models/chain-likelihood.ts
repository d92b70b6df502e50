import { refuse } from '../shared/input-error.js';
import type { CompiledReadings } from './chain-data.js';
import { type ChainNumbers, emptySums, forwardBackward } from './forward-backward.js';
import { type TransitionKernel, transitionKernel } from './transition-kernel.js';

/** Which changes of state are possible, and which of them share an intensity. */
export interface IntensityPattern {
  /** states × states, row by row: the group of q_rs, or −1 where the change cannot happen. */
  readonly groups: Int32Array;
  readonly count: number;
}

/** P(state at a subject's first visit). */
export type InitialPattern =
  | { readonly kind: 'fixed'; readonly probabilities: Float64Array }
  /** A probability for each group of states, shared equally inside it; group −1 has none. */
  | { readonly kind: 'free'; readonly groups: Int32Array; readonly count: number };

/** How states turn into readings. Probabilities are laid out at (reader · categories + category) · states + state. */
export interface ReadingLayer {
  readonly parameters: number;
  fill(parameters: Float64Array, table: Float64Array): void;
  /**
   * Adds ∂/∂parameters to `gradient`, from `counts` = ∂ℓ/∂ln P laid out as the table, and the derivative
   * of the penalty; returns the penalty, which is added to the log-likelihood.
   */
  pull(parameters: Float64Array, table: Float64Array, counts: Float64Array, gradient: Float64Array): number;
}

/** A layer without parameters: every row is a known state, or the table is given. */
export function fixedLayer(table: Float64Array): ReadingLayer {
  return {
    parameters: 0,
    fill: (_, out) => out.set(table),
    pull: () => 0,
  };
}

export interface ChainSpecification {
  readonly compiled: CompiledReadings;
  readonly states: number;
  /** reader · categories cells of the reading table. */
  readonly cells: number;
  readonly intensities: IntensityPattern;
  readonly initial: InitialPattern;
  readonly layer: ReadingLayer;
  readonly endState: number | undefined;
  /** ln q of each group ~ N(center, scale²), added to the penalty. Left out: no prior. */
  readonly ratePrior?: { readonly centers: ArrayLike<number>; readonly scale: number };
}

/**
 * Largest total rate × time that is still evaluated. Beyond it the states mix thousands of times between visits, P(t) no longer depends on the rates, and
 * rounding of eigenvalues (about 1e-16 of this) would begin to show.
 */
const FASTEST_MIXING = 1e6;

/** Where each kind of parameter stands in the vector: ln intensities, effects of covariates on them, ln odds of the first state, readings. */
export interface ParameterLayout {
  readonly size: number;
  /** ln q of group g at g. */
  readonly rates: number;
  /** Effect of covariate c on ln q of group g at `effects + c · groups + g`. */
  readonly effects: number;
  /** ln(π_g/π_0) of group g at `initial + g − 1`. */
  readonly initial: number;
  readonly readings: number;
}

export interface ChainEvaluation {
  readonly logLikelihood: number;
  readonly penalty: number;
  /** Of `logLikelihood + penalty`. */
  readonly gradient: Float64Array;
}

export interface ChainLikelihood {
  readonly layout: ParameterLayout;
  /** The log-likelihood with its gradient; `weights` replaces how often each subject counts. */
  evaluate(point: Float64Array, weights?: Float64Array): ChainEvaluation;
  /** The chain's numbers at a point, for decoding. */
  numbersAt(point: Float64Array): ChainNumbers;
  /** Q of a covariate pattern at a point. */
  intensitiesAt(point: Float64Array, pattern: readonly number[]): Float64Array;
  /** Throws `too-fast` where some state would be left more than a million times between two visits. */
  refuseTooFast(point: Float64Array): void;
  /** The first subject whose readings are impossible at a point. */
  impossibleSubject(point: Float64Array): number | undefined;
}

/**
 * Log-likelihood of a continuous-time Markov chain seen at irregular visits, directly or through
 * readings with error, as a function of one vector of parameters without bounds.
 * ℓ = Σ over subjects of ln Σ over paths of π(s₁) Π P(sᵥ | sᵥ₋₁; tᵥ − tᵥ₋₁) Π P(readings at v | sᵥ); an end at a known
 * time t enters as Σₛ P(s | sᵥ₋₁; t − tᵥ₋₁) q_{s,end}. ln q_rs(x) = ln q_rs + Σ β_rs x.
 * P(t) is made once for each distinct gap and combination of covariates, the product of reading
 * probabilities once for each distinct visit.
 */
export function chainLikelihood(specification: ChainSpecification): ChainLikelihood {
  const { compiled, states, cells, intensities, initial, layer, endState, ratePrior } = specification;
  const { chain, signatures, stepTimes, stepPatterns, patterns } = compiled;
  const size = states * states;
  const rates = 0;
  const effects = intensities.count;
  const initialAt = effects + intensities.count * compiled.covariateNames.length;
  const readingsAt = initialAt + (initial.kind === 'free' ? initial.count - 1 : 0);
  const layout: ParameterLayout = {
    size: readingsAt + layer.parameters,
    rates,
    effects,
    initial: initialAt,
    readings: readingsAt,
  };
  const table = new Float64Array(cells * states);
  const counts = new Float64Array(cells * states);
  const transitions = new Float64Array(stepTimes.length * size);
  const readings = new Float64Array(signatures.length * states);
  const logScale = new Float64Array(signatures.length);
  const first = new Float64Array(states);
  const numbers: ChainNumbers = { states, initial: first, transitions, readings, logScale };
  const sums = emptySums(numbers);
  // A pattern met only at last visits leads nowhere: its Q is never used, however extreme.
  const longest = new Float64Array(patterns.length).fill(-1);
  stepPatterns.forEach((pattern, step) => {
    longest[pattern] = Math.max(longest[pattern] as number, stepTimes[step] as number);
  });

  const intensitiesAt = (point: Float64Array, pattern: readonly number[]): Float64Array => {
    const q = new Float64Array(size);
    for (let r = 0; r < states; r++) {
      for (let s = 0; s < states; s++) {
        const group = intensities.groups[r * states + s] as number;
        if (group < 0) continue;
        let logRate = point[rates + group] as number;
        for (let c = 0; c < pattern.length; c++)
          logRate += (point[effects + c * intensities.count + group] as number) * (pattern[c] as number);
        const rate = Math.exp(logRate);
        q[r * states + s] = rate;
        q[r * states + r] = (q[r * states + r] as number) - rate;
      }
    }
    return q;
  };

  const fill = (
    point: Float64Array,
  ): { kernels: (TransitionKernel | undefined)[]; rateMatrices: Float64Array[] } | undefined => {
    const rateMatrices = patterns.map((pattern) => intensitiesAt(point, pattern));
    for (let p = 0; p < patterns.length; p++)
      for (let s = 0; s < states; s++)
        if ((longest[p] as number) >= 0) {
          const leaving = -((rateMatrices[p] as Float64Array)[s * states + s] as number);
          if (!(leaving * (longest[p] as number) <= FASTEST_MIXING)) return undefined;
        }
    const kernels = rateMatrices.map((q, p) => ((longest[p] as number) < 0 ? undefined : transitionKernel(q, states)));
    for (let k = 0; k < stepTimes.length; k++)
      kernels[stepPatterns[k] as number]?.probabilities(stepTimes[k] as number, transitions, k * size);

    if (initial.kind === 'fixed') first.set(initial.probabilities);
    else {
      const shares = softmax(point, initialAt, initial.count);
      first.fill(0);
      for (let s = 0; s < states; s++) {
        const group = initial.groups[s] as number;
        if (group >= 0)
          first[s] = (shares[group] as number) / initial.groups.reduce((n, g) => n + Number(g === group), 0);
      }
    }

    layer.fill(point.subarray(readingsAt), table);
    for (let m = 0; m < signatures.length; m++) {
      const signature = signatures[m] as (typeof signatures)[number];
      const at = m * states;
      if (signature.kind === 'end') {
        const q = rateMatrices[signature.pattern] as Float64Array;
        for (let s = 0; s < states; s++)
          readings[at + s] = s === endState ? 0 : (q[s * states + (endState ?? 0)] as number);
      } else {
        if (signature.possible === undefined) readings.fill(1, at, at + states);
        else {
          readings.fill(0, at, at + states);
          for (const state of signature.possible) readings[at + state] = 1;
        }
        for (const cell of signature.cells)
          for (let s = 0; s < states; s++)
            readings[at + s] = (readings[at + s] as number) * (table[cell * states + s] as number);
      }
      let largest = 0;
      for (let s = 0; s < states; s++) largest = Math.max(largest, readings[at + s] as number);
      logScale[m] = largest > 0 ? Math.log(largest) : 0;
      if (largest > 0) for (let s = 0; s < states; s++) readings[at + s] = (readings[at + s] as number) / largest;
    }
    return { kernels, rateMatrices };
  };

  const evaluate = (point: Float64Array, weights = chain.weights): ChainEvaluation => {
    const gradient = new Float64Array(layout.size);
    const filled = fill(point);
    if (filled === undefined) return { logLikelihood: Number.NEGATIVE_INFINITY, penalty: 0, gradient };
    const { kernels, rateMatrices } = filled;
    sums.initial.fill(0);
    sums.transitions.fill(0);
    sums.readings.fill(0);
    const logLikelihood = forwardBackward({ ...chain, weights }, numbers, sums);
    if (!Number.isFinite(logLikelihood)) return { logLikelihood, penalty: 0, gradient };

    for (let k = 0; k < stepTimes.length; k++)
      kernels[stepPatterns[k] as number]?.addWeights(stepTimes[k] as number, sums.transitions, k * size);
    counts.fill(0);
    const endings = patterns.map(() => new Float64Array(states));
    for (let m = 0; m < signatures.length; m++) {
      const signature = signatures[m] as (typeof signatures)[number];
      if (signature.kind === 'end') {
        const ending = endings[signature.pattern] as Float64Array;
        for (let s = 0; s < states; s++) ending[s] = (ending[s] as number) + (sums.readings[m * states + s] as number);
      } else {
        for (const cell of signature.cells)
          for (let s = 0; s < states; s++)
            counts[cell * states + s] =
              (counts[cell * states + s] as number) + (sums.readings[m * states + s] as number);
      }
    }
    for (let p = 0; p < patterns.length; p++) {
      const kernel = kernels[p];
      if (kernel === undefined) continue;
      const byEntry = kernel.takeGradient();
      const q = rateMatrices[p] as Float64Array;
      const pattern = patterns[p] as readonly number[];
      for (let r = 0; r < states; r++) {
        for (let s = 0; s < states; s++) {
          const group = intensities.groups[r * states + s] as number;
          if (group < 0) continue;
          let slope =
            (q[r * states + s] as number) * ((byEntry[r * states + s] as number) - (byEntry[r * states + r] as number));
          if (s === endState) slope += endings[p]?.[r] as number;
          gradient[rates + group] = (gradient[rates + group] as number) + slope;
          for (let c = 0; c < pattern.length; c++) {
            const at = effects + c * intensities.count + group;
            gradient[at] = (gradient[at] as number) + slope * (pattern[c] as number);
          }
        }
      }
    }
    if (initial.kind === 'free') {
      const shares = softmax(point, initialAt, initial.count);
      const expected = new Float64Array(initial.count);
      let total = 0;
      for (let s = 0; s < states; s++) {
        const group = initial.groups[s] as number;
        const visits = (sums.initial[s] as number) * (first[s] as number);
        total += visits;
        if (group >= 0) expected[group] = (expected[group] as number) + visits;
      }
      for (let g = 1; g < initial.count; g++)
        gradient[initialAt + g - 1] = (expected[g] as number) - total * (shares[g] as number);
    }
    let penalty = layer.pull(point.subarray(readingsAt), table, counts, gradient.subarray(readingsAt));
    if (ratePrior !== undefined)
      for (let g = 0; g < intensities.count; g++) {
        const away = ((point[rates + g] as number) - (ratePrior.centers[g] as number)) / ratePrior.scale;
        penalty -= 0.5 * away * away;
        gradient[rates + g] = (gradient[rates + g] as number) - away / ratePrior.scale;
      }
    return { logLikelihood, penalty, gradient };
  };

  return {
    layout,
    evaluate,
    intensitiesAt,
    numbersAt(point) {
      fill(point);
      return {
        states,
        initial: first.slice(),
        transitions: transitions.slice(),
        readings: readings.slice(),
        logScale: logScale.slice(),
      };
    },
    refuseTooFast(point) {
      if (fill(point) === undefined)
        throw refuse(
          'too-fast',
          ['intensities'],
          `Some state would be left more than ${FASTEST_MIXING.toExponential(0)} times between two visits, or an intensity is not finite.`,
          'state intensities per unit of the times given, and covariates near 0.',
        );
    },
    impossibleSubject(point) {
      let found: number | undefined;
      if (fill(point) !== undefined)
        forwardBackward(chain, numbers, undefined, (subject) => {
          found = subject;
        });
      return found;
    },
  };
}

/** Probabilities from ln odds against the first: 1, e^x₁, e^x₂, … divided by their sum. */
export function softmax(point: Float64Array, offset: number, count: number): Float64Array {
  const shares = new Float64Array(count);
  let largest = 0;
  for (let g = 1; g < count; g++) largest = Math.max(largest, point[offset + g - 1] as number);
  let total = 0;
  for (let g = 0; g < count; g++) {
    const share = Math.exp((g === 0 ? 0 : (point[offset + g - 1] as number)) - largest);
    shares[g] = share;
    total += share;
  }
  return shares.map((share) => share / total);
}

import { caution, type Note } from '../shared/note.js';
import type { ReadingLayer } from './chain-likelihood.js';
import { fillReadingProbabilities, type ReadingParameters, readingDerivatives } from './reading-probabilities.js';

/** Weak priors that keep tendencies, spreads and slips in range where the data say little. Positions have a standard deviation near 1. */
export interface ReadingPriors {
  /** bₐ ~ N(0, this²). Default 1. */
  readonly tendency: number;
  /** ln σₐ ~ N(ln center, scale²). Default center 0.5, scale 1. */
  readonly spreadCenter: number;
  readonly spreadScale: number;
  /** ε ~ Beta(a, b). Default a 1.5, b 20: most likely near .03, rarely above .2. */
  readonly slip: readonly [number, number];
}

export const WEAK_PRIORS: ReadingPriors = { tendency: 1, spreadCenter: 0.5, spreadScale: 1, slip: [1.5, 20] };

/** What the priors say, for a fit's list of assumptions. */
export function priorsInWords(priors: ReadingPriors): string {
  return (
    `Weak priors: tendencies N(0, ${priors.tendency}²), ln spreads N(ln ${priors.spreadCenter}, ${priors.spreadScale}²), ` +
    `slips Beta(${priors.slip[0]}, ${priors.slip[1]}).`
  );
}

/**
 * The reading parameters of a number of assessors as a vector without bounds: b of all but the last (whose tendency is minus
 * the sum of the others), ln σ of each or one for all, ln(ε/(1 − ε)).
 */
export interface ReadingVector {
  readonly size: number;
  /** Where ln σ begins; tendencies stand before. */
  readonly spreadsAt: number;
  readonly slipAt: number;
  readonly names: readonly string[];
  unpack(parameters: Float64Array): { tendencies: Float64Array; spreads: Float64Array; slip: number };
  pack(reading: Omit<ReadingParameters, 'cuts'>): Float64Array;
  /** Adds derivatives and those of the log-priors to `gradient`; returns the log-priors (without constants). */
  pull(
    parameters: Float64Array,
    derivatives: { readonly tendencies: Float64Array; readonly logSpreads: Float64Array; readonly slip: number },
    gradient: Float64Array,
  ): number;
  /** Prior variance of each entry, `NaN` for the slip. */
  readonly priorVariances: Float64Array;
  /** About the variance of each entry's estimate from so many targets: where a search begins its curvature; only how many steps it takes rests on it. */
  roughVariances(targets: number): number[];
}

export function readingVector(readers: number, commonSpread: boolean, priors: ReadingPriors): ReadingVector {
  const spreadsAt = readers - 1;
  const spreadCount = commonSpread ? 1 : readers;
  const slipAt = spreadsAt + spreadCount;
  const size = slipAt + 1;
  const unpack = (parameters: Float64Array): { tendencies: Float64Array; spreads: Float64Array; slip: number } => {
    const tendencies = new Float64Array(readers);
    let sum = 0;
    for (let a = 0; a < readers - 1; a++) {
      tendencies[a] = parameters[a] as number;
      sum += parameters[a] as number;
    }
    // Plain 0 rather than −0 for a single assessor.
    tendencies[readers - 1] = sum === 0 ? 0 : -sum;
    return {
      tendencies,
      spreads: Float64Array.from({ length: readers }, (_, a) =>
        Math.exp(parameters[spreadsAt + (commonSpread ? 0 : a)] as number),
      ),
      slip: 1 / (1 + Math.exp(-(parameters[slipAt] as number))),
    };
  };
  return {
    size,
    spreadsAt,
    slipAt,
    names: [
      ...Array.from({ length: readers - 1 }, (_, a) => `tendency of reader ${a}`),
      ...(commonSpread ? ['common spread'] : Array.from({ length: readers }, (_, a) => `spread of reader ${a}`)),
      'slip',
    ],
    unpack,
    pack({ tendencies, spreads, slip }) {
      const parameters = new Float64Array(size);
      let mean = 0;
      for (let a = 0; a < readers; a++) mean += (tendencies[a] as number) / readers;
      for (let a = 0; a < readers - 1; a++) parameters[a] = (tendencies[a] as number) - mean;
      if (commonSpread) {
        let sum = 0;
        for (let a = 0; a < readers; a++) sum += Math.log(spreads[a] as number);
        parameters[spreadsAt] = sum / readers;
      } else for (let a = 0; a < readers; a++) parameters[spreadsAt + a] = Math.log(spreads[a] as number);
      parameters[slipAt] = Math.log(slip / (1 - slip));
      return parameters;
    },
    pull(parameters, derivatives, gradient) {
      const { tendencies, slip } = unpack(parameters);
      let penalty = 0;
      const byTendency = tendencies.map((b, a) => {
        penalty -= 0.5 * (b / priors.tendency) ** 2;
        return (derivatives.tendencies[a] as number) - b / priors.tendency ** 2;
      });
      for (let a = 0; a < readers - 1; a++)
        gradient[a] = (gradient[a] as number) + (byTendency[a] as number) - (byTendency[readers - 1] as number);
      for (let a = 0; a < readers; a++) {
        const at = spreadsAt + (commonSpread ? 0 : a);
        gradient[at] = (gradient[at] as number) + (derivatives.logSpreads[a] as number);
      }
      for (let s = 0; s < spreadCount; s++) {
        const away = ((parameters[spreadsAt + s] as number) - Math.log(priors.spreadCenter)) / priors.spreadScale;
        penalty -= 0.5 * away * away;
        gradient[spreadsAt + s] = (gradient[spreadsAt + s] as number) - away / priors.spreadScale;
      }
      const [a, b] = priors.slip;
      penalty += (a - 1) * Math.log(slip) + (b - 1) * Math.log(1 - slip);
      gradient[slipAt] =
        (gradient[slipAt] as number) + derivatives.slip * slip * (1 - slip) + (a - 1) * (1 - slip) - (b - 1) * slip;
      return penalty;
    },
    priorVariances: Float64Array.from({ length: size }, (_, i) =>
      i < spreadsAt ? priors.tendency ** 2 : i < slipAt ? priors.spreadScale ** 2 : Number.NaN,
    ),
    roughVariances: (targets) =>
      Array.from({ length: size }, (_, i) => (i < spreadsAt ? 0.3 / targets : i < slipAt ? 2 / targets : 0.5)),
  };
}

/** Reading probabilities of states at known positions, with cuts known and tendencies, spreads and slip free. States past the positions are never read. */
export function positionLayer(
  vector: ReadingVector,
  cuts: ArrayLike<number>,
  positions: ArrayLike<number>,
  readers: number,
  states: number,
  categories: number,
): ReadingLayer {
  const grades = cuts.length + 1;
  const places = positions.length;
  const inner = new Float64Array(readers * grades * places);
  const innerCounts = new Float64Array(inner.length);
  const parametersOf = (parameters: Float64Array): ReadingParameters => ({ cuts, ...vector.unpack(parameters) });
  return {
    parameters: vector.size,
    fill(parameters, table) {
      fillReadingProbabilities(parametersOf(parameters), positions, inner);
      spread(inner, table, readers, grades, places, categories, states);
    },
    pull(parameters, _table, counts, gradient) {
      for (let a = 0; a < readers; a++)
        for (let k = 0; k < grades; k++)
          for (let i = 0; i < places; i++)
            innerCounts[(a * grades + k) * places + i] = counts[(a * categories + k) * states + i] as number;
      fillReadingProbabilities(parametersOf(parameters), positions, inner);
      return vector.pull(
        parameters,
        readingDerivatives(parametersOf(parameters), positions, inner, innerCounts),
        gradient,
      );
    },
  };
}

/** Copies probabilities of grades at positions into a table with more categories and states, which stay 0. */
function spread(
  inner: Float64Array,
  table: Float64Array,
  readers: number,
  grades: number,
  places: number,
  categories: number,
  states: number,
): void {
  table.fill(0);
  for (let a = 0; a < readers; a++)
    for (let k = 0; k < grades; k++)
      for (let i = 0; i < places; i++)
        table[(a * categories + k) * states + i] = inner[(a * grades + k) * places + i] as number;
}

/** A caution for each reading parameter whose variance is more than half its prior's. */
export function leaningOnPriors(
  names: readonly string[],
  priorVariances: Float64Array,
  covariance: Float64Array,
  offset: number,
  size: number,
): Note[] {
  return names.flatMap((name, i) =>
    (covariance[(offset + i) * (size + 1)] as number) > 0.5 * (priorVariances[i] as number)
      ? [caution('leans-on-prior', `The readings say little about the ${name}: its estimate leans on the weak prior.`)]
      : [],
  );
}

/** x₁, x₁ + e^x₂, x₁ + e^x₂ + e^x₃, … */
export function risingNumbers(parameters: Float64Array, count: number): Float64Array {
  const numbers = new Float64Array(count);
  for (let k = 0; k < count; k++)
    numbers[k] = k === 0 ? (parameters[0] as number) : (numbers[k - 1] as number) + Math.exp(parameters[k] as number);
  return numbers;
}

/** The parameters of `risingNumbers` from the numbers. */
export function risingParameters(numbers: ArrayLike<number>): number[] {
  return Array.from(numbers, (value, k) => (k === 0 ? value : Math.log(value - (numbers[k - 1] as number))));
}

/** Adds derivatives by the rising numbers to those by their parameters. */
export function addRisingDerivatives(
  parameters: Float64Array,
  derivatives: Float64Array,
  gradient: Float64Array,
): void {
  let sum = 0;
  for (let k = derivatives.length - 1; k >= 0; k--) {
    sum += derivatives[k] as number;
    gradient[k] = (gradient[k] as number) + (k === 0 ? sum : sum * Math.exp(parameters[k] as number));
  }
}

import type { Ratings } from '../ratings/ratings.js';
import type { Coefficient } from './coefficient.js';
import { disagreements } from './weights.js';

/**
 * How targets with unequal numbers of readings count.
 * `'target-averaged'`: every target read twice or more weighs the same, and each target, also one read once, gives its
 * shares of the categories to the prevalences. `'pair-weighted'`: every pair of readings weighs the same, and each reading
 * counts once in the prevalences. `'pairs-only'`: as the first, but only targets read twice or more give prevalences.
 */
export type Counting = 'target-averaged' | 'pair-weighted' | 'pairs-only';

/** Chance disagreement, 1 less chance agreement, from the prevalences π₁ … π_q of the categories, and its derivatives by each of them. */
export interface Chance {
  of(prevalences: Float64Array): number;
  derivatives(prevalences: Float64Array): Float64Array;
}

export interface PrevalenceCorrectedFields {
  readonly name: string;
  readonly weights: Float64Array;
  readonly chance: Chance;
  readonly counting: Counting;
  readonly asymptotic: Coefficient['asymptotic'];
  readonly asymptoticSource: string;
  readonly bootstrapForm: Coefficient['bootstrapForm'];
}

/** A coefficient (pₐ − pₑ) / (1 − pₑ) with its two parts. */
export interface ChanceCorrected extends Coefficient {
  parts(sums: Float64Array): { observedAgreement: number; expectedAgreement: number };
}

/**
 * What Fleiss, Scott, Brennan–Prediger and Gwet share: agreement of pairs of readings against a chance that depends on the
 * pooled prevalences alone. Sums: disagreement (1 less agreement, so that no digits are lost where nearly all agree), its denominator, then q shares or counts of the categories.
 *
 * The published error of target-averaged coefficients (Gwet 2008) writes the coefficient as a mean over all n targets, in which one read
 * once gives 0 and the others n/n₂ times their share, n₂ (targets read twice) taken as fixed; with gaps it differs a little
 * from the full linearization.
 */
export function prevalenceCorrected(ratings: Ratings, fields: PrevalenceCorrectedFields): ChanceCorrected {
  const { weights, chance, counting } = fields;
  const size = ratings.categories.length;
  const { codes, columns } = ratings;
  const shares = 2;
  const apart = disagreements(weights);
  const pi = new Float64Array(size);
  const prevalences = (sums: Float64Array): { total: number; pi: Float64Array } => {
    let total = 0;
    for (let k = 0; k < size; k++) total += sums[shares + k]!;
    for (let k = 0; k < size; k++) pi[k] = sums[shares + k]! / total;
    return { total, pi };
  };
  const gradient = (sums: Float64Array, pairedFixed: boolean): Float64Array => {
    const { total } = prevalences(sums);
    const observedApart = sums[0]! / sums[1]!;
    const room = chance.of(pi);
    const byChance = chance.derivatives(pi);
    const byRoom = observedApart / (room * room);
    let mean = 0;
    for (let k = 0; k < size; k++) mean += pi[k]! * byChance[k]!;
    const result = new Float64Array(shares + size);
    result[0] = -1 / (sums[1]! * room);
    result[1] = (pairedFixed ? room : observedApart) / (sums[1]! * room);
    const perTarget = pairedFixed ? (room - observedApart) / (room * total) : 0;
    for (let k = 0; k < size; k++) result[shares + k] = (byRoom * (byChance[k]! - mean)) / total - perTarget;
    return result;
  };
  return {
    name: fields.name,
    cells: shares + size,
    scale: 'fisher',
    bootstrapForm: fields.bootstrapForm,
    asymptotic: fields.asymptotic,
    asymptoticSource: fields.asymptoticSource,
    add(target, sums, at) {
      const from = target * columns;
      let readings = 0;
      let disagreement = 0;
      for (let i = 0; i < columns; i++) {
        const a = codes[from + i]!;
        if (a < 0) continue;
        readings++;
        for (let j = 0; j < i; j++) {
          const b = codes[from + j]!;
          if (b >= 0) disagreement += 2 * apart[a * size + b]!;
        }
      }
      if (readings < (counting === 'pairs-only' ? 2 : 1)) return false;
      const pairs = readings * (readings - 1);
      if (pairs > 0) {
        sums[at]! += counting === 'pair-weighted' ? disagreement : disagreement / pairs;
        sums[at + 1]! += counting === 'pair-weighted' ? pairs : 1;
      }
      const share = counting === 'pair-weighted' ? 1 : 1 / readings;
      for (let i = 0; i < columns; i++) {
        const a = codes[from + i]!;
        if (a >= 0) sums[at + shares + a]! += share;
      }
      return true;
    },
    value(sums) {
      prevalences(sums);
      const room = chance.of(pi);
      return room > 1e-12 ? (room - sums[0]! / sums[1]!) / room : Number.NaN;
    },
    gradient: (sums) => gradient(sums, false),
    ...(counting === 'target-averaged' ? { publishedGradient: (sums) => gradient(sums, true) } : {}),
    parts(sums) {
      prevalences(sums);
      return { observedAgreement: 1 - sums[0]! / sums[1]!, expectedAgreement: 1 - chance.of(pi) };
    },
  };
}

/** How far two readings drawn from the pooled prevalences disagree: Σ (1 − wₖₗ) πₖ πₗ (Scott, Fleiss). */
export function drawnFromPrevalences(weights: Float64Array, size: number): Chance {
  const apart = disagreements(weights);
  const toOthers = (pi: Float64Array, k: number): number => {
    let sum = 0;
    for (let l = 0; l < size; l++) sum += apart[k * size + l]! * pi[l]!;
    return sum;
  };
  return {
    of(pi) {
      let sum = 0;
      for (let k = 0; k < size; k++) sum += pi[k]! * toOthers(pi, k);
      return sum;
    },
    derivatives: (pi) => pi.map((_, k) => 2 * toOthers(pi, k)),
  };
}

/** The sum of all weights, T in the chance terms of Gwet and of Brennan and Prediger. */
export function sumOfWeights(weights: Float64Array): number {
  let sum = 0;
  for (const weight of weights) sum += weight;
  return sum;
}

/** Targets that were read at least twice, and whether every one of them was read the same number of times. */
export function readTwice(ratings: Ratings): { targets: number; readingsEach: number } {
  let targets = 0;
  let each = Number.NaN;
  let equal = true;
  for (let target = 0; target < ratings.targets; target++) {
    let readings = 0;
    for (let column = 0; column < ratings.columns; column++)
      if (ratings.codes[target * ratings.columns + column]! >= 0) readings++;
    if (readings === 0) continue;
    if (Number.isNaN(each)) each = readings;
    else if (readings !== each) equal = false;
    if (readings >= 2) targets++;
  }
  return { targets, readingsEach: equal ? each : Number.NaN };
}

import type { Ratings } from '../ratings/ratings.js';
import { refuse } from '../shared/input-error.js';
import { information } from '../shared/note.js';
import { type Coefficient, clusterSums } from './coefficient.js';
import { readingsOfTarget } from './measured-numbers.js';
import { SPREAD_SHAPE, type Spread } from './spread-estimate.js';
import { restrictedSums } from './two-way-restricted.js';
import { isComplete, twoWaySums } from './two-way-table.js';

/** s = √(sum of squares / degrees of freedom), both of which add up over targets. */
function pooled(name: string, add: Coefficient['add']): Coefficient {
  return {
    ...SPREAD_SHAPE,
    name,
    cells: 2,
    add,
    value: (sums) => (sums[1] === 0 ? Number.NaN : Math.sqrt(sums[0]! / sums[1]!)),
    gradient(sums) {
      const spread = Math.sqrt(sums[0]! / sums[1]!);
      return Float64Array.of(1 / (2 * spread * sums[1]!), -spread / (2 * sums[1]!));
    },
  };
}

/** Adds squares about their mean and the degrees of freedom; `false` for fewer than two numbers. */
function addSquares(numbers: readonly number[], sums: Float64Array, at: number): boolean {
  if (numbers.length < 2) return false;
  // Off the first number, which is exact where all lie close together far from 0.
  const first = numbers[0]!;
  let mean = 0;
  let squares = 0;
  numbers.forEach((number, before) => {
    const x = number - first;
    const off = x - mean;
    mean += off / (before + 1);
    squares += off * (x - mean);
  });
  sums[at]! += squares;
  sums[at + 1]! += numbers.length - 1;
  return true;
}

function numbersOfTarget(ratings: Ratings, target: number): number[] {
  const from = target * ratings.columns;
  return [...ratings.numbers.subarray(from, from + ratings.columns)].filter((x) => !Number.isNaN(x));
}

/**
 * Readings of one target about the target's mean: √(Σₜ Σᵢ (xₜᵢ − x̄ₜ)² / Σₜ (mₜ − 1)), mₜ readings of target t. Between assessors on complete
 * data this is √(assessor variance + residual variance) of the two-way table, exactly, and the χ² law has Satterthwaite's degrees of
 * freedom for any assessors; for repeats of one assessor they are Σ (mₜ − 1).
 */
export function spreadAboutTargets(ratings: Ratings, name: string, columnsAre: 'assessors' | 'repeats'): Spread {
  const coefficient = pooled(name, (target, sums, at) => addSquares(numbersOfTarget(ratings, target), sums, at));
  const { totals } = clusterSums(ratings, coefficient);
  return {
    coefficient,
    degrees: columnsAre === 'assessors' ? degreesAcrossAssessors(ratings, totals[1]!) : totals[1]!,
    readings: readingsTwice(ratings),
  };
}

/** Satterthwaite for (MSₐ + (n − 1)MSₑ)/n, assessors taken as a sample; with gaps the plain degrees of freedom. */
function degreesAcrossAssessors(ratings: Ratings, plain: number): number {
  if (ratings.columns < 2 || !isComplete(ratings)) return plain;
  const sums = twoWaySums(ratings);
  const totals = new Float64Array(sums.cells);
  for (let target = 0; target < ratings.targets; target++) sums.add(target, totals, 0);
  const { targets: n, assessors: k, assessorMeanSquare, residualMeanSquare, withinMeanSquare } = sums.table(totals);
  const ofAssessors = assessorMeanSquare / n;
  const ofResidual = ((n - 1) * residualMeanSquare) / n;
  return withinMeanSquare ** 2 / (ofAssessors ** 2 / (k - 1) + ofResidual ** 2 / ((n - 1) * (k - 1)));
}

/** Readings with the assessors' steady differences left out: √MSₑ of the two-way table; with gaps by restricted maximum likelihood. */
export function spreadOfResiduals(ratings: Ratings, name: string): Spread {
  if (ratings.columns < 2)
    throw refuse('two-assessors-needed', ['ratings'], `The ${name} needs at least two columns of readings.`);
  const complete = isComplete(ratings);
  const sums = complete ? twoWaySums(ratings) : restrictedSums(ratings);
  const coefficient: Coefficient = {
    ...SPREAD_SHAPE,
    name,
    cells: sums.cells,
    add: sums.add,
    value: (totals) => Math.sqrt(sums.components(totals).residual),
    gradient(totals) {
      if (sums.derivatives === undefined) return new Float64Array(totals.length).fill(Number.NaN);
      const { components, by } = sums.derivatives(totals);
      return by.residual.map((derivative) => derivative / (2 * Math.sqrt(components.residual)));
    },
  };
  const { targets } = clusterSums(ratings, coefficient);
  return {
    coefficient,
    degrees: complete ? (targets - 1) * (ratings.columns - 1) : undefined,
    readings: ratings.readings,
    notes: complete
      ? []
      : [
          information(
            'gaps',
            'Some readings are absent: the variance is estimated by restricted maximum likelihood, which takes gaps as unrelated to the readings.',
          ),
        ],
  };
}

/** Repeat readings by one assessor about their mean, over all assessors: √(Σ squares / Σ (m − 1)), m readings of a target by one assessor. */
export function spreadOfRepeats(ratings: Ratings, name: string): Spread {
  const byTarget = new Map<number, Map<number, number[]>>();
  for (const { target, assessor, number } of ratings.repeats) {
    if (Number.isNaN(number)) continue;
    const own = byTarget.get(target) ?? new Map<number, number[]>();
    byTarget.set(target, own);
    own.set(assessor, [...(own.get(assessor) ?? []), number]);
  }
  let readings = 0;
  for (const [target, own] of byTarget)
    for (const [assessor, numbers] of own) {
      const first = ratings.numbers[target * ratings.columns + assessor]!;
      if (!Number.isNaN(first)) numbers.unshift(first);
      if (numbers.length > 1) readings += numbers.length;
    }
  const coefficient = pooled(name, (target, sums, at) => {
    let entered = false;
    for (const numbers of byTarget.get(target)?.values() ?? []) entered = addSquares(numbers, sums, at) || entered;
    return entered;
  });
  return { coefficient, degrees: clusterSums(ratings, coefficient).totals[1]!, readings };
}

/**
 * A first reading by one assessor and a repeat by another: ½ the mean squared difference, square root taken. With `habitsOut` each
 * ordered pair of assessors has its own mean difference, which is left out: √(Σ (Σd² − (Σd)²/n) / 2Σ(n − 1)) over pairs with n differences.
 * Sums per ordered pair of assessors: n, Σd, Σd².
 */
export function spreadAcrossRepeats(ratings: Ratings, name: string, habitsOut: boolean): Spread {
  const k = ratings.columns;
  const repeats = ratings.repeats.filter(({ number }) => !Number.isNaN(number));
  const repeatsOf = new Map<number, { assessor: number; number: number }[]>();
  for (const { target, assessor, number } of repeats)
    repeatsOf.set(target, [...(repeatsOf.get(target) ?? []), { assessor, number }]);
  const parts = (sums: Float64Array): { squares: number; degrees: number } => {
    let squares = 0;
    let degrees = 0;
    for (let at = 0; at < sums.length; at += 3) {
      const n = sums[at]!;
      if (n === 0) continue;
      squares += sums[at + 2]! - (habitsOut ? sums[at + 1]! ** 2 / n : 0);
      degrees += 2 * (n - (habitsOut ? 1 : 0));
    }
    return { squares, degrees };
  };
  const coefficient: Coefficient = {
    ...SPREAD_SHAPE,
    name,
    cells: 3 * k * k,
    add(target, sums, at) {
      let entered = false;
      for (const { assessor, number } of repeatsOf.get(target) ?? [])
        for (let first = 0; first < k; first++) {
          const d = number - ratings.numbers[target * k + first]!;
          if (first === assessor || Number.isNaN(d)) continue;
          const own = at + 3 * (first * k + assessor);
          sums[own]!++;
          sums[own + 1]! += d;
          sums[own + 2]! += d * d;
          entered = true;
        }
      return entered;
    },
    value(sums) {
      const { squares, degrees } = parts(sums);
      return degrees > 0 ? Math.sqrt(Math.max(0, squares) / degrees) : Number.NaN;
    },
    gradient(sums) {
      // n for n − 1, so that doubling all sums changes nothing.
      const { squares } = parts(sums);
      let pairs = 0;
      for (let at = 0; at < sums.length; at += 3) pairs += sums[at]!;
      const spread = Math.sqrt(squares / (2 * pairs));
      return sums.map((_, cell) => {
        const at = cell - (cell % 3);
        const mean = habitsOut && sums[at]! > 0 ? sums[at + 1]! / sums[at]! : 0;
        const bySquares = [mean * mean, -2 * mean, 1][cell % 3]!;
        const byPairs = cell % 3 === 0 ? 1 : 0;
        return (bySquares - (squares / pairs) * byPairs) / (4 * pairs * spread);
      });
    },
  };
  return { coefficient, degrees: undefined, readings: readingsTwice(ratings) + repeats.length };
}

/** Readings of targets that were read at least twice. */
function readingsTwice(ratings: Ratings): number {
  let readings = 0;
  for (let target = 0; target < ratings.targets; target++) {
    const m = readingsOfTarget(ratings, target);
    if (m > 1) readings += m;
  }
  return readings;
}

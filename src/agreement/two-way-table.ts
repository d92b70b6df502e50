import type { Ratings } from '../ratings/ratings.js';
import { readingsOfTarget } from './measured-numbers.js';

/*
 * Two-way analysis of variance (targets × assessors, one reading a cell, no gaps) on sums that add up over targets: n, Σ rₜ²,
 * Σ squares about rₜ, and each assessor's total, all of d = x − (the assessor's mean), rₜ the mean of d over a target. Taking
 * off each assessor's own mean keeps offsets and habits out of the squares; the habits are put back where they count.
 */

const TARGETS = 0;
const MEANS_SQUARED = 1;
const WITHIN = 2;
const FIRST_TOTAL = 3;

export interface TwoWayTable {
  readonly targets: number;
  readonly assessors: number;
  readonly targetMeanSquare: number;
  readonly assessorMeanSquare: number;
  readonly residualMeanSquare: number;
  /** Of readings within targets, assessors and residual together. */
  readonly withinMeanSquare: number;
}

export interface TwoWaySums {
  readonly cells: number;
  add(target: number, sums: Float64Array, at: number): boolean;
  table(sums: Float64Array): TwoWayTable;
  components(sums: Float64Array): TwoWayComponents;
  /** The components with n for n − 1, so that doubling all sums changes nothing, and their derivatives by each sum. */
  derivatives(sums: Float64Array): {
    readonly components: TwoWayComponents;
    readonly by: Readonly<Record<keyof TwoWayComponents, Float64Array>>;
  };
}

/** Variances of the model reading = mean + target + assessor + residual. */
export interface TwoWayComponents {
  readonly target: number;
  readonly assessor: number;
  readonly residual: number;
}

/** Whether every assessor read every target that anybody read. */
export function isComplete(ratings: Ratings): boolean {
  for (let target = 0; target < ratings.targets; target++) {
    const m = readingsOfTarget(ratings, target);
    if (m > 0 && m < ratings.columns) return false;
  }
  return true;
}

export function twoWaySums(ratings: Ratings): TwoWaySums {
  const k = ratings.columns;
  const enters = (target: number): boolean => readingsOfTarget(ratings, target) === k;
  const habit = assessorMeans(ratings, enters);
  let habitMean = 0;
  for (const mean of habit) habitMean += mean / k;
  const cells = FIRST_TOTAL + k;

  const squares = (sums: Float64Array) => {
    const n = sums[TARGETS]!;
    let all = 0;
    for (let j = 0; j < k; j++) all += sums[FIRST_TOTAL + j]!;
    const grand = all / (n * k);
    let drift = 0;
    let habits = 0;
    for (let j = 0; j < k; j++) {
      const own = sums[FIRST_TOTAL + j]! / n - grand;
      drift += own * own;
      habits += (habit[j]! - habitMean + own) ** 2;
    }
    return {
      n,
      grand,
      drift,
      habits,
      target: k * (sums[MEANS_SQUARED]! - n * grand * grand),
      residual: Math.max(0, sums[WITHIN]! - n * drift),
    };
  };
  const table = (sums: Float64Array): TwoWayTable => {
    const { n, habits, target, residual } = squares(sums);
    return {
      targets: n,
      assessors: k,
      targetMeanSquare: target / (n - 1),
      assessorMeanSquare: (n * habits) / (k - 1),
      residualMeanSquare: residual / ((n - 1) * (k - 1)),
      withinMeanSquare: (n * habits + residual) / (n * (k - 1)),
    };
  };
  return {
    cells,
    table,
    add(target, sums, at) {
      if (!enters(target)) return false;
      const from = target * k;
      let mean = 0;
      for (let j = 0; j < k; j++) mean += (ratings.numbers[from + j]! - habit[j]!) / k;
      for (let j = 0; j < k; j++) {
        const d = ratings.numbers[from + j]! - habit[j]!;
        sums[at + WITHIN]! += (d - mean) ** 2;
        sums[at + FIRST_TOTAL + j]! += d;
      }
      sums[at + TARGETS]!++;
      sums[at + MEANS_SQUARED]! += mean * mean;
      return true;
    },
    components(sums) {
      const { targets, targetMeanSquare, assessorMeanSquare, residualMeanSquare } = table(sums);
      return {
        target: (targetMeanSquare - residualMeanSquare) / k,
        assessor: (assessorMeanSquare - residualMeanSquare) / targets,
        residual: residualMeanSquare,
      };
    },
    derivatives(sums) {
      const { n, grand, drift, habits, target, residual } = squares(sums);
      const residualVariance = residual / (n * (k - 1));
      const by = {
        target: new Float64Array(cells),
        assessor: new Float64Array(cells),
        residual: new Float64Array(cells),
      };
      by.residual[TARGETS] = (drift - residual / n) / (n * (k - 1));
      by.residual[WITHIN] = 1 / (n * (k - 1));
      by.target[TARGETS] = (grand * grand - target / (k * n)) / n;
      by.target[MEANS_SQUARED] = 1 / n;
      for (let j = 0; j < k; j++) {
        const own = sums[FIRST_TOTAL + j]! / n;
        const apart = habit[j]! - habitMean + own - grand;
        by.residual[FIRST_TOTAL + j] = (-2 * (own - grand)) / (n * (k - 1));
        by.target[FIRST_TOTAL + j] = (-2 * grand) / (n * k);
        by.assessor[FIRST_TOTAL + j] = (2 * apart) / (n * (k - 1));
        by.assessor[TARGETS]! -= (2 * apart * own) / (n * (k - 1));
      }
      for (let cell = 0; cell < cells; cell++) by.target[cell]! -= by.residual[cell]! / k;
      return {
        components: {
          target: target / (k * n) - residualVariance / k,
          assessor: habits / (k - 1),
          residual: residualVariance,
        },
        by,
      };
    },
  };
}

/** The share of the variance that lies between targets; with `agreement` steady differences between assessors count in the whole. */
export function targetShare({ target, assessor, residual }: TwoWayComponents, agreement: boolean): number {
  return target / (target + (agreement ? assessor : 0) + residual);
}

/** Derivatives by each sum of the target share, with n for n − 1. */
export function targetShareGradient(sums: TwoWaySums, totals: Float64Array, agreement: boolean): Float64Array {
  const { components, by } = sums.derivatives(totals);
  const rest = components.residual + (agreement ? components.assessor : 0);
  const all = (components.target + rest) ** 2;
  return by.target.map((byTarget, cell) => {
    const byRest = by.residual[cell]! + (agreement ? by.assessor[cell]! : 0);
    return (rest * byTarget - components.target * byRest) / all;
  });
}

function assessorMeans(ratings: Ratings, enters: (target: number) => boolean): Float64Array {
  const means = new Float64Array(ratings.columns);
  let n = 0;
  for (let target = 0; target < ratings.targets; target++) {
    if (!enters(target)) continue;
    n++;
    for (let j = 0; j < ratings.columns; j++)
      means[j]! += (ratings.numbers[target * ratings.columns + j]! - means[j]!) / n;
  }
  return means;
}

import type { Ratings } from '../ratings/ratings.js';
import { studentT } from '../shared/distributions.js';
import { Estimate } from '../shared/estimate.js';
import type { IntervalOptions } from '../shared/options.js';
import { type Coefficient, clusterSums } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { centerOfNumbers } from './measured-numbers.js';

export interface ProportionalBias {
  readonly estimate: Estimate;
  /** Of the difference at a mean of 0. */
  readonly intercept: number;
  /** Two-sided, of a slope of 0, by ordinary least squares on independent targets; `NaN` where patients have several. */
  readonly pValue: number;
}

/**
 * Proportional bias: the slope of the difference of two readings (first less second) on their mean, by ordinary least squares.
 * Sums: n, Σa, Σd, Σa², Σad, Σd² of centered means a and differences d. First readings only.
 * Source: Bland JM, Altman DG. Stat Methods Med Res 1999;8:135–160, doi:10.1177/096228029900800204.
 */
export function proportionalBias(pair: Ratings, options: IntervalOptions): ProportionalBias {
  const center = centerOfNumbers(pair, () => true);
  const coefficient: Coefficient = {
    name: 'proportional bias',
    cells: 6,
    scale: 'plain',
    bootstrapForm: 'equal-tailed',
    asymptotic: 't, divisor n − 1',
    asymptoticSource: 'least squares',
    add(target, sums, at) {
      const x = pair.numbers[2 * target]! - center;
      const y = pair.numbers[2 * target + 1]! - center;
      if (Number.isNaN(x) || Number.isNaN(y)) return false;
      const a = (x + y) / 2;
      const d = x - y;
      [1, a, d, a * a, a * d, d * d].forEach((term, cell) => {
        sums[at + cell]! += term;
      });
      return true;
    },
    value(sums) {
      const { squares, products } = lineOf(sums);
      return squares > 1e-12 * sums[3]! ? products / squares : Number.NaN;
    },
    gradient(sums) {
      const { squares, products } = lineOf(sums);
      const n = sums[0]!;
      const [a, d] = [sums[1]! / n, sums[2]! / n];
      const slope = products / squares;
      return Float64Array.of(a * d - slope * a * a, -d + 2 * slope * a, -a, -slope, 1, 0).map((term) => term / squares);
    },
  };
  const made = coefficientEstimate(pair, coefficient, options, { options: {}, ratingsPerTarget: 2 });
  const { totals, targets: n, clusters } = clusterSums(pair, coefficient);
  const { squares, products, differenceSquares } = lineOf(totals);
  const slope = made.value;
  const intercept = totals[2]! / n - slope * (totals[1]! / n + center);
  const standardError = Math.sqrt(Math.max(0, differenceSquares - slope * products) / (n - 2) / squares);
  const pValue = clusters < n ? Number.NaN : 2 * studentT.upper(Math.abs(slope / standardError), n - 2);
  if (options.interval !== 'asymptotic' || !(n > 2)) return { estimate: made, intercept, pValue };
  const { level } = made.interval;
  const reach = studentT.quantile((1 + level) / 2, n - 2) * standardError;
  return {
    estimate: new Estimate({
      ...made,
      standardError,
      interval: { lower: slope - reach, upper: slope + reach, level, method: 't, targets taken as independent' },
    }),
    intercept,
    pValue,
  };
}

function lineOf(sums: Float64Array): { squares: number; products: number; differenceSquares: number } {
  const n = sums[0]!;
  return {
    squares: sums[3]! - (sums[1]! * sums[1]!) / n,
    products: sums[4]! - (sums[1]! * sums[2]!) / n,
    differenceSquares: sums[5]! - (sums[2]! * sums[2]!) / n,
  };
}

import type { Ratings } from '../ratings/ratings.js';
import { centerOfNumbers } from './measured-numbers.js';

/*
 * One-way analysis of variance (readings within targets) on sums that add up over targets. Numbers are taken off their
 * mean first and squares within a target are summed about the target's own mean, so that large offsets do no harm.
 */

/** Places in the sums. */
const TARGETS = 0;
const READINGS = 1;
const TOTAL = 2;
const BETWEEN = 3;
const WITHIN = 4;
const SQUARED_SIZES = 5;
export const ONE_WAY_CELLS = 6;

export interface OneWayTable {
  readonly targets: number;
  readonly readings: number;
  readonly betweenMeanSquare: number;
  readonly withinMeanSquare: number;
  readonly betweenDegrees: number;
  readonly withinDegrees: number;
  /** Readings a target that count for the components: n₀ = (N − Σ mₜ² / N) / (n − 1); the common number where all have as many. */
  readonly effectiveReadings: number;
  readonly betweenVariance: number;
}

/** Adds a target's share: how many readings, their total, total²/m, squares about the target's mean, m². */
export function oneWayAdder(ratings: Ratings): (target: number, sums: Float64Array, at: number) => boolean {
  const center = centerOfNumbers(ratings, () => true);
  return (target, sums, at) => {
    let m = 0;
    let mean = 0;
    let squares = 0;
    for (let column = 0; column < ratings.columns; column++) {
      const x = ratings.numbers[target * ratings.columns + column]! - center;
      if (Number.isNaN(x)) continue;
      m++;
      const off = x - mean;
      mean += off / m;
      squares += off * (x - mean);
    }
    if (m === 0) return false;
    sums[at + TARGETS]!++;
    sums[at + READINGS]! += m;
    sums[at + TOTAL]! += m * mean;
    sums[at + BETWEEN]! += m * mean * mean;
    sums[at + WITHIN]! += squares;
    sums[at + SQUARED_SIZES]! += m * m;
    return true;
  };
}

export function oneWayTable(sums: Float64Array): OneWayTable {
  const targets = sums[TARGETS]!;
  const readings = sums[READINGS]!;
  const betweenDegrees = targets - 1;
  const withinDegrees = readings - targets;
  const betweenMeanSquare = (sums[BETWEEN]! - sums[TOTAL]! ** 2 / readings) / betweenDegrees;
  const withinMeanSquare = sums[WITHIN]! / withinDegrees;
  const effectiveReadings = (readings - sums[SQUARED_SIZES]! / readings) / betweenDegrees;
  return {
    targets,
    readings,
    betweenMeanSquare,
    withinMeanSquare,
    betweenDegrees,
    withinDegrees,
    effectiveReadings,
    betweenVariance: (betweenMeanSquare - withinMeanSquare) / effectiveReadings,
  };
}

/** Between and within variance with n for n − 1, so that doubling all sums changes nothing, and their derivatives by each sum. */
export function oneWayDerivatives(sums: Float64Array): {
  between: number;
  within: number;
  byBetween: Float64Array;
  byWithin: Float64Array;
} {
  const targets = sums[TARGETS]!;
  const readings = sums[READINGS]!;
  const mean = sums[TOTAL]! / readings;
  const spare = readings - targets;
  const within = sums[WITHIN]! / spare;
  const squares = sums[BETWEEN]! - mean * sums[TOTAL]!;
  // (squares/n − within) / (N/n) = squares/N − within · n/N
  const between = squares / readings - (within * targets) / readings;
  const byWithin = Float64Array.of(within / spare, -within / spare, 0, 0, 1 / spare, 0);
  const byBetween = Float64Array.of(
    -within / readings,
    (mean * mean) / readings - squares / readings ** 2 + (within * targets) / readings ** 2,
    (-2 * mean) / readings,
    1 / readings,
    0,
    0,
  );
  for (let cell = 0; cell < ONE_WAY_CELLS; cell++) byBetween[cell]! -= (byWithin[cell]! * targets) / readings;
  return { between, within, byBetween, byWithin };
}

import type { Coefficient } from '../agreement/coefficient.js';
import type { Ratings } from '../ratings/ratings.js';

/**
 * The standard deviation of readings of one target, as a coefficient on the interval mechanism:
 * s = √(Σₜ Σᵢ (xₜᵢ − x̄ₜ)² / Σₜ (mₜ − 1)), mₜ readings of target t. Sums: squares within targets, degrees of freedom.
 * On balanced data this is √(assessor variance + residual variance) of the two-way table, exactly.
 */
export function withinTargetSpread(ratings: Ratings, name: string): Coefficient {
  return {
    name,
    cells: 2,
    scale: 'log',
    bootstrapForm: 'equal-tailed',
    asymptotic: 'normal, divisor n',
    asymptoticSource: 'delta method',
    add(target, sums, at) {
      let m = 0;
      let mean = 0;
      let squares = 0;
      for (let column = 0; column < ratings.columns; column++) {
        const x = ratings.numbers[target * ratings.columns + column]!;
        if (Number.isNaN(x)) continue;
        m++;
        const off = x - mean;
        mean += off / m;
        squares += off * (x - mean);
      }
      if (m < 2) return false;
      sums[at]! += squares;
      sums[at + 1]! += m - 1;
      return true;
    },
    value: (sums) => (sums[1] === 0 ? Number.NaN : Math.sqrt(sums[0]! / sums[1]!)),
    gradient(sums) {
      const spread = Math.sqrt(sums[0]! / sums[1]!);
      return Float64Array.of(1 / (2 * spread * sums[1]!), -spread / (2 * sums[1]!));
    },
  };
}

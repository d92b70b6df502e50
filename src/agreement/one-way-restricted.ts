import type { Ratings } from '../ratings/ratings.js';
import { centerOfNumbers, readingsOfTarget } from './measured-numbers.js';

/*
 * Restricted maximum likelihood of the one-way model, number = mean + group + residual, for groups of different sizes, on sums that
 * add up over groups. `linearMixedModel` fits the same model to rows and is the check on this one.
 *
 * With ρ = between/residual variance and groups of m numbers with totals T, gₘ of them: s = Σ m gₘ/(1 + mρ), h = Σ T/(1 + mρ),
 * S = W + Σ (T²/m)/(1 + mρ) − h²/s; criterion (N − 1) ln S + Σ gₘ ln(1 + mρ) + ln s, residual variance S/(N − 1), mean h/s.
 */

/** What is known of the groups of one size. */
export interface GroupsOfSize {
  readonly size: number;
  readonly groups: number;
  /** Σ T. */
  readonly total: number;
  /** Σ T²/m. */
  readonly squares: number;
}

export interface OneWayFit {
  readonly mean: number;
  readonly between: number;
  readonly within: number;
}

/** Readings within targets as such sums: squares within, then per size of target Σ 1, Σ T, Σ T²/m of numbers off their mean. */
export function oneWayRestrictedSums(ratings: Ratings): {
  readonly cells: number;
  add(target: number, sums: Float64Array, at: number): boolean;
  fit(sums: Float64Array): OneWayFit;
} {
  const center = centerOfNumbers(ratings, () => true);
  const found = new Set<number>();
  for (let target = 0; target < ratings.targets; target++) found.add(readingsOfTarget(ratings, target));
  found.delete(0);
  const sizes = [...found].sort((a, b) => a - b);
  return {
    cells: 1 + 3 * sizes.length,
    add(target, sums, at) {
      const m = readingsOfTarget(ratings, target);
      if (m === 0) return false;
      const from = target * ratings.columns;
      const numbers = ratings.numbers.subarray(from, from + ratings.columns).filter((x) => !Number.isNaN(x));
      let total = 0;
      for (const x of numbers) total += x - center;
      for (const x of numbers) sums[at]! += (x - center - total / m) ** 2;
      const own = at + 1 + 3 * sizes.indexOf(m);
      sums[own]!++;
      sums[own + 1]! += total;
      sums[own + 2]! += (total * total) / m;
      return true;
    },
    fit(sums) {
      const bySize = sizes.map((size, at) => ({
        size,
        groups: sums[1 + 3 * at]!,
        total: sums[2 + 3 * at]!,
        squares: sums[3 + 3 * at]!,
      }));
      const { mean, ...variances } = oneWayRestricted(bySize, sums[0]!);
      return { mean: center + mean, ...variances };
    },
  };
}

/** The widest ln(1 + m̄ρ) searched: between variance 10¹³ times the residual's. */
const FARTHEST = 30;

export function oneWayRestricted(bySize: readonly GroupsOfSize[], within: number): OneWayFit {
  let numbers = 0;
  let groups = 0;
  for (const { size, groups: count } of bySize) {
    numbers += size * count;
    groups += count;
  }
  if (groups < 2 || numbers <= groups) return { mean: Number.NaN, between: Number.NaN, within: Number.NaN };
  const meanSize = numbers / groups;
  const at = (eta: number): { criterion: number; slope: number; squares: number; mean: number; rho: number } => {
    const rho = Math.expm1(eta) / meanSize;
    let s = 0;
    let h = 0;
    let q = within;
    let logs = 0;
    let sBy = 0;
    let hBy = 0;
    let qBy = 0;
    let logsBy = 0;
    for (const { size, groups: count, total, squares } of bySize) {
      const shrink = 1 + size * rho;
      s += (size * count) / shrink;
      h += total / shrink;
      q += squares / shrink;
      logs += count * Math.log(shrink);
      sBy -= (size * size * count) / shrink ** 2;
      hBy -= (size * total) / shrink ** 2;
      qBy -= (size * squares) / shrink ** 2;
      logsBy += (size * count) / shrink;
    }
    const left = q - (h * h) / s;
    const leftBy = qBy - (2 * h * hBy) / s + (h * h * sBy) / (s * s);
    return {
      criterion: (numbers - 1) * Math.log(left) + logs + Math.log(s),
      slope: (((numbers - 1) * leftBy) / left + logsBy + sBy / s) * (1 / meanSize + rho),
      squares: left,
      mean: h / s,
      rho,
    };
  };
  // The best of a coarse grid, then the root of the derivative beside it: several maxima do no harm.
  let best = 0;
  let least = Number.POSITIVE_INFINITY;
  for (let eta = 0; eta <= FARTHEST; eta += 0.5) {
    const { criterion } = at(eta);
    if (criterion < least) {
      least = criterion;
      best = eta;
    }
  }
  let low = Math.max(0, best - 0.5);
  let high = best + 0.5;
  if (at(low).slope < 0) {
    for (let turn = 0; turn < 60 && high - low > 1e-15 * high; turn++) {
      const middle = (low + high) / 2;
      if (at(middle).slope < 0) low = middle;
      else high = middle;
    }
  } else high = low;
  const { squares, mean, rho } = at((low + high) / 2);
  const residual = squares / (numbers - 1);
  return { mean, between: rho * residual, within: residual };
}

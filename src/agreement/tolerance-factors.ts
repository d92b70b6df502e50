import { chiSquare, lnGamma, normal } from '../shared/distributions.js';

/*
 * Exact factors of normal tolerance limits, mean ± k·s of n independent normal numbers, which are what exact intervals for limits of
 * agreement rest on. Both probabilities are integrals of analytic functions that die off on either side, for which the trapezoid
 * rule converges faster than any power of its step.
 */

/**
 * One-sided factor: mean + k·s lies above the `content` quantile with probability `confidence`. k√n is the `confidence` quantile of
 * the noncentral t distribution with n − 1 degrees of freedom and noncentrality √n·z.
 * P = ∫ Φ(√n (k·u − z)) f(u) du, z the normal quantile of `content`, f the density of s/σ; integrated over ln u.
 */
export function oneSidedToleranceFactor(n: number, content: number, confidence: number): number {
  if (!(n >= 2)) return Number.NaN;
  const degrees = n - 1;
  const z = normal.quantile(content);
  // An eighth of the spread of ln u; the other factor rises over √2/z of that spread, and is followed as well.
  const step = 1 / (8 * Math.sqrt(2 * degrees));
  const constant = Math.LN2 + (degrees / 2) * Math.log(degrees / 2) - lnGamma(degrees / 2);
  const logDensity = (w: number): number => constant + degrees * (w - Math.exp(2 * w) / 2);
  const points: number[] = [];
  const weights: number[] = [];
  for (const direction of [-1, 1])
    for (let at = direction === 1 ? 0 : 1; ; at++) {
      const w = direction * at * step;
      const weight = step * Math.exp(logDensity(w));
      if (weight < 1e-20) break;
      points.push(Math.exp(w));
      weights.push(weight);
    }
  const probability = (k: number): number => {
    let sum = 0;
    for (let at = 0; at < points.length; at++) sum += weights[at]! * normal.cdf(Math.sqrt(n) * (k * points[at]! - z));
    return sum;
  };
  return rising(probability, confidence, z);
}

/**
 * Two-sided factor: mean ± k·s holds at least the share `content` of the distribution with probability `confidence`.
 * P = √(2n/π) ∫₀^∞ P(χ² > (n − 1)R(x)²/k²) exp(−n x²/2) dx, R(x) with Φ(x + R) − Φ(x − R) = `content`.
 */
export function twoSidedToleranceFactor(n: number, content: number, confidence: number): number {
  if (!(n >= 2)) return Number.NaN;
  const degrees = n - 1;
  const step = 1 / (8 * Math.sqrt(n));
  const radii: number[] = [];
  const weights: number[] = [];
  for (let at = 0; ; at++) {
    const x = at * step;
    const weight = (at === 0 ? 0.5 : 1) * step * Math.sqrt((2 * n) / Math.PI) * Math.exp((-n * x * x) / 2);
    if (weight < 1e-20) break;
    radii.push(radius(x, content));
    weights.push(weight);
  }
  const probability = (k: number): number => {
    let sum = 0;
    for (let at = 0; at < radii.length; at++)
      sum += weights[at]! * chiSquare.upper(degrees * (radii[at]! / k) ** 2, degrees);
    return sum;
  };
  return rising(probability, confidence, normal.quantile((1 + content) / 2), 0);
}

/** Half the width of the interval about x that holds `content` of the standard normal distribution, by Newton's method. */
function radius(x: number, content: number): number {
  let r = normal.quantile((1 + content) / 2) + x;
  for (let turn = 0; turn < 100; turn++) {
    // The two tails, so that nothing cancels where the interval is wide.
    const outside = normal.upper(x + r) + normal.cdf(x - r);
    const change = (1 - content - outside) / (normal.density(x + r) + normal.density(x - r));
    r -= change;
    if (Math.abs(change) < 1e-15 * r) break;
  }
  return r;
}

/** Where a rising function reaches `level`: a bracket widened from `start`, then false position with the Illinois rule and bisection. */
function rising(f: (x: number) => number, level: number, start: number, least = Number.NEGATIVE_INFINITY): number {
  let low = start;
  let high = start;
  for (let width = 0.5; f(low) > level; width *= 2) low = least === 0 ? low / 2 : low - width;
  for (let width = 0.5; f(high) < level; width *= 2) high += width;
  let below = f(low) - level;
  let above = f(high) - level;
  for (let turn = 0; turn < 200 && high - low > 4e-16 * Math.max(1, Math.abs(high)); turn++) {
    const guess = turn % 3 === 2 ? (low + high) / 2 : low - (below * (high - low)) / (above - below);
    const middle = guess > low && guess < high ? guess : (low + high) / 2;
    const value = f(middle) - level;
    if (value === 0) return middle;
    if (value < 0) {
      low = middle;
      below = value;
      if (turn % 3 !== 2) above /= 2;
    } else {
      high = middle;
      above = value;
      if (turn % 3 !== 2) below /= 2;
    }
  }
  return (low + high) / 2;
}

import { createRequire } from 'node:module';

// Loaded at first use: the package takes longer to load than all that is here.
const load = createRequire(import.meta.url);
let logGamma: ((x: number) => number) | undefined;

/** Natural logarithm of the gamma function. */
export function lnGamma(x: number): number {
  logGamma ??= load('@stdlib/math-base-special-gammaln') as NonNullable<typeof logGamma>;
  return logGamma(x);
}

/** Both tails of a distribution, each as good as the other, and the density by the logarithm of x. */
export interface Tails {
  readonly lower: number;
  readonly upper: number;
  readonly slope: number;
}

/** More turns than any argument that a statistic can give needs. */
const MOST_TURNS = 1_000_000;
const LEAST = 1e-17;
const HALF_LN_2PI = 0.5 * Math.log(2 * Math.PI);

/**
 * ln Γ(a + 1) less Stirling's formula: with it and `deviance` a density needs no difference of large logarithms.
 * Source: Loader C. Fast and accurate computation of binomial probabilities, 2000 (from memory).
 */
export function stirlingError(a: number): number {
  if (a < 16) return lnGamma(a + 1) - (a + 0.5) * Math.log(a) + a - HALF_LN_2PI;
  const s = 1 / (a * a);
  return (1 / 12 - s * (1 / 360 - s * (1 / 1260 - s * (1 / 1680 - s * (1 / 1188 - (s * 691) / 360360))))) / a;
}

/** x ln(x/m) + m − x, by its series where x is near m. */
export function deviance(x: number, m: number): number {
  const gap = x - m;
  const whole = x + m;
  if (!(Math.abs(gap) < 0.1 * whole)) return x * Math.log(x / m) + m - x;
  const v = gap / whole;
  let sum = gap * v;
  let term = 2 * x * v;
  for (let j = 1; j < 1000; j++) {
    term *= v * v;
    const next = sum + term / (2 * j + 1);
    if (next === sum) break;
    sum = next;
  }
  return sum;
}

/**
 * Tails of the gamma distribution of shape a at x: a series below the mean, Lentz's continued fraction above.
 * Source: Press WH and others. Numerical Recipes, 2007, ch. 6.2 (from memory).
 */
export function gammaTails(a: number, x: number): Tails {
  if (!(a > 0) || Number.isNaN(x)) return { lower: Number.NaN, upper: Number.NaN, slope: Number.NaN };
  if (x <= 0) return { lower: 0, upper: 1, slope: 0 };
  if (x === Number.POSITIVE_INFINITY) return { lower: 1, upper: 0, slope: 0 };
  // x^a e^−x / Γ(a).
  const slope = Math.sqrt(a / (2 * Math.PI)) * Math.exp(-stirlingError(a) - deviance(a, x));
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let n = 1; n < MOST_TURNS && term > sum * LEAST; n++) {
      term *= x / (a + n);
      sum += term;
    }
    const lower = Math.min(1, slope * sum);
    return { lower, upper: 1 - lower, slope };
  }
  let b = x + 1 - a;
  let c = Number.MAX_VALUE;
  let d = 1 / b;
  let fraction = d;
  for (let n = 1; n < MOST_TURNS; n++) {
    const over = -n * (n - a);
    b += 2;
    d = 1 / (over * d + b);
    c = b + over / c;
    const step = d * c;
    fraction *= step;
    if (Math.abs(step - 1) < 2e-16) break;
  }
  const upper = Math.min(1, slope * fraction);
  return { lower: 1 - upper, upper, slope };
}

/**
 * Where the lower tail reaches p (the upper one 1 − p, given apart so that neither is rounded away) for a distribution on 0 … ∞: Newton's
 * method on the logarithms of x and of the smaller tail, kept within a bracket.
 */
export function quantileFrom(p: number, q: number, start: number, tails: (x: number) => Tails): number {
  if (!(p >= 0 && q >= 0 && p <= 1 && q <= 1)) return Number.NaN;
  if (p === 0) return 0;
  if (q === 0) return Number.POSITIVE_INFINITY;
  const isLower = p < q;
  const wanted = Math.log(isLower ? p : q);
  let low = Math.log(Number.MIN_VALUE);
  let high = Math.log(Number.MAX_VALUE);
  let u = Math.max(low, Math.min(high, Math.log(start)));
  if (Number.isNaN(u)) u = 0;
  for (let turn = 0; turn < 200; turn++) {
    const at = tails(Math.exp(u));
    const tail = isLower ? at.lower : at.upper;
    if (Number.isNaN(tail)) return Number.NaN;
    const gap = Math.log(tail) - wanted;
    // Below the quantile the lower tail is too small and the upper one too large.
    const isBelow = isLower ? gap < 0 : gap > 0;
    if (gap === 0) break;
    if (isBelow) low = u;
    else high = u;
    const step = ((isLower ? -1 : 1) * gap * tail) / at.slope;
    let next = u + step;
    if (!(next > low && next < high)) next = (low + high) / 2;
    const moved = Math.abs(next - u);
    u = next;
    if (moved < 4e-16 * Math.max(1, Math.abs(u)) || high - low < 4e-16) break;
  }
  return polished(Math.exp(u), isLower, wanted, tails);
}

/** One more step on x itself: the exponential of u keeps only as many digits as u has after its point. */
function polished(x: number, isLower: boolean, wanted: number, tails: (x: number) => Tails): number {
  const at = tails(x);
  const tail = isLower ? at.lower : at.upper;
  const step = ((isLower ? -1 : 1) * (Math.log(tail) - wanted) * tail) / at.slope;
  return Math.abs(step) < 1e-6 ? x * (1 + step) : x;
}

import { createRequire } from 'node:module';
import { betaTails } from './incomplete-beta.js';
import { gammaTails, quantileFrom, type Tails } from './incomplete-gamma.js';
import { normalQuantile } from './normal-quantile.js';

export { lnGamma } from './incomplete-gamma.js';

// Loaded at first use: the package takes longer to load than the rest of the library.
const load = createRequire(import.meta.url);

let cdfOfPackage: ((x: number, mean: number, spread: number) => number) | undefined;

function normalCdf(x: number): number {
  cdfOfPackage ??= load('@stdlib/stats-base-dists-normal-cdf') as NonNullable<typeof cdfOfPackage>;
  return cdfOfPackage(x, 0, 1);
}

/**
 * Probability distributions. `cdf` is the lower tail, `upper` the upper tail without cancellation, `quantile` the inverse of `cdf`.
 * Arguments outside a distribution's range give `NaN`. How many digits are right: DEVELOPERS.md, "How exact it is".
 */
export const normal = {
  cdf: normalCdf,
  upper: (x: number): number => normalCdf(-x),
  density: (x: number): number => Math.exp(-0.5 * x * x) / Math.sqrt(2 * Math.PI),
  quantile: normalQuantile,
};

export const studentT = {
  cdf: (x: number, degrees: number): number => tailOfT(-x, degrees),
  upper: (x: number, degrees: number): number => tailOfT(x, degrees),
  /** An infinite number of degrees of freedom gives the normal quantile; quantiles beyond 1e150 are out of reach. */
  quantile(p: number, degrees: number): number {
    if (degrees === Number.POSITIVE_INFINITY) return normal.quantile(p);
    if (!(p >= 0 && p <= 1 && degrees > 0)) return Number.NaN;
    if (p === 0.5) return 0;
    // t²/(ν + t²) is beta(½, ν/2) distributed; its tails are |2p − 1| and twice the smaller tail of t.
    const tail = Math.min(p, 1 - p);
    const ratio = quantileFrom(2 * (0.5 - tail), 2 * tail, 1 / degrees, (r) => ofRatio(r, 0.5, degrees / 2));
    return Math.sign(p - 0.5) * Math.sqrt(degrees) * Math.sqrt(ratio);
  },
};

/** P(T > x). */
function tailOfT(x: number, degrees: number): number {
  if (degrees === Number.POSITIVE_INFINITY) return normal.upper(x);
  if (Number.isNaN(x) || !(degrees > 0)) return Number.NaN;
  const ratio = (x / degrees) * x;
  const tail = ofRatio(ratio, 0.5, degrees / 2).upper / 2;
  return x >= 0 ? tail : 1 - tail;
}

/** Beta tails at r = x/(1 − x). */
function ofRatio(r: number, a: number, b: number): Tails {
  return r <= 1 ? betaTails(r / (1 + r), 1 / (1 + r), a, b) : betaTails(1 / (1 + 1 / r), 1 / r / (1 + 1 / r), a, b);
}

export const chiSquare = {
  cdf: (x: number, degrees: number): number => gammaTails(degrees / 2, x / 2).lower,
  upper: (x: number, degrees: number): number => gammaTails(degrees / 2, x / 2).upper,
  quantile: (p: number, degrees: number): number =>
    degrees > 0 ? 2 * quantileFrom(p, 1 - p, degrees / 2, (x) => gammaTails(degrees / 2, x)) : Number.NaN,
};

export const fisherF = {
  cdf: (x: number, numerator: number, denominator: number): number => tailsOfF(x, numerator, denominator).lower,
  upper: (x: number, numerator: number, denominator: number): number => tailsOfF(x, numerator, denominator).upper,
  quantile(p: number, numerator: number, denominator: number): number {
    if (!(numerator > 0 && denominator > 0)) return Number.NaN;
    const scale = denominator / numerator;
    return scale * quantileFrom(p, 1 - p, 1 / scale, (r) => ofRatio(r, numerator / 2, denominator / 2));
  },
};

function tailsOfF(x: number, numerator: number, denominator: number): Tails {
  if (x < 0) return tailsOfF(0, numerator, denominator);
  return ofRatio((numerator / denominator) * x, numerator / 2, denominator / 2);
}

export const beta = {
  cdf: (x: number, a: number, b: number): number => within(x, a, b).lower,
  upper: (x: number, a: number, b: number): number => within(x, a, b).upper,
  quantile(p: number, a: number, b: number): number {
    if (!(a > 0 && b > 0)) return Number.NaN;
    const ratio = quantileFrom(p, 1 - p, a / b, (r) => ofRatio(r, a, b));
    return ratio === Number.POSITIVE_INFINITY ? 1 : ratio / (1 + ratio);
  },
};

function within(x: number, a: number, b: number): Tails {
  const inside = Math.max(0, Math.min(1, x));
  return betaTails(inside, 1 - inside, a, b);
}

export const binomial = {
  /** P(X ≤ successes). */
  cdf(successes: number, trials: number, probability: number): number {
    if (!(Number.isInteger(trials) && trials >= 0 && probability >= 0 && probability <= 1) || Number.isNaN(successes))
      return Number.NaN;
    const x = Math.floor(successes);
    if (x < 0) return 0;
    if (x >= trials) return 1;
    return betaTails(probability, 1 - probability, x + 1, trials - x).upper;
  },
};

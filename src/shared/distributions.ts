import { createRequire } from 'node:module';

// Loaded at first use: the distribution packages take longer to load than the rest of the library.
const load = createRequire(import.meta.url);

type Distribution = (...values: number[]) => number;

function lazily(packageName: string): Distribution {
  let loaded: Distribution | undefined;
  return (...values) => {
    loaded ??= load(packageName) as Distribution;
    return loaded(...values);
  };
}

const betaCdf = lazily('@stdlib/stats-base-dists-beta-cdf');
const betaQuantile = lazily('@stdlib/stats-base-dists-beta-quantile');
const binomialCdf = lazily('@stdlib/stats-base-dists-binomial-cdf');
const chiSquareCdf = lazily('@stdlib/stats-base-dists-chisquare-cdf');
const chiSquareQuantile = lazily('@stdlib/stats-base-dists-chisquare-quantile');
const fCdf = lazily('@stdlib/stats-base-dists-f-cdf');
const fQuantile = lazily('@stdlib/stats-base-dists-f-quantile');
const normalCdf = lazily('@stdlib/stats-base-dists-normal-cdf');
const normalQuantile = lazily('@stdlib/stats-base-dists-normal-quantile');
const tCdf = lazily('@stdlib/stats-base-dists-t-cdf');
const tQuantile = lazily('@stdlib/stats-base-dists-t-quantile');
let gammaInc: ((x: number, s: number, regularized: boolean, upper: boolean) => number) | undefined;
const logGamma = lazily('@stdlib/math-base-special-gammaln');

/**
 * Probability distributions, from the stdlib packages (ports of Boost and Cephes).
 * `cdf` is the lower tail, `upper` the upper tail without cancellation, `quantile` the inverse of `cdf`.
 * Arguments outside a distribution's range give `NaN`.
 */
export const normal = {
  cdf: (x: number): number => normalCdf(x, 0, 1),
  upper: (x: number): number => normalCdf(-x, 0, 1),
  density: (x: number): number => Math.exp(-0.5 * x * x) / Math.sqrt(2 * Math.PI),
  quantile: (p: number): number => normalQuantile(p, 0, 1),
};

export const studentT = {
  cdf: (x: number, degrees: number): number => tCdf(x, degrees),
  upper: (x: number, degrees: number): number => tCdf(-x, degrees),
  /** An infinite number of degrees of freedom gives the normal quantile. */
  quantile: (p: number, degrees: number): number =>
    degrees === Number.POSITIVE_INFINITY ? normalQuantile(p, 0, 1) : tQuantile(p, degrees),
};

export const chiSquare = {
  cdf: (x: number, degrees: number): number => chiSquareCdf(x, degrees),
  upper(x: number, degrees: number): number {
    if (!(x > 0)) return Number.isNaN(x) ? Number.NaN : 1;
    gammaInc ??= load('@stdlib/math-base-special-gammainc') as NonNullable<typeof gammaInc>;
    return gammaInc(x / 2, degrees / 2, true, true);
  },
  quantile: (p: number, degrees: number): number => chiSquareQuantile(p, degrees),
};

export const fisherF = {
  cdf: (x: number, numerator: number, denominator: number): number => fCdf(x, numerator, denominator),
  /** By the reciprocal: F(a, b) above x is F(b, a) below 1/x, which loses nothing for a small p. */
  upper: (x: number, numerator: number, denominator: number): number =>
    x <= 0 ? 1 : fCdf(1 / x, denominator, numerator),
  quantile: (p: number, numerator: number, denominator: number): number => fQuantile(p, numerator, denominator),
};

export const beta = {
  cdf: (x: number, a: number, b: number): number => betaCdf(x, a, b),
  upper: (x: number, a: number, b: number): number => betaCdf(1 - x, b, a),
  quantile: (p: number, a: number, b: number): number => betaQuantile(p, a, b),
};

export const binomial = {
  cdf: (successes: number, trials: number, probability: number): number => binomialCdf(successes, trials, probability),
};

/** Natural logarithm of the gamma function. */
export function lnGamma(x: number): number {
  return logGamma(x);
}

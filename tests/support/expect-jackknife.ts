import type { Ratings } from '../../src/ratings/ratings.ts';
import { studentT } from '../../src/shared/distributions.ts';
import type { Estimate } from '../../src/shared/estimate.ts';
import { expectNear } from './expect-near.ts';

const SCALES = {
  fisher: { to: Math.atanh, slope: (x: number) => 1 / (1 - x * x), back: Math.tanh },
  logit: {
    to: (x: number) => Math.log(x / (1 - x)),
    slope: (x: number) => 1 / (x * (1 - x)),
    back: (z: number) => 1 / (1 + Math.exp(-z)),
  },
  log: { to: Math.log, slope: (x: number) => 1 / x, back: Math.exp },
  plain: { to: (x: number) => x, slope: () => 1, back: (z: number) => z },
} as const;

/**
 * The patient jackknife by its definition: the estimate made anew from the readings without each patient, SE² = (K − 1)/K Σ (θ₍₋ₖ₎ − θ̄)², t with
 * 2(K − 1)/(κ − 1) degrees of freedom, κ the kurtosis of the values, at most K − 1, on the scale named.
 *
 * @param of the estimate of some readings; must not fail without a patient
 */
export function expectJackknife(
  ratings: Ratings,
  of: (ratings: Ratings) => Estimate,
  scale: keyof typeof SCALES,
  tolerance = 1e-9,
): void {
  const whole = of(ratings);
  const patients = [...new Set(ratings.clusterOf)];
  const without = patients.map(
    (patient) => of(ratings.ofTargets((target) => ratings.clusterOf[target] !== patient)).value,
  );
  const k = patients.length;
  const mean = without.reduce((sum, x) => sum + x, 0) / k;
  const squares = without.map((x) => (x - mean) ** 2);
  const sum = squares.reduce((total, x) => total + x, 0);
  const error = Math.sqrt(((k - 1) / k) * sum);
  expectNear(whole.standardError, error, tolerance);
  const kurtosis = (k * squares.reduce((total, x) => total + x * x, 0)) / sum ** 2;
  const degrees = Math.min(k - 1, (2 * (k - 1)) / (kurtosis - 1));
  const { to, slope, back } = SCALES[scale];
  const reach = studentT.quantile((1 + whole.interval.level) / 2, degrees) * slope(whole.value) * error;
  expectNear(whole.interval.lower, back(to(whole.value) - reach), 10 * tolerance);
  expectNear(whole.interval.upper, back(to(whole.value) + reach), 10 * tolerance);
}

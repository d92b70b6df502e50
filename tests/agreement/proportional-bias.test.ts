import { expect, it } from 'vitest';
import { proportionalBias } from '../../src/agreement/proportional-bias.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { studentT } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

const random = seededRandom(8);
const ROWS = Array.from({ length: 24 }, () => {
  const limb = 20 + 5 * random.normal();
  return [limb + random.normal(), 0.9 * limb + 1 + random.normal()];
});
const PATIENTS = ROWS.map((_, at) => Math.floor(at / 3));

/** Slope and intercept of the difference on the mean, by two passes over the rows. */
function line(rows: readonly (readonly number[])[]): {
  slope: number;
  intercept: number;
  residual: number;
  spread: number;
} {
  const means = rows.map(([x, y]) => (x! + y!) / 2);
  const differences = rows.map(([x, y]) => x! - y!);
  const average = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
  const [a, d] = [average(means), average(differences)];
  const spread = means.reduce((sum, mean) => sum + (mean - a) ** 2, 0);
  const slope = means.reduce((sum, mean, at) => sum + (mean - a) * (differences[at]! - d), 0) / spread;
  const intercept = d - slope * a;
  const residual = means.reduce((sum, mean, at) => sum + (differences[at]! - intercept - slope * mean) ** 2, 0);
  return { slope, intercept, residual, spread };
}

it('is the least-squares line, its t interval by the textbook', () => {
  const { slope, intercept, residual, spread } = line(ROWS);
  const found = proportionalBias(ratingsOf(ROWS, { level: 'interval' }), { interval: 'asymptotic' });
  expectNear(found.estimate.value, slope, 1e-12);
  expectNear(found.intercept, intercept, 1e-11);
  const error = Math.sqrt(residual / 22 / spread);
  expectNear(found.estimate.standardError, error, 1e-12);
  // t of 22 degrees of freedom at .975: 2.0739 (any table).
  expectNear(found.estimate.interval.upper, slope + 2.0738730679040147 * error, 1e-9);
  expectNear(found.estimate.interval.lower, slope - 2.0738730679040147 * error, 1e-9);
});

it('its patient jackknife is that of lines fitted without each patient', () => {
  const ratings = ratingsOf(ROWS, { level: 'interval', clusters: PATIENTS });
  const found = proportionalBias(ratings, { interval: 'cluster-robust' });
  const without = Array.from(
    { length: 8 },
    (_, patient) => line(ROWS.filter((_, at) => PATIENTS[at] !== patient)).slope,
  );
  const mean = without.reduce((sum, slope) => sum + slope, 0) / 8;
  const error = Math.sqrt((7 / 8) * without.reduce((sum, slope) => sum + (slope - mean) ** 2, 0));
  expectNear(found.estimate.standardError, error, 1e-11);
  expect(found.pValue).toBeNaN();
});

it('p is that of the slope, patients known or not, and needs three pairs', () => {
  const { slope, residual, spread } = line(ROWS);
  const error = Math.sqrt(residual / 22 / spread);
  const p = 2 * studentT.upper(Math.abs(slope / error), 22);
  const ratings = ratingsOf(ROWS, { level: 'interval' });
  expectNear(proportionalBias(ratings, { interval: 'asymptotic' }).pValue, p, 1e-9);
  const known = ratingsOf(ROWS, { level: 'interval', clusters: ROWS.map((_, at) => at) });
  const robust = proportionalBias(known, { interval: 'cluster-robust' });
  expectNear(robust.pValue, p, 1e-9);
  expect(robust.estimate.interval.method).toMatch(/jackknife/);
  const { estimate } = proportionalBias(ratings, { interval: 'asymptotic', confidenceLevel: 0.9 });
  expectNear(estimate.interval.upper - estimate.interval.lower, 2 * studentT.quantile(0.95, 22) * error, 1e-9);
  expect(estimate.interval).toMatchObject({ level: 0.9, method: 't, targets taken as independent' });
  expect(estimate.counts).toMatchObject({ targets: 24, ratings: 48, assessors: 2 });
  const two = proportionalBias(ratingsOf(ROWS.slice(0, 2), { level: 'interval' }), { interval: 'asymptotic' });
  expect(two.estimate.interval.method).not.toBe('t, targets taken as independent');
  expect(two.estimate.value).toBeCloseTo(line(ROWS.slice(0, 2)).slope, 9);
  const three = proportionalBias(ratingsOf(ROWS.slice(0, 3), { level: 'interval' }), { interval: 'asymptotic' });
  expect(three.estimate.interval.method).toBe('t, targets taken as independent');
});

it('one mean for all has no slope, and the line goes through readings with gaps left out', () => {
  const flat = proportionalBias(
    ratingsOf(
      [
        [1, 3],
        [2, 2],
        [3, 1],
      ],
      { level: 'interval' },
    ),
    { interval: 'asymptotic' },
  );
  expect(flat.estimate.value).toBeNaN();
  const gaps = ratingsOf([...ROWS, [100, null], [null, -50]], { level: 'interval' });
  const found = proportionalBias(gaps, { interval: 'asymptotic' });
  const { slope, intercept } = line(ROWS);
  expectNear(found.estimate.value, slope, 1e-11);
  expectNear(found.intercept, intercept, 1e-10);
  expect(found.estimate.counts.excluded).toBe(2);
});

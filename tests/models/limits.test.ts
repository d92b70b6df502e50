import { expect, test } from 'vitest';
import { limitsOf } from '../../src/models/limits.ts';
import { expectNear } from '../support/expect-near.ts';

// z of 95 %: 1.959963984540054 (any table).
const z = 1.959963984540054;

test('a sum has the variance of a sum', () => {
  const found = limitsOf(
    ([a, b]) => (a as number) + (b as number),
    Float64Array.from([1, 2]),
    Float64Array.from([4, 1, 1, 9]),
    0.95,
    'plain',
  );
  expectNear(found.standardError, Math.sqrt(15), 1e-10);
  expectNear(found.upper, 3 + z * Math.sqrt(15), 1e-10);
});

test('limits of a rate are symmetric on its logarithm, of a share on its logit', () => {
  const rate = limitsOf(
    ([a]) => Math.exp(a as number),
    Float64Array.from([-1]),
    Float64Array.from([0.04]),
    0.95,
    'logarithm',
  );
  expectNear(rate.lower, Math.exp(-1 - 0.2 * z), 1e-9);
  expectNear(rate.standardError, 0.2 * Math.exp(-1), 1e-9);
  const share = limitsOf(
    ([a]) => 1 / (1 + Math.exp(-(a as number))),
    Float64Array.from([2]),
    Float64Array.from([0.25]),
    0.95,
    'logit',
  );
  expectNear(share.upper, 1 / (1 + Math.exp(-2 - 0.5 * z)), 1e-9);
});

test('an open parameter spoils only what depends on it', () => {
  const open = Float64Array.from([1, Number.NaN, Number.NaN, Number.NaN]);
  const point = Float64Array.from([1, 1]);
  expectNear(limitsOf(([a]) => a as number, point, open, 0.95, 'plain').standardError, 1, 1e-10);
  expect(limitsOf(([a, b]) => (a as number) + (b as number), point, open, 0.95, 'plain').standardError).toBeNaN();
});

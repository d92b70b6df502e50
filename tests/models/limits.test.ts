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

test('on each scale, of a function of two correlated parameters', () => {
  // g = (2a, −b) at (0.6, −0.3) for f = a² + … with slopes 1.2 and 0.15 on the plain scale.
  const covariance = Float64Array.from([0.02, -0.01, -0.01, 0.05]);
  const f = ([a, b]: Float64Array): number => (a as number) ** 2 - (b as number) ** 2 / 4;
  const own = 0.36 - 0.0225;
  const plain = 1.2 ** 2 * 0.02 + 2 * 1.2 * 0.15 * -0.01 + 0.15 ** 2 * 0.05;
  const slopes = { plain: 1, logarithm: 1 / own, logit: 1 / (own * (1 - own)) };
  for (const scale of ['plain', 'logarithm', 'logit'] as const) {
    const found = limitsOf(f, Float64Array.of(0.6, -0.3), covariance, 0.95, scale);
    expectNear(found.value, own, 1e-15);
    expectNear(found.standardError, Math.sqrt(plain), 1e-9);
    const reach = z * Math.sqrt(plain) * slopes[scale];
    const on = { plain: (x: number) => x, logarithm: Math.log, logit: (x: number) => Math.log(x / (1 - x)) }[scale];
    expectNear(on(found.lower), on(own) - reach, 1e-8);
    expectNear(on(found.upper), on(own) + reach, 1e-8);
  }
});

test('an open parameter that moves the value by less than a thousandth counts as known, a known one always counts', () => {
  const point = Float64Array.of(1, 1);
  const steep =
    (slope: number): ((p: Float64Array) => number) =>
    ([a, b]) =>
      (a as number) + slope * (b as number);
  const open = Float64Array.of(4, Number.NaN, Number.NaN, Number.NaN);
  for (const slope of [9e-4, -9e-4])
    expectNear(limitsOf(steep(slope), point, open, 0.95, 'plain').standardError, 2, 1e-10);
  for (const slope of [1.1e-3, -1.1e-3])
    expect(limitsOf(steep(slope), point, open, 0.95, 'plain').standardError).toBeNaN();
  const wide = Float64Array.of(0, 0, 0, 1e8);
  expectNear(limitsOf(steep(9e-4), point, wide, 0.95, 'plain').standardError, 9, 1e-8);
  // The other way round: the first open, the second known.
  const first = Float64Array.of(Number.NaN, Number.NaN, Number.NaN, 9);
  expectNear(
    limitsOf(([a, b]) => 5e-4 * (a as number) + (b as number), point, first, 0.95, 'plain').standardError,
    3,
    1e-10,
  );
});

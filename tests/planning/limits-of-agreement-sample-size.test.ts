import { expect, it } from 'vitest';
import { limitsOfAgreement } from '../../src/agreement/limits-of-agreement.ts';
import { limitsOfAgreementSampleSize } from '../../src/planning/limits-of-agreement-sample-size.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { refuses } from '../support/refusals.ts';

it('is near the large-sample formula, which needs width = 2·1.96·√(1/n + 1.96²/(2(n − 1)))·σ', () => {
  const { findings } = limitsOfAgreementSampleSize({ standardDeviation: 0.6, width: 0.4 });
  const width = (n: number): number => 2 * 1.96 * Math.sqrt(1 / n + 1.96 ** 2 / (2 * (n - 1))) * 0.6;
  let approximate = 2;
  while (width(approximate) > 0.4) approximate++;
  expect(Math.abs(findings - approximate)).toBeLessThanOrEqual(4);
});

it('promises the width that the limits of simulated studies have', () => {
  const size = limitsOfAgreementSampleSize({ standardDeviation: 1, width: 1 });
  const random = seededRandom(7);
  const rows = (): [number, number][] => Array.from({ length: size.findings }, () => [random.normal(), 0]);
  const { lower, standardDeviation } = limitsOfAgreement(ratingsOf(rows(), { level: 'interval' }), {
    interval: 'asymptotic',
  });
  // Every interval of a limit is a multiple of its study's standard deviation, so their mean needs only that.
  const multiple = (lower.interval.upper - lower.interval.lower) / standardDeviation.value;
  const spreads = Array.from({ length: 4000 }, () => {
    const values = rows().map(([first]) => first);
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
  });
  const width = (multiple * spreads.reduce((sum, spread) => sum + spread, 0)) / spreads.length;
  // Four Monte Carlo errors: 4 · 0.1 · √(1/4000).
  expect(Math.abs(width - size.details.width!)).toBeLessThan(0.0065);
});

it('is the smallest such number', () => {
  const { findings, details } = limitsOfAgreementSampleSize({ standardDeviation: 0.6, width: 0.4 });
  expect(details.width).toBeLessThanOrEqual(0.4);
  const tighter = limitsOfAgreementSampleSize({ standardDeviation: 0.6, width: details.width! - 1e-9 });
  expect(tighter.findings).toBe(findings + 1);
});

it('depends on the ratio of width and standard deviation alone', () => {
  const millimeters = limitsOfAgreementSampleSize({ standardDeviation: 6, width: 4 });
  expect(millimeters.findings).toBe(limitsOfAgreementSampleSize({ standardDeviation: 0.6, width: 0.4 }).findings);
});

refuses([
  ['a width of 0', () => limitsOfAgreementSampleSize({ standardDeviation: 1, width: 0 }), 'bad-option'],
  [
    'a width no study can give',
    () => limitsOfAgreementSampleSize({ standardDeviation: 1, width: 0.001 }),
    'bad-option',
  ],
]);

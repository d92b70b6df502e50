import { describe, expect, it } from 'vitest';
import { kappaPrecisionSampleSize } from '../../src/planning/kappa-precision-sample-size.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases: the size of a study is found again from its interval', () => {
  for (const one of publishedCases('agreement', /^gof-ci-/))
    it(`${one.id}: ${one.source}`, () => {
      const { bothPositive, discordant, bothNegative } = one.data;
      const size = kappaPrecisionSampleSize({
        expected: one.expected.kappaIntraclass,
        lowerLimit: one.expected.lo,
        prevalence: one.expected.pi,
        confidenceLevel: one.parameters.conf,
      });
      // The limit is given to 1e-8, and n changes by about 1,300 for 1 of it.
      expect(Math.abs(size.exact - (bothPositive + discordant + bothNegative))).toBeLessThan(1e-4);
    });
});

it('needs more for a nearer limit and a surer interval', () => {
  const base = { expected: 0.7, lowerLimit: 0.5, prevalence: 0.3 };
  const { exact } = kappaPrecisionSampleSize(base);
  expect(kappaPrecisionSampleSize({ ...base, lowerLimit: 0.6 }).exact).toBeGreaterThan(exact);
  expect(kappaPrecisionSampleSize({ ...base, confidenceLevel: 0.99 }).exact).toBeGreaterThan(exact);
});

refuses([
  [
    'a limit above the value',
    () => kappaPrecisionSampleSize({ expected: 0.5, lowerLimit: 0.6, prevalence: 0.5 }),
    'bad-option',
  ],
  [
    'a prevalence of 1',
    () => kappaPrecisionSampleSize({ expected: 0.5, lowerLimit: 0.4, prevalence: 1 }),
    'bad-option',
  ],
]);

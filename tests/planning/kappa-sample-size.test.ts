import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { kappaSampleSize } from '../../src/planning/kappa-sample-size.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { expectNear } from '../support/expect-near.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of publishedCases('agreement', /^ss-cantor-/))
    it(`${one.id}: ${one.source}`, () => {
      const { rate1, rate2, kappa1, kappa0, alpha, power, sided } = one.parameters;
      const size = kappaSampleSize({
        expected: kappa1,
        ruledOut: kappa0,
        rates: [rate1, rate2],
        significance: alpha,
        power,
        sides: sided,
      });
      expectNear(size.details.varianceRuledOut!, one.expected.Q0, one.tolerance);
      expectNear(size.details.varianceExpected!, one.expected.Q1, one.tolerance);
      expectNear(size.exact, one.expected.nExact, one.tolerance);
      expect(size.findings).toBe(one.expected.n);
    });
});

it('gives 117, not 96, where 0.70 is to be ruled out and 0.85 expected: the roles are named', () => {
  expect(kappaSampleSize({ expected: 0.85, ruledOut: 0.7, rates: [0.5, 0.5], sides: 1 }).findings).toBe(117);
});

it('does not depend on which assessor comes first, or on which of the two readings is called present', () => {
  const of = (rates: [number, number]): number => kappaSampleSize({ expected: 0.6, ruledOut: 0.3, rates }).exact;
  expect(of([0.2, 0.3])).toBeCloseTo(of([0.3, 0.2]), 9);
  expect(of([0.2, 0.3])).toBeCloseTo(of([0.8, 0.7]), 9);
});

it('needs more for more power, two sides and a smaller gap', () => {
  const base = { expected: 0.7, ruledOut: 0.4, rates: [0.3, 0.3] } as const;
  const least = kappaSampleSize({ ...base, sides: 1 }).exact;
  expect(kappaSampleSize(base).exact).toBeGreaterThan(least);
  expect(kappaSampleSize({ ...base, sides: 1, power: 0.9 }).exact).toBeGreaterThan(least);
  expect(kappaSampleSize({ ...base, sides: 1, ruledOut: 0.5 }).exact).toBeGreaterThan(least);
});

it('has the variance of Cohen’s kappa at unequal rates (second formula: the error of a study with that table)', () => {
  const table = ratingsOfTable(
    [
      [30, 5],
      [15, 50],
    ],
    { categories: ['yes', 'no'] },
  );
  const { value, standardError } = cohenKappa(table, { interval: 'asymptotic' });
  const size = kappaSampleSize({ expected: value, ruledOut: 0.2, rates: [0.35, 0.45] });
  expect(size.details.varianceExpected).toBeCloseTo(100 * standardError ** 2, 9);
});

refuses([
  [
    'a kappa out of reach of the rates',
    () => kappaSampleSize({ expected: 0.9, ruledOut: 0.4, rates: [0.2, 0.6] }),
    'bad-option',
  ],
  ['two equal kappas', () => kappaSampleSize({ expected: 0.4, ruledOut: 0.4, rates: [0.5, 0.5] }), 'bad-option'],
  ['a rate of 1', () => kappaSampleSize({ expected: 0.6, ruledOut: 0.4, rates: [1, 0.5] }), 'bad-option'],
]);

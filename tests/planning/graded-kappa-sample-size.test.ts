import { describe, expect, it } from 'vitest';
import { gradedKappaSampleSize } from '../../src/planning/graded-kappa-sample-size.ts';
import { kappaSampleSize } from '../../src/planning/kappa-sample-size.ts';
import { expectNear } from '../support/expect-near.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of publishedCases('agreement', /^ss-flack-/))
    it(`${one.id}: ${one.source}`, () => {
      const { margins, kappa1, kappa0, alpha, power, sided } = one.parameters;
      const size = gradedKappaSampleSize({
        expected: kappa1,
        ruledOut: kappa0,
        shares: margins,
        significance: alpha,
        power,
        sides: sided,
      });
      expectNear(size.details.varianceRuledOut!, one.expected.tau0sq, one.tolerance);
      expectNear(size.details.varianceExpected!, one.expected.tau1sq, one.tolerance);
      expectNear(size.exact, one.expected.nExact, one.tolerance);
      expect(size.findings).toBe(one.expected.n);
    });
});

it('is the two-grade formula at two grades, where margins and kappa fix the table (second formula)', () => {
  const graded = gradedKappaSampleSize({ expected: 0.7, ruledOut: 0.4, shares: [0.3, 0.7] });
  expect(graded.exact).toBeCloseTo(kappaSampleSize({ expected: 0.7, ruledOut: 0.4, rates: [0.3, 0.3] }).exact, 8);
});

it('does not depend on the order of the grades', () => {
  const of = (shares: number[]): number => gradedKappaSampleSize({ expected: 0.6, ruledOut: 0.4, shares }).exact;
  expect(of([0.1, 0.2, 0.3, 0.4])).toBeCloseTo(of([0.4, 0.1, 0.3, 0.2]), 8);
});

refuses([
  [
    'shares that do not sum to 1',
    () => gradedKappaSampleSize({ expected: 0.6, ruledOut: 0.4, shares: [0.5, 0.4] }),
    'bad-option',
  ],
  ['one grade', () => gradedKappaSampleSize({ expected: 0.6, ruledOut: 0.4, shares: [1] }), 'bad-option'],
  [
    'a kappa no table can have',
    () => gradedKappaSampleSize({ expected: 0.6, ruledOut: -0.9, shares: [0.1, 0.1, 0.8] }),
    'kappa-out-of-reach',
  ],
]);

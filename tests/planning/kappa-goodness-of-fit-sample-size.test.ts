import { describe, expect, it } from 'vitest';
import { kappaGoodnessOfFitInterval } from '../../src/agreement/kappa-goodness-of-fit-interval.ts';
import { kappaGoodnessOfFitSampleSize } from '../../src/planning/kappa-goodness-of-fit-sample-size.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { expectNear } from '../support/expect-near.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of publishedCases('agreement', /^ss-donner-eliasziw-/))
    it(`${one.id}: ${one.source}`, () => {
      const { prevalence, kappa0, kappa1, alpha, power } = one.parameters;
      const size = kappaGoodnessOfFitSampleSize({
        expected: kappa1,
        ruledOut: kappa0,
        prevalence,
        significance: alpha,
        power,
      });
      expectNear(size.details.noncentrality!, one.expected.ncp, one.tolerance);
      expectNear(size.details.effect!, one.expected.effect, one.tolerance);
      expectNear(size.exact, one.expected.nExact, one.tolerance);
      expect(size.findings).toBe(one.expected.n);
    });
});

it('belongs to the interval: a study of that size with the expected table rules the lower value out', () => {
  // 74 findings at prevalence 0.5, kappa 0.7: P₁ = 0.15, so 11 on which they differ and about 31 and 32 alike.
  const { findings } = kappaGoodnessOfFitSampleSize({ expected: 0.7, ruledOut: 0.4, prevalence: 0.5 });
  expect(findings).toBe(74);
  const table = ratingsOfTable(
    [
      [31, 5],
      [6, 32],
    ],
    { categories: ['no', 'yes'] },
  );
  expect(kappaGoodnessOfFitInterval(table).interval.lower).toBeGreaterThan(0.4);
});

it('does not depend on which of the two readings is called present', () => {
  const of = (prevalence: number): number =>
    kappaGoodnessOfFitSampleSize({ expected: 0.7, ruledOut: 0.4, prevalence }).exact;
  expect(of(0.2)).toBeCloseTo(of(0.8), 9);
});

refuses([
  [
    'a prevalence of 0',
    () => kappaGoodnessOfFitSampleSize({ expected: 0.7, ruledOut: 0.4, prevalence: 0 }),
    'bad-option',
  ],
  [
    'a power of 80',
    () => kappaGoodnessOfFitSampleSize({ expected: 0.7, ruledOut: 0.4, prevalence: 0.5, power: 80 }),
    'bad-option',
  ],
  [
    'a kappa below what the prevalence allows',
    () => kappaGoodnessOfFitSampleSize({ expected: 0.7, ruledOut: -0.5, prevalence: 0.2 }),
    'bad-option',
  ],
]);

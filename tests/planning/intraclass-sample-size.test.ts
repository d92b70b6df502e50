import { describe, expect, it } from 'vitest';
import { intraclassSampleSize } from '../../src/planning/intraclass-sample-size.ts';
import { expectNear } from '../support/expect-near.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of publishedCases('agreement', /^ss-walter-/))
    it(`${one.id}: ${one.source}`, () => {
      const { rho0, rho1, replicates, alpha, power } = one.parameters;
      const size = intraclassSampleSize({
        expected: rho1,
        ruledOut: rho0,
        readings: replicates,
        significance: alpha,
        power,
      });
      expectNear(size.details.ratio!, one.expected.C0, one.tolerance);
      expectNear(size.exact, one.expected.kExact, one.tolerance);
      expect(size.findings).toBe(one.expected.k);
      expect(size.details.exactFindings).toBe(one.expected.exactFPowerK);
      expectNear(size.details.exactPower!, one.expected.exactPowerAtK, one.tolerance);
    });
});

it('needs fewer findings the more often each is read', () => {
  const of = (readings: number): number => intraclassSampleSize({ expected: 0.8, ruledOut: 0.6, readings }).exact;
  expect(of(3)).toBeLessThan(of(2));
  expect(of(4)).toBeLessThan(of(3));
});

refuses([
  ['one reading', () => intraclassSampleSize({ expected: 0.8, ruledOut: 0.6, readings: 1 }), 'bad-option'],
  [
    'an expected value below the one to rule out',
    () => intraclassSampleSize({ expected: 0.5, ruledOut: 0.6, readings: 2 }),
    'bad-option',
  ],
]);

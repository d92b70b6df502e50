import { describe, expect, it } from 'vitest';
import { intraclassPrecisionSampleSize } from '../../src/planning/intraclass-precision-sample-size.ts';
import { expectNear } from '../support/expect-near.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of publishedCases('agreement', /^ss-bonett-/))
    it(`${one.id}: ${one.source}`, () => {
      const { rho, k, width, conf } = one.parameters;
      const size = intraclassPrecisionSampleSize({ expected: rho, readings: k, width, confidenceLevel: conf });
      expectNear(size.details.unadjusted!, one.expected.nApprox, one.tolerance);
      expectNear(size.exact, one.expected.nAdjusted, one.tolerance);
      expect(size.findings).toBe(one.expected.nAdjustedCeil);
    });
});

it('asks for 36 findings at 0.80, three readings, width 0.20 (worked by hand: 8·3.8415·0.04·2.6²/(6·0.04) + 1 = 35.6)', () => {
  expect(intraclassPrecisionSampleSize({ expected: 0.8, readings: 3, width: 0.2 }).exact).toBeCloseTo(35.6243, 3);
});

it('adds 5ρ only with two readings and from 0.7', () => {
  const extra = (expected: number, readings: number): number => {
    const { exact, details } = intraclassPrecisionSampleSize({ expected, readings, width: 0.3 });
    return exact - details.unadjusted!;
  };
  expect(extra(0.7, 2)).toBeCloseTo(3.5, 12);
  expect(extra(0.69, 2)).toBe(0);
  expect(extra(0.8, 3)).toBe(0);
});

refuses([
  ['a width of 0', () => intraclassPrecisionSampleSize({ expected: 0.8, readings: 3, width: 0 }), 'bad-option'],
  [
    'a level of 95',
    () => intraclassPrecisionSampleSize({ expected: 0.8, readings: 3, width: 0.2, confidenceLevel: 95 }),
    'bad-option',
  ],
]);

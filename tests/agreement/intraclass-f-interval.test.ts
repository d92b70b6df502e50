import { describe, expect, it } from 'vitest';
import {
  agreementLimits,
  agreementRatio,
  consistencyLimits,
  consistencyRatio,
  oneWayLimits,
  oneWayRatio,
} from '../../src/agreement/intraclass-f-interval.ts';
import type { OneWayTable } from '../../src/agreement/one-way-table.ts';
import type { TwoWayTable } from '../../src/agreement/two-way-table.ts';
import { fisherF } from '../../src/shared/distributions.ts';
import { expectNear } from '../support/expect-near.ts';

// The mean squares of Shrout, Fleiss 1979 (Psychol Bull 86:420, table 4): 11.24, 6.26, 32.49 and 1.02 of six targets and four judges.
const TWO_WAY: TwoWayTable = {
  targets: 6,
  assessors: 4,
  targetMeanSquare: 11.24,
  assessorMeanSquare: 32.49,
  residualMeanSquare: 1.02,
  withinMeanSquare: 6.26,
};
const ONE_WAY: OneWayTable = {
  targets: 6,
  readings: 24,
  betweenMeanSquare: 11.24,
  withinMeanSquare: 6.26,
  betweenDegrees: 5,
  withinDegrees: 18,
  effectiveReadings: 4,
  betweenVariance: (11.24 - 6.26) / 4,
};

describe('limits of 95 %', () => {
  // A value is a limit where the F test of it has p = .025 or .975.
  it('one-way and consistency: where the test of the limit is just at its edge', () => {
    for (const [{ lower, upper }, ratio] of [
      [oneWayLimits(ONE_WAY, 0.95), (rho: number) => oneWayRatio(ONE_WAY, rho)],
      [consistencyLimits(TWO_WAY, 0.95), (rho: number) => consistencyRatio(TWO_WAY, rho)],
    ] as const) {
      const p = (rho: number): number => {
        const { f, numeratorDegrees, denominatorDegrees } = ratio(rho);
        return fisherF.upper(f, numeratorDegrees, denominatorDegrees);
      };
      expectNear(p(lower), 0.025, 1e-9);
      expectNear(p(upper), 0.975, 1e-9);
    }
  });

  // Agreement: F* (aMSₐ + bMSₑ) = MSₜ with a and b at the limit, the degrees of freedom v at the estimate.
  it('agreement: where F with the estimate’s degrees of freedom is at its quantile', () => {
    const rho = 0.29;
    const { denominatorDegrees: v } = agreementRatio(TWO_WAY, rho);
    const { lower, upper } = agreementLimits(TWO_WAY, rho, 0.95);
    expectNear(agreementRatio(TWO_WAY, lower).f, fisherF.quantile(0.975, 5, v), 1e-9);
    expectNear(agreementRatio(TWO_WAY, upper).f, 1 / fisherF.quantile(0.975, v, 5), 1e-9);
  });
});

describe('ratios', () => {
  it('against 0 are the plain F of the analysis of variance', () => {
    expect(oneWayRatio(ONE_WAY, 0)).toEqual({ f: 11.24 / 6.26, numeratorDegrees: 5, denominatorDegrees: 18 });
    expect(consistencyRatio(TWO_WAY, 0)).toEqual({ f: 11.24 / 1.02, numeratorDegrees: 5, denominatorDegrees: 15 });
    const { f, numeratorDegrees, denominatorDegrees } = agreementRatio(TWO_WAY, 0);
    expectNear(f, 11.24 / 1.02, 1e-12);
    expect(numeratorDegrees).toBe(5);
    expectNear(denominatorDegrees, 15, 1e-12);
  });

  // ρ = .2: a = .8/4.8 = 1/6, b = 1 + 4/4.8 = 11/6; aMSₐ = 5.415 and bMSₑ = 1.87.
  it('against .2, by hand', () => {
    expectNear(oneWayRatio(ONE_WAY, 0.2).f, ((11.24 / 6.26) * 0.8) / 1.6, 1e-12);
    expectNear(consistencyRatio(TWO_WAY, 0.2).f, ((11.24 / 1.02) * 0.8) / 1.6, 1e-12);
    const { f, denominatorDegrees } = agreementRatio(TWO_WAY, 0.2);
    expectNear(f, 11.24 / 7.285, 1e-12);
    expectNear(denominatorDegrees, 7.285 ** 2 / (5.415 ** 2 / 3 + 1.87 ** 2 / 15), 1e-12);
  });
});

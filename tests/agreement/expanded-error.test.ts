import { describe, expect, it } from 'vitest';
import { type Coefficient, clusterSums } from '../../src/agreement/coefficient.ts';
import { expandedError } from '../../src/agreement/expanded-error.ts';
import { jackknifeShares, replicateStatistics, studentizedLimits } from '../../src/agreement/interval.ts';
import { specificCoefficient } from '../../src/agreement/specific-agreement.ts';
import { simulateReadings } from '../../src/planning/simulate-readings.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { named } from '../support/named-coefficient.ts';

const readings = (patients: number, gaps: number, shares = [0.15, 0.2, 0.4, 0.25]): Ratings =>
  simulateReadings(
    { patients, limbs: 2, sites: 3, assessors: 3, gaps },
    { shares, readingSpread: 0.7, patientShare: 0.3, limbShare: 0.1 },
    11,
  );

const COEFFICIENTS: Readonly<Record<string, (ratings: Ratings) => Coefficient>> = {
  'percent agreement': named('percent-agreement'),
  'specific agreement': (ratings) => specificCoefficient(ratings, 2),
  'Conger, identity': named('conger-kappa'),
  'Conger, quadratic': named('conger-kappa', { weights: 'quadratic' }),
  'Fleiss, quadratic': named('fleiss-kappa', { weights: 'quadratic' }),
  'Gwet, ordinal': named('gwet-agreement', { weights: 'ordinal' }),
  'Brennan and Prediger': named('brennan-prediger', { weights: 'linear' }),
  'Krippendorff, ordinal': named('krippendorff-alpha', { metric: 'ordinal' }),
};

const expansionOf = (coefficient: Coefficient, ratings: Ratings) => {
  const sums = clusterSums(ratings, coefficient);
  const standardError = Math.hypot(...jackknifeShares(coefficient, sums));
  const drawnFrom = coefficient.condensed?.(sums.perCluster) ?? { ...coefficient, perCluster: sums.perCluster };
  const expansion = expandedError(drawnFrom, sums.clusters, standardError);
  return { sums, standardError, expansion };
};

describe.each(Object.entries(COEFFICIENTS))('%s', (_name, make) => {
  it.each([
    [450, 0],
    [450, 0.2],
    [4000, 0.2],
  ])('expanded about the data, t is as with each of %s patients left out, gaps %s', (patients, gaps) => {
    const ratings = readings(patients, gaps);
    const coefficient = make(ratings);
    const { sums, standardError, expansion } = expansionOf(coefficient, ratings);
    expect(expansion).toBeDefined();
    const options = { replicates: 400, seed: 9 };
    const made = { value: coefficient.value(sums.totals), standardError };
    const quick = replicateStatistics(coefficient, sums, options, made);
    // Without derivatives there is no expansion: each patient of each replicate is left out.
    const plain = replicateStatistics(
      {
        ...coefficient,
        condensed: () => undefined,
        gradient: () => new Float64Array(coefficient.cells).fill(Number.NaN),
      },
      sums,
      options,
      made,
    );
    expect(quick).toHaveLength(plain.length);
    // What is left out is a product of three distances of a few percent. A quantile of 2,000 replicates itself scatters by .03.
    const apart = quick.map((t, at) => Math.abs(t - plain[at]!) / Math.max(1, Math.abs(t)));
    const by = (400 / patients) ** 1.5;
    expect(Math.max(...apart)).toBeLessThan(0.03 * by);
    expect(apart.reduce((sum, one) => sum + one, 0) / apart.length).toBeLessThan(0.003 * by);
    expect(Math.max(...apart)).toBeGreaterThan(0);
    const limits = (studentized: Float64Array) =>
      studentizedLimits(coefficient, { ...made, studentized, form: coefficient.bootstrapForm }, 0.95)!;
    expect(Math.abs(limits(quick).lower - limits(plain).lower)).toBeLessThan(0.01 * standardError);
    expect(Math.abs(limits(quick).upper - limits(plain).upper)).toBeLessThan(0.01 * standardError);
  });

  it('the expansion of the data themselves is their own error', () => {
    const ratings = readings(4000, 0);
    const { standardError, expansion } = expansionOf(make(ratings), ratings);
    const { rows } = expansion!;
    const totals = new Float64Array(rows.length / 4000);
    rows.forEach((sum, at) => {
      totals[at % totals.length]! += sum;
    });
    expect(expansion!.errorOf(totals)).toBeCloseTo(standardError, 10);
  });
});

describe('not expanded, so that each patient is left out', () => {
  it('below 400 patients', () => {
    const ratings = readings(399, 0);
    expect(expansionOf(COEFFICIENTS['percent agreement']!(ratings), ratings).expansion).toBeUndefined();
  });

  it('where few patients carry the error: a grade that hardly anybody has', () => {
    const ratings = readings(4000, 0, [0.0003, 0.0007, 0.599, 0.4]);
    expect(expansionOf(specificCoefficient(ratings, 0), ratings).expansion).toBeUndefined();
    expect(expansionOf(specificCoefficient(ratings, 2), ratings).expansion).toBeDefined();
  });

  it('where the coefficient has no derivatives', () => {
    const ratings = readings(4000, 0);
    const coefficient = named('percent-agreement')(ratings);
    const without = { ...coefficient, gradient: () => new Float64Array(2).fill(Number.NaN) };
    expect(expansionOf(without, ratings).expansion).toBeUndefined();
  });
});

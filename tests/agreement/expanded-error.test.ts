import { describe, expect, it } from 'vitest';
import { type Coefficient, clusterSums } from '../../src/agreement/coefficient.ts';
import { expandedError } from '../../src/agreement/expanded-error.ts';
import { jackknifeShares, replicateStatistics, studentizedLimits } from '../../src/agreement/interval.ts';
import { distinctRows } from '../../src/agreement/leave-each-out.ts';
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
  const expansion = expandedError(
    drawnFrom,
    distinctRows(drawnFrom.perCluster, drawnFrom.cells),
    sums.clusters,
    standardError,
  );
  return { sums, standardError, drawnFrom, expansion };
};

describe.each(Object.entries(COEFFICIENTS))('%s', (_name, make) => {
  it.each([0, 0.2])('expanded about the data, t is as with each patient left out, gaps %s', (gaps) => {
    const ratings = readings(4000, gaps);
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
    // What is left out is a product of two distances of a few percent. A quantile of 2,000 replicates itself scatters by .03.
    const apart = quick.map((t, at) => Math.abs(t - plain[at]!) / Math.max(1, Math.abs(t)));
    expect(Math.max(...apart)).toBeLessThan(0.01);
    expect(apart.reduce((sum, one) => sum + one, 0) / apart.length).toBeLessThan(0.001);
    expect(Math.max(...apart)).toBeGreaterThan(1e-9);
    const limits = (studentized: Float64Array) =>
      studentizedLimits(coefficient, { ...made, studentized, form: coefficient.bootstrapForm }, 0.95)!;
    expect(Math.abs(limits(quick).lower - limits(plain).lower)).toBeLessThan(0.01 * standardError);
    expect(Math.abs(limits(quick).upper - limits(plain).upper)).toBeLessThan(0.01 * standardError);
  });

  it('the expansion of the data themselves is their own error', () => {
    const ratings = readings(4000, 0);
    const { standardError, drawnFrom, expansion } = expansionOf(make(ratings), ratings);
    const { cells, perCluster } = drawnFrom;
    const { rowOf } = distinctRows(perCluster, cells);
    const totals = new Float64Array(cells + 1);
    for (let patient = 0; patient < perCluster.length / cells; patient++)
      for (let cell = 0; cell <= cells; cell++)
        totals[cell]! += expansion!.rows[(rowOf?.[patient] ?? patient) * (cells + 1) + cell]!;
    expect(expansion!.errorOf(totals)).toBeCloseTo(standardError, 10);
  });
});

describe('not expanded, so that each patient is left out', () => {
  it('below 1,000 patients', () => {
    const ratings = readings(999, 0);
    expect(expansionOf(COEFFICIENTS['percent agreement']!(ratings), ratings).expansion).toBeUndefined();
  });

  it('where few patients carry the error: a grade that hardly anybody has', () => {
    const ratings = readings(4000, 0, [0.002, 0.003, 0.595, 0.4]);
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

import { describe, expect, it } from 'vitest';
import { type Coefficient, clusterSums } from '../../src/agreement/coefficient.ts';
import { jackknifeShares, replicateStatistics } from '../../src/agreement/interval.ts';
import { specificCoefficient } from '../../src/agreement/specific-agreement.ts';
import { simulateReadings } from '../../src/planning/simulate-readings.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { named } from '../support/named-coefficient.ts';

const COEFFICIENTS: Readonly<Record<string, (ratings: Ratings) => Coefficient>> = {
  'percent agreement': named('percent-agreement'),
  'specific agreement': (ratings) => specificCoefficient(ratings, 1),
  'Conger, identity': named('conger-kappa'),
  'Conger, linear': named('conger-kappa', { weights: 'linear' }),
  'Conger, quadratic': named('conger-kappa', { weights: 'quadratic' }),
  'Fleiss, quadratic': named('fleiss-kappa', { weights: 'quadratic' }),
  'Cohen, identity': named('cohen-kappa'),
  'Cohen, linear': named('cohen-kappa', { weights: 'linear' }),
  'Cohen, quadratic': named('cohen-kappa', { weights: 'quadratic' }),
};

const SHARES = [0.15, 0.2, 0.4, 0.25];
const readings = (assessors: number, gaps: number, sites = 3, shares = SHARES): Ratings =>
  simulateReadings(
    { patients: 25, limbs: 2, sites, assessors, gaps },
    { shares, readingSpread: 0.7, patientShare: 0.3, limbShare: 0.1 },
    5,
  );

/** The same coefficient without its quick ways: every patient's sums are taken out and what is left is valued. */
const plainly = ({ leaveEachOut: _quick, condensed: _short, ...coefficient }: Coefficient): Coefficient => coefficient;

describe.each(Object.entries(COEFFICIENTS))('%s without each patient drawn', (name, make) => {
  const assessors = name.startsWith('Cohen') ? [2] : [2, 3, 5];
  it.each(
    assessors.flatMap((count) => [
      { count, gaps: 0, sites: 3 },
      { count, gaps: 0.2, sites: 3 },
      // One site of each limb: few different patients, whose sums are then taken together.
      { count, gaps: 0, sites: 1 },
      // An odd number of grades.
      { count, gaps: 0, sites: 3, shares: [0.3, 0.4, 0.3] },
    ]),
  )(
    '$count assessors, gaps $gaps, $sites sites',
    ({ count, gaps, sites, shares }: { count: number; gaps: number; sites: number; shares?: number[] }) => {
      const ratings = readings(count, gaps, sites, shares);
      const coefficient = make(ratings);
      const sums = clusterSums(ratings, coefficient);
      const made = {
        value: coefficient.value(sums.totals),
        standardError: Math.hypot(...jackknifeShares(coefficient, sums)),
      };
      const options = { replicates: 300, seed: 9 };
      const quick = replicateStatistics(coefficient, sums, options, made);
      const plain = replicateStatistics(plainly(coefficient), sums, options, made);
      expect(quick).toHaveLength(plain.length);
      expect(plain.length).toBeGreaterThan(290);
      quick.forEach((t, at) => {
        // Infinite where a replicate agrees throughout.
        if (t !== plain[at]) expect(Math.abs(t - plain[at]!)).toBeLessThan(1e-8 * Math.max(1, Math.abs(t)));
      });
    },
  );
});

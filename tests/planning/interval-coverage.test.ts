import { describe, expect, it } from 'vitest';
import { specificCoefficient } from '../../src/agreement/specific-agreement.ts';
import {
  coverageOf,
  type IntervalCoverageOptions,
  intervalCoverage,
  percentileInterval,
} from '../../src/planning/interval-coverage.ts';
import { studentT } from '../../src/shared/distributions.ts';

const base: IntervalCoverageOptions = {
  design: { patients: 30, limbs: 2, sites: 7, assessors: 3, gaps: 0.1 },
  assumptions: { shares: [0.1, 0.25, 0.55, 0.1], readingSpread: 0.5, patientShare: 0.5, limbShare: 0.1 },
  coefficients: [{ coefficient: 'conger-kappa', weights: 'quadratic' }, { coefficient: 'percent-agreement' }],
  studies: 250,
  seed: 11,
};

/** A small version of `npm run calibrate -- agreement`, whose 4,000 studies of each design stand in DEVELOPERS.md. */
describe('intervalCoverage', () => {
  it('finds the default near 95 % and below it the interval that takes limbs as independent', async () => {
    const { rows, cautioned } = await intervalCoverage(base);
    const error = Math.sqrt((0.95 * 0.05) / 250);
    for (const statistic of new Set(rows.map((row) => row.statistic))) {
      const of = (interval: string) => rows.find((row) => row.statistic === statistic && row.interval === interval)!;
      // Floor .92 with 30 people, less three simulation errors; at most .965 and three.
      expect(of('default').coverage).toBeGreaterThan(0.92 - 3 * error);
      expect(of('default').coverage).toBeLessThan(0.965 + 3 * error);
      if (statistic.startsWith('Conger'))
        expect(of('targets independent').coverage).toBeLessThan(of('default').coverage - 3 * error);
      expect(of('targets independent').meanWidth).toBeLessThan(of('default').meanWidth);
      const { coverage, below, above, intervals, withoutInterval } = of('default');
      expect(coverage + below + above).toBeCloseTo(1, 12);
      expect(intervals + withoutInterval).toBe(250);
    }
    expect(cautioned).toBe(0);
  });

  it('gives the coverage that counting over the binomial distribution gives', async () => {
    // Two assessors and one finding a patient: agreement of n is binomial, and the interval p ± t √(p(1 − p)/(n − 1)) follows from its count.
    const patients = 15;
    const { rows } = await intervalCoverage({
      design: { patients, limbs: 1, sites: 1, assessors: 2, gaps: 0 },
      assumptions: { shares: [0.3, 0.7], readingSpread: 0.8 },
      coefficients: [{ coefficient: 'percent-agreement' }],
      studies: 3000,
      seed: 3,
    });
    const { coverage, longRunValue, intervals, withoutInterval } = rows.find(
      ({ interval }) => interval === 'targets independent',
    )!;
    let [held, defined, weight] = [0, 0, (1 - longRunValue) ** patients];
    for (let agreeing = 0; agreeing <= patients; agreeing++) {
      const share = agreeing / patients;
      const half = studentT.quantile(0.975, patients - 1) * Math.sqrt((share * (1 - share)) / (patients - 1));
      if (agreeing > 0 && agreeing < patients) {
        defined += weight;
        if (Math.abs(share - longRunValue) <= half) held += weight;
      }
      weight *= ((patients - agreeing) / (agreeing + 1)) * (longRunValue / (1 - longRunValue));
    }
    const exact = held / defined;
    expect(Math.abs(coverage - exact)).toBeLessThan(3.5 * Math.sqrt((exact * (1 - exact)) / intervals));
    expect(Math.abs(withoutInterval / 3000 - (1 - defined))).toBeLessThan(0.01);
  });

  it('judges any statistic made of sums, by any intervals: wider ones hold at least as often', async () => {
    const { rows } = await coverageOf(
      [{ coefficient: (ratings) => specificCoefficient(ratings, 2) }],
      { ...base, studies: 60 },
      (coefficient, _ratings, sums, options) => ({
        default: percentileInterval(coefficient, sums, options),
        wider: percentileInterval(coefficient, sums, { ...options, confidenceLevel: 0.99 }),
      }),
    );
    const [usual, wider] = rows;
    expect(rows.map(({ interval }) => interval)).toEqual(['default', 'wider']);
    expect(wider!.coverage).toBeGreaterThanOrEqual(usual!.coverage);
    // Of a normal distribution the ratio of the widths would be 2.576 / 1.960 = 1.31; the ends of 199 replicates scatter.
    expect(wider!.meanWidth / usual!.meanWidth).toBeGreaterThan(1.15);
    expect(wider!.meanWidth / usual!.meanWidth).toBeLessThan(1.5);
  });

  it('says how many studies carry the caution of rare grades', async () => {
    const { cautioned, rows } = await intervalCoverage({
      ...base,
      design: { ...base.design, patients: 12, sites: 1 },
      assumptions: { shares: [0.02, 0.98], readingSpread: 0.3 },
      studies: 60,
    });
    expect(cautioned).toBeGreaterThan(0.9);
    expect(rows.find(({ interval }) => interval === 'default')!.withoutInterval).toBeGreaterThan(10);
  });

  it('gives the same digits again, and keeps what it has when stopped', async () => {
    const small = { ...base, studies: 24 };
    const once = await intervalCoverage(small);
    expect((await intervalCoverage(small)).table.toCsv()).toBe(once.table.toCsv());
    const controller = new AbortController();
    const stopped = await intervalCoverage({
      ...small,
      signal: controller.signal,
      progress: (share) => {
        if (share >= 0.5) controller.abort();
      },
    });
    expect(stopped.studies).toBe(12);
    expect(stopped.notes.map(({ code }) => code)).toContain('stopped');
  });

  it('refuses what cannot be, with every problem', async () => {
    await expect(
      intervalCoverage({ ...base, coefficients: [], design: { ...base.design, patients: 0 } }),
    ).rejects.toThrow(/coefficients[\s\S]*patients/);
    await expect(intervalCoverage({ ...base, studies: 3, replicates: 10 })).rejects.toThrow(/studies[\s\S]*replicates/);
  });
});

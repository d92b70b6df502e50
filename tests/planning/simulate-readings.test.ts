import { describe, expect, it } from 'vitest';
import { intraclassCorrelation } from '../../src/agreement/intraclass-correlation.ts';
import { simulateReadings } from '../../src/planning/simulate-readings.ts';
import { refuses } from '../support/refusals.ts';

const design = { patients: 30, limbs: 2, sites: 3, assessors: 3, occasions: 2 };
const shares = [0.1, 0.3, 0.6];

describe('simulateReadings', () => {
  it('has patients × limbs × sites × occasions findings, read by each assessor but for the gaps', () => {
    const ratings = simulateReadings({ ...design, gaps: 0.1 }, { shares, readingSpread: 0.5 }, 3);
    expect(ratings.targets).toBe(360);
    expect(ratings.clusters).toBe(30);
    // 1,080 readings, each missing with chance 0.1: 972 with a standard deviation of 9.9.
    expect(Math.abs(ratings.readings - 972)).toBeLessThan(40);
  });

  it('has the shares of grades assumed, up to the scatter of readings', () => {
    const ratings = simulateReadings(
      { patients: 4000, limbs: 2, sites: 2, assessors: 2, gaps: 0 },
      { shares, readingSpread: 0.01, assessorSpread: 0 },
      3,
    );
    shares.forEach((share, grade) => {
      const seen = ratings.codes.filter((code) => code === grade).length / ratings.codes.length;
      expect(Math.abs(seen - share)).toBeLessThan(0.03);
    });
  });

  it('has the intraclass correlation of its variances, 1/(1 + t² + s²)', () => {
    const ratings = simulateReadings(
      { patients: 4000, limbs: 1, sites: 2, assessors: 4, gaps: 0 },
      { readingSpread: 0.5, assessorSpread: 0.3, patientShare: 0.5, limbShare: 0 },
      3,
    );
    const form = { model: 'two-way', definition: 'agreement', unit: 'single', interval: 'asymptotic' } as const;
    // The variance between four assessors is estimated with divisor 3: 0.09 · 4/3.
    expect(Math.abs(intraclassCorrelation(ratings, form).value - 1 / (1 + 0.12 + 0.25))).toBeLessThan(0.015);
  });

  it('draws a smaller study as the first part of a larger one', () => {
    const [small, large] = [10, 30].map((patients) =>
      simulateReadings({ ...design, patients }, { shares, readingSpread: 0.5 }, 3, 1),
    );
    expect([...small!.codes]).toEqual([...large!.codes.subarray(0, small!.codes.length)]);
  });
});

it('shares the variance of findings among patients, limbs and sites', () => {
  const { numbers } = simulateReadings(
    { patients: 6000, limbs: 2, sites: 2, assessors: 2, gaps: 0 },
    { readingSpread: 0.01, assessorSpread: 0, patientShare: 0.4, limbShare: 0.2 },
    3,
  );
  // One assessor's readings, patient by patient: right site 1, right site 2, left site 1, left site 2.
  const finding = (patient: number, at: number): number => numbers[2 * (4 * patient + at)]!;
  const mean = (of: (patient: number) => number): number =>
    Array.from({ length: 6000 }, (_, patient) => of(patient)).reduce((sum, value) => sum + value, 0) / 6000;
  // Monte Carlo errors of a product of two standard normal numbers: at most √2/√6000 = 0.018.
  expect(Math.abs(mean((patient) => finding(patient, 0) ** 2) - 1)).toBeLessThan(0.055);
  expect(Math.abs(mean((patient) => finding(patient, 0) * finding(patient, 1)) - 0.6)).toBeLessThan(0.055);
  expect(Math.abs(mean((patient) => finding(patient, 0) * finding(patient, 2)) - 0.4)).toBeLessThan(0.055);
});

refuses([
  [
    'shares that do not sum to 1',
    () => simulateReadings(design, { shares: [0.5, 0.4], readingSpread: 1 }, 1),
    'bad-option',
  ],
  ['one assessor', () => simulateReadings({ ...design, assessors: 1 }, { readingSpread: 1 }, 1), 'bad-option'],
  [
    'variance shares above 1',
    () => simulateReadings(design, { readingSpread: 1, patientShare: 0.8, limbShare: 0.4 }, 1),
    'bad-option',
  ],
]);

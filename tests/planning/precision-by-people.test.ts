import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { kappaGoodnessOfFitInterval } from '../../src/agreement/kappa-goodness-of-fit-interval.ts';
import { type PrecisionByPeopleOptions, precisionByPeople } from '../../src/planning/precision-by-people.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { InputError } from '../../src/shared/input-error.ts';

const quadratic = (ratings: Ratings) => cohenKappa(ratings, { weights: 'quadratic', interval: 'cluster-robust' });
const base: PrecisionByPeopleOptions = {
  people: [15, 30, 60],
  design: { limbs: 2, sites: 3, assessors: 2 },
  assumptions: { shares: [0.15, 0.25, 0.4, 0.2], expected: 0.6 },
  coefficient: quadratic,
  studies: 40,
  seed: 5,
};

describe('precisionByPeople', () => {
  it('finds the spread at which the coefficient is as expected', async () => {
    const precision = await precisionByPeople(base);
    expect(precision.longRunValue).toBeCloseTo(0.6, 2);
    expect(Math.abs(precision.with(60).value - 0.6)).toBeLessThan(0.04);
  });

  it('narrows with √people, and its half widths are near 1.96 times the spread from study to study', async () => {
    const precision = await precisionByPeople({ ...base, people: [30, 120], studies: 150 });
    const [few, many] = precision.rows as [(typeof precision.rows)[0], (typeof precision.rows)[0]];
    expect(few.halfWidth / many.halfWidth).toBeGreaterThan(1.8);
    expect(few.halfWidth / many.halfWidth).toBeLessThan(2.4);
    // The error of a standard deviation of 150 studies is 6 %.
    expect(Math.abs(many.halfWidth / (1.96 * many.spread) - 1)).toBeLessThan(0.24);
    expect(few.coverage).toBeGreaterThan(0.87);
  });

  it('agrees with the goodness-of-fit interval where findings are independent: one site a patient, one prevalence', async () => {
    const precision = await precisionByPeople({
      people: [74],
      design: { limbs: 1, sites: 1, assessors: 2, gaps: 0 },
      assumptions: { shares: [0.5, 0.5], expected: 0.7, assessorSpread: 0 },
      coefficient: (ratings) => kappaGoodnessOfFitInterval(ratings),
      studies: 200,
      seed: 5,
    });
    // By the published size 74 findings rule 0.40 out with power 0.80 when kappa is 0.70, by the same statistic.
    expect(precision.with(74).coverage).toBeGreaterThan(0.9);
    expect(precision.with(74).halfWidth).toBeLessThan(0.2);
  });

  it('gives the same digits again', async () => {
    const [one, two] = [await precisionByPeople(base), await precisionByPeople(base)];
    expect(one.table.toCsv()).toBe(two.table.toCsv());
  });

  it('stops when asked, keeps as many studies of each size, and says so', async () => {
    const controller = new AbortController();
    const shares: number[] = [];
    const precision = await precisionByPeople({
      ...base,
      signal: controller.signal,
      progress(share) {
        shares.push(share);
        if (shares.length === 25) controller.abort();
      },
    });
    expect(precision.studies).toBe(25);
    expect(shares[24]).toBeCloseTo(25 / 40, 12);
    expect(precision.notes.map((note) => note.code)).toContain('stopped');
    expect(precision.rows).toHaveLength(3);
  });

  it('refuses what cannot be, with every problem', async () => {
    await expect(precisionByPeople({ ...base, people: [0], studies: 3 })).rejects.toThrow(/patients[\s\S]*studies/);
    await expect(
      precisionByPeople({ ...base, assumptions: { shares: [0.5, 0.5], expected: 0.99, assessorSpread: 2 } }),
    ).rejects.toThrow(InputError);
  });
});

import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { leaveOneOutInterval, patientNotes } from '../../src/agreement/leave-one-out-interval.ts';
import { percentAgreement } from '../../src/agreement/percent-agreement.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import type { Estimate } from '../../src/shared/estimate.ts';
import { expectNear } from '../support/expect-near.ts';

const ROWS = Array.from({ length: 36 }, (_, at) => [at % 4, (at % 4) + (at % 5 === 0 || at % 11 < 2 ? 1 : 0)]);
const CLUSTERS = ROWS.map((_, at) => Math.floor(at / 3));

// The coefficients on sums have the same interval by another way: `interval: 'cluster-robust'`, patients taken off the sums.
describe('is the patient-jackknife interval of the coefficients on sums (second formula)', () => {
  for (const [scale, statistic] of [
    ['fisher', cohenKappa],
    ['logit', percentAgreement],
  ] as const)
    it(scale, () => {
      const of = (ratings: Ratings): Estimate =>
        statistic(ratings, { interval: 'cluster-robust', confidenceLevel: 0.9 });
      const ratings = ratingsOf(ROWS, { clusters: CLUSTERS, categories: [0, 1, 2, 3, 4] });
      const whole = of(ratings);
      const leftOut = Float64Array.from(
        { length: 12 },
        (_, patient) => of(ratings.ofTargets((target) => CLUSTERS[target] !== patient)).value,
      );
      const made = leaveOneOutInterval(whole.value, leftOut, scale, 0.9);
      expectNear(made.standardError, whole.standardError, 1e-12);
      expectNear(made.interval.lower, whole.interval.lower, 1e-12);
      expectNear(made.interval.upper, whole.interval.upper, 1e-12);
      expect(made.interval.method).toBe(whole.interval.method);
    });
});

it('is not defined where nothing varies, at the edge of the scale, or for one patient', () => {
  for (const [value, leftOut] of [
    [0.5, [0.5, 0.5, 0.5]],
    [1, [1, 0.9, 1]],
    [0.5, [0.5]],
  ] as const) {
    const { interval, notes } = leaveOneOutInterval(value, Float64Array.from(leftOut), 'fisher', 0.95);
    expect(interval.lower).toBeNaN();
    expect(notes.map((note) => note.code)).toEqual(['no-variation']);
  }
});

it('says when there are fewer than 12 patients, or when nobody said who the patients are', () => {
  const codes = (known: boolean, patients: number): string[] => patientNotes(known, patients).map(({ code }) => code);
  expect(codes(true, 11)).toEqual(['few-patients']);
  expect(codes(true, 12)).toEqual([]);
  expect(codes(false, 30)).toEqual(['patients-not-given']);
});

import { describe, expect, it } from 'vitest';
import { smallestDetectableChange } from '../../src/agreement/smallest-detectable-change.ts';
import { readingsPerVisit } from '../../src/planning/readings-per-visit.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { refuses } from '../support/refusals.ts';

describe('readingsPerVisit', () => {
  it('has with one reading the smallest detectable change of a study with that error (second formula)', () => {
    const study = ratingsOf(
      [
        [22.1, 22.6],
        [24.0, 23.5],
        [21.2, 21.9],
        [25.3, 25.0],
      ],
      { level: 'ratio' },
    );
    const change = smallestDetectableChange(study, { assessor: 'different', interval: 'asymptotic' });
    const error = change.value / (1.959963984540054 * Math.SQRT2);
    expect(readingsPerVisit({ readingError: error, change: 1 }).withOneReading).toBeCloseTo(change.value, 9);
  });

  it('takes the smallest number that is enough (1.3859 with one of error 0.5, 0.98 with two)', () => {
    const plan = readingsPerVisit({ readingError: 0.5, change: 1 });
    expect(plan.readings).toBe(2);
    expect(plan.withOneReading).toBeCloseTo(1.3859, 4);
    expect(plan.smallestDetectableChange).toBeCloseTo(0.98, 2);
    expect(readingsPerVisit({ readingError: 0.5, change: 0.97 }).readings).toBe(3);
    expect(readingsPerVisit({ readingError: 0.5, change: 5 }).readings).toBe(1);
  });

  it('says that no number is enough where the readings of a visit share too much error', () => {
    const plan = readingsPerVisit({ readingError: 0.5, visitError: 0.4, change: 1 });
    expect(plan.readings).toBeNaN();
    expect(plan.withAnyNumber).toBeCloseTo(1.1087, 4);
    expect(plan.sentence).toMatch(/^No number of readings/);
  });
});

refuses([
  ['no error', () => readingsPerVisit({ readingError: 0, change: 1 }), 'bad-option'],
  ['a change below 0', () => readingsPerVisit({ readingError: 1, change: -1 }), 'bad-option'],
]);

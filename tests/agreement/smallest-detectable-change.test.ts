import { describe, expect, it } from 'vitest';
import { smallestDetectableChange } from '../../src/agreement/smallest-detectable-change.ts';
import { standardErrorOfMeasurement } from '../../src/agreement/standard-error-of-measurement.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^sem-mdc-sf1979$/))
    it(`${one.id}: ${one.source}`, () => {
      const ratings = ratingsOfCase(one);
      expectNear(smallestDetectableChange(ratings).value, one.expected.mdc95Agreement, one.tolerance);
      const consistency = smallestDetectableChange(ratings, { definition: 'consistency' });
      expectNear(consistency.value, one.expected.mdc95Consistency, one.tolerance);
    });

  for (const one of publishedCases('progression', /^mdc-ci$/))
    it(`${one.id}: ${one.source}`, () => {
      const { reading1, reading2 } = one.data as { reading1: number[]; reading2: number[] };
      const ratings = ratingsOf(reading1.map((x, at) => [x, reading2[at]!]));
      const change = smallestDetectableChange(ratings, { columnsAre: 'repeats' });
      expectNear(change.value, one.expected.MDC95, 1e-10);
      expectNear(change.interval.lower, one.expected.MDC95Lower, 1e-10);
      expectNear(change.interval.upper, one.expected.MDC95Upper, 1e-10);
    });

  for (const one of publishedCases('progression', /^mdc-pefr$/))
    it(`${one.id}: ${one.source}`, () => {
      for (const [name, first, second] of [
        ['Wright', 'wright1', 'wright2'],
        ['Mini', 'mini1', 'mini2'],
      ] as const) {
        const rows = (one.data[first] as number[]).map((x, at) => [x, one.data[second][at] as number]);
        const change = smallestDetectableChange(ratingsOf(rows), { columnsAre: 'repeats' });
        expectNear(change.value, one.expected[`MDC95${name}`], 1e-9);
        expectNear(change.details.standardErrorOfMeasurement!, one.expected[`sw${name}`], 1e-9);
      }
    });

  // Conventions page of the reference cases: 6.9 by different assessors, 2.8 with habits left out, on the table of Shrout and Fleiss.
  it('two assessors need the agreement error: 6.9 against 2.8', () => {
    const [one] = publishedCases('agreement', /^sem-mdc-sf1979$/);
    const ratings = ratingsOfCase(one!);
    expectPrinted(smallestDetectableChange(ratings).value, '6.9');
    expectPrinted(smallestDetectableChange(ratings, { definition: 'consistency' }).value, '2.8');
  });
});

const RATINGS = ratingsOf([
  [1, 2],
  [3, 3],
  [5, 4],
]);

it('takes the level of change apart from the level of its interval', () => {
  const wide = smallestDetectableChange(RATINGS, { changeLevel: 0.99 });
  const narrow = smallestDetectableChange(RATINGS, { changeLevel: 0.9 });
  // Normal quantiles 2.575829 and 1.644854 (any table).
  expectNear(wide.value / narrow.value, 2.5758293035489 / 1.6448536269515, 1e-12);
  expect(narrow.interval.level).toBe(0.95);
  const tighter = smallestDetectableChange(RATINGS, { confidenceLevel: 0.5 });
  expect(tighter.value).toBe(smallestDetectableChange(RATINGS).value);
  expect(tighter.interval.upper).toBeLessThan(smallestDetectableChange(RATINGS).interval.upper);
});

it('refuses a level that is no fraction, and is not defined where nothing was read twice', () => {
  expect(() => smallestDetectableChange(RATINGS, { changeLevel: 95 })).toThrow(/fraction/);
  expect(smallestDetectableChange(ratingsOf([[1, null]])).value).toBeNaN();
});

it('is the error, its own error and its limits, all times z·√2', () => {
  const ratings = ratingsOf(
    [
      [20, 21.5, 19],
      [31, 33, 30],
      [25, 24, 24.5],
      [28, 30, 26],
    ],
    { clusters: ['a', 'a', 'b', 'c'] },
  );
  const options = { definition: 'consistency', interval: 'cluster-robust', confidenceLevel: 0.8 } as const;
  const error = standardErrorOfMeasurement(ratings, options);
  // The normal quantile of .95 (any table).
  const factor = 1.6448536269514722 * Math.SQRT2;
  const change = smallestDetectableChange(ratings, { ...options, changeLevel: 0.9 });
  expectNear(change.value, factor * error.value, 1e-12);
  expectNear(change.standardError, factor * error.standardError, 1e-12);
  expectNear(change.interval.lower, factor * error.interval.lower, 1e-12);
  expectNear(change.interval.upper, factor * error.interval.upper, 1e-12);
  expect(change.interval).toMatchObject({ level: 0.8, method: error.interval.method });
  expect(change.statistic).toBe('smallest detectable change, different assessors, one day');
  expect(change.options).toEqual({ ...error.options, changeLevel: 0.9 });
  expect(change.details).toEqual({ ...error.details, standardErrorOfMeasurement: error.value });
  expect(change.notes).toEqual(error.notes);
  expect(change.counts).toEqual(error.counts);
  expect(smallestDetectableChange(ratings, options).options.changeLevel).toBe(0.95);
  for (const changeLevel of [0, 1, -0.5, 95, Number.NaN])
    expect(() => smallestDetectableChange(ratings, { changeLevel })).toThrow(/changeLevel/);
});

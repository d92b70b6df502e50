import { describe, expect, it } from 'vitest';
import { repeatability } from '../../src/agreement/repeatability.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';
import { withRepeats } from '../support/with-repeats.ts';

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^measurement-error-ba1996$/))
    it(`${one.id}: ${one.source}`, () => {
      const { value, details } = repeatability(ratingsOfCase(one), { columnsAre: 'repeats' });
      expectNear(details.withinFinding!, one.expected.sw, one.tolerance);
      expectNear(details.measurementError!, one.expected.measurementError196, one.tolerance);
      expectNear(details.rounded!, one.expected.repeatability277, one.tolerance);
      expectNear(value, one.expected.repeatabilityExact, one.tolerance);
      // This case's MDC95 takes 1.96 for the quantile 1.959964.
      expectNear((value * 1.96) / 1.959963984540054, one.expected.MDC95, one.tolerance);
      expectPrinted(details.withinFinding!, '21.5');
      expectPrinted(details.measurementError!, '42');
    });

  for (const one of publishedCases('agreement', /^repeatability-pefr$/))
    it(`${one.id}: ${one.source}`, () => {
      for (const [meter, first, second] of [
        ['wright', 'w1', 'w2'],
        ['mini', 'm1', 'm2'],
      ] as const) {
        const rows = (one.data[first] as number[]).map((x, at) => [x, one.data[second][at] as number]);
        const about0 = repeatability(ratingsOf(rows), { columnsAre: 'repeats' });
        const expected = one.expected[meter];
        expectNear(about0.details.withinFinding!, expected.sw, one.tolerance);
        expectNear(about0.value, expected.cr196 * (1.959963984540054 / 1.96), 1e-9);
        expectNear(about0.details.withinFinding! * Math.SQRT2, expected.rmsDiff, one.tolerance);
        // About the mean difference: 2 SD of the differences, as in 1986.
        const aboutMean = repeatability(ratingsOf(rows), { columnsAre: 'repeats', definition: 'consistency' });
        expectNear(aboutMean.details.withinFinding! * Math.SQRT2, expected.sdDiff, one.tolerance);
        expectNear(aboutMean.details.twice!, expected.cr2sd, one.tolerance);
      }
    });

  for (const one of publishedCases('progression', /^mdc-pefr$/))
    it(`${one.id}, twice the root mean square: ${one.source}`, () => {
      const rows = (one.data.wright1 as number[]).map((x, at) => [x, one.data.wright2[at] as number]);
      const { details } = repeatability(ratingsOf(rows), { columnsAre: 'repeats' });
      expectNear(details.twice!, one.expected.repeatability2sdWright, 1e-9);
    });
});

it('is the same from repeats beside the matrix as from columns that are repeats', () => {
  const columns = [
    [4, 5],
    [7, 7],
    [1, 3],
    [9, 8],
  ];
  const beside = withRepeats(columns.map((row) => [row]));
  const plain = repeatability(ratingsOf(columns), { columnsAre: 'repeats' });
  expect(repeatability(beside).value).toBeCloseTo(plain.value, 12);
  expect(repeatability(beside.withinAssessors()).value).toBeCloseTo(plain.value, 12);
});

it('takes three readings of a finding as three, not as one pair', () => {
  // Within squares 2 (1, 2, 3) and 2 (4, 6): sum 4 on 3 degrees of freedom.
  const { details } = repeatability(withRepeats([[[1, 2, 3]], [[4, 6]]]));
  expectNear(details.withinFinding!, Math.sqrt(4 / 3), 1e-12);
  expect(details.degreesOfFreedom).toBe(3);
});

it('asks for repeats', () => {
  expect(() => repeatability(ratingsOf([[1, 2]]))).toThrow(/read a finding twice/);
});

it('is 1.96·√2 of the within-finding error, with the conventions beside it', () => {
  const ratings = ratingsOf([
    [494, 490],
    [395, 397],
    [516, 512],
  ]);
  // √(Σd²/2n) of the differences 4, −2 and 4.
  const within = Math.sqrt(36 / 6);
  const made = repeatability(ratings, { columnsAre: 'repeats' });
  expectNear(made.value, 1.959963984540054 * Math.SQRT2 * within, 1e-12);
  const near: Readonly<Record<string, number>> = {
    withinFinding: within,
    measurementError: 1.96 * within,
    rounded: 2.77 * within,
    twice: 2 * Math.SQRT2 * within,
    degreesOfFreedom: 3,
  };
  for (const [key, value] of Object.entries(near)) expectNear(made.details[key]!, value, 1e-12);
  expect(made.statistic).toBe('repeatability');
  expect(made.options).toMatchObject({ assessor: 'same', day: 'same', definition: 'agreement' });
});

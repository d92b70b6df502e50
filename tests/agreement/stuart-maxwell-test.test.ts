import { describe, expect, it } from 'vitest';
import { mcnemarTest } from '../../src/agreement/mcnemar-test.ts';
import { stuartMaxwellTest } from '../../src/agreement/stuart-maxwell-test.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { studentT } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { casesBeside, publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of [
    ...publishedCases('agreement', /^marginal-|^landis-koch-1977-marginal/),
    ...casesBeside('agreement', /^marginal-/),
  ])
    it(`${one.id}: ${one.source}`, () => {
      const result = stuartMaxwellTest(ratingsOfCase(one));
      expectNear(result.statistic.value, one.expected.stuartMaxwell, one.tolerance);
      expect(result.degreesOfFreedom).toBe(one.expected.smDf ?? one.expected.df);
      if (one.expected.smP !== undefined) expectNear(result.pValue, one.expected.smP, one.tolerance);
    });

  it('left and right eyes of 7,477 women: 11.96 (R 4.2.2 with coin 1.4.2, mh_test)', () => {
    const [one] = publishedCases('progression', /^stuart-maxwell-vision$/);
    const result = stuartMaxwellTest(ratingsOfTable(one!.data.table, { categories: one!.data.rows }));
    expectNear(result.statistic.value, one!.expected.stuart, 1e-9);
    expectNear(result.pValue, one!.expected.pStuart, 1e-9);
    expectPrinted(result.statistic.value, '11.96');
  });

  const [mammograms] = casesBeside('agreement', /^kappa-mammograms-linear/);
  if (mammograms !== undefined)
    it('adds nothing to empty cells: 8.003 (the conventions page)', () => {
      expectPrinted(stuartMaxwellTest(ratingsOfCase(mammograms)).statistic.value, '8.003');
    });
});

it('leaves out a grade that neither used and names it, without changing the rest', () => {
  const table = [
    [10, 4, 1],
    [2, 8, 5],
    [0, 1, 9],
  ];
  const wider = [
    [10, 0, 4, 1],
    [0, 0, 0, 0],
    [2, 0, 8, 5],
    [0, 0, 1, 9],
  ];
  const plain = stuartMaxwellTest(ratingsOfTable(table, { categories: [0, 2, 3] }));
  const unused = stuartMaxwellTest(ratingsOfTable(wider, { categories: [0, 1, 2, 3] }));
  expect(unused.statistic.value).toBeCloseTo(plain.statistic.value, 10);
  expect(unused.degreesOfFreedom).toBe(2);
  expect(unused.notes.find((note) => note.code === 'unused-categories')?.message).toContain('"1"');
  expect(plain.notes.map((note) => note.code)).not.toContain('unused-categories');
});

it('loses a degree of freedom where two groups of grades are never confused with one another', () => {
  const result = stuartMaxwellTest(
    ratingsOfTable(
      [
        [9, 5, 0, 0],
        [1, 9, 0, 0],
        [0, 0, 9, 2],
        [0, 0, 6, 9],
      ],
      { categories: [0, 1, 2, 3] },
    ),
  );
  expect(result.degreesOfFreedom).toBe(2);
  // Two McNemar tests side by side: 4²/6 + 4²/8.
  expect(result.statistic.value).toBeCloseTo(16 / 6 + 16 / 8, 10);
});

it('of two categories is McNemar’s test, patients or not', () => {
  const random = seededRandom(5);
  const rows = Array.from({ length: 60 }, () => [random.below(2), Number(random.uniform() < 0.6)]);
  for (const options of [{}, { clusters: rows.map((_, at) => at % 20) }]) {
    const ratings = ratingsOf(rows, options);
    const both = stuartMaxwellTest(ratings);
    const two = mcnemarTest(ratings);
    expect(both.statistic.value).toBeCloseTo(two.statistic.value, 10);
    // With several targets a patient p is Hotelling's, of one difference Student's t of the patients' net differences.
    const t2 = (two.statistic.value * (20 - 1)) / (20 - two.statistic.value);
    const p = 'clusters' in options ? 2 * studentT.upper(Math.sqrt(t2), 19) : two.pValue;
    expect(both.pValue).toBeCloseTo(p, 10);
    expect(both.effect.value).toBeCloseTo(two.effect.value, 12);
  }
});

it('shows the mean difference first, and the shift of each share', () => {
  const result = stuartMaxwellTest(
    ratingsOf([
      [0, 1],
      [1, 1],
      [1, 3],
      [2, 2],
    ]),
  );
  expect(result.effect.name).toBe('mean difference, 2 minus 1');
  expect(result.effect.value).toBeCloseTo(0.75, 12);
  expect(result.details).toEqual({ 'category 0': -0.25, 'category 1': 0, 'category 2': 0, 'category 3': 0.25 });
});

it('is not defined when the two never disagree or have nothing in common', () => {
  for (const rows of [
    [
      [0, 0],
      [1, 1],
    ],
    [
      [0, null],
      [null, 1],
    ],
  ]) {
    const result = stuartMaxwellTest(ratingsOf(rows));
    expect(result.pValue).toBeNaN();
    expect(result.notes.map((note) => note.code)).toContain('not-defined');
  }
});

refuses([['three assessors', () => stuartMaxwellTest(ratingsOf([[0, 1, 1]])), 'two-assessors-needed']]);

import { describe, expect, it } from 'vitest';
import { bowkerTest } from '../../src/agreement/bowker-test.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { casesBeside, publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of [...publishedCases('agreement', /^marginal-/), ...casesBeside('agreement', /^marginal-/)])
    it(`${one.id}: ${one.source}`, () => {
      const result = bowkerTest(ratingsOfCase(one));
      expectNear(result.statistic.value, one.expected.bowker, one.tolerance);
      expect(result.degreesOfFreedom).toBe(one.expected.bowkerDf);
      expectNear(result.pValue, one.expected.bowkerP, one.tolerance);
    });

  it('left and right eyes of 7,477 women: 19.11 with 6 degrees of freedom (R 4.2.2, mcnemar.test)', () => {
    const [one] = publishedCases('progression', /^stuart-maxwell-vision$/);
    const result = bowkerTest(ratingsOfTable(one!.data.table, { categories: one!.data.rows }));
    expectNear(result.statistic.value, one!.expected.bowker, 1e-9);
    expectNear(result.pValue, one!.expected.pBowker, 1e-9);
    expectPrinted(result.statistic.value, '19.11');
  });

  const [mammograms] = casesBeside('agreement', /^kappa-mammograms-linear/);
  if (mammograms !== undefined)
    it('skips the pair of grades never confused: 9.168 with 5, not 6, degrees of freedom (the conventions page)', () => {
      const result = bowkerTest(ratingsOfCase(mammograms));
      expectPrinted(result.statistic.value, '9.168');
      expect(result.degreesOfFreedom).toBe(5);
      expect(result.details).toEqual({ pairsOfGrades: 6, pairsSkipped: 1 });
      expect(result.notes.map((note) => note.code)).toContain('pairs-skipped');
    });
});

it('shows first how much more is read higher than lower', () => {
  const { effect } = bowkerTest(
    ratingsOfTable(
      [
        [5, 4, 2],
        [1, 5, 3],
        [0, 0, 5],
      ],
      { categories: [0, 1, 2] },
    ),
  );
  expect(effect.value).toBeCloseTo((9 - 1) / 25, 12);
  expect(effect.interval.lower).toBeGreaterThan(0);
  expect(effect.name).toContain('read higher less share read lower');
});

it('takes patients as the units: two patients with opposite, equal confusions give 0', () => {
  const rows = [
    [0, 1, 'p'],
    [0, 1, 'p'],
    [1, 0, 'q'],
    [1, 0, 'q'],
    [1, 2, 'r'],
    [2, 2, 'r'],
  ] as const;
  const result = bowkerTest(
    ratingsOf(
      rows.map(([a, b]) => [a, b]),
      { clusters: rows.map((row) => row[2]) },
    ),
  );
  // D = (0 for 0–1, 1 for 1–2); S = diag(2² + 2², 1).
  expect(result.statistic.value).toBeCloseTo(1, 12);
  expect(result.degreesOfFreedom).toBe(2);
  expect(result.notes.map((note) => note.code)).toContain('few-patients-for-test');
});

it('without order shows the largest shift of a share, and says so', () => {
  const result = bowkerTest(
    ratingsOf(
      [
        ['a', 'b'],
        ['a', 'b'],
        ['a', 'a'],
        ['b', 'c'],
      ],
      { level: 'nominal' },
    ),
  );
  expect(result.effect.name).toContain('share of "a"');
  expect(result.effect.value).toBeCloseTo(-0.5, 12);
  expect(result.notes.map((note) => note.code)).toContain('largest-shift');
});

it('is not defined when the two never disagree', () => {
  const result = bowkerTest(
    ratingsOf([
      [0, 0],
      [1, 1],
    ]),
  );
  expect(result.statistic.value).toBeNaN();
  expect(result.pValue).toBeNaN();
  expect(result.notes.map((note) => note.code)).toContain('not-defined');
});

refuses([
  ['three assessors', () => bowkerTest(ratingsOf([[0, 1, 1]])), 'two-assessors-needed'],
  ['measured numbers', () => bowkerTest(ratingsOf([[1.5, 2.5]], { level: 'interval' })), 'level-not-suited'],
]);

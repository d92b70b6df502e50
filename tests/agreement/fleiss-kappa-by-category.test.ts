import { expect, it } from 'vitest';
import { fleissKappaByCategory } from '../../src/agreement/fleiss-kappa-by-category.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';

it('diagnoses: .245 .245 .520 .471 .566 with null error .0471 (Fleiss 1971; Fleiss, Nee, Landis 1979)', () => {
  const [one] = publishedCases('agreement', /^fleiss-1971-diagnoses$/);
  const { categories, table } = fleissKappaByCategory(ratingsOfCase(one!));
  const printed = ['0.245', '0.245', '0.520', '0.471', '0.566'];
  categories.forEach(({ estimate }, at) => {
    expectNear(estimate.value, one!.expected.perCategory[at], one!.tolerance);
    expectPrinted(estimate.value, printed[at]!);
    expectNear(estimate.details.nullStandardError!, one!.expected.perCategorySE0, one!.tolerance);
    expect(estimate.interval.lower).toBeLessThan(estimate.value);
  });
  expect(table.rows.map((row) => row.readings)).toEqual([26, 26, 30, 55, 43]);
});

it('is not defined for a category that nobody used', () => {
  const counts = [
    [2, 1, 0],
    [0, 3, 0],
  ];
  const { categories } = fleissKappaByCategory(ratingsOfCounts(counts, { categories: ['a', 'b', 'c'] }));
  expect(categories[2]!.estimate.value).toBeNaN();
  expect(categories[2]!.estimate.notes.map((note) => note.code)).toContain('not-defined');
});

it('counts the readings of each category, and is printed as numbers', () => {
  const rows = [
    [0, 0, 1],
    [1, 1, null],
    [2, 1, 2],
    [0, null, null],
    [0, 2, 2],
  ];
  const made = fleissKappaByCategory(ratingsOf(rows, { categories: [0, 1, 2] }), { interval: 'cluster-robust' });
  expect(made.categories.map(({ estimate }) => estimate.details.readings)).toEqual([4, 4, 4]);
  expect(made.categories.map(({ estimate }) => estimate.counts)).toEqual(
    Array.from({ length: 3 }, () => ({ targets: 5, clusters: 5, assessors: 3, ratings: 12, excluded: 0 })),
  );
  // Unequal numbers of readings: no null error.
  expect(made.categories[0]!.estimate.details.nullStandardError).toBeNaN();
  expect(made.table.columns.map(({ kind }) => kind)).toEqual(['text', 'number', 'number', 'number', 'count']);
  expect(made.table.rows.map(({ category, value, readings }) => [category, value, readings])).toEqual(
    made.categories.map(({ category, estimate }) => [category.words, estimate.value, 4]),
  );
  expect(made.table.rows.map(({ lower, upper }) => [lower, upper])).toEqual(
    made.categories.map(({ estimate }) => [estimate.interval.lower, estimate.interval.upper]),
  );
  expect(made.audience).toBe('own');
  const pairs = fleissKappaByCategory(ratingsOf(rows, { categories: [0, 1, 2] }), { counting: 'pair-weighted' });
  expect(pairs.categories[0]!.estimate.options).toMatchObject({ counting: 'pair-weighted', category: 0 });
  expect(pairs.categories[0]!.estimate.value).not.toBe(made.categories[0]!.estimate.value);
});

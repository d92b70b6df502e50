import { expect, it } from 'vitest';
import { fleissKappaByCategory } from '../../src/agreement/fleiss-kappa-by-category.ts';
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

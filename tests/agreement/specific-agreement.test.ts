import { describe, expect, it } from 'vitest';
import { specificAgreement, specificCoefficient } from '../../src/agreement/specific-agreement.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { publishedCases } from '../support/published-cases.ts';

describe('published tables', () => {
  const [multiple] = publishedCases('agreement', /^specific-agreement-ms-wpg$/);
  it(`four categories: ${multiple!.source}`, () => {
    const specific = specificAgreement(ratingsOfCase(multiple!));
    multiple!.expected.byCategory.forEach((value: number, at: number) => {
      expectNear(specific.categories[at]!.estimate.value, value, multiple!.tolerance);
    });
  });

  for (const one of publishedCases('agreement', /^kappa-fc1990/))
    it(`positive and negative agreement, ${one.id}: ${one.source}`, () => {
      const specific = specificAgreement(ratingsOfCase(one));
      expectNear(specific.categories[0]!.estimate.value, one.expected.ppos, one.tolerance);
      expectNear(specific.categories[1]!.estimate.value, one.expected.pneg, one.tolerance);
    });
});

it('many assessors with gaps: by hand, Σ nₖ(nₖ − 1) / Σ nₖ(m − 1)', () => {
  const specific = specificAgreement(
    ratingsOf([
      [1, 1, 2],
      [2, 2, null],
      [1, null, null],
      [2, 1, 1],
    ]),
  );
  // Category 1: (2 + 0 + 2) / (2·2 + 0 + 2·2) = 4/8; category 2: (0 + 2 + 0) / (1·2 + 2·1 + 1·2) = 2/6.
  expect(specific.categories[0]!.estimate.value).toBeCloseTo(1 / 2, 12);
  expect(specific.categories[1]!.estimate.value).toBeCloseTo(1 / 3, 12);
  expect(specific.categories[0]!.estimate.details.readings).toBe(4);
});

it('is not defined for a grade nobody used, and says when no two ever agreed', () => {
  const specific = specificAgreement(
    ratingsOf(
      [
        [0, 1],
        [1, 0],
        [0, 0],
      ],
      { categories: [0, 1, 2] },
    ),
  );
  expect(specific.categories[2]!.estimate.value).toBeNaN();
  expect(specific.categories[1]!.estimate.notes.map((note) => note.code)).toContain('never-agreed');
});

describe('gradient', () => hasItsGradient((ratings) => specificCoefficient(ratings, 2)));

it('is printed as percentages, with the readings that entered', () => {
  const { table, categories } = specificAgreement(
    ratingsOf(
      [
        [0, 0, 1],
        [1, 1, null],
        [0, null, null],
      ],
      { categories: [0, 1] },
    ),
    { interval: 'cluster-robust' },
  );
  expect(table.columns.map(({ kind }) => kind)).toEqual(['text', 'percent', 'percent', 'percent', 'count']);
  expect(table.rows.map(({ readings }) => readings)).toEqual([2, 3]);
  // Of grade 0: one of two others agreed twice of (2 · 1)/(2 · 2); of grade 1: 2/(1 · 2 + 2 · 1).
  expect(categories.map(({ estimate }) => estimate.value)).toEqual([2 / 4, 2 / 4]);
  expect(categories.map(({ estimate }) => estimate.statistic)).toEqual([
    'specific agreement on "0"',
    'specific agreement on "1"',
  ]);
});

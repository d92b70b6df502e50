import { describe, expect, it } from 'vitest';
import { brennanPrediger } from '../../src/agreement/brennan-prediger.ts';
import { gwetAgreement, gwetCoefficient } from '../../src/agreement/gwet-agreement.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { keepsTheLaws } from '../support/laws.ts';
import { casesBeside, publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of [
    ...publishedCases('agreement', /^gwet-ac|^gwet-15x6-ac$/),
    ...casesBeside('agreement', /^gwet-ac2-expsy/),
  ])
    it(`${one.id}: ${one.source}`, () => {
      const { expected, tolerance, parameters } = one;
      const share = gwetAgreement(ratingsOfCase(one), { weights: parameters.weights ?? 'identity' });
      expectNear(share.value, expected.coefficient, tolerance);
      expectNear(share.standardError, expected.se, tolerance);
      if (expected.ciLower === undefined) return;
      expectNear(share.interval.lower, expected.ciLower, tolerance);
      expectNear(share.interval.upper, expected.ciUpperUncapped, tolerance);
      expectNear(share.details.observedAgreement!, expected.pa, tolerance);
      expectNear(share.details.expectedAgreement!, expected.pe, tolerance);
      expect(share.counts.targets).toBe(expected.n);
    });

  it('prints .77544 with error .14295 for the 12 × 4 example (Gwet 2008, doi:10.1348/000711006X126600)', () => {
    const [one] = publishedCases('agreement', /^gwet-ac1-missing/);
    const share = gwetAgreement(ratingsOfCase(one!));
    expectPrinted(share.value, '0.77544');
    expectPrinted(share.standardError, '0.14295');
    expect(share.interval.upper).toBeGreaterThan(1);
    expect(share.notes.map((note) => note.code)).toContain('limit-beyond-one');
  });

  it('two assessors, three categories: .8493305, error .04321747 with divisor n, .0434352 with n − 1', () => {
    const [one] = publishedCases('agreement', /^gwet-3x3-ac$/);
    const share = gwetAgreement(ratingsOfCase(one!));
    expectNear(share.value, one!.expected.coefficient, one!.tolerance);
    expectNear(share.standardError, one!.expected.seRawConvention_nMinus1, one!.tolerance);
    expectNear(share.details.standardErrorDivisorN!, one!.expected.seTableConvention_n, one!.tolerance);
    expectPrinted(share.details.standardErrorDivisorN!, '0.04321747');
  });
});

describe('laws', () => {
  for (const weights of ['identity', 'linear', 'quadratic', 'ordinal', 'radical'] as const)
    describe(weights, () => {
      keepsTheLaws((ratings) => gwetAgreement(ratings, { weights }), {
        assessors: 3,
        gaps: true,
        lowest: Number.NEGATIVE_INFINITY,
        lessTargets: () => 1,
      });
      hasItsGradient((ratings) => gwetCoefficient(ratings, { weights }));
    });

  it('equals Brennan–Prediger when all categories are read equally often', () => {
    const rows = [
      [0, 0],
      [1, 2],
      [2, 1],
      [3, 3],
    ];
    const ratings = ratingsOf(rows, { categories: [0, 1, 2, 3] });
    for (const weights of ['identity', 'quadratic'] as const)
      expect(gwetAgreement(ratings, { weights }).value).toBeCloseTo(brennanPrediger(ratings, { weights }).value, 12);
  });
});

it('is 1 when all readings are of one category, and not defined when nothing was read twice', () => {
  const alike = gwetAgreement(
    ratingsOfTable(
      [
        [9, 0],
        [0, 0],
      ],
      { categories: [0, 1] },
    ),
  );
  expect(alike.value).toBe(1);
  expect(alike.interval.lower).toBeNaN();
  const single = gwetAgreement(ratingsOf([[1, null]], { categories: [0, 1] }));
  expect(single.value).toBeNaN();
  expect(single.notes.map((note) => note.code)).toContain('not-defined');
});

refuses([
  ['measured numbers', () => gwetAgreement(ratingsOf([[1.5, 2.5]], { level: 'ratio' })), 'level-not-suited'],
  [
    'graded weights without an order',
    () => gwetAgreement(ratingsOf([[0, 1]], { level: 'nominal' }), { weights: 'quadratic' }),
    'level-not-suited',
  ],
]);

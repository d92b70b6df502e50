import { describe, expect, it } from 'vitest';
import { brennanPrediger, brennanPredigerCoefficient } from '../../src/agreement/brennan-prediger.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { keepsTheLaws } from '../support/laws.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of publishedCases('agreement', /^brennan-prediger-missing|^gwet-15x6-bp$|^limb-bp-linear$/))
    it(`${one.id}: ${one.source}`, () => {
      const { expected, tolerance, parameters } = one;
      const weights = parameters.weights ?? 'identity';
      const share = brennanPrediger(ratingsOfCase(one), { weights, interval: 'asymptotic' });
      expectNear(share.value, expected.coefficient, tolerance);
      expectNear(share.standardError, expected.se, tolerance);
      expectNear(share.interval.lower, expected.ciLower, tolerance);
      expectNear(share.interval.upper, expected.ciUpperUncapped, tolerance);
      expectNear(share.details.observedAgreement!, expected.pa, tolerance);
      expectNear(share.details.expectedAgreement!, expected.pe, tolerance);
      expect(share.counts.targets).toBe(expected.n);
    });

  it('prints .77273 with error .14472 for the 12 × 4 example (Gwet 2008, doi:10.1348/000711006X126600)', () => {
    const [one] = publishedCases('agreement', /^brennan-prediger-missing/);
    const share = brennanPrediger(ratingsOfCase(one!));
    expectPrinted(share.value, '0.77273');
    expectPrinted(share.standardError, '0.14472');
    expect(share.notes.map((note) => note.code)).toContain('limit-beyond-one');
  });

  it('two assessors, three categories, by either divisor', () => {
    const [one] = publishedCases('agreement', /^gwet-3x3-bp$/);
    const share = brennanPrediger(ratingsOfCase(one!));
    expectNear(share.value, one!.expected.coefficient, one!.tolerance);
    expectNear(share.standardError, one!.expected.seRawConvention_nMinus1, one!.tolerance);
    expectNear(share.details.standardErrorDivisorN!, one!.expected.seTableConvention_n, one!.tolerance);
  });

  it('is the free-marginal kappa .4444 of the diagnoses (Fleiss 1971 data; statsmodels 0.13.5, fleiss_kappa(method="randolph"))', () => {
    const [one] = publishedCases('agreement', /^fleiss-1971-diagnoses$/);
    expectNear(brennanPrediger(ratingsOfCase(one!)).value, one!.expected.randolphFree, one!.tolerance);
  });

  it('at two categories is the prevalence-adjusted kappa (Byrt, Bishop, Carlin 1993)', () => {
    for (const one of publishedCases('agreement', /^kappa-fc1990-/))
      expectNear(brennanPrediger(ratingsOfCase(one)).value, one.expected.pabak, one.tolerance);
  });
});

describe('laws', () => {
  for (const weights of ['identity', 'linear', 'quadratic', 'ordinal', 'radical'] as const)
    describe(weights, () => {
      keepsTheLaws((ratings) => brennanPrediger(ratings, { weights }), {
        assessors: 3,
        gaps: true,
        lowest: Number.NEGATIVE_INFINITY,
        lessTargets: () => 1,
      });
      hasItsGradient((ratings) => brennanPredigerCoefficient(ratings, { weights }));
    });
});

it('depends on the categories declared, and says so when they were not', () => {
  const rows = [
    [1, 1],
    [1, 2],
    [2, 2],
  ];
  const declared = brennanPrediger(ratingsOf(rows, { categories: [0, 1, 2, 3] }));
  const observed = brennanPrediger(ratingsOf(rows));
  expect(declared.value).toBeCloseTo((2 / 3 - 1 / 4) / (3 / 4), 12);
  expect(observed.value).toBeCloseTo((2 / 3 - 1 / 2) / (1 / 2), 12);
  expect(observed.notes.map((note) => note.code)).toContain('categories-matter');
  expect(declared.notes.map((note) => note.code)).not.toContain('categories-matter');
});

it('is not defined on a scale of one category', () => {
  const share = brennanPrediger(ratingsOfTable([[5]], { categories: ['yes'] }));
  expect(share.value).toBeNaN();
  expect(share.notes.map((note) => note.code)).toContain('not-defined');
});

refuses([
  ['measured numbers', () => brennanPrediger(ratingsOf([[1.5, 2.5]], { level: 'ratio' })), 'level-not-suited'],
  ['an unknown word', () => brennanPrediger(ratingsOf([[1, 2]]), { weights: 'square' as 'linear' }), 'unknown-choice'],
]);

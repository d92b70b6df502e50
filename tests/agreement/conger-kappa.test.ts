import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { congerCoefficient, congerKappa } from '../../src/agreement/conger-kappa.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { keepsTheLaws } from '../support/laws.ts';
import { casesBeside, publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  it('gaps, lone reading by the second assessor: formula of Conger 1980, doi:10.1037/0033-2909.88.2.322', () => {
    const [one] = publishedCases('agreement', /^conger-missing/);
    const { expected, tolerance } = one!;
    const kappa = congerKappa(ratingsOfCase(one!));
    expectNear(kappa.value, expected.coefficient, tolerance);
    expectNear(kappa.details.observedAgreement!, expected.pa, tolerance);
    expectNear(kappa.details.expectedAgreement!, expected.pe, tolerance);
    expectNear(kappa.standardError, expected.se, tolerance);
  });

  it('the same with the lone reading by the third: prints .76282 with error .14917 (Gwet 2008, doi:10.1348/000711006X126600)', () => {
    const [one] = publishedCases('agreement', /^gwet-ac1-missing/);
    const kappa = congerKappa(ratingsOfCase(one!));
    expectPrinted(kappa.value, '0.76282');
    expectPrinted(kappa.standardError, '0.14917');
  });

  for (const one of [...publishedCases('agreement', /^multirater-/), ...casesBeside('agreement', /^multirater-wine/)])
    it(`${one.id}: ${one.source}`, () => {
      const kappa = congerKappa(ratingsOfCase(one));
      expectNear(kappa.value, one.expected.conger, one.tolerance);
      if (one.expected.congerSE !== undefined) expectNear(kappa.standardError, one.expected.congerSE, one.tolerance);
    });
});

describe('laws', () => {
  for (const weights of ['identity', 'linear', 'quadratic', 'ordinal', 'radical'] as const)
    describe(weights, () => {
      keepsTheLaws((ratings) => congerKappa(ratings, { weights }), {
        assessors: 3,
        gaps: true,
        lowest: Number.NEGATIVE_INFINITY,
        lessTargets: () => 1,
      });
      hasItsGradient((ratings) => congerCoefficient(ratings, { weights }));
    });

  it('of two assessors without gaps it is Cohen’s kappa, error and all but for the divisor', () => {
    const table = ratingsOfTable(
      [
        [20, 5, 1],
        [3, 15, 4],
        [0, 2, 9],
      ],
      { categories: [0, 1, 2] },
    );
    for (const weights of ['identity', 'linear', 'quadratic'] as const) {
      const conger = congerKappa(table, { weights });
      const cohen = cohenKappa(table, { weights });
      expect(conger.value).toBeCloseTo(cohen.value, 12);
      expect(conger.details.standardErrorDivisorN).toBeCloseTo(cohen.standardError, 12);
    }
  });
});

it('does not count an assessor without readings', () => {
  const rows = [
    [0, 0, 1],
    [1, 1, 1],
    [0, 1, 0],
    [1, 1, 0],
  ];
  const withIdle = rows.map((row) => [...row, null]);
  expect(congerKappa(ratingsOf(withIdle)).value).toBeCloseTo(congerKappa(ratingsOf(rows)).value, 12);
});

it('is not defined when all used one category throughout', () => {
  const kappa = congerKappa(ratingsOf([[1, 1, 1]], { categories: [0, 1] }));
  expect(kappa.value).toBeNaN();
  expect(kappa.notes.map((note) => note.code)).toContain('not-defined');
});

refuses([
  ['assessors unknown', () => congerKappa(ratingsOfCounts([[1, 1]], { categories: [0, 1] })), 'assessors-needed'],
  ['one assessor', () => congerKappa(ratingsOf([[1], [2]])), 'assessors-needed'],
  ['measured numbers', () => congerKappa(ratingsOf([[1.5, 2.5]], { level: 'ratio' })), 'level-not-suited'],
]);

import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { scottCoefficient, scottPi } from '../../src/agreement/scott-pi.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { keepsTheLaws } from '../support/laws.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

it('two assessors, three categories: .7962397 with error .05905473 (Gwet 2008, doi:10.1348/000711006X126600)', () => {
  const [one] = publishedCases('agreement', /^gwet-3x3-fleiss$/);
  const pi = scottPi(ratingsOfCase(one!));
  expectNear(pi.value, one!.expected.coefficient, one!.tolerance);
  expectNear(pi.standardError, one!.expected.seTableConvention_n, one!.tolerance);
  expectPrinted(pi.value, '0.7962397');
  expectPrinted(pi.standardError, '0.05905473');
});

it('on two categories is the intraclass kappa of Donner and Eliasziw 1992 (cases gof-ci-…)', () => {
  for (const one of publishedCases('agreement', /^gof-ci-/)) {
    const { bothPositive, discordant, bothNegative } = one.data;
    const table = [
      [bothPositive, discordant],
      [0, bothNegative],
    ];
    expectNear(scottPi(ratingsOfTable(table, { categories: ['+', '−'] })).value, one.expected.kappaIntraclass, 1e-9);
  }
});

describe('laws', () => {
  for (const weights of ['identity', 'linear', 'quadratic'] as const)
    describe(weights, () => {
      keepsTheLaws((ratings) => scottPi(ratings, { weights }), { gaps: true, lowest: Number.NEGATIVE_INFINITY });
      hasItsGradient((ratings) => scottCoefficient(ratings, { weights }), { assessors: 2 });
    });

  it('equals Cohen’s kappa where the margins are the same, and lies below it where they differ', () => {
    const same = [
      [20, 5],
      [5, 10],
    ];
    const shifted = [
      [20, 10],
      [0, 10],
    ];
    const of = (table: number[][]): [number, number] => {
      const ratings = ratingsOfTable(table, { categories: [0, 1] });
      return [scottPi(ratings).value, cohenKappa(ratings).value];
    };
    expect(of(same)[0]).toBeCloseTo(of(same)[1], 12);
    expect(of(shifted)[0]).toBeLessThan(of(shifted)[1]);
  });
});

it('takes only targets that both have read', () => {
  const rows = [
    [0, 0],
    [1, 1],
    [0, 1],
    [1, 0],
    [1, 1],
  ];
  const gaps = [...rows, [1, null], [null, 1], [1, null]];
  const pi = scottPi(ratingsOf(gaps));
  expect(pi.value).toBeCloseTo(scottPi(ratingsOf(rows)).value, 12);
  expect(pi.counts).toMatchObject({ targets: 5, ratings: 10, excluded: 3 });
});

it('is not defined when both used one category throughout', () => {
  const pi = scottPi(ratingsOf([[1, 1]], { categories: [0, 1] }));
  expect(pi.value).toBeNaN();
  expect(pi.notes.map((note) => note.code)).toContain('not-defined');
});

refuses([
  ['three assessors and none named', () => scottPi(ratingsOf([[0, 1, 1]])), 'two-assessors-needed'],
  ['assessors unknown', () => scottPi(ratingsOfCounts([[1, 1]], { categories: [0, 1] })), 'two-assessors-needed'],
  ['measured numbers', () => scottPi(ratingsOf([[1.5, 2.5]], { level: 'interval' })), 'level-not-suited'],
]);

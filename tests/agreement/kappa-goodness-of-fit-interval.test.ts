import { describe, expect, it } from 'vitest';
import { kappaGoodnessOfFitInterval } from '../../src/agreement/kappa-goodness-of-fit-interval.ts';
import { scottPi } from '../../src/agreement/scott-pi.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { expectNear } from '../support/expect-near.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

const counted = (both: number, one: number, neither: number): Ratings =>
  ratingsOfTable(
    [
      [neither, one - Math.floor(one / 2)],
      [Math.floor(one / 2), both],
    ],
    { categories: ['no', 'yes'] },
  );

describe('published cases', () => {
  for (const one of publishedCases('agreement', /^gof-ci-/))
    it(`${one.id}: ${one.source}`, () => {
      const { bothPositive, discordant, bothNegative } = one.data;
      const kappa = kappaGoodnessOfFitInterval(counted(bothPositive, discordant, bothNegative));
      expectNear(kappa.value, one.expected.kappaIntraclass, one.tolerance);
      expectNear(kappa.details.prevalence!, one.expected.pi, one.tolerance);
      expectNear(kappa.interval.lower, one.expected.lo, one.tolerance);
      expectNear(kappa.interval.upper, one.expected.hi, one.tolerance);
    });
});

it('has the value and the error of Scott’s pi (second formula: delta method on the table)', () => {
  for (const [both, one, neither] of [
    [40, 15, 45],
    [80, 15, 5],
    [3, 4, 12],
  ] as const) {
    const kappa = kappaGoodnessOfFitInterval(counted(both, one, neither));
    const pi = scottPi(counted(both, one, neither));
    expect(kappa.value).toBeCloseTo(pi.value, 12);
    expect(kappa.standardError).toBeCloseTo(pi.standardError, 12);
  }
});

it('does not depend on which of the two categories is asked for', () => {
  const yes = kappaGoodnessOfFitInterval(counted(12, 6, 30), { category: 'yes' });
  const no = kappaGoodnessOfFitInterval(counted(12, 6, 30), { category: 'no' });
  expect(no.interval.lower).toBeCloseTo(yes.interval.lower, 12);
  expect(no.interval.upper).toBeCloseTo(yes.interval.upper, 12);
});

it('ends at 1 when the two always agree, and has a lower limit still', () => {
  const { value, interval } = kappaGoodnessOfFitInterval(counted(10, 0, 10));
  expect(value).toBe(1);
  expect(interval.upper).toBe(1);
  // π = ½: misfit n(1 − κ)/(1 + κ) = 3.8415 at n = 20.
  expect(interval.lower).toBeCloseTo((20 - 3.841458820694124) / (20 + 3.841458820694124), 9);
});

it('is not defined when all readings are alike', () => {
  const kappa = kappaGoodnessOfFitInterval(counted(9, 0, 0));
  expect(kappa.value).toBeNaN();
  expect(kappa.interval.lower).toBeNaN();
  expect(kappa.notes.map((note) => note.code)).toContain('not-defined');
});

it('warns that targets of one patient are taken as independent', () => {
  const kappa = kappaGoodnessOfFitInterval(
    ratingsOf(
      [
        [0, 0],
        [1, 1],
        [0, 1],
        [1, 1],
      ],
      { clusters: ['p', 'p', 'q', 'q'] },
    ),
  );
  expect(kappa.counts.clusters).toBe(2);
  expect(kappa.notes.map((note) => note.code)).toContain('assumes-independent-targets');
});

refuses([
  [
    'three categories and none named',
    () =>
      kappaGoodnessOfFitInterval(
        ratingsOf([
          [0, 1],
          [2, 2],
        ]),
      ),
    'category-needed',
  ],
  ['a level of 95', () => kappaGoodnessOfFitInterval(counted(1, 1, 1), { confidenceLevel: 95 }), 'bad-option'],
]);

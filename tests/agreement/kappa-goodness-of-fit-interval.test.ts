import { describe, expect, it } from 'vitest';
import { kappaGoodnessOfFitInterval } from '../../src/agreement/kappa-goodness-of-fit-interval.ts';
import { scottPi } from '../../src/agreement/scott-pi.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { chiSquare } from '../../src/shared/distributions.ts';
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

// Donner, Eliasziw 1992, written out: at a limit the three counts misfit by the quantile of χ² with one degree of freedom.
it.each([
  [12, 6, 30, 0.95],
  [3, 4, 12, 0.9],
  [80, 15, 5, 0.99],
  [20, 20, 8, 0.8],
])('both %i, one %i, neither %i: the misfit at its limits is the quantile of %f', (both, one, neither, level) => {
  const kappa = kappaGoodnessOfFitInterval(counted(both, one, neither), { confidenceLevel: level });
  const n = both + one + neither;
  const p = (2 * both + one) / (2 * n);
  const misfit = (k: number): number =>
    [
      [both, p ** 2 + p * (1 - p) * k],
      [one, 2 * p * (1 - p) * (1 - k)],
      [neither, (1 - p) ** 2 + p * (1 - p) * k],
    ].reduce((sum, [count, chance]) => sum + (count! - n * chance!) ** 2 / (n * chance!), 0);
  const value = 1 - one / (2 * n * p * (1 - p));
  expectNear(kappa.value, value, 1e-12);
  expectNear(misfit(kappa.interval.lower), chiSquare.quantile(level, 1), 1e-9);
  expectNear(misfit(kappa.interval.upper), chiSquare.quantile(level, 1), 1e-9);
  expect(kappa.interval.lower).toBeLessThan(value);
  expect(kappa.interval.upper).toBeGreaterThan(value);
  // Bloch, Kraemer 1989.
  const error = Math.sqrt(
    ((1 - value) * ((1 - value) * (1 - 2 * value) + (value * (2 - value)) / (2 * p * (1 - p)))) / n,
  );
  expectNear(kappa.standardError, error, 1e-12);
  expect(kappa.details).toEqual({ prevalence: p, both, one, neither });
  expect(kappa.counts).toEqual({ targets: n, clusters: n, assessors: 2, ratings: 2 * n, excluded: 0 });
  expect(kappa.options).toEqual({ category: 'yes', confidenceLevel: level });
  expect(kappa.statistic).toBe('intraclass kappa of "yes"');
  expect(kappa.notes.map(({ code }) => code)).toEqual(['patients-not-given']);
});

it('ends at the least value the prevalence allows where even that fits', () => {
  // Two of three targets are read apart: π = ½, and κ can be as low as −1.
  const { interval } = kappaGoodnessOfFitInterval(counted(1, 2, 1));
  expect(interval.lower).toBeGreaterThanOrEqual(-1);
  const uneven = kappaGoodnessOfFitInterval(counted(0, 2, 6));
  // π = 1/8: no lower than −π/(1 − π) = −1/7, where none would be read so by both.
  expectNear(uneven.interval.lower, -1 / 7, 1e-12);
  const other = kappaGoodnessOfFitInterval(counted(6, 2, 0));
  expectNear(other.interval.lower, -1 / 7, 1e-12);
  expectNear(other.interval.upper, uneven.interval.upper, 1e-12);
});

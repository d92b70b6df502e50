import { describe, expect, it } from 'vitest';
import {
  largestShift,
  marginalShift,
  meanDifference,
  netShareHigher,
  shareShift,
} from '../../src/agreement/marginal-shift.ts';
import { mcnemarTest } from '../../src/agreement/mcnemar-test.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

const rows = [
  [0, 1],
  [1, 1],
  [1, 2],
  [2, 2],
  [2, 1],
  [0, 0],
  [null, 3],
];

it('is the mean difference and the shift of each share, on targets that both have read', () => {
  const { difference, shares } = marginalShift(ratingsOf(rows, { categories: [0, 1, 2, 3] }));
  expect(difference!.value).toBeCloseTo(1 / 6, 12);
  expect(difference!.counts).toMatchObject({ targets: 6, ratings: 12, excluded: 1 });
  expect(shares.categories.map(({ estimate }) => estimate.value)).toEqual([-1 / 6, 1 / 6, 0, 0]);
  expect(shares.categories.map(({ estimate }) => estimate.details.readings)).toEqual([3, 5, 4, 0]);
});

// 17 subjects, two meters: mean difference −2.1 l/min, its standard error 9.4 by divisor n − 1 (Bland, Altman. Lancet 1986;i:307–310,
// doi:10.1016/S0140-6736(86)90837-8).
it('of the two flow meters of Bland and Altman is −2.1', () => {
  const [one] = publishedCases('agreement', /^bland-altman-pefr$/);
  const { x, y } = one!.data as { x: number[]; y: number[] };
  const { difference, shares } = marginalShift(
    ratingsOf(
      x.map((value, at) => [y[at]!, value]),
      { level: 'ratio' },
    ),
  );
  expectPrinted(difference!.value, '-2.1');
  expectPrinted(difference!.standardError * Math.sqrt(17 / 16), '9.4');
  expect(shares.categories).toEqual([]);
});

it('of one share is the effect of McNemar’s test', () => {
  const ratings = ratingsOf(rows.slice(0, 6), { categories: [0, 1, 2, 3] });
  const shift = marginalShift(ratings).shares.categories[1]!.estimate;
  const { effect } = mcnemarTest(ratings, { category: 1 });
  expect(effect.value).toBe(shift.value);
  expect(effect.interval).toEqual(shift.interval);
});

it('with patients is wider than without when their limbs shift together', () => {
  const patients = Array.from({ length: 12 }, (_, at) => at);
  const shifted = patients.flatMap((patient) => Array.from({ length: 4 }, () => [1, patient % 3 === 0 ? 2 : 1]));
  const clusters = patients.flatMap((patient) => Array.from({ length: 4 }, () => patient));
  const width = (options: { clusters?: number[] }): number => {
    const { interval } = marginalShift(ratingsOf(shifted, { categories: [0, 1, 2], ...options })).difference!;
    return interval.upper - interval.lower;
  };
  expect(width({ clusters })).toBeGreaterThan(1.5 * width({}));
});

it('has no mean difference without an order', () => {
  const shift = marginalShift(ratingsOf([['a', 'b']], { level: 'nominal' }));
  expect(shift.difference).toBeUndefined();
  expect(shift.shares.categories).toHaveLength(2);
});

it('is not defined when the two have nothing in common', () => {
  const { difference } = marginalShift(ratingsOf([[1, null]]));
  expect(difference!.value).toBeNaN();
  expect(difference!.notes.map((note) => note.code)).toContain('not-defined');
});

it('reads as a table with the mean difference below', () => {
  expect(marginalShift(ratingsOf(rows)).table.toText()).toMatch(
    /second minus first[\s\S]*mean difference, 2 minus 1 0\.17/,
  );
});

describe('gradients', () => {
  for (const coefficient of [
    meanDifference,
    netShareHigher,
    (pair: Parameters<typeof shareShift>[0]) => shareShift(pair, 1),
  ])
    hasItsGradient(coefficient, { assessors: 2 });
});

refuses([['three assessors', () => marginalShift(ratingsOf([[0, 1, 1]])), 'two-assessors-needed']]);

it('the category that shifts most counts every target, and is the first of several', () => {
  const most = (given: number[][]): number => largestShift(ratingsOf(given, { categories: [0, 1, 2, 3] }));
  expect(
    most([
      [1, 2],
      [0, 0],
    ]),
  ).toBe(1);
  expect(
    most([
      [0, 0],
      [2, 3],
    ]),
  ).toBe(2);
  expect(
    most([
      [0, 2],
      [1, 2],
    ]),
  ).toBe(2);
  expect(
    most([
      [2, 0],
      [1, 3],
      [2, 3],
    ]),
  ).toBe(2);
});

it('the options of the interval reach it', () => {
  const ratings = ratingsOf(
    Array.from({ length: 40 }, (_, at) => [at % 3, (at + (at % 7 === 0 ? 1 : 0)) % 4]),
    { categories: [0, 1, 2, 3], clusters: Array.from({ length: 40 }, (_, at) => Math.floor(at / 2)) },
  );
  const of = (options: Parameters<typeof marginalShift>[1]) => marginalShift(ratings, options).difference!.interval;
  expect(of({ seed: 1, replicates: 200 })).toEqual(of({ seed: 1, replicates: 200 }));
  expect(of({ seed: 1, replicates: 200 })).not.toEqual(of({ seed: 2, replicates: 200 }));
  expect(of({ seed: 1, replicates: 200 }).method).not.toBe(of({ seed: 1, replicates: 300 }).method);
  expect(of({ confidenceLevel: 0.8 }).level).toBe(0.8);
  expect(of({ interval: 'cluster-robust' }).method).toMatch(/jackknife/);
});

it('twelve grades have shares, thirteen are taken as measured; shares are printed as percentages', () => {
  const of = (grades: number) =>
    marginalShift(
      ratingsOf(
        [
          [0, 1],
          [1, 1],
        ],
        { categories: Array.from({ length: grades }, (_, at) => at) },
      ),
    );
  expect(of(12).shares.categories).toHaveLength(12);
  expect(of(13).shares.categories).toEqual([]);
  expect(of(3).shares.table.columns.map(({ kind }) => kind)).toEqual([
    'text',
    'percent',
    'percent',
    'percent',
    'count',
  ]);
  expect(of(3).assessors).toEqual(['1', '2']);
  expect(of(3).difference!.options).toMatchObject({ assessors: ['1', '2'] });
  expect(marginalShift(ratingsOf([[1.5, 2.5]], { level: 'interval' })).shares.categories).toEqual([]);
});

it('the share read higher less the share read lower looks at the order of scores alone', () => {
  const pair = ratingsOf(
    [
      [0, 4],
      [4, 1],
      [1, 1],
      [0, 1],
    ],
    { categories: [0, 1, 4] },
  );
  const coefficient = netShareHigher(pair);
  const sums = new Float64Array(2);
  for (let target = 0; target < 4; target++) coefficient.add(target, sums, 0);
  expect([...sums]).toEqual([1, 4]);
  expect(coefficient.value(sums)).toBe(1 / 4);
});

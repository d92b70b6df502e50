import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { kendallW } from '../../src/agreement/kendall-w.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { chiSquare } from '../../src/shared/distributions.ts';
import { expectJackknife } from '../support/expect-jackknife.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

/** Assessors × targets turned into targets × assessors. */
function turned(rows: readonly (readonly number[])[]): number[][] {
  return rows[0]!.map((_, at) => rows.map((row) => row[at]!));
}

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^kendall-w-/))
    it(`${one.id}: ${one.source}`, () => {
      const { value, details } = kendallW(ratingsOf(turned(one.data.ranks)));
      expectNear(value, one.expected.W, one.tolerance);
      expectNear(details.chiSquare!, one.expected.chi2, one.tolerance);
      expectNear(details.pValue!, one.expected.p, one.tolerance);
      expect(details.tieSum).toBe(one.expected.tieSum);
      if (one.expected.S === undefined) return;
      expectNear(details.sumOfSquares!, one.expected.S, one.tolerance);
      expectNear(details.uncorrected!, one.expected.Wuncorrected, one.tolerance);
      expect(details.degreesOfFreedom).toBe(one.expected.df);
      expectPrinted(value, '0.828');
    });

  for (const one of publishedCases('progression', /^friedman-rounding$/))
    it(`${one.id}: ${one.source}`, () => {
      const { value, details } = kendallW(ratingsOf(turned(one.data.blocks)));
      expectNear(value, one.expected.kendallW, 1e-9);
      expectNear(details.chiSquare!, one.expected.chi2, 1e-9);
      expectNear(details.pValue!, one.expected.p, 1e-9);
    });
});

describe('laws', () => {
  const rows = fc.array(fc.array(fc.integer({ min: 0, max: 5 }), { minLength: 3, maxLength: 3 }), {
    minLength: 3,
    maxLength: 15,
  });
  it('lies from 0 to 1, whatever the order, and keeps under any rising change of an assessor’s scale', () => {
    fc.assert(
      fc.property(rows, (given) => {
        const { value } = kendallW(ratingsOf(given));
        if (Number.isNaN(value)) return;
        expect(value).toBeGreaterThanOrEqual(0);
        expect(value).toBeLessThanOrEqual(1 + 1e-12);
        const moved = given.map(([a, b, c]) => [Math.exp(a!), b! + 100, c! ** 3]).reverse();
        expectNear(kendallW(ratingsOf(moved)).value, value, 1e-12);
      }),
    );
  });

  it('for m assessors without ties is (1 + (m − 1)·mean rank correlation)/m (second formula)', () => {
    const order = [
      [1, 2, 3],
      [2, 1, 1],
      [3, 4, 2],
      [4, 3, 5],
      [5, 5, 4],
    ];
    let mean = 0;
    for (const [j, l] of [
      [0, 1],
      [0, 2],
      [1, 2],
    ] as const) {
      const squares = order.reduce((sum, row) => sum + (row[j]! - row[l]!) ** 2, 0);
      mean += (1 - (6 * squares) / (5 * 24)) / 3;
    }
    expectNear(kendallW(ratingsOf(order)).value, (1 + 2 * mean) / 3, 1e-12);
  });
});

describe('interval', () => {
  const rows = Array.from({ length: 40 }, (_, at) => [(at * 7) % 23, ((at * 7) % 23) + ((at * 5) % 9), (at * 11) % 19]);
  const clusters = rows.map((_, at) => Math.floor(at / 2));
  it('is made by leaving each patient out and ranking anew', () => {
    const all = kendallW(ratingsOf(rows, { clusters }));
    const left = Array.from({ length: 20 }, (_, patient) => {
      const keep = rows.filter((_row, at) => clusters[at] !== patient);
      return kendallW(ratingsOf(keep)).value;
    });
    const mean = left.reduce((sum, value) => sum + value, 0) / 20;
    const error = Math.sqrt((19 / 20) * left.reduce((sum, value) => sum + (value - mean) ** 2, 0));
    expectNear(all.standardError, error, 1e-12);
    expect(all.interval.lower).toBeLessThan(all.value);
    expect(all.interval.upper).toBeLessThan(1);
    expect(all.details.pValue).toBeNaN();
  });
});

it('leaves out targets with a gap, refuses what has no order, and is not defined where all are tied', () => {
  const gap = kendallW(
    ratingsOf([
      [1, 2],
      [3, null],
      [2, 3],
      [5, 9],
    ]),
  );
  expect(gap.counts).toMatchObject({ targets: 3, excluded: 1, ratings: 6 });
  expect(() => kendallW(ratingsOf([[1, 2]], { level: 'nominal' }))).toThrow(/no order/);
  const tied = kendallW(
    ratingsOf([
      [1, 1],
      [1, 1],
    ]),
  );
  expect(tied.value).toBeNaN();
  expect(tied.notes.map((note) => note.code)).toContain('not-defined');
});

// By hand. Ranks of the second assessor 1.5, 1.5, 3, 4 and of the third 2, 1, 3.5, 3.5; sums 4.5, 4.5, 9.5, 11.5 about 7.5: S = 38. Two pairs are tied: ΣT = 12.
it('with ties: every figure', () => {
  const rows = [
    [1, 5, 20],
    [2, 5, 10],
    [3, 6, 30],
    [4, 7, 30],
    [9, null, 1],
  ];
  const { value, details, counts, options, notes, interval, statistic } = kendallW(ratingsOf(rows), {
    confidenceLevel: 0.9,
  });
  const w = (12 * 38) / (9 * 60 - 3 * 12);
  expectNear(value, w, 1e-12);
  expect(details).toMatchObject({ sumOfSquares: 38, tieSum: 12, degreesOfFreedom: 3 });
  expectNear(details.uncorrected!, (12 * 38) / (9 * 60), 1e-12);
  expectNear(details.chiSquare!, 3 * 3 * w, 1e-12);
  expectNear(details.pValue!, chiSquare.upper(9 * w, 3), 1e-12);
  expect(counts).toEqual({ targets: 4, clusters: 4, assessors: 3, ratings: 12, excluded: 1 });
  expect(options).toEqual({ confidenceLevel: 0.9 });
  expect(interval.level).toBe(0.9);
  expect(statistic).toBe('Kendall W');
  expect(notes.map(({ code }) => code)).toEqual(['order-alone', 'patients-not-given']);
});

it('leaving a patient out, with ties', () => {
  const rows = Array.from({ length: 14 }, (_, at) => [at % 5, (at * 3) % 7, Math.floor(at / 2)]);
  const ratings = ratingsOf(rows, { clusters: rows.map((_, at) => Math.floor((at * 2) / 3)) });
  expectJackknife(ratings, (given) => kendallW(given), 'logit');
  expect(kendallW(ratings).details.pValue).toBeNaN();
  expect(kendallW(ratingsOf(rows, { clusters: rows.map((_, at) => at) })).details.pValue).toBeGreaterThan(0);
  expect(kendallW(ratingsOf([[1, 2]])).value).toBeNaN();
});

refuses([
  [
    'readings of nobody known',
    () =>
      kendallW(
        ratingsOfCounts(
          [
            [1, 1],
            [2, 0],
          ],
          { categories: [0, 1] },
        ),
      ),
    'assessors-needed',
  ],
  ['one assessor', () => kendallW(ratingsOf([[1], [2]])), 'two-assessors-needed'],
  ['a level of 95', () => kendallW(ratingsOf([[1, 2]]), { confidenceLevel: 95 }), 'bad-option'],
]);

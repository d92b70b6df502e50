import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { kendallTau } from '../../src/agreement/kendall-tau.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { normal } from '../../src/shared/distributions.ts';
import { expectJackknife } from '../support/expect-jackknife.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';

const R_TIES = { tau: 0.80025011724857, p: 0.00274940980936 };

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^kendall-tau-/))
    it(`${one.id}: ${one.source}`, () => {
      const { value, details } = kendallTau(
        ratingsOf((one.data.x as number[]).map((x, at) => [x, one.data.y[at] as number])),
      );
      expectNear(value, one.expected.tauB, one.tolerance);
      expect(details.concordant).toBe(one.expected.T);
      expectNear(details.pValue!, one.expected.tauExactP, one.tolerance);
      expectPrinted(details.pValue!, '0.1194');
    });

  for (const one of publishedCases('progression', /^kendall-tuna$|^mk-notie-10$/))
    it(`${one.id}: ${one.source}`, () => {
      const { value, details } = kendallTau(
        ratingsOf((one.data.t as number[]).map((t, at) => [t, one.data.y[at] as number])),
      );
      expectNear(value, one.expected.tau, 1e-9);
      expect(details.score).toBe(one.expected.S);
      expectNear(details.pValue!, one.expected.pExact, 1e-9);
      if (one.expected.varS !== undefined) expectNear(details.scoreVariance!, one.expected.varS, 1e-9);
      if (one.expected.nConcordant !== undefined) expect(details.concordant).toBe(one.expected.nConcordant);
    });

  // R 4.2.2, cor.test(x, y, method = "kendall", exact = FALSE) with ties: tests/reference/kendall_tau_ties.R.
  it('with ties: tau-b and the normal p of the reference program', () => {
    const x = [1, 2, 2, 3, 4, 4, 4, 5, 0, 2];
    const y = [0, 2, 1, 3, 3, 4, 5, 4, 1, 2];
    const { value, details } = kendallTau(ratingsOf(x.map((a, at) => [a, y[at]!])));
    expectNear(value, R_TIES.tau, 1e-9);
    expectNear(details.pValue!, R_TIES.p, 1e-9);
  });
});

describe('laws', () => {
  const rows = fc.array(fc.tuple(fc.integer({ min: 0, max: 5 }), fc.integer({ min: 0, max: 5 })), {
    minLength: 3,
    maxLength: 20,
  });
  it('turns sign with one scale, keeps when assessors swap, and counts pairs as a double loop does', () => {
    fc.assert(
      fc.property(rows, (given) => {
        const { value, details } = kendallTau(ratingsOf(given));
        let concordant = 0;
        let discordant = 0;
        given.forEach(([a, b], at) => {
          for (const [c, d] of given.slice(0, at)) {
            const sign = Math.sign(a - c) * Math.sign(b - d);
            if (sign > 0) concordant++;
            if (sign < 0) discordant++;
          }
        });
        expect(details.concordant).toBe(concordant);
        expect(details.discordant).toBe(discordant);
        if (Number.isNaN(value)) return;
        expectNear(kendallTau(ratingsOf(given.map(([a, b]) => [a, -b]))).value, -value, 1e-12);
        expectNear(kendallTau(ratingsOf(given.map(([a, b]) => [b, a]).reverse())).value, value, 1e-12);
        expectNear(kendallTau(ratingsOf(given.map(([a, b]) => [Math.exp(a), b]))).value, value, 1e-12);
      }),
    );
  });
});

/** Every order of a list. */
function orders(list: readonly number[]): number[][] {
  if (list.length < 2) return [[...list]];
  return list.flatMap((one, at) => orders(list.filter((_, other) => other !== at)).map((rest) => [one, ...rest]));
}
const scoreOf = (x: readonly number[], y: readonly number[]): number =>
  x.reduce(
    (sum, a, i) => sum + x.slice(0, i).reduce((inner, b, j) => inner + Math.sign(a - b) * Math.sign(y[i]! - y[j]!), 0),
    0,
  );

// The null distribution written out: all orders of the second assessor's readings, equally likely.
describe('of unrelated orders', () => {
  it.each([
    [
      [1, 2, 3, 4, 5],
      [2, 1, 4, 5, 3],
    ],
    [
      [1, 2, 3, 4, 5, 6],
      [6, 5, 3, 4, 2, 1],
    ],
    [
      [1, 2, 3, 4],
      [2, 4, 1, 3],
    ],
    [
      [1, 2],
      [1, 2],
    ],
  ])('%j and %j: p is the share of orders at least as far from 0', (x, y) => {
    const { details } = kendallTau(ratingsOf(x.map((a, at) => [a, y[at]!])));
    const all = orders(y).map((order) => Math.abs(scoreOf(x, order)));
    const share = all.filter((score) => score >= Math.abs(scoreOf(x, y))).length / all.length;
    expectNear(details.pValue!, share, 1e-12);
    expect(details.score).toBe(scoreOf(x, y));
  });

  it.each([[[1, 2, 3, 4, 5]], [[1, 1, 2, 3, 3]], [[1, 1, 1, 2, 2, 3]], [[1, 2]], [[1, 1, 2]]])(
    'the variance of the score, ties allowed for: %j',
    (y) => {
      const x = y.map((_, at) => (at === 1 ? 0 : at));
      const scores = orders(y).map((order) => scoreOf(x, order));
      const variance = scores.reduce((sum, score) => sum + score * score, 0) / scores.length;
      const { details } = kendallTau(ratingsOf(x.map((a, at) => [a, y[at]!])));
      expectNear(details.scoreVariance!, variance, 1e-12);
      const isTied = new Set(x).size < x.length || new Set(y).size < y.length;
      if (isTied && scoreOf(x, y) !== 0)
        expectNear(details.pValue!, 2 * normal.upper(Math.abs(details.score!) / Math.sqrt(variance)), 1e-12);
    },
  );

  it('is counted out up to 100 targets, and normal beyond', () => {
    const p = (n: number): { exact: number; normal: number; given: number } => {
      // Every third neighboring pair exchanged.
      const rows = Array.from({ length: n }, (_, at) => [at, (at * 37) % n]);
      const { details } = kendallTau(ratingsOf(rows));
      return {
        exact: details.pValue!,
        normal: 2 * normal.upper(Math.abs(details.score!) / Math.sqrt(details.scoreVariance!)),
        given: details.pValue!,
      };
    };
    expect(p(101).given).toBe(p(101).normal);
    expect(p(100).given).not.toBe(p(100).normal);
    expect(p(99).given / p(99).normal).toBeCloseTo(1, 1);
  });
});

it('counts, options and notes', () => {
  const rows = [
    [1, 2],
    [2, 1],
    [3, 4],
    [4, 3],
    [5, 6],
    [null, 7],
  ];
  const of = (clusters: number[] | undefined, confidenceLevel?: number) =>
    kendallTau(
      ratingsOf(rows, clusters === undefined ? {} : { clusters }),
      confidenceLevel === undefined ? {} : { confidenceLevel },
    );
  // Eight of the ten pairs in the same order, two not.
  const tau = of(undefined);
  expectNear(tau.value, 0.6, 1e-12);
  expect(tau.details).toMatchObject({ concordant: 8, discordant: 2, score: 6 });
  expect(tau.counts).toEqual({ targets: 5, clusters: 5, assessors: 2, ratings: 10, excluded: 1 });
  expect(tau.options).toEqual({ confidenceLevel: 0.95 });
  expect(tau.notes.map(({ code }) => code)).toEqual(['order-alone', 'patients-not-given']);
  expect(of([1, 1, 2, 3, 4, 5], 0.8).interval.level).toBe(0.8);
  expect(of([1, 1, 2, 3, 4, 5]).notes.map(({ code }) => code)).toEqual(['order-alone', 'few-patients']);
  expect(of([1, 1, 2, 3, 4, 5]).details.pValue).toBeNaN();
  expect(of([1, 6, 2, 3, 4, 5]).details.pValue).toBe(tau.details.pValue);
  expectJackknife(
    ratingsOf(rows.slice(0, 5), { clusters: [1, 2, 3, 3, 4] }),
    (ratings) => kendallTau(ratings),
    'fisher',
  );
});

describe('patients', () => {
  const rows = Array.from({ length: 40 }, (_, at) => [(at * 7) % 11, ((at * 7) % 11) + ((at * 5) % 9)]);
  const clusters = rows.map((_, at) => Math.floor(at / 3));
  it('leaving a patient out is the tau of the rest', () => {
    const { standardError, interval, details } = kendallTau(ratingsOf(rows, { clusters }));
    const patients = [...new Set(clusters)];
    const left = patients.map(
      (patient) => kendallTau(ratingsOf(rows.filter((_, at) => clusters[at] !== patient))).value,
    );
    const mean = left.reduce((sum, value) => sum + value, 0) / left.length;
    const squares = left.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    expectNear(standardError, Math.sqrt(((left.length - 1) / left.length) * squares), 1e-12);
    expect(interval.method).toMatch(/^patient jackknife/);
    expect(details.pValue).toBeNaN();
  });
});

it('refuses what has no order and three assessors, and is not defined where one ties all', () => {
  expect(() => kendallTau(ratingsOf([[1, 2]], { level: 'nominal' }))).toThrow(/no order/);
  expect(() => kendallTau(ratingsOf([[1, 2, 3]]))).toThrow(/compares two/);
  const tied = kendallTau(
    ratingsOf([
      [1, 1],
      [1, 2],
      [1, 3],
    ]),
  );
  expect(tied.value).toBeNaN();
  expect(tied.notes.map((note) => note.code)).toContain('not-defined');
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { kendallTau } from '../../src/agreement/kendall-tau.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
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

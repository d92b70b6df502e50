import { describe, expect, it } from 'vitest';
import { clusterSums } from '../../src/agreement/coefficient.ts';
import { coefficientEstimate, independenceNotes } from '../../src/agreement/coefficient-estimate.ts';
import { linearizedClusterError } from '../../src/agreement/interval.ts';
import { specificCoefficient } from '../../src/agreement/specific-agreement.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { information } from '../../src/shared/note.ts';

const rows = Array.from({ length: 30 }, (_, at) => [at % 2, at % 7 === 0 ? 1 : at % 2]);
const known = ratingsOf(rows, { categories: [0, 1], clusters: rows.map((_, at) => at % 15) });
const unknown = ratingsOf(rows, { categories: [0, 1] });
const coefficient = specificCoefficient(known, 1);

describe('which readings were taken as independent', () => {
  const codes = (ratings: typeof known, method: string, clusters: number, targets: number): string[] =>
    independenceNotes(ratings, method, { clusters, targets }).map(({ code }) => code);
  it('patients not given, or given and not used, or few', () => {
    expect(codes(unknown, 'bootstrap', 30, 30)).toEqual(['patients-not-given']);
    expect(codes(known, 'asymptotic', 29, 30)).toEqual(['assumes-independent-targets']);
    expect(codes(known, 'asymptotic', 30, 30)).toEqual([]);
    expect(codes(known, 'asymptotic', 11, 11)).toEqual(['few-patients']);
    expect(codes(known, 'cluster-robust', 29, 30)).toEqual([]);
    expect(codes(known, 'cluster-robust', 12, 30)).toEqual([]);
    expect(codes(known, 'cluster-robust', 11, 30)).toEqual(['few-patients']);
  });
});

describe('an estimate', () => {
  const made = (ratings: typeof known, extras: Partial<Parameters<typeof coefficientEstimate>[3]> = {}, options = {}) =>
    coefficientEstimate(ratings, coefficient, options, { options: { asked: 'so' }, ...extras });

  it('is bootstrapped where patients are known, else asymptotic; with the options filled in', () => {
    expect(made(known).options).toMatchObject({ asked: 'so', interval: 'bootstrap', confidenceLevel: 0.95 });
    expect(made(unknown).options.interval).toBe('asymptotic');
    expect(made(known, {}, { interval: 'cluster-robust' }).interval.method).toMatch(/^patient jackknife/);
    expect(made(known, {}, { interval: 'asymptotic' }).interval.method).toMatch(/^asymptotic/);
  });

  it('counts all readings, or those that it is told entered', () => {
    expect(made(unknown).counts).toEqual({ targets: 30, clusters: 30, assessors: 2, ratings: 60, excluded: 0 });
    // Sum 1 of the specific agreement on 1: the readings of 1, 15 of the first assessor and 15 + 3 of the second.
    expect(made(unknown, { ratings: (totals) => totals[1]! }).counts.ratings).toBe(33);
    expect(made(unknown, { ratingsPerTarget: 3 }).counts.ratings).toBe(90);
  });

  it('carries the linearized error where there are two patients or more, and the one with divisor n where asked', () => {
    const sums = clusterSums(known, coefficient);
    expect(made(known).details).toEqual({ linearizedStandardError: linearizedClusterError(coefficient, sums) });
    expect(made(unknown).details).toEqual({});
    const one = ratingsOf(rows, { categories: [0, 1], clusters: rows.map(() => 'a') });
    expect(made(one, {}, { interval: 'asymptotic' }).details).toEqual({});
    const withDivisor = made(unknown, { divisorN: true }).details;
    expect(withDivisor.standardErrorDivisorN).toBe(made(unknown).standardError);
    expect(made(unknown, { details: (totals) => ({ first: totals[0]! }) }).details.first).toBe(
      clusterSums(unknown, coefficient).totals[0],
    );
  });

  it('says its own notes first', () => {
    const notes = (value: number) => [information('own', `${value}`)];
    expect(made(unknown, { notes }).notes.map(({ code }) => code)).toEqual([
      'own',
      'patients-not-given',
      'limit-beyond-one',
    ]);
    expect(made(unknown, { notes }).notes[0]!.message).toBe(`${made(unknown).value}`);
  });

  it('of no target is not defined', () => {
    const none = ratingsOf(
      [
        [0, null],
        [null, 1],
      ],
      { categories: [0, 1] },
    );
    const nothing = coefficientEstimate(none, specificCoefficient(none, 1), {}, { options: {} });
    expect(nothing.value).toBeNaN();
    expect(nothing.counts).toMatchObject({ targets: 0, excluded: 2 });
  });
});

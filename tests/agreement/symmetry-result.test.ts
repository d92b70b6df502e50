import { describe, expect, it } from 'vitest';
import { bhapkarTest } from '../../src/agreement/bhapkar-test.ts';
import { bowkerTest } from '../../src/agreement/bowker-test.ts';
import { stuartMaxwellTest } from '../../src/agreement/stuart-maxwell-test.ts';
import { unusedCategoriesNote } from '../../src/agreement/symmetry-result.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { chiSquare, fisherF } from '../../src/shared/distributions.ts';
import type { TestResult } from '../../src/shared/test-result.ts';
import { expectNear } from '../support/expect-near.ts';

it('names the categories that neither used, of targets that both have read', () => {
  const messages = (rows: (number | null)[][]): string[] =>
    unusedCategoriesNote(ratingsOf(rows, { categories: [0, 1, 2, 3] })).map(({ message }) => message);
  expect(
    messages([
      [0, 1],
      [2, 3],
    ]),
  ).toEqual([]);
  expect(
    messages([
      [0, 1],
      [2, 2],
      [3, null],
      [null, 3],
    ]),
  ).toEqual(['Neither used "3"; it is left out of the test.']);
  expect(
    messages([
      [1, 1],
      [2, 2],
    ]),
  ).toEqual(['Neither used "0", "3"; they are left out of the test.']);
});

const ROWS = [
  [0, 1],
  [0, 0],
  [1, 2],
  [2, 1],
  [1, 1],
  [0, 2],
  [1, 0],
  [2, 2],
  [0, 1],
  [1, 2],
  [2, 2],
  [0, 1],
];
const PATIENTS = [0, 0, 1, 1, 2, 3, 3, 4, 5, 6, 7, 7];

type Vector = readonly [number, number];
/** dᵀS⁻¹d of two dimensions. */
const form = ([a, b]: Vector, [[p, q], [, r]]: readonly [Vector, Vector]): number =>
  (r * a * a - 2 * q * a * b + p * b * b) / (p * r - q * q);
const outer = (vectors: readonly Vector[]): [Vector, Vector] => {
  const sum = (i: 0 | 1, j: 0 | 1): number => vectors.reduce((total, v) => total + v[i] * v[j], 0);
  return [
    [sum(0, 0), sum(0, 1)],
    [sum(1, 0), sum(1, 1)],
  ];
};
/** Of each unit: readings of the first two grades by the second less those by the first, and its targets. The third follows. */
const shifts = (units: readonly number[]) =>
  [...new Set(units)].map((unit) => {
    const own = ROWS.filter((_, at) => units[at] === unit);
    const of = (grade: number): number =>
      own.reduce((sum, [x, y]) => sum + Number(y === grade) - Number(x === grade), 0);
    return { d: [of(0), of(1)] as Vector, n: own.length };
  });

describe('equal margins, written out in the first two of three grades', () => {
  const all = (vectors: readonly Vector[]): Vector => [
    vectors.reduce((sum, [a]) => sum + a, 0),
    vectors.reduce((sum, [, b]) => sum + b, 0),
  ];
  const plainShifts = shifts(ROWS.map((_, at) => at));
  const clustered = shifts(PATIENTS);
  const n = ROWS.length;
  const centered = (units: typeof clustered): Vector[] => {
    const total = all(units.map(({ d }) => d));
    return units.map(({ d, n: own }) => [d[0] - (own * total[0]) / n, d[1] - (own * total[1]) / n]);
  };
  const is = (result: TestResult, statistic: number, p: number): void => {
    expectNear(result.statistic.value, statistic, 1e-9);
    expect(result.degreesOfFreedom).toBe(2);
    expectNear(result.pValue, p, 1e-9);
    expectNear(result.details['category 0']!, -3 / n, 1e-12);
    expectNear(result.details['category 1']!, 1 / n, 1e-12);
    expectNear(result.details['category 2']!, 2 / n, 1e-12);
    expectNear(result.effect.value, 5 / n, 1e-12);
    expect(result.counts).toMatchObject({ targets: n, assessors: 2, ratings: 2 * n, excluded: 0 });
  };

  it('targets as units: chi-square', () => {
    const d = all(plainShifts.map((unit) => unit.d));
    const stuart = form(d, outer(plainShifts.map((unit) => unit.d)));
    is(stuartMaxwellTest(ratingsOf(ROWS)), stuart, chiSquare.upper(stuart, 2));
    const bhapkar = form(d, outer(centered(plainShifts)));
    is(bhapkarTest(ratingsOf(ROWS)), bhapkar, chiSquare.upper(bhapkar, 2));
    expect(stuartMaxwellTest(ratingsOf(ROWS)).details).not.toHaveProperty('F');
    // Patients with one target each are no other units.
    const known = stuartMaxwellTest(ratingsOf(ROWS, { clusters: ROWS.map((_, at) => at) }));
    is(known, stuart, chiSquare.upper(stuart, 2));
    expect(known.details).not.toHaveProperty('F');
  });

  it('patients as units: Hotelling’s F with 2 and K − 2 degrees of freedom', () => {
    const k = 8;
    const ratings = ratingsOf(ROWS, { clusters: PATIENTS });
    const d = all(clustered.map((unit) => unit.d));
    const stuart = form(d, outer(clustered.map((unit) => unit.d)));
    const f = ((k - 2) / (2 * k)) * (stuart / (1 - stuart / k));
    const made = stuartMaxwellTest(ratings);
    is(made, stuart, fisherF.upper(f, 2, k - 2));
    expectNear(made.details.F!, f, 1e-9);
    expect(made.details.denominatorDegrees).toBe(k - 2);
    const bhapkar = form(d, outer(centered(clustered)));
    const other = ((k - 2) / (2 * k)) * bhapkar;
    const wald = bhapkarTest(ratings);
    is(wald, bhapkar, fisherF.upper(other, 2, k - 2));
    expectNear(wald.details.F!, other, 1e-9);
    expect(made.notes.map(({ code }) => code)).toEqual(['few-patients']);
  });
});

describe('symmetry with patients', () => {
  it('is Dᵀ S⁻¹ D of the confusions, and says when patients are few for its degrees of freedom', () => {
    // Confusions of 0 and 1 alone: one dimension, Σd and Σd².
    const of = (differences: readonly number[]): TestResult => {
      const rows = differences.flatMap((d) => [
        [0, 0],
        ...Array.from({ length: Math.abs(d) }, () => (d > 0 ? [0, 1] : [1, 0])),
      ]);
      const clusters = differences.flatMap((d, patient) => new Array<number>(1 + Math.abs(d)).fill(patient));
      return bowkerTest(ratingsOf(rows, { categories: [0, 1, 2], clusters }));
    };
    const three = of([2, 1, -1]);
    expectNear(three.statistic.value, 4 / 6, 1e-12);
    expect(three.degreesOfFreedom).toBe(1);
    const wald = 4 / 6 / (1 - 4 / 6 / 3);
    expectNear(three.pValue, fisherF.upper((2 / 3) * wald, 1, 2), 1e-12);
    expect(three.details).toMatchObject({ pairsOfGrades: 3, pairsSkipped: 2, denominatorDegrees: 2 });
    const codes = (result: TestResult): string[] => result.notes.map(({ code }) => code);
    expect(codes(three)).toEqual(['pairs-skipped', 'few-patients']);
    expect(codes(of([2, 1]))).toEqual(['pairs-skipped', 'few-patients-for-test', 'few-patients']);
    // As many patients as degrees of freedom: no p.
    expect(of([2]).pValue).toBeNaN();
    expect(of([2]).statistic.value).toBe(1);
    // All patients alike: χ² is K, and F has no end.
    const alike = of([1, 1, 1, 1]);
    expectNear(alike.statistic.value, 4, 1e-12);
    expect(alike.details.F).toBe(Number.POSITIVE_INFINITY);
    expect(alike.pValue).toBe(0);
  });

  it('nothing in common is nothing to test', () => {
    for (const test of [bowkerTest, stuartMaxwellTest, bhapkarTest]) {
      const result = test(
        ratingsOf(
          [
            [0, null],
            [null, 1],
          ],
          { categories: [0, 1] },
        ),
      );
      expect(result.statistic.value).toBeNaN();
      expect(result.pValue).toBeNaN();
      expect(result.degreesOfFreedom).toBe(0);
      expect(result.notes.map(({ code }) => code)).toContain('not-defined');
      expect(result.counts).toMatchObject({ targets: 0, excluded: 2 });
    }
  });
});

import { expect, it } from 'vitest';
import { gradeShifts, shareAtLeast } from '../../src/measurement-error/grade-shifts.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { expectNear } from '../support/expect-near.ts';

// By hand. Pairs of each target: 1 of 1 one apart; (0, 2, 2): two of three pairs 2 apart; one reading: none; both missing: none.
const ROWS = [
  [1, 2, null],
  [0, 2, 2],
  [3, null, null],
  [null, null, null],
  [null, 3, 3],
];

it('a target without a pair does not enter; each other counts once, whatever its number of pairs', () => {
  const shifts = gradeShifts(ratingsOf(ROWS, { categories: [0, 1, 2, 3] }), {});
  expect(shifts.atLeast.map(({ grades }) => grades)).toEqual([1, 2, 3]);
  expect(shifts.atLeast.map(({ share }) => share.options.grades)).toEqual([1, 2, 3]);
  expectNear(shareAtLeast(shifts, 1), (1 + 2 / 3 + 0) / 3, 1e-12);
  expectNear(shareAtLeast(shifts, 2), 2 / 9, 1e-12);
  expect(shareAtLeast(shifts, 3)).toBe(0);
  expect(shareAtLeast(shifts, 7)).toBe(0);
  expect(shifts.atLeast[0]!.share.counts.targets).toBe(3);
  expect(shifts.smallestDetectableShift).toBe(3);
  expect(shifts.atLeast.map(({ share }) => share.statistic)).toEqual([
    'share of pairs at least 1 grade apart',
    'share of pairs at least 2 grades apart',
    'share of pairs at least 3 grades apart',
  ]);
});

// A share of whole targets: its standard error is that of a mean, s/√n with divisor n − 1.
it('its asymptotic error is that of the mean of the targets’ shares', () => {
  const [one] = gradeShifts(ratingsOf(ROWS, { categories: [0, 1, 2, 3] }), { interval: 'asymptotic' }).atLeast;
  const shares = [1, 2 / 3, 0];
  const mean = 5 / 9;
  const variance = shares.reduce((sum, share) => sum + (share - mean) ** 2, 0) / 2;
  expectNear(one!.share.standardError, Math.sqrt(variance / 3), 1e-12);
});

it('exactly 1 in 20 is few enough to be detectable, more is not', () => {
  const of = (apart: number, targets: number): number =>
    gradeShifts(
      ratingsOf(
        Array.from({ length: targets }, (_, at) => (at < apart ? [0, 1] : [1, 1])),
        { categories: [0, 1] },
      ),
      {},
    ).smallestDetectableShift;
  expect(of(1, 20)).toBe(1);
  expect(of(2, 39)).toBe(2);
});

// 1 − .9 is a little less than 1/10 in binary numbers.
it('exactly 1 in 10 is few enough at 90 %, one in 9.9 is not', () => {
  const of = (apart: number, targets: number): number =>
    gradeShifts(
      ratingsOf(
        Array.from({ length: targets }, (_, at) => (at < apart ? [0, 1] : [1, 1])),
        { categories: [0, 1] },
      ),
      { confidenceLevel: 0.9 },
    ).smallestDetectableShift;
  expect(of(1, 10)).toBe(1);
  expect(of(10, 99)).toBe(2);
});

it('does not depend on the order of the assessors', () => {
  const of = (rows: (number | null)[][]): number[] =>
    gradeShifts(ratingsOf(rows, { categories: [0, 1, 2, 3] }), {}).atLeast.map(({ share }) => share.value);
  const turned = of(ROWS.map((row) => [...row].reverse()));
  of(ROWS).forEach((share, at) => {
    expectNear(turned[at]!, share, 1e-12);
  });
  expect(
    of([
      [2, 0],
      [0, 0],
    ]),
  ).toEqual([1 / 2, 1 / 2, 0]);
});

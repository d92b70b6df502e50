import { expect, it } from 'vitest';
import { crossAssessorMatrix } from '../../src/measurement-error/cross-assessor-matrix.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';

// By hand: (0, 1) and (1, 1, 0) give ordered pairs 01, 10; 11, 11, 10, 10, 01, 01. A lone reading and an empty row give none.
const matrix = crossAssessorMatrix(
  ratingsOf(
    [
      [0, 1, null],
      [1, 1, 0],
      [2, null, null],
      [null, null, null],
      [null, 0, 0],
    ],
    { categories: [0, 1, 2], clusters: ['a', 'b', 'b', 'c', 'b'] },
  ),
);

it('counts each ordered pair of readings of a target, and the targets and patients that have one', () => {
  expect(matrix.counts).toEqual([
    [2, 3, 0],
    [3, 2, 0],
    [0, 0, 0],
  ]);
  expect(matrix.shares.slice(0, 2)).toEqual([
    [2 / 5, 3 / 5, 0],
    [3 / 5, 2 / 5, 0],
  ]);
  expect(matrix.shares[2]!.every(Number.isNaN)).toBe(true);
  expect(matrix.targets).toBe(3);
  expect(matrix.clusters).toBe(2);
});

it('reads as a table with the pairs of each row', () => {
  expect(matrix.table.rows.map(({ read, to0, to1, pairs }) => [read, to0, to1, pairs]).slice(0, 2)).toEqual([
    ['0', 2 / 5, 3 / 5, 5],
    ['1', 3 / 5, 2 / 5, 5],
  ]);
  expect(matrix.table.rows[2]!.pairs).toBe(0);
});

// One finding read by two: a row of a single pair is a share of 1, not nothing.
it('a grade read once against another has the share 1', () => {
  const one = crossAssessorMatrix(ratingsOf([[0, 1]], { categories: [0, 1, 2] }));
  expect(one.counts).toEqual([
    [0, 1, 0],
    [1, 0, 0],
    [0, 0, 0],
  ]);
  expect(one.shares).toEqual([
    [0, 1, 0],
    [1, 0, 0],
    [Number.NaN, Number.NaN, Number.NaN],
  ]);
  expect([one.targets, one.clusters]).toEqual([1, 1]);
});

it('cannot be changed', () => {
  expect(Object.isFrozen(matrix)).toBe(true);
});

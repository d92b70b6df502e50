import { expect, it } from 'vitest';
import { clusterSums } from '../../src/agreement/coefficient.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';

/** Two sums a target: 1 and what stands in `values`; a target without a value does not enter. */
const summing = (values: readonly number[]) => ({
  cells: 2,
  add(target: number, sums: Float64Array, at: number): boolean {
    if (Number.isNaN(values[target])) return false;
    sums[at]!++;
    sums[at + 1]! += values[target]!;
    return true;
  },
});

it('adds targets up by patient; patients without any drop out', () => {
  const ratings = ratingsOf(
    Array.from({ length: 7 }, () => [1, 1]),
    { clusters: ['a', 'b', 'a', 'c', 'd', 'd', 'e'] },
  );
  const sums = clusterSums(ratings, summing([1, Number.NaN, 3, 10, Number.NaN, 7, 100]));
  expect([...sums.perCluster]).toEqual([2, 4, 1, 10, 1, 7, 1, 100]);
  expect([...sums.clusterAt]).toEqual([0, 2, 3, 4]);
  expect([...sums.totals]).toEqual([5, 121]);
  expect(sums).toMatchObject({ cells: 2, clusters: 4, targets: 5, excluded: 2 });
});

it('adds up those targets alone that are kept, and counts no others', () => {
  const ratings = ratingsOf(
    Array.from({ length: 5 }, () => [1, 1]),
    { clusters: ['a', 'b', 'a', 'c', 'b'] },
  );
  const sums = clusterSums(ratings, summing([1, 2, Number.NaN, 8, 16]), (target) => target > 0 && target < 4);
  expect([...sums.perCluster]).toEqual([1, 2, 1, 8]);
  expect([...sums.clusterAt]).toEqual([1, 2]);
  expect(sums).toMatchObject({ clusters: 2, targets: 2, excluded: 1 });
});

// 1 + 10¹⁰⁰ + 1 − 10¹⁰⁰ is 2; a plain sum gives 0 (Neumaier's example, from memory).
it('loses nothing to rounding where large sums cancel', () => {
  for (const [values, total] of [
    [[1, 1e100, 1, -1e100], 2],
    [[1e100, 1, -1e100, 1], 2],
    [[1e16, 1, 1, -1e16], 2],
    [[-1e16, 1e16, 3, 0.5], 3.5],
  ] as const) {
    const ratings = ratingsOf(
      values.map(() => [1, 1]),
      { clusters: [0, 1, 2, 3] },
    );
    expect([...clusterSums(ratings, summing(values)).totals]).toEqual([4, total]);
  }
});

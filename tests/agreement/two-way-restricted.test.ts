import { expect, it } from 'vitest';
import { restrictedSums } from '../../src/agreement/two-way-restricted.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { expectNear } from '../support/expect-near.ts';

function componentsOf(rows: (number | null)[][]) {
  const sums = restrictedSums(ratingsOf(rows, { level: 'interval' }));
  const totals = new Float64Array(sums.cells);
  rows.forEach((_, target) => sums.add(target, totals, 0));
  return sums.components(totals);
}

// Readings of a target lie further apart than those of an assessor and of all, so both variances are 0 and what is left is a sample
// with one mean: Σ(x − x̄)²/(N − 1).
it('with both variances on the edge they are exactly 0 and the residual is the plain variance', () => {
  const rows = [
    [1, 4],
    [4, 1],
    [1, 4],
    [4, 1],
    [null, 2.5],
  ];
  const { target, assessor, residual } = componentsOf(rows);
  expect(target).toBe(0);
  expect(assessor).toBe(0);
  expectNear(residual, (8 * 1.5 ** 2) / 8, 1e-12);
});

import { describe, expect, it } from 'vitest';
import { cholesky, inverseFromCholesky, logDeterminant, solveCholesky } from '../../src/models/linear-algebra.ts';
import { SparseCholesky } from '../../src/models/sparse-cholesky.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';

/** 12 limbs in 6 patients (columns 0–11, 12–17), 3 assessors (18–20): cliques of limb, patient, assessor. */
function nestedAndCrossed(): Int32Array {
  const random = seededRandom(5);
  return Int32Array.from(
    Array.from({ length: 40 }, () => {
      const limb = random.below(12);
      return [limb, 12 + Math.floor(limb / 2), 18 + random.below(3)];
    }).flat(),
  );
}

describe.each([
  ['limbs and patients sparse, assessors dense', 18],
  ['only limbs sparse', 12],
  ['one column dense', 20],
  ['nothing sparse', 0],
  ['all sparse', 21],
])('%s', (_, sparse) => {
  const order = 21;
  const cliques = nestedAndCrossed();
  const pattern = new SparseCholesky(order, sparse, cliques, 3);
  const random = seededRandom(6);
  const values = new Float64Array(pattern.size);
  const dense = new Float64Array(order * order);
  for (let i = 0; i < order; i++) {
    values[pattern.position(i, i)] = 1;
    dense[i * (order + 1)] = 1;
  }
  for (let from = 0; from < cliques.length; from += 3) {
    const weights = [random.normal(), random.normal(), random.normal()];
    for (let a = 0; a < 3; a++)
      for (let b = a; b < 3; b++) {
        const [column, row] = [cliques[from + a] as number, cliques[from + b] as number];
        const product = (weights[a] as number) * (weights[b] as number);
        values[pattern.position(row, column)] = (values[pattern.position(row, column)] as number) + product;
        dense[row * order + column] = (dense[row * order + column] as number) + product;
        if (row !== column) dense[column * order + row] = dense[row * order + column] as number;
      }
  }
  const factor = Float64Array.from(values);
  const denseFactor = Float64Array.from(dense);

  it('factors, solves and inverts as a dense factor does', () => {
    expect(pattern.factor(factor)).toBe(true);
    expect(cholesky(denseFactor, order)).toBe(true);
    expectNear(pattern.logDeterminant(factor), logDeterminant(denseFactor, order), 1e-12);
    const right = Float64Array.from({ length: order }, () => random.normal());
    const expected = Float64Array.from(right);
    solveCholesky(denseFactor, order, expected);
    pattern.solveLower(factor, right);
    pattern.solveLowerTransposed(factor, right);
    expectAllNear(right, expected, 1e-12);
    const inverse = inverseFromCholesky(denseFactor, order);
    const selected = pattern.selectedInverse(factor);
    for (let from = 0; from < cliques.length; from += 3)
      for (let a = 0; a < 3; a++)
        for (let b = a; b < 3; b++) {
          const [column, row] = [cliques[from + a] as number, cliques[from + b] as number];
          expectNear(selected[pattern.position(row, column)] as number, inverse[row * order + column] as number, 1e-12);
        }
  });

  it('says when the matrix is not positive definite', () => {
    const broken = Float64Array.from(values);
    broken[pattern.position(20, 20)] = -1;
    expect(pattern.factor(broken)).toBe(false);
  });
});

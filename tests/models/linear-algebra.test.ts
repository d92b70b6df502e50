import { describe, expect, it } from 'vitest';
import {
  cholesky,
  generalEigen,
  inverseFromCholesky,
  logDeterminant,
  matrixExponential,
  multiply,
  solveCholesky,
  solveGeneral,
  symmetricEigen,
} from '../../src/models/linear-algebra.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';

const order = 6;

function randomMatrix(seed: number): Float64Array {
  const random = seededRandom(seed);
  return Float64Array.from({ length: order * order }, () => random.normal());
}

function transposed(a: Float64Array): Float64Array {
  return a.map((_, at) => a[(at % order) * order + Math.floor(at / order)] as number);
}

const identity = Float64Array.from({ length: order * order }, (_, at) => (at % (order + 1) === 0 ? 1 : 0));

describe('Cholesky factor', () => {
  const b = randomMatrix(1);
  const a = multiply(b, transposed(b), order, order, order);

  it('solves, inverts and gives the determinant of a positive definite matrix', () => {
    const factor = Float64Array.from(a);
    expect(cholesky(factor, order)).toBe(true);
    expectAllNear(multiply(a, inverseFromCholesky(factor, order), order, order, order), identity, 1e-10);
    const x = Float64Array.from({ length: order }, (_, i) => i + 1);
    const right = multiply(a, x, order, order, 1);
    solveCholesky(factor, order, right);
    expectAllNear(right, x, 1e-10);
    expectNear(
      logDeterminant(factor, order),
      symmetricEigen(a, order).values.reduce((sum, value) => sum + Math.log(value), 0),
      1e-10,
    );
  });

  it('says that a singular or indefinite matrix is not positive definite', () => {
    expect(cholesky(Float64Array.of(1, 1, 1, 1), 2)).toBe(false);
    expect(cholesky(Float64Array.of(1, 2, 2, 1), 2)).toBe(false);
    expect(cholesky(Float64Array.of(Number.NaN), 1)).toBe(false);
    // A pivot must pass the tolerance, relative to its diagonal entry.
    expect(cholesky(Float64Array.of(100, 0, 0, 0), 2)).toBe(false);
    expect(cholesky(Float64Array.of(4, 2, 2, 1 + 0.5), 2, 0.3)).toBe(true);
    expect(cholesky(Float64Array.of(4, 2, 2, 1 + 0.5), 2, 0.34)).toBe(false);
    // The upper triangle keeps what it held.
    const kept = Float64Array.of(4, 7, 2, 10);
    expect(cholesky(kept, 2)).toBe(true);
    expect([...kept]).toEqual([2, 7, 1, 3]);
  });
});

describe('eigendecompositions', () => {
  it('rebuilds a general matrix that has complex pairs: A V = V D', () => {
    const a = randomMatrix(2);
    const { real, imaginary, vectors, inverse } = generalEigen(a, order);
    expect(imaginary.some((part) => part !== 0)).toBe(true);
    const d = new Float64Array(order * order);
    for (let k = 0; k < order; k++) {
      d[k * order + k] = real[k] as number;
      const b = imaginary[k] as number;
      if (b > 0) d[k * order + k + 1] = b;
      if (b < 0) d[k * order + k - 1] = b;
    }
    const product = multiply(multiply(vectors, d, order, order, order), inverse as Float64Array, order, order, order);
    expectAllNear(product, a, 1e-10);
  });

  it('shows a defective matrix by its condition', () => {
    expect(generalEigen(Float64Array.of(-1, 1, 0, -1), 2).condition).toBeGreaterThan(1e12);
  });
});

describe('matrix exponential', () => {
  it('is that of a nilpotent and of a defective matrix, in closed form', () => {
    expectAllNear(
      matrixExponential(Float64Array.of(0, 1, 2, 0, 0, 3, 0, 0, 0), 3),
      [1, 1, 3.5, 0, 1, 3, 0, 0, 1],
      1e-15,
    );
    const t = 7;
    expectAllNear(
      matrixExponential(Float64Array.of(-t, t, 0, -t), 2),
      [Math.exp(-t), t * Math.exp(-t), 0, Math.exp(-t)],
      1e-14,
    );
  });

  it('agrees with the eigendecomposition of a symmetric matrix of large norm', () => {
    const b = randomMatrix(3);
    const a = multiply(b, transposed(b), order, order, order).map((entry) => -4 * entry);
    const { values, vectors } = symmetricEigen(a, order);
    const scaled = vectors.map((entry, at) => entry * Math.exp(values[at % order] as number));
    expectAllNear(matrixExponential(a, order), multiply(scaled, transposed(vectors), order, order, order), 1e-12);
  });

  it('has all its digits up to the norm where scaling begins, and beyond', () => {
    // e^x beside Math.exp; two in one matrix, that one is not found for the other. Rounding of the denominator grows with e^|x|.
    for (const x of [1e-8, 0.3, 1, 2.7, 5.3, 5.4, 10, 21.4, 21.6, 40]) {
      const [up, , , down] = matrixExponential(Float64Array.of(x, 0, 0, -x), 2) as unknown as number[];
      expectNear((up as number) / Math.exp(x), 1, 2e-14 * Math.max(1, x));
      expectNear((down as number) / Math.exp(-x), 1, 2e-14 * Math.max(1, x));
      // A turn by x: cos and sin, in a matrix of norm x.
      const turn = matrixExponential(Float64Array.of(0, -x, x, 0), 2);
      expectAllNear(turn, [Math.cos(x), -Math.sin(x), Math.sin(x), Math.cos(x)], 2e-14 * Math.max(1, x));
    }
    const drain = (k: number): Float64Array => {
      // All leave state k for the last at rate 30; only column k is filled.
      const q = new Float64Array(9);
      q[k * 3 + k] = -30;
      q[6 + k] = 30;
      return matrixExponential(q, 3);
    };
    for (const k of [0, 1]) {
      const found = drain(k);
      expectNear((found[k * 3 + k] as number) / Math.exp(-30), 1, 1e-12);
      expectNear(found[6 + k] as number, -Math.expm1(-30), 1e-13);
    }
    // The norm is that of columns: the largest sum of absolute values.
    const tall = matrixExponential(Float64Array.of(0, 0, 0, -300, 0, 0, 300, 0, 0), 3);
    expectAllNear(tall, [1, 0, 0, -300, 1, 0, 300, 0, 1], 1e-12);
  });

  it('of something not finite is not defined', () => {
    expect(matrixExponential(Float64Array.of(Number.NaN), 1)[0]).toBeNaN();
    expect(matrixExponential(Float64Array.of(Number.POSITIVE_INFINITY, 0, 0, 0), 2)[3]).toBeNaN();
  });
});

describe('general solve', () => {
  it('solves, and refuses a singular matrix', () => {
    const a = randomMatrix(4);
    const inverse = solveGeneral(a, order, identity, order) as Float64Array;
    expectAllNear(multiply(a, inverse, order, order, order), identity, 1e-11);
    expect(solveGeneral(Float64Array.of(0, 0, 0, 0), 2, Float64Array.of(1, 1), 1)).toBeUndefined();
  });
});

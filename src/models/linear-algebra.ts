import { createRequire } from 'node:module';
import type { Matrix } from 'ml-matrix';

type Library = typeof import('ml-matrix');

// Loaded at first use: it takes a third of the time that the whole library takes to load.
const load = createRequire(import.meta.url);
let loaded: Library | undefined;
function library(): Library {
  loaded ??= load('ml-matrix') as Library;
  return loaded;
}

/*
 * Dense linear algebra for the models. A matrix is a flat `Float64Array`, row by row, with its order
 * beside it. The Cholesky factor is written here, in place and without allocation, because it stands
 * in the innermost loop of every mixed model; eigendecompositions and the LU factor come from
 * ml-matrix (the JAMA routines in JavaScript: no native code, MIT), which nothing here could better.
 */

/**
 * Cholesky factor of a symmetric positive definite matrix, in place: A = L Lᵀ, L lower triangular.
 * Only the lower triangle of `a` is read and written; the upper one keeps what it held.
 * Returns false when a pivot is not above `relativeTolerance` times its diagonal entry of A: then A is
 * not positive definite to working accuracy and the content of `a` is of no use.
 */
export function cholesky(a: Float64Array, order: number, relativeTolerance = 1e-14): boolean {
  for (let i = 0; i < order; i++) {
    const rowI = i * order;
    for (let j = 0; j < i; j++) {
      const rowJ = j * order;
      let sum = a[rowI + j] as number;
      for (let k = 0; k < j; k++) sum -= (a[rowI + k] as number) * (a[rowJ + k] as number);
      a[rowI + j] = sum / (a[rowJ + j] as number);
    }
    const diagonal = a[rowI + i] as number;
    let pivot = diagonal;
    for (let k = 0; k < i; k++) pivot -= (a[rowI + k] as number) ** 2;
    if (!(pivot > relativeTolerance * diagonal)) return false;
    a[rowI + i] = Math.sqrt(pivot);
  }
  return true;
}

/** ln |A| from the Cholesky factor L of A: 2 Σ ln Lᵢᵢ. */
export function logDeterminant(factor: Float64Array, order: number): number {
  let sum = 0;
  for (let i = 0; i < order; i++) sum += Math.log(factor[i * order + i] as number);
  return 2 * sum;
}

/** Solves L x = b in place, L lower triangular. */
export function solveLower(factor: Float64Array, order: number, b: Float64Array): void {
  for (let i = 0; i < order; i++) {
    const row = i * order;
    let sum = b[i] as number;
    for (let k = 0; k < i; k++) sum -= (factor[row + k] as number) * (b[k] as number);
    b[i] = sum / (factor[row + i] as number);
  }
}

/** Solves Lᵀ x = b in place, L lower triangular. */
export function solveLowerTransposed(factor: Float64Array, order: number, b: Float64Array): void {
  for (let i = order - 1; i >= 0; i--) {
    let sum = b[i] as number;
    for (let k = i + 1; k < order; k++) sum -= (factor[k * order + i] as number) * (b[k] as number);
    b[i] = sum / (factor[i * order + i] as number);
  }
}

/** Solves A x = b in place from the Cholesky factor L of A. */
export function solveCholesky(factor: Float64Array, order: number, b: Float64Array): void {
  solveLower(factor, order, b);
  solveLowerTransposed(factor, order, b);
}

/** A⁻¹ from the Cholesky factor L of A, full and symmetric. */
export function inverseFromCholesky(factor: Float64Array, order: number): Float64Array {
  const inverse = new Float64Array(order * order);
  const column = new Float64Array(order);
  for (let j = 0; j < order; j++) {
    column.fill(0);
    column[j] = 1;
    solveCholesky(factor, order, column);
    for (let i = 0; i <= j; i++) {
      inverse[i * order + j] = column[i] as number;
      inverse[j * order + i] = column[i] as number;
    }
  }
  return inverse;
}

/** The inverse of a symmetric positive definite matrix, or `undefined` when it is not positive definite. */
export function symmetricInverse(a: Float64Array, order: number): Float64Array | undefined {
  const factor = Float64Array.from(a);
  return cholesky(factor, order) ? inverseFromCholesky(factor, order) : undefined;
}

/** Solves A X = B for a general square A (order × order) and B (order × columns), or `undefined` when A is singular. */
export function solveGeneral(
  a: Float64Array,
  order: number,
  b: Float64Array,
  columns: number,
): Float64Array | undefined {
  const factor = new (library().LuDecomposition)(toLibrary(a, order, order));
  if (factor.isSingular()) return undefined;
  return fromLibrary(factor.solve(toLibrary(b, order, columns)));
}

/** C = A B, with A (rows × inner) and B (inner × columns). */
export function multiply(a: Float64Array, b: Float64Array, rows: number, inner: number, columns: number): Float64Array {
  const c = new Float64Array(rows * columns);
  for (let i = 0; i < rows; i++) {
    for (let k = 0; k < inner; k++) {
      const factor = a[i * inner + k] as number;
      if (factor === 0) continue;
      for (let j = 0; j < columns; j++) {
        const at = i * columns + j;
        c[at] = (c[at] as number) + factor * (b[k * columns + j] as number);
      }
    }
  }
  return c;
}

export interface SymmetricEigen {
  /** Eigenvalues, ascending. */
  readonly values: Float64Array;
  /** Orthonormal eigenvectors as columns, row by row. */
  readonly vectors: Float64Array;
}

/** A = V diag(λ) Vᵀ of a symmetric matrix; both triangles must be filled. */
export function symmetricEigen(a: Float64Array, order: number): SymmetricEigen {
  const found = new (library().EigenvalueDecomposition)(toLibrary(a, order, order), { assumeSymmetric: true });
  return { values: Float64Array.from(found.realEigenvalues), vectors: fromLibrary(found.eigenvectorMatrix) };
}

export interface GeneralEigen {
  /** Real and imaginary parts of the eigenvalues; a complex pair stands side by side, positive imaginary part first. */
  readonly real: Float64Array;
  readonly imaginary: Float64Array;
  /**
   * Real vectors V as columns with A V = V D, D block diagonal: a real eigenvalue on its own, a pair
   * a ± bi as the block [[a, b], [−b, a]]. The complex eigenvector of the pair in columns k, k+1 is
   * V[:,k] ± i V[:,k+1].
   */
  readonly vectors: Float64Array;
  /** V⁻¹, or `undefined` when V is singular: A is defective. */
  readonly inverse: Float64Array | undefined;
  /** ‖V‖₁‖V⁻¹‖₁, infinite when V is singular. Near 1/ε the decomposition is of no use: take `matrixExponential`. */
  readonly condition: number;
}

/** The eigendecomposition of a general real square matrix. */
export function generalEigen(a: Float64Array, order: number): GeneralEigen {
  const found = new (library().EigenvalueDecomposition)(toLibrary(a, order, order));
  const vectors = fromLibrary(found.eigenvectorMatrix);
  const identity = new Float64Array(order * order);
  for (let i = 0; i < order; i++) identity[i * order + i] = 1;
  const inverse = solveGeneral(vectors, order, identity, order);
  return {
    real: Float64Array.from(found.realEigenvalues),
    imaginary: Float64Array.from(found.imaginaryEigenvalues),
    vectors,
    inverse,
    condition: inverse === undefined ? Number.POSITIVE_INFINITY : norm1(vectors, order) * norm1(inverse, order),
  };
}

/** Numerator coefficients of the (13, 13) Padé approximant of eˣ: (26 − k)! 13! / (26! k! (13 − k)!), times a common factor. */
const PADE_13: readonly number[] = [
  64764752532480000, 32382376266240000, 7771770303897600, 1187353796428800, 129060195264000, 10559470521600,
  670442572800, 33522128640, 1323241920, 40840800, 960960, 16380, 182, 1,
];
/** Largest ‖A‖₁ for which that approximant is exact to double precision (table 2.3 of the source). */
const PADE_13_REACH = 5.371920351148152;

/**
 * eᴬ of a square matrix by scaling and squaring: e^(A/2ˢ) by the (13, 13) Padé approximant, squared s times.
 * Entries that are not finite give a matrix of `NaN`.
 * Source: Higham NJ. SIAM J Matrix Anal Appl 2005;26:1179–1193, doi:10.1137/04061101X.
 */
export function matrixExponential(a: Float64Array, order: number): Float64Array {
  const norm = norm1(a, order);
  if (!Number.isFinite(norm)) return new Float64Array(order * order).fill(Number.NaN);
  const squarings = norm <= PADE_13_REACH ? 0 : Math.ceil(Math.log2(norm / PADE_13_REACH));
  const scaled = a.map((value) => value / 2 ** squarings);
  const product = (x: Float64Array, y: Float64Array): Float64Array => multiply(x, y, order, order, order);
  const second = product(scaled, scaled);
  const fourth = product(second, second);
  const sixth = product(fourth, second);
  const c = (k: number): number => PADE_13[k] as number;
  const powers = (k6: number, k4: number, k2: number, k0: number): Float64Array => {
    const sum = new Float64Array(order * order);
    for (let at = 0; at < sum.length; at++)
      sum[at] = k6 * (sixth[at] as number) + k4 * (fourth[at] as number) + k2 * (second[at] as number);
    for (let i = 0; i < order; i++) sum[i * order + i] = (sum[i * order + i] as number) + k0;
    return sum;
  };
  const plus = (x: Float64Array, y: Float64Array): Float64Array => x.map((value, at) => value + (y[at] as number));
  const odd = product(scaled, plus(product(sixth, powers(c(13), c(11), c(9), 0)), powers(c(7), c(5), c(3), c(1))));
  const even = plus(product(sixth, powers(c(12), c(10), c(8), 0)), powers(c(6), c(4), c(2), c(0)));
  const denominator = even.map((value, at) => value - (odd[at] as number));
  let result = solveGeneral(denominator, order, plus(even, odd), order);
  if (result === undefined) return new Float64Array(order * order).fill(Number.NaN);
  for (let s = 0; s < squarings; s++) result = product(result, result);
  return result;
}

/** ‖A‖₁: the largest absolute column sum; `NaN` when an entry is. */
function norm1(a: Float64Array, order: number): number {
  let largest = 0;
  for (let j = 0; j < order; j++) {
    let sum = 0;
    for (let i = 0; i < order; i++) sum += Math.abs(a[i * order + j] as number);
    if (Number.isNaN(sum)) return Number.NaN;
    if (sum > largest) largest = sum;
  }
  return largest;
}

function toLibrary(a: Float64Array, rows: number, columns: number): Matrix {
  return library().Matrix.from1DArray(rows, columns, a);
}

function fromLibrary(matrix: Matrix): Float64Array {
  return Float64Array.from(matrix.to1DArray());
}

/** A matrix with these numbers on its diagonal and zeros elsewhere, row by row. */
export function diagonalMatrix(diagonal: ArrayLike<number>): Float64Array {
  const order = diagonal.length;
  const matrix = new Float64Array(order * order);
  for (let i = 0; i < order; i++) matrix[i * (order + 1)] = diagonal[i] as number;
  return matrix;
}

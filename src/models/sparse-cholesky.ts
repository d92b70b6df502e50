import { cholesky, inverseFromCholesky } from './linear-algebra.js';

/**
 * The Cholesky factor of the matrices of mixed models, in the shape they have: many small groups in a
 * chain of nesting (readings in limbs in patients), which eliminate without filling in, and a border of
 * few effects crossed with them (assessors, sites), kept as a dense block.
 *
 * Columns 0 … `sparse` − 1 are sparse, the rest dense. One array of values holds, in this order, the
 * diagonal of the sparse columns, their entries below the diagonal, and the dense block row by row.
 * The pattern is worked out once; `factor` then costs Σⱼ |Sⱼ|² multiplications for the sparse columns j
 * with |Sⱼ| entries below the diagonal, and m³/3 for a dense block of order m.
 * Source: Davis TA. Direct Methods for Sparse Linear Systems. SIAM 2006, doi:10.1137/1.9780898718881;
 * selected inverse: Takahashi's recursion as in Erisman AM, Tinney WF. Commun ACM 1975;18:177–179,
 * doi:10.1145/360680.360704.
 */
export class SparseCholesky {
  readonly order: number;
  readonly sparse: number;
  /** Length of an array of values. */
  readonly size: number;
  private readonly starts: Int32Array;
  private readonly rows: Int32Array;
  /** For every sparse column and every pair of its rows k ≤ i: where entry (i, k) lives in the values. */
  private readonly targets: Int32Array;
  private readonly denseStart: number;

  /**
   * @param order number of columns
   * @param sparse how many of them, the first, are kept sparse
   * @param cliques for each set of columns that meet in one row of the design: ascending, `width` a set
   */
  constructor(order: number, sparse: number, cliques: Int32Array, width: number) {
    this.order = order;
    this.sparse = sparse;
    const pattern = eliminationPattern(order, sparse, cliques, width);
    this.starts = pattern.starts;
    this.rows = pattern.rows;
    this.denseStart = sparse + this.rows.length;
    const dense = order - sparse;
    this.size = this.denseStart + dense * dense;
    let pairs = 0;
    for (let j = 0; j < sparse; j++) {
      const count = (this.starts[j + 1] as number) - (this.starts[j] as number);
      pairs += (count * (count + 1)) / 2;
    }
    this.targets = new Int32Array(pairs);
    let at = 0;
    for (let j = 0; j < sparse; j++)
      for (let p = this.starts[j] as number; p < (this.starts[j + 1] as number); p++)
        for (let q = p; q < (this.starts[j + 1] as number); q++)
          this.targets[at++] = this.position(this.rows[q] as number, this.rows[p] as number);
  }

  /** Where entry (row, column), row ≥ column, lives in an array of values. It must be part of the pattern. */
  position(row: number, column: number): number {
    if (column >= this.sparse)
      return this.denseStart + (row - this.sparse) * (this.order - this.sparse) + (column - this.sparse);
    if (row === column) return column;
    let low = this.starts[column] as number;
    let high = (this.starts[column + 1] as number) - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if ((this.rows[middle] as number) < row) low = middle + 1;
      else high = middle;
    }
    return this.sparse + low;
  }

  /** A = L Lᵀ in place. False when A is not positive definite. */
  factor(values: Float64Array): boolean {
    const { sparse, starts, targets } = this;
    let at = 0;
    for (let j = 0; j < sparse; j++) {
      const pivot = values[j] as number;
      if (!(pivot > 0)) return false;
      const root = Math.sqrt(pivot);
      values[j] = root;
      const begin = sparse + (starts[j] as number);
      const end = sparse + (starts[j + 1] as number);
      for (let p = begin; p < end; p++) values[p] = (values[p] as number) / root;
      for (let p = begin; p < end; p++) {
        const left = values[p] as number;
        for (let q = p; q < end; q++) {
          const target = targets[at++] as number;
          values[target] = (values[target] as number) - left * (values[q] as number);
        }
      }
    }
    const dense = this.order - sparse;
    return dense === 0 || cholesky(values.subarray(this.denseStart), dense);
  }

  /** ln |A| from the factor. */
  logDeterminant(factor: Float64Array): number {
    let sum = 0;
    for (let j = 0; j < this.sparse; j++) sum += Math.log(factor[j] as number);
    const dense = this.order - this.sparse;
    for (let i = 0; i < dense; i++) sum += Math.log(factor[this.denseStart + i * (dense + 1)] as number);
    return 2 * sum;
  }

  /** Solves L x = b in place. */
  solveLower(factor: Float64Array, b: Float64Array): void {
    const { sparse, starts, rows } = this;
    for (let j = 0; j < sparse; j++) {
      const x = (b[j] as number) / (factor[j] as number);
      b[j] = x;
      for (let p = starts[j] as number; p < (starts[j + 1] as number); p++) {
        const row = rows[p] as number;
        b[row] = (b[row] as number) - (factor[sparse + p] as number) * x;
      }
    }
    const dense = this.order - sparse;
    for (let i = 0; i < dense; i++) {
      const row = this.denseStart + i * dense;
      let sum = b[sparse + i] as number;
      for (let k = 0; k < i; k++) sum -= (factor[row + k] as number) * (b[sparse + k] as number);
      b[sparse + i] = sum / (factor[row + i] as number);
    }
  }

  /** Solves Lᵀ x = b in place. */
  solveLowerTransposed(factor: Float64Array, b: Float64Array): void {
    const { sparse, starts, rows } = this;
    const dense = this.order - sparse;
    for (let i = dense - 1; i >= 0; i--) {
      const row = this.denseStart + i * dense;
      const x = (b[sparse + i] as number) / (factor[row + i] as number);
      b[sparse + i] = x;
      for (let k = 0; k < i; k++) b[sparse + k] = (b[sparse + k] as number) - (factor[row + k] as number) * x;
    }
    for (let j = sparse - 1; j >= 0; j--) {
      let sum = b[j] as number;
      for (let p = starts[j] as number; p < (starts[j + 1] as number); p++)
        sum -= (factor[sparse + p] as number) * (b[rows[p] as number] as number);
      b[j] = sum / (factor[j] as number);
    }
  }

  /** The entries of A⁻¹ at the positions of the pattern (both triangles of the dense block), from the factor. */
  selectedInverse(factor: Float64Array): Float64Array {
    const { sparse, starts, targets } = this;
    const dense = this.order - sparse;
    const inverse = new Float64Array(this.size);
    if (dense > 0) inverse.set(inverseFromCholesky(factor.subarray(this.denseStart), dense), this.denseStart);
    let at = targets.length;
    for (let j = sparse - 1; j >= 0; j--) {
      const begin = sparse + (starts[j] as number);
      const end = sparse + (starts[j + 1] as number);
      const root = factor[j] as number;
      const count = end - begin;
      at -= (count * (count + 1)) / 2;
      let pair = at;
      for (let p = begin; p < end; p++) {
        for (let q = p; q < end; q++) {
          const entry = inverse[targets[pair++] as number] as number;
          inverse[q] = (inverse[q] as number) - entry * (factor[p] as number);
          if (q !== p) inverse[p] = (inverse[p] as number) - entry * (factor[q] as number);
        }
      }
      let sum = 1 / root;
      for (let p = begin; p < end; p++) {
        inverse[p] = (inverse[p] as number) / root;
        sum -= (factor[p] as number) * (inverse[p] as number);
      }
      inverse[j] = sum / root;
    }
    return inverse;
  }
}

/** The rows below the diagonal of every sparse column of the factor, ascending: those of the matrix and what elimination adds. */
function eliminationPattern(
  order: number,
  sparse: number,
  cliques: Int32Array,
  width: number,
): { starts: Int32Array; rows: Int32Array } {
  const counts = new Int32Array(sparse + 1);
  for (let from = 0; from < cliques.length; from += width)
    for (let a = 0; a < width; a++) {
      const column = cliques[from + a] as number;
      if (column < sparse) counts[column + 1] = (counts[column + 1] as number) + width - 1 - a;
    }
  for (let j = 0; j < sparse; j++) counts[j + 1] = (counts[j + 1] as number) + (counts[j] as number);
  const met = new Int32Array(counts[sparse] as number);
  const filled = counts.slice();
  for (let from = 0; from < cliques.length; from += width)
    for (let a = 0; a < width; a++) {
      const column = cliques[from + a] as number;
      if (column >= sparse) continue;
      for (let b = a + 1; b < width; b++) {
        const at = filled[column] as number;
        met[at] = cliques[from + b] as number;
        filled[column] = at + 1;
      }
    }
  const starts = new Int32Array(sparse + 1);
  const seen = new Int32Array(order).fill(-1);
  const children: (number[] | undefined)[] = new Array(sparse);
  const lists: Int32Array[] = new Array(sparse);
  for (let j = 0; j < sparse; j++) {
    const found: number[] = [];
    const add = (row: number): void => {
      if (row === j || seen[row] === j) return;
      seen[row] = j;
      found.push(row);
    };
    for (let p = counts[j] as number; p < (counts[j + 1] as number); p++) add(met[p] as number);
    for (const child of children[j] ?? []) for (const row of lists[child] as Int32Array) add(row);
    const list = Int32Array.from(found).sort();
    lists[j] = list;
    starts[j + 1] = (starts[j] as number) + list.length;
    const parent = list[0];
    if (parent !== undefined && parent < sparse) {
      const siblings = children[parent];
      if (siblings === undefined) children[parent] = [j];
      else siblings.push(j);
    }
  }
  const rows = new Int32Array(starts[sparse] as number);
  lists.forEach((list, j) => {
    rows.set(list, starts[j] as number);
  });
  return { starts, rows };
}

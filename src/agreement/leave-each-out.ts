import type { Coefficient } from './coefficient.js';

/** The rows of sums that a replicate drew, each with how often: the entries from `from` to before `to`. */
export interface DrawnRows {
  readonly rows: Int32Array;
  readonly times: Int32Array;
  from: number;
  to: number;
}

/** Writes to `values`, from its start, the coefficient of the totals without each row that was drawn, taken out once. */
export type LeaveEachOut = (totals: Float64Array, drawn: DrawnRows, values: Float64Array) => void;

/** For any coefficient: what is left is written out and valued. `rows` holds the sums of each patient, row by row. */
export function leaveEachOut(coefficient: Pick<Coefficient, 'cells' | 'value'>, rows: Float64Array): LeaveEachOut {
  const { cells } = coefficient;
  const left = new Float64Array(cells);
  return (totals, { rows: list, from, to }, values) => {
    for (let i = from; i < to; i++) {
      const at = list[i]! * cells;
      for (let cell = 0; cell < cells; cell++) left[cell] = totals[cell]! - rows[at + cell]!;
      values[i - from] = coefficient.value(left);
    }
  };
}

/** For the first of two sums divided by the second. */
export function ratioLeaveEachOut(rows: Float64Array): LeaveEachOut {
  return (totals, { rows: list, from, to }, values) => {
    const [above, below] = [totals[0]!, totals[1]!];
    for (let i = from; i < to; i++) {
      const at = 2 * list[i]!;
      const left = below - rows[at + 1]!;
      values[i - from] = left === 0 ? Number.NaN : (above - rows[at]!) / left;
    }
  };
}

/** Rows of sums with those that are alike taken together. */
export interface DistinctRows {
  readonly rows: Float64Array;
  /** Which of `rows` each patient has; `undefined` where every patient keeps a row. */
  readonly rowOf: Int32Array | undefined;
}

/**
 * Patients with the same sums need to be valued once. With few readings a patient there are few different sums; where a
 * look at the first patients shows nearly as many as patients, all are kept.
 */
export function distinctRows(perCluster: Float64Array, cells: number): DistinctRows {
  const clusters = perCluster.length / cells;
  const known = new Map<string, number>();
  const rowOf = new Int32Array(clusters);
  for (let cluster = 0; cluster < clusters; cluster++) {
    const key = perCluster.subarray(cluster * cells, (cluster + 1) * cells).join();
    const row = known.get(key) ?? known.size;
    if (row === known.size) known.set(key, row);
    rowOf[cluster] = row;
    if (cluster >= 63 && known.size > 0.75 * (cluster + 1)) return { rows: perCluster, rowOf: undefined };
  }
  if (known.size > 0.5 * clusters) return { rows: perCluster, rowOf: undefined };
  const rows = new Float64Array(known.size * cells);
  rowOf.forEach((row, cluster) => {
    rows.set(perCluster.subarray(cluster * cells, (cluster + 1) * cells), row * cells);
  });
  return { rows, rowOf };
}

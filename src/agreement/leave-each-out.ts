import type { Coefficient } from './coefficient.js';

/** The rows of sums that a replicate drew, each once, and how often each. */
export interface DrawnRows {
  readonly rows: Int32Array;
  readonly times: Int32Array;
}

/**
 * Σ timesᵣ (vᵣ − v̄)² over the rows that were drawn, vᵣ the coefficient of the totals without row r taken out once and v̄ their mean over
 * the `patients` drawn. Distances are taken from the first vᵣ, which is near all others and leaves nothing where all are alike.
 */
export type LeaveEachOut = (totals: Float64Array, drawn: DrawnRows, patients: number) => number;

/** Σ times (v − v̄)² from the sums of times · d and times · d², d the distances from any one value. */
export function aboutMean(first: number, second: number, patients: number): number {
  return Math.max(0, second - (first * first) / patients);
}

/** For any coefficient: what is left is written out and valued. `rows` holds the sums of each patient, row by row. */
export function leaveEachOut(coefficient: Pick<Coefficient, 'cells' | 'value'>, rows: Float64Array): LeaveEachOut {
  const { cells } = coefficient;
  const left = new Float64Array(cells);
  return (totals, { rows: list, times }, patients) => {
    let origin = 0;
    let first = 0;
    let second = 0;
    for (let i = 0; i < list.length; i++) {
      const at = list[i]! * cells;
      for (let cell = 0; cell < cells; cell++) left[cell] = totals[cell]! - rows[at + cell]!;
      const value = coefficient.value(left);
      if (i === 0) origin = value;
      const weighted = times[i]! * (value - origin);
      first += weighted;
      second += weighted * (value - origin);
    }
    return aboutMean(first, second, patients);
  };
}

/** For the first of two sums divided by the second. */
export function ratioLeaveEachOut(rows: Float64Array): LeaveEachOut {
  return (totals, { rows: list, times }, patients) => {
    const [above, below] = [totals[0]!, totals[1]!];
    let origin = 0;
    let first = 0;
    let second = 0;
    for (let i = 0; i < list.length; i++) {
      const at = 2 * list[i]!;
      const left = below - rows[at + 1]!;
      const value = left === 0 ? Number.NaN : (above - rows[at]!) / left;
      if (i === 0) origin = value;
      const weighted = times[i]! * (value - origin);
      first += weighted;
      second += weighted * (value - origin);
    }
    return aboutMean(first, second, patients);
  };
}

/** Rows of sums with those that are alike taken together. */
export interface DistinctRows {
  readonly rows: Float64Array;
  /** Which of `rows` each patient has; `undefined` where every patient keeps a row. */
  readonly rowOf: Int32Array | undefined;
}

/**
 * Patients with the same sums need to be valued once. With few readings a patient there are few different sums; where the
 * first 64 or 512 patients show that there are nearly as many as patients, all are kept.
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
    const differ = known.size;
    if ((cluster === 63 && differ === 64) || (cluster === 511 && differ > 384))
      return { rows: perCluster, rowOf: undefined };
  }
  if (known.size > 0.5 * clusters) return { rows: perCluster, rowOf: undefined };
  const rows = new Float64Array(known.size * cells);
  rowOf.forEach((row, cluster) => {
    rows.set(perCluster.subarray(cluster * cells, (cluster + 1) * cells), row * cells);
  });
  return { rows, rowOf };
}

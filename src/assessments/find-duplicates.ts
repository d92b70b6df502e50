/** A row whose key equals that of an earlier row. */
export interface Duplicate {
  readonly row: number;
  readonly first: number;
}

/**
 * The rows whose key equals that of an earlier row, in the order of the rows. A key is the row's value in each
 * column; `leftOut` marks rows that do not take part. One pass with an open hash table over the columns: no key
 * is ever made as an object.
 */
export function findDuplicates(
  columns: readonly (Int32Array | Float64Array | Int8Array)[],
  rows: number,
  leftOut?: Uint8Array,
): readonly Duplicate[] {
  const mask = 2 ** Math.ceil(Math.log2(Math.max(2, 2 * rows))) - 1;
  const table = new Int32Array(mask + 1).fill(-1);
  const duplicates: Duplicate[] = [];
  for (let row = 0; row < rows; row++) {
    if (leftOut?.[row] === 1) continue;
    let hash = 0;
    for (const column of columns) {
      // Fractions are rare in keys; where they fall together the comparison below tells them apart.
      hash = Math.imul(hash ^ (Math.floor(column[row] ?? 0) | 0), 0x9e3779b1);
      hash ^= hash >>> 15;
    }
    let slot = hash & mask;
    for (;;) {
      const other = table[slot] ?? -1;
      if (other < 0) {
        table[slot] = row;
        break;
      }
      if (sameKey(columns, row, other)) {
        duplicates.push({ row, first: other });
        break;
      }
      slot = (slot + 1) & mask;
    }
  }
  return duplicates;
}

function sameKey(columns: readonly (Int32Array | Float64Array | Int8Array)[], a: number, b: number): boolean {
  for (const column of columns) if (!Object.is(column[a], column[b])) return false;
  return true;
}

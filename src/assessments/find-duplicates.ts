/** A row whose key equals that of an earlier row. */
export interface Duplicate {
  readonly row: number;
  readonly first: number;
}

/**
 * The rows whose key equals that of an earlier row, in the order of the rows. A key is the row's code in each
 * column; `leftOut` marks rows that do not take part. One pass with an open hash table over the columns: no key
 * is ever made as an object.
 */
export function findDuplicates(
  columns: readonly Int32Array[],
  rows: number,
  leftOut?: Uint8Array,
): readonly Duplicate[] {
  const varying = columns.filter((column) => varies(column, rows));
  const hashes = hashesOf(varying, rows);
  const mask = 2 ** Math.ceil(Math.log2(Math.max(2, 2 * rows))) - 1;
  const table = new Int32Array(mask + 1).fill(-1);
  const duplicates: Duplicate[] = [];
  for (let row = 0; row < rows; row++) {
    if (leftOut?.[row] === 1) continue;
    const hash = hashes[row]!;
    let slot = hash & mask;
    for (;;) {
      const other = table[slot]!;
      if (other < 0) {
        table[slot] = row;
        break;
      }
      if (hashes[other] === hash && sameKey(varying, row, other)) {
        duplicates.push({ row, first: other });
        break;
      }
      slot = (slot + 1) & mask;
    }
  }
  return duplicates;
}

/** Numbers by codes, equal numbers by the same one, `NaN` like any other. */
export function codesOfNumbers(numbers: Float64Array): Int32Array {
  const known = new Map<number, number>();
  const codes = new Int32Array(numbers.length);
  let last = Number.POSITIVE_INFINITY;
  let code = -1;
  for (let row = 0; row < numbers.length; row++) {
    const number = numbers[row]!;
    if (number !== last) {
      last = number;
      code = known.get(number) ?? known.size;
      known.set(number, code);
    }
    codes[row] = code;
  }
  return codes;
}

/** A column with one value throughout tells no row from another. */
function varies(column: Int32Array, rows: number): boolean {
  const first = column[0];
  for (let row = 1; row < rows; row++) if (column[row] !== first) return true;
  return false;
}

/** Column after column, which keeps the memory in order. */
function hashesOf(columns: readonly Int32Array[], rows: number): Int32Array {
  const hashes = new Int32Array(rows);
  for (const column of columns) {
    for (let row = 0; row < rows; row++) {
      const hash = Math.imul(hashes[row]! ^ column[row]!, 0x9e3779b1);
      hashes[row] = hash ^ (hash >>> 15);
    }
  }
  return hashes;
}

function sameKey(columns: readonly Int32Array[], a: number, b: number): boolean {
  for (const column of columns) if (column[a] !== column[b]) return false;
  return true;
}

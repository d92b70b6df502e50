/** A row whose key equals that of an earlier row. */
export interface Duplicate {
  readonly row: number;
  readonly first: number;
}

/**
 * The rows whose key equals that of an earlier row, in the order of the rows. A key is the row's code in each
 * column; `leftOut` marks rows that do not take part. One pass with an open hash table over the columns: no key
 * is ever made as an object. The table has a part of its own for each code of the column with the most codes (the
 * patients), so that what is compared lies close together in memory.
 */
export function findDuplicates(
  columns: readonly Int32Array[],
  rows: number,
  leftOut?: Uint8Array,
): readonly Duplicate[] {
  const varying = columns.filter(varies);
  const sizes = varying.map(sizeOf);
  const parted = varying[sizes.indexOf(Math.max(...sizes))] ?? new Int32Array(rows);
  const others = varying.filter((column) => column !== parted);
  const starts = partsOf(parted, rows);
  const hashes = hashesOf(others, rows);
  const table = new Int32Array(2 * rows).fill(-1);
  const duplicates: Duplicate[] = [];
  for (let row = 0; row < rows; row++) {
    if (leftOut?.[row] === 1) continue;
    const hash = hashes[row]!;
    const part = parted[row]! + 1;
    const start = starts[part]!;
    const end = starts[part + 1]!;
    let slot = start + ((hash & 0x7fffffff) % (end - start));
    for (;;) {
      const other = table[slot]!;
      if (other < 0) {
        table[slot] = row;
        break;
      }
      if (hashes[other] === hash && sameKey(others, row, other)) {
        duplicates.push({ row, first: other });
        break;
      }
      if (++slot === end) slot = start;
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

/** Whether a column tells any row from another; `NaN` is like `NaN`. */
export function varies(column: Int32Array | Float64Array | Int8Array): boolean {
  const first = column[0]!;
  if (Number.isNaN(first)) return column.some((value) => !Number.isNaN(value));
  for (let row = 1; row < column.length; row++) if (column[row] !== first) return true;
  return false;
}

/** Codes run from −1 to one below this. */
function sizeOf(column: Int32Array): number {
  let most = -1;
  for (let row = 0; row < column.length; row++) if (column[row]! > most) most = column[row]!;
  return most + 1;
}

/** Where each code's part of a table begins that has two places for each of its rows; the part of code c is at c + 1. */
function partsOf(column: Int32Array, rows: number): Int32Array {
  const starts = new Int32Array(sizeOf(column) + 2);
  for (let row = 0; row < rows; row++) starts[column[row]! + 2]! += 2;
  for (let part = 1; part < starts.length; part++) starts[part]! += starts[part - 1]!;
  return starts;
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

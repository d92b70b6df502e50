/** A column of codes, −1 for none; or, without `codes`, one code for every row. */
export interface Coded {
  readonly codes?: Int32Array;
  /** The code of every row where `codes` is absent. */
  readonly only?: number;
  /** Codes run from −1 to `size` − 1. */
  readonly size: number;
}

/** The combinations of codes that occur, numbered in the order of their first row. */
export interface Combined {
  /** The combination of each row; absent where every row has the same one. */
  readonly codes?: Int32Array;
  readonly count: number;
  /** For each combination, the code of each column. */
  readonly parts: readonly (readonly number[])[];
}

/** Beyond this many possible pairs they are looked up instead of counted off in an array. */
const TABLE_SIZE = 4_194_304;

/** Numbers the combinations of several columns, so that what depends on all of them is worked out once for each. */
export function combineCodes(columns: readonly Coded[], rows: number): Combined {
  let codes: Int32Array | undefined;
  let parts: number[][] = [[]];
  for (const column of columns) {
    const added = column.codes;
    if (added === undefined) {
      parts = parts.map((part) => [...part, column.only ?? -1]);
      continue;
    }
    const width = column.size + 1;
    const next: Int32Array = codes ?? new Int32Array(rows);
    const nextParts: number[][] = [];
    const before = parts;
    const newNumber = (pair: number): number => {
      nextParts.push([...(before[Math.floor(pair / width)] ?? []), (pair % width) - 1]);
      return nextParts.length - 1;
    };
    if (before.length * width <= TABLE_SIZE) {
      const numbers = new Int32Array(before.length * width).fill(-1);
      for (let row = 0; row < rows; row++) {
        const pair = (codes === undefined ? 0 : codes[row]!) * width + added[row]! + 1;
        let number = numbers[pair]!;
        if (number < 0) {
          number = newNumber(pair);
          numbers[pair] = number;
        }
        next[row] = number;
      }
    } else {
      const numbers = new Map<number, number>();
      for (let row = 0; row < rows; row++) {
        const pair = (codes === undefined ? 0 : codes[row]!) * width + added[row]! + 1;
        let number = numbers.get(pair);
        if (number === undefined) {
          number = newNumber(pair);
          numbers.set(pair, number);
        }
        next[row] = number;
      }
    }
    codes = next;
    parts = nextParts;
  }
  return { ...(codes === undefined ? {} : { codes }), count: parts.length, parts };
}

import { ownValue } from '../shared/own-value.js';
import type { NumberColumnName, TextColumn } from './assessments.js';
import { type Cells, reportEach } from './cells.js';
import type { Combined } from './combine-codes.js';
import type { ProblemList } from './problem-list.js';

export interface NumberRule {
  readonly name: Exclude<NumberColumnName, 'number'>;
  readonly expected: string;
  readonly holds: (value: number) => boolean;
}

export const NUMBER_RULES: readonly NumberRule[] = [
  {
    name: 'day',
    expected: "a number of days since the patient's first day, such as 0, 14 or -3",
    holds: Number.isFinite,
  },
  { name: 'period', expected: "a whole number, the period on the unit's clock", holds: Number.isInteger },
  { name: 'order', expected: 'a whole number from 1', holds: (value) => Number.isInteger(value) && value >= 1 },
  { name: 'replicate', expected: 'a whole number from 1', holds: (value) => Number.isInteger(value) && value >= 1 },
  { name: 'heldSeconds', expected: 'seconds, 0 or more', holds: (value) => value >= 0 },
  { name: 'angleDegrees', expected: 'degrees, 0 to 90', holds: (value) => value >= 0 && value <= 90 },
  { name: 'recordedLimit', expected: 'a number', holds: Number.isFinite },
];

const FLAGS: Readonly<Record<string, 0 | 1>> = { yes: 1, y: 1, true: 1, '1': 1, no: 0, n: 0, false: 0, '0': 0 };

/** Columns in which nothing was recorded share their arrays. */
export class EmptyColumns {
  readonly #rows: number;
  #text: TextColumn | undefined;
  #numbers: Float64Array | undefined;
  #flags: Int8Array | undefined;

  constructor(rows: number) {
    this.#rows = rows;
  }

  get text(): TextColumn {
    this.#text ??= Object.freeze({ codes: new Int32Array(this.#rows).fill(-1), values: Object.freeze([]) });
    return this.#text;
  }

  get numbers(): Float64Array {
    this.#numbers ??= new Float64Array(this.#rows).fill(Number.NaN);
    return this.#numbers;
  }

  get flags(): Int8Array {
    this.#flags ??= new Int8Array(this.#rows).fill(-1);
    return this.#flags;
  }
}

/** A column of codes as the source has them. */
export function plainText(cells: Cells, rows: number, empty: EmptyColumns): TextColumn {
  return textOf(cells, cells.values, rows, empty);
}

/** A column in which each distinct text of the source stands for a word, or for none. */
export function textOf(
  cells: Cells,
  words: readonly (string | undefined)[],
  rows: number,
  empty: EmptyColumns,
): TextColumn {
  if (cells.codes === undefined) {
    const only = words[cells.only ?? -1];
    return only === undefined ? empty.text : alphabetical([only], new Int32Array(rows), empty);
  }
  return alphabetical(words, cells.codes, empty);
}

/** A column in which each combination stands for a word, or for none. */
export function wordsOf(
  combined: Combined,
  wordAt: (parts: readonly number[], at: number) => string | undefined,
  rows: number,
  empty: EmptyColumns,
): TextColumn {
  return alphabetical(combined.parts.map(wordAt), combined.codes ?? new Int32Array(rows), empty);
}

/** Words in alphabetical order, so that equal data have equal codes wherever they come from. */
function alphabetical(words: readonly (string | undefined)[], codes: Int32Array, empty: EmptyColumns): TextColumn {
  const values = [...new Set(words.flatMap((word) => word ?? []))].sort(compare);
  if (values.length === 0) return empty.text;
  // Words that stand in order already keep their codes: nothing is copied.
  if (values.length === words.length && values.every((value, at) => value === words[at]))
    return Object.freeze({ codes, values: Object.freeze(values) });
  const codeOf = new Map(values.map((word, code) => [word, code]));
  const recoded = Int32Array.from(words, (word) => (word === undefined ? -1 : (codeOf.get(word) ?? -1)));
  const column = new Int32Array(codes.length).fill(-1);
  for (let row = 0; row < codes.length; row++) if (codes[row]! >= 0) column[row] = recoded[codes[row]!]!;
  return Object.freeze({ codes: column, values: Object.freeze(values) });
}

/** Fills a column with what each combination stands for. */
export function byRow<T extends Float64Array | Int16Array | Int8Array>(
  combined: Pick<Combined, 'codes' | 'count'>,
  column: T,
  none: number,
  valueAt: (at: number) => number | undefined,
): T {
  const values = Float64Array.from({ length: combined.count }, (_, at) => valueAt(at) ?? none);
  const { codes } = combined;
  if (codes === undefined) return column.fill(values[0] ?? none) as T;
  for (let row = 0; row < column.length; row++) column[row] = codes[row]! < 0 ? none : values[codes[row]!]!;
  return column;
}

/** The number a text is, with a decimal point or comma; `NaN` for other texts. */
export function numberOf(text: string): number {
  return /^[+-]?\d+(?:[.,]\d+)?$/.test(text) ? Number(text.replace(',', '.')) + 0 : Number.NaN;
}

export function numbersOf(
  cells: Cells,
  rule: NumberRule,
  problems: ProblemList,
  rows: number,
  empty: EmptyColumns,
): Float64Array {
  if (!cells.isPresent) return empty.numbers;
  const values = cells.values.map(numberOf);
  reportEach(
    cells,
    (_text, code) =>
      rule.holds(values[code] ?? Number.NaN)
        ? []
        : [
            {
              code: 'not-a-number',
              ...cells.where,
              message: `This is no number for ${rule.name}.`,
              expected: rule.expected,
            },
          ],
    problems,
  );
  return byRow(oneColumn(cells), new Float64Array(rows), Number.NaN, (at) => values[at]);
}

export function flagsOf(cells: Cells, problems: ProblemList, rows: number, empty: EmptyColumns): Int8Array {
  if (!cells.isPresent) return empty.flags;
  const values = cells.values.map((text) => ownValue(FLAGS, text.toLowerCase()));
  reportEach(
    cells,
    (_, code) =>
      values[code] !== undefined
        ? []
        : [
            {
              code: 'not-yes-or-no',
              ...cells.where,
              message: 'This is neither yes nor no.',
              expected: 'yes or no, or an empty cell',
            },
          ],
    problems,
  );
  return byRow(oneColumn(cells), new Int8Array(rows), -1, (at) => values[at]);
}

function oneColumn(cells: Cells): Pick<Combined, 'codes' | 'count'> {
  return { ...(cells.codes === undefined ? {} : { codes: cells.codes }), count: cells.size };
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

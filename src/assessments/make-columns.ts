import { ownValue } from '../shared/own-value.js';
import type { NumberColumnName, TextColumn } from './assessments.js';
import { type Cells, report } from './cells.js';
import { type Combined, combineCodes } from './combine-codes.js';
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

export function plainText(cells: Cells, rows: number, empty: EmptyColumns): TextColumn {
  if (!cells.isPresent) return empty.text;
  return wordsOf(
    { ...(cells.codes === undefined ? {} : { codes: cells.codes }), count: cells.size, parts: [] },
    undefined,
    rows,
    empty,
    cells.values,
  );
}

/** A column of words in alphabetical order, so that equal data have equal codes wherever they come from. */
export function wordsOf(
  combined: Combined,
  wordAt: ((parts: readonly number[], at: number) => string | undefined) | undefined,
  rows: number,
  empty: EmptyColumns,
  ready: readonly string[] = [],
): TextColumn {
  const words = wordAt === undefined ? ready : combined.parts.map(wordAt);
  const values = [...new Set(words.flatMap((word) => word ?? []))].sort(compare);
  if (values.length === 0) return empty.text;
  const codeOf = new Map(values.map((word, code) => [word, code]));
  const recoded = Int32Array.from(words, (word) => (word === undefined ? -1 : (codeOf.get(word) ?? -1)));
  const codes =
    combined.codes === undefined
      ? new Int32Array(rows).fill(recoded[0] ?? -1)
      : combined.codes.map((code) => (code < 0 ? -1 : (recoded[code] ?? -1)));
  return Object.freeze({ codes, values: Object.freeze(values) });
}

export function byRow(combined: Combined, rows: number, numberAt: (at: number) => number): Float64Array {
  const values = Float64Array.from({ length: combined.count }, (_, at) => numberAt(at));
  const column = new Float64Array(rows);
  const { codes } = combined;
  if (codes === undefined) return column.fill(values[0] ?? Number.NaN);
  for (let row = 0; row < rows; row++) column[row] = values[codes[row] ?? -1] ?? Number.NaN;
  return column;
}

export function numbersOf(
  cells: Cells,
  rule: NumberRule,
  problems: ProblemList,
  rows: number,
  empty: EmptyColumns,
): Float64Array {
  if (!cells.isPresent) return empty.numbers;
  const values = cells.values.map((text) =>
    /^[+-]?\d+(?:[.,]\d+)?$/.test(text) ? Number(text.replace(',', '.')) + 0 : Number.NaN,
  );
  const combined = combineCodes([cells], rows);
  report(
    combined,
    ([code = -1]) => {
      const text = cells.values[code];
      if (text === undefined || rule.holds(values[code] ?? Number.NaN)) return [];
      return [
        {
          code: 'not-a-number',
          ...cells.where,
          message: `This is no number for ${rule.name}.`,
          expected: rule.expected,
        },
      ];
    },
    problems,
  );
  return byRow(combined, rows, (at) => values[combined.parts[at]?.[0] ?? -1] ?? Number.NaN);
}

export function flagsOf(cells: Cells, problems: ProblemList, rows: number, empty: EmptyColumns): Int8Array {
  if (!cells.isPresent) return empty.flags;
  const values = cells.values.map((text) => ownValue(FLAGS, text.toLowerCase()));
  const combined = combineCodes([cells], rows);
  report(
    combined,
    ([code = -1]) =>
      cells.values[code] === undefined || values[code] !== undefined
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
  return new Int8Array(byRow(combined, rows, (at) => values[combined.parts[at]?.[0] ?? -1] ?? -1));
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

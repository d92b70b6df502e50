import { refuse } from '../shared/input-error.js';
import { plainNumber } from './plain-number.js';
import { type RawTable, WordList } from './raw-table.js';
import { cellTypeProblems, columnTypeProblem, headersTwice, typedColumn } from './typed-column.js';

/** What is relied on of a table of the package apache-arrow, whichever version made it. */
export interface ArrowTable {
  readonly numRows: number;
  readonly schema: { readonly fields: readonly ArrowField[] };
  getChildAt(index: number): { get(row: number): unknown } | null;
}

interface ArrowField {
  readonly name: string;
  readonly type: ArrowType;
}

interface ArrowType {
  readonly typeId: number;
  /** Of decimals: digits after the point. */
  readonly scale?: number;
  /** Of floating-point numbers: 0 half, 1 single, 2 double. */
  readonly precision?: number;
  /** Of dictionaries: the type of their words. */
  readonly dictionary?: ArrowType;
}

/** The type ids of the Arrow format. */
const TYPE = { none: 1, int: 2, float: 3, binary: 4, utf8: 5, bool: 6, decimal: 7, date: 8, time: 9, timestamp: 10 };
const LARGE_UTF8 = 20;
const OTHER_BYTES = [TYPE.binary, 15, 19];
const OTHER_TIMES = [TYPE.time, 11, 18];

/**
 * The table of an Arrow table: texts (dictionaries too), integers, decimals and floating-point numbers exactly and in
 * plain digits, booleans, null. Rows count as in a spreadsheet: the first is row 2.
 *
 * @throws InputError `not-a-table`, `header-twice`. Among the table's problems: `identifier-column` for dates,
 * `column-type` for times, bytes, lists and objects, `cell-type` for NaN and infinity.
 */
export async function arrowTable(table: ArrowTable): Promise<RawTable> {
  const { fields } = table?.schema ?? {};
  if (!Array.isArray(fields) || typeof table.getChildAt !== 'function' || !Number.isInteger(table.numRows))
    throw refuse('not-a-table', ['source', 'table'], 'This is no Arrow table.', 'give { rows } instead.');
  const twice = headersTwice(fields.map(({ name }: ArrowField) => name));
  const problems = [...twice];
  const columns = (fields as readonly ArrowField[]).flatMap((field, at) => {
    const kind = kindOf(field.type);
    if (kind !== 'text' && kind !== 'number') {
      problems.push(columnTypeProblem(field.name, kind));
      return [];
    }
    const vector = table.getChildAt(at);
    const type = field.type.dictionary ?? field.type;
    const words = new WordList();
    const codes = new Int32Array(table.numRows).fill(-1);
    for (let row = 0; row < table.numRows; row++) {
      const cell = vector?.get(row) ?? null;
      if (cell !== null) codes[row] = words.codeOf(textOf(cell, type));
    }
    return [typedColumn(field.name, codes, words.words, kind === 'text' ? (text) => text : finiteNumber)];
  });
  const locate: RawTable['locate'] = async (wanted) => wanted.map((row) => row + 2);
  problems.push(...(await cellTypeProblems(columns, locate)));
  return { rows: table.numRows, columns: columns.map(({ column }) => column), problems, locate };
}

function finiteNumber(text: string): string | undefined {
  return /^-?\d/.test(text) ? plainNumber(text) : undefined;
}

function kindOf({ typeId, dictionary }: ArrowType): 'text' | 'number' | Parameters<typeof columnTypeProblem>[1] {
  if (dictionary !== undefined) return kindOf(dictionary);
  if ([TYPE.utf8, LARGE_UTF8, TYPE.bool, TYPE.none].includes(typeId)) return 'text';
  if ([TYPE.int, TYPE.float, TYPE.decimal].includes(typeId)) return 'number';
  if ([TYPE.date, TYPE.timestamp].includes(typeId)) return 'dates';
  if (OTHER_TIMES.includes(typeId)) return 'times';
  return OTHER_BYTES.includes(typeId) ? 'bytes' : 'lists or objects';
}

function textOf(cell: unknown, { typeId, precision, scale }: ArrowType): string {
  if (typeId === TYPE.float && precision !== 2)
    return shortest(Number(cell), precision === 1 ? Math.fround : halfPrecision);
  return typeId === TYPE.decimal ? decimalText(cell as Uint32Array, scale ?? 0) : String(cell);
}

/** The shortest number that is the same in single or half precision: 2.3, not 2.299999952316284. */
function shortest(number: number, round: (value: number) => number): string {
  for (let digits = 1; digits < 9; digits++) {
    const text = String(Number(number.toPrecision(digits)));
    if (round(Number(text)) === number) return text;
  }
  return String(number);
}

/** A half has 11 significant bits. */
function halfPrecision(value: number): number {
  const step = 2 ** (Math.max(-14, Math.floor(Math.log2(Math.abs(value)))) - 10);
  return Math.round(value / step) * step;
}

/** Words of 32 bits, the lowest first, as a whole number with a sign; the point stands before its last `scale` digits. */
function decimalText(words: Uint32Array, scale: number): string {
  const unsigned = [...words].reduceRight((sum, word) => (sum << 32n) | BigInt(word >>> 0), 0n);
  return plainNumber(`${BigInt.asIntN(32 * words.length, unsigned)}e${-scale}`);
}

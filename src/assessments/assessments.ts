import { createHash } from 'node:crypto';
import { csvCell } from '../shared/csv-cell.js';
import type { Note } from '../shared/note.js';
import { formatCount } from '../shared/table.js';
import type { Scale } from '../signs/sign.js';
import type { ArrowTable } from './arrow-table.js';

/** Words stored once each; `codes` point into `values`, −1 where nothing was recorded. */
export interface TextColumn {
  readonly codes: Int32Array;
  readonly values: readonly string[];
}

export const TEXT_COLUMNS = [
  'patient',
  'stay',
  'unit',
  'occasion',
  'round',
  'phase',
  'assessor',
  'limb',
  'site',
  'sign',
  'scale',
  'missing',
  'comparator',
  'method',
  'position',
  'landmark',
] as const;
export const NUMBER_COLUMNS = [
  'day',
  'period',
  'order',
  'replicate',
  'heldSeconds',
  'angleDegrees',
  'recordedLimit',
  'number',
] as const;
export const FLAG_COLUMNS = ['blinded', 'reference'] as const;

export type TextColumnName = (typeof TEXT_COLUMNS)[number];
export type NumberColumnName = (typeof NUMBER_COLUMNS)[number];
export type FlagColumnName = (typeof FLAG_COLUMNS)[number];

/** The columns of `Assessments`, all of one length. */
export type AssessmentColumns = { readonly [name in TextColumnName]: TextColumn } & {
  readonly [name in NumberColumnName]: Float64Array;
} & { readonly [name in FlagColumnName]: Int8Array } & { readonly category: Int16Array };

/** Where assessments came from. `name` is a file's own name without its folders. */
export interface AssessmentsSource {
  readonly name?: string;
  readonly rowsRead: number;
}

/** Keeps the assessments whose word in a column is the one given, or one of those given. */
export type AssessmentFilter = { readonly [name in TextColumnName]?: string | readonly string[] };

/** One assessment as a plain object; what was not recorded is `null`. */
export type AssessmentRow = { readonly [name in TextColumnName]: string | null } & {
  readonly [name in Exclude<NumberColumnName, 'number'>]: number | null;
} & { readonly [name in FlagColumnName]: boolean | null } & {
  /** The category's value on a graded scale, the measured number otherwise. */
  readonly value: string | number | null;
};

/**
 * Recorded findings, one a row, in columns: an immutable table that knows the scales it holds.
 * Words are dictionary codes, numbers are typed arrays with `NaN` where nothing was recorded.
 * `category` is the index in the scale's categories (−1 for a measured or missing value);
 * `number` is the measured value in the scale's unit, or the category's score.
 * `missing` says why there is no value; a row without value and without reason was left blank.
 * Made by `loadAssessments`.
 */
export class Assessments implements AssessmentColumns {
  readonly length: number;
  /** The scales present. */
  readonly scales: readonly Scale[];
  readonly patient: TextColumn;
  readonly stay: TextColumn;
  readonly unit: TextColumn;
  readonly occasion: TextColumn;
  readonly round: TextColumn;
  readonly phase: TextColumn;
  readonly assessor: TextColumn;
  readonly limb: TextColumn;
  readonly site: TextColumn;
  readonly sign: TextColumn;
  readonly scale: TextColumn;
  readonly missing: TextColumn;
  readonly comparator: TextColumn;
  readonly method: TextColumn;
  readonly position: TextColumn;
  readonly landmark: TextColumn;
  readonly day: Float64Array;
  readonly period: Float64Array;
  readonly order: Float64Array;
  readonly replicate: Float64Array;
  readonly heldSeconds: Float64Array;
  readonly angleDegrees: Float64Array;
  /** The cut-off the assessor used, where one was written down. */
  readonly recordedLimit: Float64Array;
  readonly blinded: Int8Array;
  readonly reference: Int8Array;
  readonly category: Int16Array;
  readonly number: Float64Array;
  readonly source: AssessmentsSource;
  readonly notes: readonly Note[];

  constructor(
    columns: AssessmentColumns,
    scales: readonly Scale[],
    source: AssessmentsSource,
    notes: readonly Note[] = [],
  ) {
    this.length = columns.number.length;
    this.patient = columns.patient;
    this.stay = columns.stay;
    this.unit = columns.unit;
    this.occasion = columns.occasion;
    this.round = columns.round;
    this.phase = columns.phase;
    this.assessor = columns.assessor;
    this.limb = columns.limb;
    this.site = columns.site;
    this.sign = columns.sign;
    this.scale = columns.scale;
    this.missing = columns.missing;
    this.comparator = columns.comparator;
    this.method = columns.method;
    this.position = columns.position;
    this.landmark = columns.landmark;
    this.day = columns.day;
    this.period = columns.period;
    this.order = columns.order;
    this.replicate = columns.replicate;
    this.heldSeconds = columns.heldSeconds;
    this.angleDegrees = columns.angleDegrees;
    this.recordedLimit = columns.recordedLimit;
    this.blinded = columns.blinded;
    this.reference = columns.reference;
    this.category = columns.category;
    this.number = columns.number;
    this.scales = Object.freeze(scales.filter((scale) => columns.scale.values.includes(scale.id)));
    this.source = Object.freeze(source);
    this.notes = Object.freeze([...notes]);
    Object.freeze(this);
  }

  /** The word in a column at a row, or `null` where nothing was recorded. */
  wordAt(column: TextColumnName, row: number): string | null {
    return wordAt(this[column], row);
  }

  /** The assessments that match every word of the filter, in their order. Words that do not occur match nothing. */
  where(filter: AssessmentFilter): Assessments {
    const conditions = TEXT_COLUMNS.flatMap((name) => {
      const wanted = filter[name];
      if (wanted === undefined) return [];
      const words = typeof wanted === 'string' ? [wanted] : wanted;
      return [{ codes: this[name].codes, keep: this[name].values.map((value) => words.includes(value)) }];
    });
    const kept = new Int32Array(this.length);
    let count = 0;
    for (let row = 0; row < this.length; row++) {
      if (conditions.every(({ codes, keep }) => keep[codes[row] ?? -1] === true)) kept[count++] = row;
    }
    return count === this.length ? this : this.rowsAt(kept.subarray(0, count));
  }

  /** The assessments at the given row numbers (from 0), in the order given. */
  rowsAt(rows: Int32Array): Assessments {
    // Columns that share an array (those in which nothing was recorded) go on sharing one.
    const chosen = new Map<unknown, unknown>();
    const once = <T>(column: T, choose: (column: T) => T): T => {
      if (!chosen.has(column)) chosen.set(column, choose(column));
      return chosen.get(column) as T;
    };
    const columns: Record<string, TextColumn | Float64Array | Int8Array | Int16Array> = {
      category: gather(this.category, rows, new Int16Array(rows.length)),
    };
    for (const name of TEXT_COLUMNS) columns[name] = once(this[name], (column) => chooseWords(column, rows));
    for (const name of NUMBER_COLUMNS)
      columns[name] = once(this[name], (column) => gather(column, rows, new Float64Array(rows.length)));
    for (const name of FLAG_COLUMNS)
      columns[name] = once(this[name], (column) => gather(column, rows, new Int8Array(rows.length)));
    return new Assessments(columns as unknown as AssessmentColumns, this.scales, this.source, this.notes);
  }

  /** Plain objects, one an assessment. For a look or an export of thousands, not millions, of rows. */
  toRows(): AssessmentRow[] {
    const categories = new Map(this.scales.map((scale) => [scale.id, scale.categories]));
    return Array.from({ length: this.length }, (_, row) => {
      const cells: Record<string, string | number | boolean | null> = {};
      for (const name of TEXT_COLUMNS) cells[name] = wordAt(this[name], row);
      for (const name of NUMBER_COLUMNS) if (name !== 'number') cells[name] = numberAt(this[name], row);
      for (const name of FLAG_COLUMNS) cells[name] = flagAt(this[name], row);
      const graded = categories.get(this.wordAt('scale', row) ?? '');
      cells.value = graded?.[this.category[row] ?? -1]?.value ?? numberAt(this.number, row);
      return cells as unknown as AssessmentRow;
    });
  }

  /** The assessments as tidy comma-separated text, without the columns in which nothing was recorded (`value` always stands there). Loading it gives the same assessments. */
  toCsv(): string {
    const rows = this.toRows();
    const names = Object.keys(rows[0] ?? {}).filter(
      (name) => name === 'value' || rows.some((row) => row[name as keyof AssessmentRow] !== null),
    ) as (keyof AssessmentRow)[];
    const lines = rows.map((row) => names.map((name) => csvCell(row[name])).join(','));
    return `${[names.join(','), ...lines].join('\n')}\n`;
  }

  /** A danfo.js DataFrame with the columns of `toRows`. Needs the optional package danfojs. */
  async toFrame(): Promise<DataFrame> {
    const { default: danfo } = (await import('danfojs')) as unknown as { default: DanfoModule };
    return new danfo.DataFrame(this.toRows());
  }

  /**
   * An Arrow table with the columns of `toRows`: words as dictionaries, numbers as doubles, yes and no as booleans, the
   * value as text; null where nothing was recorded. Loading it gives the same assessments. Needs the optional package apache-arrow.
   */
  async toArrow(): Promise<ArrowTable> {
    const arrow = (await import('apache-arrow')) as unknown as ArrowModule;
    const value = this.toRows().map((row) => (row.value === null ? null : String(row.value)));
    const words = (values: readonly (string | null)[]): unknown =>
      arrow.vectorFromArray(values, new arrow.Dictionary(new arrow.Utf8(), new arrow.Int32()));
    const column = <T>(valueAt: (row: number) => T | null): (T | null)[] =>
      Array.from({ length: this.length }, (_, row) => valueAt(row));
    const columns: Record<string, unknown> = {};
    for (const name of TEXT_COLUMNS) columns[name] = words(column((row) => wordAt(this[name], row)));
    for (const name of NUMBER_COLUMNS)
      if (name !== 'number')
        columns[name] = arrow.vectorFromArray(
          column((row) => numberAt(this[name], row)),
          new arrow.Float64(),
        );
    for (const name of FLAG_COLUMNS)
      columns[name] = arrow.vectorFromArray(
        column((row) => flagAt(this[name], row)),
        new arrow.Bool(),
      );
    columns.value = words(value);
    return new arrow.Table(columns);
  }

  /**
   * SHA-256 over every column in row order, and over what decides a reading's meaning in each scale (level, values
   * and scores of its categories, unit). The same assessments in another order give another fingerprint; the
   * wording of the codebook, the notes and the name of the file do not enter.
   */
  fingerprint(): string {
    const hash = createHash('sha256');
    const scales = this.scales.map(({ id, level, categories, unit }) => [
      id,
      level,
      categories?.map(({ value, score }) => [value, score]) ?? null,
      unit ?? null,
    ]);
    hash.update(JSON.stringify(scales));
    for (const name of TEXT_COLUMNS) {
      const { codes, values } = chooseWords(this[name], undefined);
      hash.update(`\u0000${name}\u0000${JSON.stringify(values)}`);
      hash.update(bytesOf(codes));
    }
    for (const name of [...NUMBER_COLUMNS, ...FLAG_COLUMNS, 'category'] as const) {
      hash.update(`\u0000${name}\u0000`);
      hash.update(bytesOf(this[name]));
    }
    return hash.digest('hex');
  }

  /** Counts only: nothing that names a patient or an assessor. */
  toString(): string {
    const count = (name: TextColumnName): number => usedCodes(this[name]).length;
    const plural = (n: number, one: string, many: string): string => `${formatCount(n)} ${n === 1 ? one : many}`;
    const missing = this.missing.values
      .map((reason, code) => ({ reason, n: countOf(this.missing.codes, code) }))
      .filter(({ n }) => n > 0)
      .map(({ reason, n }) => `${reason} ${formatCount(n)}`);
    let blank = 0;
    for (let row = 0; row < this.length; row++) {
      if (this.missing.codes[row] === -1 && Number.isNaN(this.number[row]) && this.category[row] === -1) blank++;
    }
    if (blank > 0) missing.push(`left blank ${formatCount(blank)}`);
    const limbs = new Set<number>();
    for (let row = 0; row < this.length; row++) {
      const limb = this.limb.codes[row] ?? -1;
      if (limb >= 0) limbs.add((this.patient.codes[row] ?? -1) * 8 + limb);
    }
    return [
      `${plural(this.length, 'assessment', 'assessments')} of ${plural(count('patient'), 'patient', 'patients')}` +
        `${limbs.size > 0 ? ` (${plural(limbs.size, 'limb', 'limbs')})` : ''} by ${plural(count('assessor'), 'assessor', 'assessors')}`,
      `Signs: ${this.sign.values.join(', ') || 'none'}`,
      `Scales: ${this.scales.map((scale) => `${scale.label} (${scale.id})`).join('; ') || 'none'}`,
      `Without a value: ${missing.join(', ') || 'none'}`,
      ...this.notes.map((note) => `${note.severity === 'caution' ? 'Caution' : 'Note'}: ${note.message}`),
    ].join('\n');
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

/** What of a danfo.js DataFrame the library relies on; its own types do not resolve in a notebook cell. */
export interface DataFrame {
  readonly columns: string[];
  readonly values: unknown[];
  readonly shape: number[];
  print(): void;
}

interface ArrowModule {
  readonly Table: new (columns: Readonly<Record<string, unknown>>) => ArrowTable;
  readonly Dictionary: new (values: unknown, codes: unknown) => unknown;
  readonly Utf8: new () => unknown;
  readonly Int32: new () => unknown;
  readonly Float64: new () => unknown;
  readonly Bool: new () => unknown;
  vectorFromArray(values: readonly unknown[], type: unknown): unknown;
}

interface DanfoModule {
  readonly DataFrame: new (rows: readonly object[]) => DataFrame;
}

function wordAt(column: TextColumn, row: number): string | null {
  return column.values[column.codes[row] ?? -1] ?? null;
}

function numberAt(column: Float64Array, row: number): number | null {
  const number = column[row];
  return number === undefined || Number.isNaN(number) ? null : number;
}

function flagAt(column: Int8Array, row: number): boolean | null {
  const flag = column[row] ?? -1;
  return flag === -1 ? null : flag === 1;
}

function usedCodes({ codes, values }: TextColumn): number[] {
  const used = new Uint8Array(values.length);
  for (let row = 0; row < codes.length; row++) {
    const code = codes[row]!;
    if (code >= 0) used[code] = 1;
  }
  return values.flatMap((_, code) => (used[code] === 1 ? [code] : []));
}

/** The words at the given rows (all rows if none are given), with those that no longer occur left out. */
export function chooseWords(column: TextColumn, rows: Int32Array | undefined): TextColumn {
  const codes = rows === undefined ? column.codes : gather(column.codes, rows, new Int32Array(rows.length));
  const used = usedCodes({ codes, values: column.values });
  if (used.length === column.values.length) return { codes, values: column.values };
  const recoded = new Int32Array(column.values.length).fill(-1);
  used.forEach((code, at) => {
    recoded[code] = at;
  });
  const chosen = new Int32Array(codes.length);
  for (let row = 0; row < codes.length; row++) chosen[row] = codes[row]! < 0 ? -1 : recoded[codes[row]!]!;
  return { codes: chosen, values: Object.freeze(used.map((code) => column.values[code]!)) };
}

/** Copies the chosen rows; a plain loop is twenty times as fast as the typed arrays' `from`. */
function gather<T extends Int32Array | Float64Array | Int16Array | Int8Array>(column: T, rows: Int32Array, into: T): T {
  for (let at = 0; at < rows.length; at++) into[at] = column[rows[at]!] ?? -1;
  return into;
}

function countOf(codes: Int32Array, wanted: number): number {
  let n = 0;
  for (const code of codes) if (code === wanted) n++;
  return n;
}

function bytesOf(column: Int32Array | Float64Array | Int8Array | Int16Array): Uint8Array {
  return new Uint8Array(column.buffer, column.byteOffset, column.byteLength);
}

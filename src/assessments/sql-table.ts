import { InputError, type Problem, refuse } from '../shared/input-error.js';
import type { LongWorkOptions } from '../shared/options.js';
import type { Assessments } from './assessments.js';
import { guardColumn } from './identifier-guard.js';
import { findColumns, type InputColumn } from './input-columns.js';
import { loadAssessments } from './load-assessments.js';
import type { LoadOptions } from './load-options.js';
import { NUMBER_RULES, numberOf } from './make-columns.js';

/** One row of a result: its values by the names of its columns. */
export type SqlRow = Readonly<Record<string, unknown>>;

/**
 * What runs SQL: a database's own client behind one function. The queries are standard SQL (common table expressions,
 * CASE, COUNT, SUM, MAX, names in double quotation marks) without parameters and only read.
 */
export interface SqlEngine {
  query(sql: string): Promise<readonly SqlRow[]>;
}

/** A table or view with one row an assessment, where it lives. */
export interface SqlTable extends Pick<LoadOptions, 'constants' | 'scales' | 'decimal' | 'notIdentifying'> {
  /** The name of the table, or the names of its schema and of the table. */
  readonly table: string | readonly string[];
  /** Our name of a column → its name in the table, as it is spelled there. A column that is not named is not read. */
  readonly columns: { readonly [name in InputColumn]?: string };
}

export interface SqlOptions extends Pick<LongWorkOptions, 'signal'> {
  /** Called with every query before it runs, for whoever wants to see it or to run it by hand. */
  readonly print?: (sql: string) => void;
}

/** The condition that holds for every row. */
const EVERY_ROW = '1 = 1';

/** The columns whose distinct words say what was recorded, without saying of whom. */
const VOCABULARY = [
  'sign',
  'scale',
  'site',
  'limb',
  'side',
  'value',
  'valueUnit',
  'comparator',
  'missing',
  'reference',
] as const satisfies readonly InputColumn[];

/** The combinations of words that occur in a table, understood as the words of a file are. */
export interface Vocabulary {
  /** One assessment for each combination of the sign. */
  readonly assessments: Assessments;
  /** All combinations, those of other signs too. */
  readonly rows: readonly SqlRow[];
  /** The combination behind one of these assessments, or of a choice among them, as the table spells it, with how often it occurs. */
  rowOf(assessment: number, among?: Assessments): SqlRow;
}

/** The readings of a table as a relation of tidy texts, and the queries made on it. */
export class SqlReadings {
  readonly #engine: SqlEngine;
  readonly #table: SqlTable;
  readonly #options: SqlOptions;

  /** Throws `InputError` for what is wrong with the names: `unknown-column`, `constant-and-column`, `identifier-column`, `column-missing`. */
  constructor(engine: SqlEngine, table: SqlTable, options: SqlOptions) {
    this.#engine = engine;
    this.#table = table;
    this.#options = options;
    const { columns, constants = {} } = table;
    const headers = Object.values(columns);
    const guarded = headers.filter((header) => table.notIdentifying?.includes(header) !== true);
    const problems: Problem[] = [
      ...findColumns(headers, columns as Readonly<Record<string, string>>, constants).problems,
      ...guarded.flatMap((header) => guardColumn(header, []).header ?? []),
    ];
    if (!this.has('patient'))
      problems.push({
        code: 'column-missing',
        path: ['columns', 'patient'],
        message: 'No column says whose limb it is (patient).',
        mend: "name it in columns, as in { patient: 'its name in the table' }.",
      });
    if (problems.length > 0) throw new InputError(problems);
  }

  has(name: InputColumn): boolean {
    return this.#table.columns[name] !== undefined;
  }

  /** Runs a query on the relation `readings`, whose columns have our names; `relations` can define more. */
  async query(select: string, relations: readonly string[] = []): Promise<readonly SqlRow[]> {
    const columns = Object.entries(this.#table.columns).map(
      ([name, column]) => `    NULLIF(TRIM(CAST(${quotedName(column)} AS VARCHAR(1000))), '') AS ${quotedName(name)}`,
    );
    const { table } = this.#table;
    const place = (typeof table === 'string' ? [table] : table).map(quotedName).join('.');
    const readings = `readings AS (\n  SELECT\n${columns.join(',\n')}\n  FROM ${place}\n)`;
    const sql = `WITH ${[readings, ...relations].join(', ')}\n${select}`;
    this.#options.signal?.throwIfAborted();
    this.#options.print?.(sql);
    try {
      return await this.#engine.query(sql);
    } finally {
      // A query that was interrupted fails in the engine's own words.
      this.#options.signal?.throwIfAborted();
    }
  }

  /**
   * The combinations of words in the rows of a sign, checked and understood like the rows of a file. A problem's row
   * is the row of the query's result.
   */
  async vocabulary(sign: string, where = EVERY_ROW): Promise<Vocabulary> {
    const names = VOCABULARY.filter((name) => this.has(name));
    const counted = (['patient', 'assessor', 'occasion', 'stay'] as const).filter((name) => this.has(name));
    const keys = [
      ...names.map(quotedName),
      ...(this.has('assessor') ? ['CASE WHEN "assessor" IS NULL THEN 1 ELSE 0 END'] : []),
    ];
    const rows = await this.query(
      `SELECT ${[
        ...names.map(quotedName),
        'COUNT(*) AS "assessments"',
        ...counted.map((name) => `COUNT(${quotedName(name)}) AS ${quotedName(`with ${name}`)}`),
      ].join(', ')}\nFROM readings\nWHERE ${where}\nGROUP BY ${keys.join(', ')}\nORDER BY ${keys.join(', ')}`,
    );
    if (rows.length === 0) throw refuse('no-assessments', ['table'], 'The table holds no such assessments.');
    const { columns, constants = {}, scales, decimal, notIdentifying } = this.#table;
    const header = (name: InputColumn): string => columns[name] ?? name;
    const known = Object.fromEntries(
      Object.entries(constants).filter(([name]) => (VOCABULARY as readonly string[]).includes(name)),
    );
    const assessments = await loadAssessments(
      {
        rows: rows.map((row, at) =>
          Object.fromEntries([
            [header('patient'), `R${at}`],
            ...names.map((name) => [header(name), textAt(row, name)] as const),
          ]),
        ),
      },
      {
        columns: Object.fromEntries((['patient', ...names] as const).map((name) => [name, header(name)])),
        constants: known,
        signs: [sign],
        ...(scales === undefined ? {} : { scales }),
        ...(decimal === undefined ? {} : { decimal }),
        ...(notIdentifying === undefined ? {} : { notIdentifying }),
      },
    );
    const rowOf = (assessment: number, among = assessments): SqlRow =>
      rows[Number(among.wordAt('patient', assessment)!.slice(1))]!;
    for (let at = 0; at < assessments.length; at++)
      if (countAt(rowOf(at), 'with patient') < countAt(rowOf(at), 'assessments'))
        throw refuse(
          'patient-missing',
          ['columns', 'patient'],
          'Some assessments name no patient.',
          'give every one a code, or leave them out in a view.',
        );
    return { assessments, rows, rowOf };
  }

  /** The numbers that a column's texts stand for; one number has one spelling, or the engine would tell it apart. */
  async numbers(name: 'day' | 'period' | 'replicate', where: string): Promise<ReadonlyMap<string, number>> {
    const column = quotedName(name);
    const rows = await this.query(
      `SELECT ${column}, COUNT(*) AS "assessments"\nFROM readings\nWHERE ${where}\nGROUP BY ${column}`,
    );
    const rule = NUMBER_RULES.find((candidate) => candidate.name === name)!;
    const numbers = new Map<string, number>();
    for (const row of rows) {
      const text = textAt(row, name);
      if (text === null) continue;
      const number = numberOf(text);
      if (!rule.holds(number))
        throw refuse(
          'not-a-number',
          ['columns', name],
          `A text in the column is no number for ${name}.`,
          `write ${rule.expected}.`,
        );
      if ([...numbers.values()].includes(number))
        throw refuse(
          'spelled-twice',
          ['columns', name],
          `One number is spelled in two ways (${number}).`,
          'make it a column of numbers in a view.',
        );
      numbers.set(text, number);
    }
    return numbers;
  }

  /** Refuses codes of people that have the form of an identifier; none is repeated. */
  guardCodes(name: 'patient' | 'assessor', codes: Iterable<string>): void {
    const header = this.#table.columns[name] ?? name;
    if (this.#table.notIdentifying?.includes(header) === true) return;
    const broken = guardColumn(header, [...new Set(codes)], 'code').values.flatMap((problems) => problems ?? []);
    if (broken.length > 0) throw new InputError(broken.slice(0, 1));
  }
}

/**
 * A condition that tells some of the rows from all others, on as few of the columns as that needs, taken in the order
 * given. Columns that the table lacks are passed over.
 */
export function conditionFor(
  chosen: readonly SqlRow[],
  others: readonly SqlRow[],
  columns: readonly InputColumn[],
): string {
  const present = columns.filter((name) => [...chosen, ...others].some((row) => name in row));
  for (let used = 0; used <= present.length; used++) {
    const names = present.slice(0, used);
    const keyOf = (row: SqlRow): string => JSON.stringify(names.map((name) => textAt(row, name)));
    const keys = new Map(chosen.map((row) => [keyOf(row), row]));
    if (used < present.length && others.some((row) => keys.has(keyOf(row)))) continue;
    const alternatives = [...keys.values()].map((row) =>
      names.map((name) => isText(name, textAt(row, name))).join(' AND '),
    );
    if (names.length === 0) return EVERY_ROW;
    return alternatives.length === 1 ? alternatives[0]! : `(${alternatives.map((one) => `(${one})`).join(' OR ')})`;
  }
  throw new Error('Unreachable: the last round returns.');
}

/** Conditions that leave reference readings out: those in whose combination of words the flag is 1. */
export function withoutReferences(rows: readonly SqlRow[], flags: Int8Array): readonly string[] {
  const marks = new Set(rows.flatMap((row, at) => (flags[at] === 1 ? (textAt(row, 'reference') ?? []) : [])));
  if (marks.size === 0) return [];
  return [`("reference" IS NULL OR "reference" NOT IN (${[...marks].map(quotedText).join(', ')}))`];
}

/** Conditions that must all hold. */
export function allOf(conditions: readonly string[]): string {
  return conditions.filter((condition) => condition !== EVERY_ROW).join(' AND ') || EVERY_ROW;
}

/** `"site" = 'popliteal'`, or `"site" IS NULL`. */
export function isText(name: string, text: string | null): string {
  return text === null ? `${quotedName(name)} IS NULL` : `${quotedName(name)} = ${quotedText(text)}`;
}

/** A name in double quotation marks, whatever letters it has. */
export function quotedName(name: string): string {
  if (name === '' || name.includes('\0'))
    throw refuse('bad-name', ['table'], 'A name of a table or column is empty or holds a zero byte.');
  return `"${name.replaceAll('"', '""')}"`;
}

/** A text in single quotation marks. A backslash means something else to some engines, so none is written. */
export function quotedText(text: string): string {
  if (/[\\\0]/.test(text))
    throw refuse(
      'bad-text',
      ['table'],
      'A text of the table holds a backslash or a zero byte and cannot be written in a query.',
      'replace it in a view.',
    );
  return `'${text.replaceAll("'", "''")}'`;
}

/** A text of a result, `null` where there is none. */
export function textAt(row: SqlRow, name: string): string | null {
  const cell = row[name];
  if (cell === undefined)
    throw refuse(
      'column-not-returned',
      ['engine', name],
      'The engine returned no column of that name.',
      'return rows as objects, with the names as the query spells them.',
    );
  return cell === null ? null : String(cell).trim() || null;
}

/** A count of a result: drivers return numbers, big integers or texts. */
export function countAt(row: SqlRow, name: string): number {
  return Number(textAt(row, name) ?? 0);
}

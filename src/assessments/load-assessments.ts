import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { type ArrowTable, arrowTable } from './arrow-table.js';
import type { Assessments } from './assessments.js';
import { hasDate } from './guard-file-name.js';
import { type ColumnRole, guardColumn, guardOptions } from './identifier-guard.js';
import { findColumns, type InputColumn } from './input-columns.js';
import { interpretTable } from './interpret-table.js';
import { checkLoadOptions, type LoadOptions } from './load-options.js';
import { ProblemList, throwProblems } from './problem-list.js';
import { type RawTable, stackColumns } from './raw-table.js';
import { matchingFiles, readDelimited, readDelimitedText } from './read-delimited.js';
import { readJson, readJsonText } from './read-json.js';
import { AcrossFiles, type ReadObservations, readObservations } from './read-observations.js';
import { readParquet } from './read-parquet.js';
import { readSheet } from './read-sheet.js';
import { frameTable, rowsTable, type SourceFrame, type SourceRow } from './rows-table.js';
import { lineProblems, type SheetTable, sheetTable, tidySheet } from './sheet-table.js';
import { formOf, headOfFile } from './source-form.js';

/**
 * A path, or a pattern or list for several files (CSV, workbook, Parquet, JSON rows, FHIR Observations; text packed with
 * gzip or not), the text of such a file, plain objects with one assessment each, a danfo.js DataFrame, or an Arrow table.
 */
export type AssessmentSource =
  | string
  | readonly string[]
  | { readonly text: string }
  | { readonly rows: readonly SourceRow[] }
  | { readonly frame: SourceFrame }
  | { readonly table: ArrowTable };

/**
 * Assessments from a file, text, rows or frame: one row an assessment, every cell checked.
 *
 * A row needs `patient`, `sign` and `value` (or `missing`), and what its sign asks for: site, limb or side, scale.
 * The columns are named in `INPUT_COLUMNS`; other names are given in `options.columns`, absent columns in
 * `options.constants`. Grades may be written `2+`, `+2`, `2/4`, `trace`; measured values `2.5`, `2,5`, `<2`, `>15`,
 * with a unit if need be. A scale is never guessed: where the source does not name it, `options.scales` must,
 * unless the sign has only one.
 *
 * Missing values: an empty cell stays an empty cell; a reason (`covered`, `part-absent`, …) is kept as that reason;
 * `0` is a value; `NA`, `-` and `?` are refused, because they can mean several things.
 *
 * @param source path or paths, `{ text }`, `{ rows }`, `{ frame }` or `{ table }`
 * @param options see `LoadOptions`
 * @throws InputError with every problem at once, each with its row as a spreadsheet counts (the header is row 1)
 * and its column (of NDJSON the line, of a Bundle the entry); never with the value of an identifier.
 * @example
 * const { length } = await loadAssessments({ text:
 *   'patient,assessor,limb,site,sign,scale,value\nP1,A,left-leg,DP,pulse-grade,pulse.0-3.normal2,2+' });
 * length // 1
 */
export async function loadAssessments(source: AssessmentSource, options: LoadOptions = {}): Promise<Assessments> {
  const { problems: optionProblems, ...checked } = checkLoadOptions(options);
  if (optionProblems.length > 0) throw new InputError(optionProblems);
  options.signal?.throwIfAborted();
  const sources = await readTables(source, options);
  const { layout } = options;
  const identifiers = new ProblemList();
  const notes = guardTables(
    sources.map(({ table }) => table),
    options,
    identifiers,
  );
  identifiers.addAll(guardOptions(options));
  for (const { sheet } of sources) if (sheet !== undefined) identifiers.add(...lineProblems(sheet));
  notes.push(...sources.flatMap((read) => read.notes ?? []));
  const corrected = layout?.corrections ?? [];
  if (corrected.length > 0)
    notes.push(
      information(
        'cells-corrected',
        `Cells read as corrected: ${corrected.map(({ row, column }) => `row ${row}, ${column}`).join('; ')}.`,
      ),
    );
  const problems = new ProblemList();
  const tables: RawTable[] = [];
  for (const { table, sheet } of sources) {
    const tidy = layout === undefined || sheet === undefined ? table : tidySheet(sheet, layout);
    problems.addFromTable(tidy, sources.length > 1);
    tables.push(tidy);
  }
  const rows = tables.reduce((sum, table) => sum + table.rows, 0);
  const name = tables.length === 1 ? tables[0]?.name : undefined;
  // A name that identifies somebody was refused; a date in it may be that of the export, and is not passed on.
  const isDated = name !== undefined && hasDate(name);
  if (isDated) notes.push(information('date-in-file-name', 'The name of the file holds a date; it is not passed on.'));
  const named = name === undefined || isDated ? {} : { name };
  const about = { ...named, rowsRead: rows };
  const assessments = await interpretTable(stackColumns(tables), rows, about, { options, ...checked }, problems, notes);
  const guarded = await identifiers.collect(sources.map(({ table }) => table));
  const places = new Set(guarded.map(placeOf));
  // What has the form of an identifier is one problem, not also a word that is not understood.
  const others = (await problems.collect(tables)).filter((problem) => !places.has(placeOf(problem)));
  throwProblems([...guarded, ...others]);
  if (assessments === undefined) throw refuse('no-assessments', ['source'], 'The source holds no assessments.');
  options.progress?.(1, 'loaded');
  return assessments;
}

function placeOf({ path, row, column }: Problem): string {
  return JSON.stringify([path ?? null, row ?? null, column ?? null]);
}

/** Looks for identifiers in every column of the source, read or not. */
function guardTables(tables: readonly RawTable[], options: LoadOptions, problems: ProblemList): Note[] {
  const excepted = options.notIdentifying ?? [];
  const columns = stackColumns(tables);
  const roleOf = columnRoles(
    columns.map(({ header }) => header),
    options,
  );
  for (const { header, codes, values } of columns) {
    if (excepted.includes(header)) continue;
    const finding = guardColumn(header, values, roleOf(header));
    if (finding.header !== undefined) problems.add(finding.header);
    problems.addAtCodes(codes, finding.values);
  }
  if (excepted.length === 0) return [];
  return [
    caution(
      'not-identifying',
      `Not looked at for identifiers, because whoever loaded the data says that they identify nobody: ${excepted.join(', ')}.`,
    ),
  ];
}

/** Codes of people are looked at for names; columns that are not read may hold sentences. */
function columnRoles(headers: readonly string[], options: LoadOptions): (header: string) => ColumnRole {
  const { layout } = options;
  const mapping = (layout?.columns ?? options.columns ?? {}) as Readonly<Record<string, string>>;
  const found = findColumns(headers, mapping, {}).headers;
  const codes = ['patient', 'stay', 'assessor'].map((name) => found.get(name as InputColumn));
  const read = new Set([...found.values(), ...Object.keys(layout?.readings ?? {}), layout?.findings?.column]);
  return (header) => (codes.includes(header) ? 'code' : read.has(header) ? 'read' : 'not read');
}

interface SourceTable {
  readonly table: RawTable;
  /** Where a layout says how to read it. */
  readonly sheet?: SheetTable;
  readonly notes?: readonly Note[];
}

async function readTables(source: AssessmentSource, options: LoadOptions): Promise<readonly SourceTable[]> {
  if (typeof source === 'string' || isListOfPaths(source)) {
    const read: (SourceTable | ReadObservations)[] = [];
    const across = new AcrossFiles();
    for (const pattern of typeof source === 'string' ? [source] : source)
      for (const path of await matchingFiles(pattern)) read.push(await readFile(path, options, across));
    return read.map(madeTable);
  }
  if (typeof source === 'object' && source !== null) {
    if ('text' in source && typeof source.text === 'string') return [madeTable(await readText(source.text, options))];
    if ('rows' in source && Array.isArray(source.rows)) return [{ table: rowsTable(source.rows) }];
    if ('frame' in source) return [{ table: frameTable(source.frame) }];
    if ('table' in source) return [{ table: await arrowTable(source.table) }];
  }
  throw refuse(
    'unknown-source',
    ['source'],
    'The source is none that can be read.',
    'give a path or paths, { text }, { rows }, { frame } or { table }.',
  );
}

function isListOfPaths(source: AssessmentSource): source is readonly string[] {
  return Array.isArray(source) && source.length > 0 && source.every((path) => typeof path === 'string');
}

/** The table of Observations is made when all are read: a patient's first day can stand in another file. */
function madeTable(read: SourceTable | ReadObservations): SourceTable {
  return typeof read.table === 'function' ? { ...read, table: read.table() } : (read as SourceTable);
}

async function readFile(
  path: string,
  options: LoadOptions,
  across: AcrossFiles,
): Promise<SourceTable | ReadObservations> {
  const { form, isGzip } = await headOfFile(path);
  if (form === 'workbook' || (options.layout !== undefined && form === 'delimited' && !isGzip))
    return readLaidOut(path, options);
  refuseLayout(options);
  if (form === 'parquet') return { table: await readParquet(path, options) };
  if (form === 'json') return { table: await readJson(path, options) };
  if (form === 'observations') return readObservations({ path, isGzip }, options, across);
  return { table: await readDelimited(path, options) };
}

async function readText(text: string, options: LoadOptions): Promise<SourceTable | ReadObservations> {
  const form = formOf(Buffer.from(text.slice(0, 100_000)));
  if (form === 'delimited' && options.layout !== undefined) return readLaidOut({ text }, options);
  refuseLayout(options);
  if (form === 'json') return { table: await readJsonText(text, options) };
  if (form === 'observations') return readObservations({ text }, options, new AcrossFiles());
  return { table: await readDelimitedText(text, options) };
}

function refuseLayout({ layout }: LoadOptions): void {
  if (layout === undefined) return;
  throw refuse(
    'layout-without-sheet',
    ['layout'],
    'A layout is for a workbook or a text file of cells, unpacked.',
    'leave the layout out, or unpack the file.',
  );
}

async function readLaidOut(source: string | { readonly text: string }, options: LoadOptions): Promise<SourceTable> {
  const { layout = {}, delimiter } = options;
  const name = layout.sheet ?? options.sheet;
  const sheet = sheetTable(
    await readSheet(source, {
      ...(name === undefined ? {} : { sheet: name }),
      ...(delimiter === undefined ? {} : { delimiter }),
    }),
    layout,
  );
  return { table: sheet.table, sheet };
}

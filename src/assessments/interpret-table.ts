import type { Problem } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { signOf } from '../signs/codebook.js';
import type { Sign } from '../signs/sign.js';
import {
  type AssessmentColumns,
  Assessments,
  type AssessmentsSource,
  type FlagColumnName,
  type TextColumn,
  type TextColumnName,
} from './assessments.js';
import { type Cells, cellsOf, reportBlank, understandEach } from './cells.js';
import { codeWarnings } from './code-warnings.js';
import type { Combined } from './combine-codes.js';
import { equalityContradictions } from './equality-contradictions.js';
import { codesOfNumbers, findDuplicates, varies } from './find-duplicates.js';
import { findColumns, type InputColumn } from './input-columns.js';
import type { LoadOptions, NamedScales } from './load-options.js';
import { byRow, EmptyColumns, flagsOf, NUMBER_RULES, numbersOf, plainText, textOf, wordsOf } from './make-columns.js';
import { understandSign, understandSite } from './place.js';
import type { ProblemList } from './problem-list.js';
import type { RawColumn } from './raw-table.js';
import { resolveScales } from './resolve-scales.js';
import { understandPlaces } from './understand-places.js';
import { understandReadings } from './understand-readings.js';

/** What the options say, checked. */
export interface Interpretation {
  readonly options: LoadOptions;
  readonly named: NamedScales;
  readonly signs?: readonly Sign[];
}

const PLAIN_TEXT_COLUMNS = [
  'patient',
  'stay',
  'unit',
  'occasion',
  'round',
  'phase',
  'assessor',
  'method',
  'position',
  'landmark',
] as const satisfies readonly TextColumnName[];

/**
 * Makes assessments of a table of texts, or gathers in `problems` why it cannot. What depends on one column is
 * worked out once for each distinct text, what depends on several once for each combination that occurs.
 */
export async function interpretTable(
  raw: readonly RawColumn[],
  rawRows: number,
  source: AssessmentsSource,
  interpretation: Interpretation,
  problems: ProblemList,
  given: readonly Note[],
): Promise<Assessments | undefined> {
  const { options } = interpretation;
  const notes: Note[] = [...given];
  const constants: Record<string, string | number | boolean> = { ...options.constants };
  const [onlySign, ...otherSigns] = interpretation.signs ?? [];
  const found = findColumns(
    raw.map((column) => column.header),
    (options.columns ?? {}) as Readonly<Record<string, string>>,
    constants,
  );
  if (!found.headers.has('sign') && constants.sign === undefined && onlySign !== undefined && otherSigns.length === 0)
    constants.sign = onlySign.id;
  const columnProblems = [...found.problems, ...absentColumns(found.headers, constants)];
  problems.add(...columnProblems);
  if (columnProblems.length > 0) return undefined;
  noteUnused(found.unused, notes);

  const kept = keptRows(raw, rawRows, found.headers.get('sign'), interpretation.signs, notes);
  if (kept !== undefined) problems.countAmong(kept);
  const rows = kept?.length ?? rawRows;
  const cells = (name: InputColumn): Cells => cellsOf(name, raw, kept, found.headers.get(name), constants[name]);

  const sign = cells('sign');
  const site = cells('site');
  const signs = understandEach(sign, understandSign, problems);
  const sites = understandEach(site, understandSite, problems);
  reportBlank(
    sign,
    { code: 'sign-missing', message: 'The sign is missing.', expected: 'the id of a sign' },
    problems,
    rows,
  );
  const patient = cells('patient');
  reportBlank(
    patient,
    { code: 'patient-missing', message: 'The patient is missing.', expected: 'a code' },
    problems,
    rows,
  );
  await pause(options, 0.82);

  const places = understandPlaces(
    { sign, site, limb: cells('limb'), side: cells('side') },
    signs,
    sites,
    problems,
    rows,
  );
  const scales = resolveScales(
    { sign, site, scale: cells('scale'), value: cells('value') },
    signs,
    sites,
    interpretation.named,
    problems,
    rows,
    notes,
  );
  await pause(options, 0.86);
  const readings = understandReadings(
    { value: cells('value'), comparator: cells('comparator'), unit: cells('valueUnit'), missing: cells('missing') },
    scales,
    options,
    problems,
    rows,
    notes,
  );
  await pause(options, 0.9);

  const empty = new EmptyColumns(rows);
  const columns: Record<string, TextColumn | Float64Array | Int8Array | Int16Array> = {};
  for (const name of PLAIN_TEXT_COLUMNS) columns[name] = plainText(cells(name), rows, empty);
  for (const rule of NUMBER_RULES) columns[rule.name] = numbersOf(cells(rule.name), rule, problems, rows, empty);
  for (const name of ['blinded', 'reference'] as const satisfies readonly FlagColumnName[])
    columns[name] = flagsOf(cells(name), problems, rows, empty);
  columns.sign = textOf(
    sign,
    signs.map((known) => known?.id),
    rows,
    empty,
  );
  columns.site = textOf(site, sites, rows, empty);
  columns.limb = wordsOf(places.combined, (_, at) => places.limbs[at], rows, empty);
  columns.scale = wordsOf(scales.combined, (_, at) => scales.found[at]?.id, rows, empty);
  columns.missing = wordsOf(readings.combined, (_, at) => readings.found[at]?.missing, rows, empty);
  columns.comparator = wordsOf(readings.combined, (_, at) => readings.found[at]?.comparator, rows, empty);
  columns.category = byRow(readings.combined, new Int16Array(rows), -1, (at) => readings.found[at]?.category);
  columns.number = byRow(readings.combined, new Float64Array(rows), Number.NaN, (at) => readings.found[at]?.number);
  await pause(options, 0.95);

  const table = columns as unknown as AssessmentColumns;
  const unclear = unclearKeys([places, scales], [cells('day'), cells('period'), cells('replicate')], table, rows);
  reportDuplicates(table, unclear, rows, problems);
  if (!problems.isEmpty) return undefined;
  notes.push(
    ...equalityContradictions(table, rows, scales.used),
    ...landmarkNotes(table, rows),
    ...codeWarnings(table, rows),
  );
  return new Assessments(table, scales.used, source, notes);
}

function absentColumns(
  headers: ReadonlyMap<InputColumn, string>,
  constants: Readonly<Record<string, unknown>>,
): Problem[] {
  const has = (name: InputColumn): boolean => headers.has(name) || constants[name] !== undefined;
  const problems: Problem[] = [];
  for (const [name, what] of [
    ['patient', 'says whose limb it is'],
    ['sign', 'says what was assessed'],
    ['value', 'holds what was found'],
  ] as const) {
    if (has(name) || (name === 'value' && has('missing'))) continue;
    problems.push({
      code: 'column-missing',
      path: ['columns', name],
      message: `No column ${what} (${name}).`,
      mend: `name it in options.columns, as in { ${name}: 'its name in the file' }, or give it in options.constants.`,
    });
  }
  return problems;
}

function noteUnused(unused: readonly string[], notes: Note[]): void {
  const named = unused.filter((header) => header !== '');
  if (named.length > 0) notes.push(information('columns-not-read', `Columns not read: ${named.join(', ')}.`));
}

/** The rows to interpret, where some are left out: rows without any cell, and rows of signs that were not asked for. */
function keptRows(
  raw: readonly RawColumn[],
  rows: number,
  signHeader: string | undefined,
  wanted: readonly Sign[] | undefined,
  notes: Note[],
): Int32Array | undefined {
  const column = raw.find(({ header }) => header === signHeader);
  const isFull = raw.some(({ codes }) => !codes.includes(-1));
  if (isFull && (wanted === undefined || column === undefined)) return undefined;
  const keep = new Uint8Array(rows).fill(isFull ? 1 : 0);
  if (!isFull) for (const { codes } of raw) for (let row = 0; row < rows; row++) if (codes[row]! >= 0) keep[row] = 1;
  const filled = keep.reduce((sum, flag) => sum + flag, 0);
  if (filled < rows)
    notes.push(information('empty-rows', `Rows without any cell that were passed over: ${rows - filled}.`));
  if (wanted !== undefined && column !== undefined) {
    const wantedCodes = column.values.map((word) => {
      const understood = understandSign(word, {});
      return 'value' in understood && wanted.includes(understood.value);
    });
    let others = 0;
    for (let row = 0; row < rows; row++) {
      if (keep[row] === 1 && wantedCodes[column.codes[row] ?? -1] !== true) {
        keep[row] = 0;
        others++;
      }
    }
    if (others > 0)
      notes.push(information('other-signs', `Rows of other signs that were left out, as asked for: ${others}.`));
  }
  const left = keep.reduce((sum, flag) => sum + flag, 0);
  if (left === rows) return undefined;
  const kept = new Int32Array(left);
  let at = 0;
  for (let row = 0; row < rows; row++) if (keep[row] === 1) kept[at++] = row;
  return kept;
}

/** Girths without their landmark cannot be compared with others. */
function landmarkNotes(table: AssessmentColumns, rows: number): Note[] {
  const needed = table.sign.values.map((id) => signOf(id).landmarks !== undefined);
  const lacking = new Set<string>();
  if (!needed.includes(true)) return [];
  for (let row = 0; row < rows; row++) {
    const sign = table.sign.codes[row] ?? -1;
    if (needed[sign] === true && table.landmark.codes[row] === -1 && !Number.isNaN(table.number[row]))
      lacking.add(table.sign.values[sign] ?? '');
  }
  return [...lacking]
    .sort()
    .map((id) =>
      caution(
        'landmark-missing',
        `${signOf(id).label}: some readings do not say from which landmark they were measured; readings at different landmarks are not interchangeable.`,
      ),
    );
}

/** Rows whose patient, place, scale or time could not be understood: what they repeat is not known. */
function unclearKeys(
  stages: readonly { combined: Combined; resolved: readonly boolean[] }[],
  numbered: readonly Cells[],
  table: AssessmentColumns,
  rows: number,
): Uint8Array {
  const unclear = new Uint8Array(rows);
  for (let row = 0; row < rows; row++) if (table.patient.codes[row] === -1) unclear[row] = 1;
  for (const { combined, resolved } of stages) {
    if (resolved.every(Boolean)) continue;
    for (let row = 0; row < rows; row++) if (resolved[combined.codes?.[row] ?? 0] !== true) unclear[row] = 1;
  }
  for (const [at, numbers] of [table.day, table.period, table.replicate].entries()) {
    const codes = numbered[at]?.codes;
    if (codes === undefined) continue;
    for (let row = 0; row < rows; row++) if ((codes[row] ?? -1) >= 0 && Number.isNaN(numbers[row])) unclear[row] = 1;
  }
  return unclear;
}

function reportDuplicates(table: AssessmentColumns, leftOut: Uint8Array, rows: number, problems: ProblemList): void {
  const texts = [
    table.patient,
    table.stay,
    table.occasion,
    table.round,
    table.phase,
    table.assessor,
    table.limb,
    table.site,
    table.sign,
    table.scale,
    table.method,
    table.position,
    table.landmark,
  ].filter((column) => column.values.length > 0);
  // An assessor's only reading is the first one, whether or not the source numbers it.
  const replicate = varies(table.replicate)
    ? table.replicate.map((number) => (Number.isNaN(number) ? 1 : number))
    : table.replicate;
  const keys = [
    ...texts.map((column) => column.codes),
    ...[table.day, table.period, replicate].filter(varies).map(codesOfNumbers),
    ...[table.reference].filter(varies).map((flags) => new Int32Array(flags)),
  ];
  for (const { row, first } of findDuplicates(keys, rows, leftOut)) {
    problems.addAtRow(
      row,
      {
        code: 'duplicate',
        message: 'The row has the same patient, time, assessor, limb, site, sign and scale as row {other}.',
        mend: 'delete one of the two; if the same assessor read twice, number the readings in a column replicate; if they are of different times, give the day or the occasion.',
      },
      first,
    );
  }
}

/** Lets other work in, reports, and stops if asked to. */
async function pause(options: LoadOptions, share: number): Promise<void> {
  await new Promise((resolve) => setImmediate(resolve));
  options.signal?.throwIfAborted();
  options.progress?.(share, 'checked');
}

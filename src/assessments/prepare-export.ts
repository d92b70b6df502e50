import { csvCell } from '../shared/csv-cell.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { ownValue } from '../shared/own-value.js';
import { type DateOrder, periodClock, type Row, readDates } from './export-dates.js';
import { reportOf } from './export-report.js';
import { guardColumn, namedColumn, ruleOfHeader } from './identifier-guard.js';
import { RandomCodes } from './random-codes.js';
import type { Sheet } from './read-sheet.js';
import { sheetTable } from './sheet-table.js';

/**
 * What happens to a column of an export. `patient`, `assessor`, `code` (stays, visits): replaced by random codes;
 * `date`: replaced by the days since the patient's first date, the first of these columns also by the unit's period;
 * `age`: ages of 90 and over become 90+; `keep`: kept as it is; `drop`: left out.
 */
export type ColumnTreatment = 'patient' | 'assessor' | 'code' | 'date' | 'age' | 'keep' | 'drop';

export const COLUMN_TREATMENTS: readonly ColumnTreatment[] = [
  'patient',
  'assessor',
  'code',
  'date',
  'age',
  'keep',
  'drop',
];

/** Which word stands for which random code, column by column. Whoever has it can undo the coding. */
export type CodeKey = Readonly<Record<string, Readonly<Record<string, string>>>>;

export interface PrepareOptions {
  readonly columns: Readonly<Record<string, ColumnTreatment>>;
  readonly dateOrder?: DateOrder;
  /** Days in one of the unit's periods; calendar months if absent. */
  readonly periodDays?: number;
  /** First day of the unit's period 1, as 2026-01-01. Default: the month of the earliest date. Give it to keep the numbers from one export to the next. */
  readonly periodStart?: string;
  /** The key of an earlier export: who is in it keeps the code. */
  readonly key?: CodeKey;
  readonly titleRows?: number;
  readonly footerRows?: number;
  /** A random whole number from 0 to below the bound. Must not be predictable: from the operating system, never seeded. */
  readonly randomBelow: (bound: number) => number;
}

export interface PreparedExport {
  /** The clean rows as comma-separated text, sorted by patient and day so that their order tells nothing. */
  readonly csv: string;
  readonly key: CodeKey;
  /** What was done and what remains to look at, in sentences. No value of the export is in it. */
  readonly report: readonly string[];
}

/**
 * An export without identifiers: random codes for people, day offsets and period numbers for dates, ages over 89
 * pooled, everything else kept or left out as told. Works on what it is given and nowhere else; no network.
 *
 * @throws InputError with every problem at once: `treatment-missing`, `column-not-found`, `unknown-choice`,
 * `no-patient`, `not-a-date`, `unclear-date`, `not-an-age`, and `identifier-column`, `identifier-value` for columns
 * that are kept and still hold identifiers
 */
export function prepareExport(sheet: Sheet, options: PrepareOptions): PreparedExport {
  const { headers, cells, firstRow } = sheetTable(sheet, {
    ...(options.titleRows === undefined ? {} : { titleRows: options.titleRows }),
    ...(options.footerRows === undefined ? {} : { footerRows: options.footerRows }),
  });
  const rows = cells
    .map((line, at) => ({ line, row: at + firstRow }))
    .filter(({ line }) => line.some((cell) => cell !== ''));
  const problems: Problem[] = treatmentProblems(headers, options);
  if (problems.length > 0) throw new InputError(problems);
  const treated = (treatment: ColumnTreatment): string[] =>
    headers.filter((header) => header !== '' && ownValue(options.columns, header) === treatment);
  const at = (header: string): number => headers.indexOf(header);
  const [patientHeader = ''] = treated('patient');
  const dateHeaders = treated('date');

  const coders = new Map(
    [...treated('patient'), ...treated('assessor'), ...treated('code')].map((header) => [
      header,
      new RandomCodes(ownValue(options.key, header) ?? {}, options.randomBelow),
    ]),
  );
  const dates = readDates(rows, dateHeaders, at, options.dateOrder, problems);
  const firstDay = new Map<string, number>();
  rows.forEach(({ line }, index) => {
    const patient = line[at(patientHeader)] ?? '';
    for (const header of dateHeaders) {
      const day = dates.get(header)?.[index];
      if (day !== undefined) firstDay.set(patient, Math.min(firstDay.get(patient) ?? day, day));
    }
  });
  checkAges(rows, treated('age'), at, problems);
  for (const header of [...treated('code'), ...treated('age')])
    if (namedColumn(header).column === undefined)
      problems.push({
        code: 'identifier-column',
        message: 'The name of a column has the form of an identifier, and would stand in the clean copy.',
        mend: 'give the column another name in the export, or answer drop.',
      });
  checkKept(rows, treated('keep'), at, problems);
  if (problems.length > 0) throw new InputError([...problems].sort((a, b) => (a.row ?? 0) - (b.row ?? 0)));

  const [clockHeader] = dateHeaders;
  const periodOf = periodClock(clockHeader === undefined ? [] : (dates.get(clockHeader) ?? []), options);
  const output = headers.flatMap((header): { name: string; cell: (index: number) => string }[] => {
    const treatment = header === '' ? 'drop' : ownValue(options.columns, header);
    const text = (index: number): string => rows[index]?.line[at(header)] ?? '';
    const coder = coders.get(header);
    if (coder !== undefined)
      return [
        {
          name: treatment === 'patient' || treatment === 'assessor' ? treatment : header,
          cell: (index) => coder.codeOf(text(index)),
        },
      ];
    if (treatment === 'date') {
      const days = dates.get(header) ?? [];
      const offset = (index: number): string => {
        const day = days[index];
        const start = firstDay.get(rows[index]?.line[at(patientHeader)] ?? '');
        return day === undefined || start === undefined ? '' : String(day - start);
      };
      const isClock = header === clockHeader;
      return [
        { name: isClock ? 'day' : `days to ${shownHeader(header)}`, cell: offset },
        ...(isClock
          ? [
              {
                name: 'period',
                cell: (index: number) => {
                  const day = days[index];
                  return day === undefined ? '' : String(periodOf(day));
                },
              },
            ]
          : []),
      ];
    }
    if (treatment === 'age')
      return [{ name: header, cell: (index) => (Number(text(index)) > 89 ? '90+' : text(index)) }];
    return treatment === 'keep' ? [{ name: header, cell: text }] : [];
  });
  const names = differentNames(output.map(({ name }) => name));
  const lines = rows.map((_, index) => output.map(({ cell }) => cell(index)));
  const order = sortColumns(names);
  lines.sort((a, b) => compareLines(a, b, order));
  const key = Object.fromEntries([...coders].map(([header, coder]) => [header, coder.key()]));
  return {
    csv: `${[names, ...lines].map((line) => line.map((cell) => csvCell(cell)).join(',')).join('\n')}\n`,
    key,
    report: reportOf(headers, options.columns, rows.length, lines, names, coders),
  };
}

function treatmentProblems(headers: readonly string[], { columns }: PrepareOptions): Problem[] {
  const problems: Problem[] = [];
  const list = COLUMN_TREATMENTS.join(', ');
  headers.forEach((header, at) => {
    if (header === '' || Object.hasOwn(columns, header)) return;
    const isShown = ruleOfHeader(header) === undefined;
    problems.push({
      code: 'treatment-missing',
      ...(isShown ? { column: header } : {}),
      message: `Nobody has said what happens to column ${at + 1}.`,
      expected: `one of ${list}`,
    });
  });
  for (const [header, treatment] of Object.entries(columns)) {
    if (!headers.includes(header))
      problems.push({
        code: 'column-not-found',
        path: ['columns'],
        message: 'An answer names a column that the sheet does not have.',
      });
    else if (!COLUMN_TREATMENTS.includes(treatment))
      problems.push({
        code: 'unknown-choice',
        column: shownHeader(header),
        message: 'There is no such treatment.',
        expected: `one of ${list}`,
      });
  }
  const patients = Object.values(columns).filter((treatment) => treatment === 'patient').length;
  if (patients !== 1)
    problems.push({
      code: 'no-patient',
      path: ['columns'],
      message: `${patients} columns are said to be the patient.`,
      expected: 'exactly one',
    });
  return problems;
}

function shownHeader(header: string): string {
  return ruleOfHeader(header) === undefined ? header : 'a date';
}

function checkAges(
  rows: readonly Row[],
  headers: readonly string[],
  at: (header: string) => number,
  problems: Problem[],
): void {
  for (const header of headers) {
    for (const { line, row } of rows) {
      const text = line[at(header)] ?? '';
      if (text === '' || text === '90+' || (/^\d{1,3}$/.test(text) && Number(text) <= 125)) continue;
      problems.push({
        code: 'not-an-age',
        row,
        column: header,
        message: 'The cell holds no age in whole years.',
        expected: '0 to 125, or an empty cell',
      });
    }
  }
}

/** Columns that are kept must pass the guard: what still looks like an identifier is refused, not let through. */
function checkKept(
  rows: readonly Row[],
  headers: readonly string[],
  at: (header: string) => number,
  problems: Problem[],
): void {
  for (const header of headers) {
    const texts = rows.map(({ line }) => line[at(header)] ?? '');
    const finding = guardColumn(header, texts, 'read');
    if (finding.header !== undefined)
      problems.push({ ...finding.header, mend: 'answer drop, code or date for this column.' });
    finding.values.forEach((list, index) => {
      const row = rows[index]?.row;
      for (const problem of list ?? []) problems.push({ ...problem, ...(row === undefined ? {} : { row }) });
    });
  }
}

/** Two columns of assessors, or a column that was called day before: the second of a name gets a number. */
function differentNames(names: readonly string[]): string[] {
  const taken = new Set<string>();
  return names.map((name) => {
    let own = name;
    for (let number = 2; taken.has(own); number++) own = `${name} ${number}`;
    taken.add(own);
    return own;
  });
}

function sortColumns(names: readonly string[]): number[] {
  const first = ['patient', 'day', 'assessor'].map((name) => names.indexOf(name)).filter((place) => place >= 0);
  return [...first, ...names.keys()];
}

function compareLines(a: readonly string[], b: readonly string[], order: readonly number[]): number {
  for (const place of order) {
    const [x = '', y = ''] = [a[place], b[place]];
    if (x === y) continue;
    const [p, q] = [Number(x), Number(y)];
    return Number.isNaN(p) || Number.isNaN(q) ? (x < y ? -1 : 1) : p - q;
  }
  return 0;
}

import { InputError, type Problem } from '../shared/input-error.js';
import { formatCount } from '../shared/table.js';
import { guardColumn, ruleOfHeader } from './identifier-guard.js';
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

/** In which order a date is written where its numbers do not tell. */
export type DateOrder = 'year-month-day' | 'month-day-year' | 'day-month-year';

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

/** Letters and digits that are not mistaken for each other, without vowels that could make words. */
const ALPHABET = '23456789BCDFGHJKLMNPQRSTVWXZ';

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
    headers.filter((header) => header !== '' && options.columns[header] === treatment);
  const at = (header: string): number => headers.indexOf(header);
  const [patientHeader = ''] = treated('patient');
  const dateHeaders = treated('date');

  const coders = new Map(
    [...treated('patient'), ...treated('assessor'), ...treated('code')].map((header) => [
      header,
      new Coder(options.key?.[header] ?? {}, options.randomBelow),
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
  checkKept(rows, treated('keep'), at, problems);
  if (problems.length > 0) throw new InputError([...problems].sort((a, b) => (a.row ?? 0) - (b.row ?? 0)));

  const [clockHeader] = dateHeaders;
  const periodOf = periodClock(clockHeader === undefined ? [] : (dates.get(clockHeader) ?? []), options);
  const output = headers.flatMap((header): { name: string; cell: (index: number) => string }[] => {
    const treatment = header === '' ? 'drop' : options.columns[header];
    const text = (index: number): string => rows[index]?.line[at(header)] ?? '';
    const coder = coders.get(header);
    if (coder !== undefined)
      return [
        {
          name: treatment === 'patient' ? 'patient' : treatment === 'assessor' ? 'assessor' : header,
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
  const lines = rows.map((_, index) => output.map(({ cell }) => cell(index)));
  const order = sortColumns(output.map(({ name }) => name));
  lines.sort((a, b) => compareLines(a, b, order));
  const key = Object.fromEntries([...coders].map(([header, coder]) => [header, coder.key()]));
  return {
    csv: `${[output.map(({ name }) => name), ...lines].map((line) => line.map(csvCell).join(',')).join('\n')}\n`,
    key,
    report: reportOf(
      headers,
      options,
      rows.length,
      lines,
      output.map(({ name }) => name),
      coders,
    ),
  };
}

interface Row {
  readonly line: readonly string[];
  readonly row: number;
}

/** Gives each word a random code, the same word always the same; codes say nothing of the word or its place. */
class Coder {
  readonly #codes: Map<string, string>;
  readonly #taken: Set<string>;
  readonly #randomBelow: (bound: number) => number;

  constructor(known: Readonly<Record<string, string>>, randomBelow: (bound: number) => number) {
    this.#codes = new Map(Object.entries(known));
    this.#taken = new Set(Object.values(known));
    this.#randomBelow = randomBelow;
  }

  get size(): number {
    return this.#codes.size;
  }

  codeOf(word: string): string {
    if (word === '') return '';
    const known = this.#codes.get(word);
    if (known !== undefined) return known;
    let code: string;
    do {
      code = Array.from({ length: 5 }, () => ALPHABET[this.#randomBelow(ALPHABET.length)]).join('');
      // A letter first, so that no spreadsheet takes a code for a number.
    } while (this.#taken.has(code) || /^\d/.test(code));
    this.#codes.set(word, code);
    this.#taken.add(code);
    return code;
  }

  key(): Record<string, string> {
    return Object.fromEntries(this.#codes);
  }
}

function treatmentProblems(headers: readonly string[], { columns }: PrepareOptions): Problem[] {
  const problems: Problem[] = [];
  const list = COLUMN_TREATMENTS.join(', ');
  headers.forEach((header, at) => {
    if (header === '' || columns[header] !== undefined) return;
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

const DAY = 86_400_000;
const MONTH_NAMES = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec'];

/** Days since 1970 for each row of each date column; `undefined` for an empty cell. */
function readDates(
  rows: readonly Row[],
  headers: readonly string[],
  at: (header: string) => number,
  order: DateOrder | undefined,
  problems: Problem[],
): Map<string, (number | undefined)[]> {
  const dates = new Map<string, (number | undefined)[]>();
  for (const header of headers) {
    const parts = rows.map(({ line }) => dateParts(line[at(header)] ?? ''));
    const order_ = order ?? orderOf(parts);
    if (order_ === undefined) {
      problems.push({
        code: 'unclear-date',
        ...(ruleOfHeader(header) === undefined ? { column: header } : {}),
        message: 'The dates do not tell whether the month or the day comes first.',
        mend: 'say it as dateOrder: month-day-year or day-month-year.',
      });
      dates.set(header, []);
      continue;
    }
    dates.set(
      header,
      parts.map((part, index) => {
        if (part === undefined) return undefined;
        const day = part === 'bad' ? Number.NaN : dayNumber(part, order_);
        if (Number.isNaN(day)) {
          problems.push({
            code: 'not-a-date',
            row: rows[index]?.row ?? 0,
            ...(ruleOfHeader(header) === undefined ? { column: header } : {}),
            message: 'The cell holds no date that can be read.',
            mend: 'write it as year-month-day, such as 2026-03-01, or empty the cell.',
          });
          return undefined;
        }
        return day;
      }),
    );
  }
  return dates;
}

/** The three numbers of a date as written, and which of them must be the year. */
interface DateParts {
  readonly numbers: readonly [number, number, number];
  readonly yearFirst: boolean;
  /** The month is written as a word, at this place. */
  readonly monthAt?: 0 | 1;
}

function dateParts(text: string): DateParts | 'bad' | undefined {
  if (text === '') return undefined;
  const numbers = /^(\d{1,4})[-/.\s](\d{1,2})[-/.\s](\d{1,4})(?:[T\s].*)?$/.exec(text);
  if (numbers !== null)
    return {
      numbers: [Number(numbers[1]), Number(numbers[2]), Number(numbers[3])],
      yearFirst: (numbers[1] ?? '').length === 4,
    };
  const packed = /^(\d{4})(\d{2})(\d{2})$/.exec(text);
  if (packed !== null) return { numbers: [Number(packed[1]), Number(packed[2]), Number(packed[3])], yearFirst: true };
  const words = /^(\d{1,2})[\s-]*([a-z]{3})[a-z]*\.?[\s,-]*(\d{4}|\d{2})/i.exec(text);
  const reversed = /^([a-z]{3})[a-z]*\.?[\s-]*(\d{1,2})(?:st|nd|rd|th)?[\s,-]+(\d{4}|\d{2})/i.exec(text);
  const month = MONTH_NAMES.indexOf((words?.[2] ?? reversed?.[1] ?? '').toLowerCase()) + 1;
  if (month === 0) return 'bad';
  if (words !== null) return { numbers: [Number(words[1]), month, Number(words[3])], yearFirst: false, monthAt: 1 };
  return { numbers: [month, Number(reversed?.[2]), Number(reversed?.[3])], yearFirst: false, monthAt: 0 };
}

function orderOf(parts: readonly (DateParts | 'bad' | undefined)[]): DateOrder | undefined {
  const open = parts.filter(
    (part): part is DateParts => part !== undefined && part !== 'bad' && !part.yearFirst && part.monthAt === undefined,
  );
  if (open.length === 0) return 'year-month-day';
  const dayFirst = open.some(({ numbers }) => numbers[0] > 12);
  const monthFirst = open.some(({ numbers }) => numbers[1] > 12);
  return dayFirst === monthFirst ? undefined : dayFirst ? 'day-month-year' : 'month-day-year';
}

function dayNumber({ numbers: [a, b, c], yearFirst, monthAt }: DateParts, order: DateOrder): number {
  const [year, month, day] = yearFirst
    ? [a, b, c]
    : monthAt === 0 || (monthAt === undefined && order === 'month-day-year')
      ? [c, a, b]
      : [c, b, a];
  const fullYear = year < 100 ? year + (year > 50 ? 1900 : 2000) : year;
  const time = Date.UTC(fullYear, month - 1, day);
  const back = new Date(time);
  const isReal = back.getUTCMonth() === month - 1 && back.getUTCDate() === day && fullYear > 1900;
  return isReal ? Math.round(time / DAY) : Number.NaN;
}

/** Numbers days on the unit's clock: by months of the calendar, or by equal stretches of days. */
function periodClock(days: readonly (number | undefined)[], options: PrepareOptions): (day: number) => number {
  const known = days.filter((day) => day !== undefined);
  const given =
    options.periodStart === undefined ? Number.NaN : Math.round(Date.parse(`${options.periodStart}T00:00:00Z`) / DAY);
  if (options.periodStart !== undefined && Number.isNaN(given))
    throw new InputError([
      {
        code: 'not-a-date',
        path: ['periodStart'],
        message: 'The start of period 1 is no date.',
        expected: 'a date such as 2026-01-01',
      },
    ]);
  const earliest = Number.isNaN(given)
    ? known.reduce((least, day) => Math.min(least, day), Number.POSITIVE_INFINITY)
    : given;
  if (options.periodDays !== undefined) {
    const length = options.periodDays;
    return (day) => Math.floor((day - earliest) / length) + 1;
  }
  const monthOf = (day: number): number => {
    const date = new Date(day * DAY);
    return date.getUTCFullYear() * 12 + date.getUTCMonth();
  };
  return (day) => monthOf(day) - monthOf(earliest) + 1;
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

function csvCell(text: string): string {
  return /[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** Groups of people smaller than this can be found by who knows them. */
const SMALL = 5;

function reportOf(
  headers: readonly string[],
  { columns }: PrepareOptions,
  rows: number,
  lines: readonly (readonly string[])[],
  names: readonly string[],
  coders: ReadonlyMap<string, Coder>,
): string[] {
  const counted = (treatment: ColumnTreatment): number =>
    headers.filter((header) => columns[header] === treatment).length;
  const kept = headers.filter((header) => columns[header] === 'keep' || columns[header] === 'age');
  const patientAt = names.indexOf('patient');
  const report = [
    `${formatCount(rows)} rows.`,
    ...[...coders].map(([header, coder]) => {
      const what = columns[header] === 'patient' ? 'patients' : columns[header] === 'assessor' ? 'assessors' : 'others';
      return `Random codes for ${formatCount(coder.size)} ${what}; they are made from nothing in the export.`;
    }),
    `Columns of dates that became days since the patient's first date: ${counted('date')}${counted('date') > 0 ? "; the first of them is also the unit's period" : ''}.`,
    `Columns in which ages of 90 and over became 90+: ${counted('age')}.`,
    `Columns left out: ${counted('drop')}.`,
    `Kept as they are: ${headers.filter((header) => columns[header] === 'keep').join(', ') || 'none'}.`,
  ];
  for (const { name, groups, people } of smallGroups(lines, names, kept, patientAt)) {
    report.push(
      `To look at: ${groups} values of "${name}" are of fewer than ${SMALL} patients each (${people} patients in all). Pool them, or leave the column out before sharing.`,
    );
  }
  const combined = smallestGroup(lines, names, kept, patientAt);
  if (combined !== undefined)
    report.push(
      `To look at: taken together, ${kept.join(', ')} single out groups of ${combined.smallest} ${combined.smallest === 1 ? 'patient' : 'patients'} (k = ${combined.smallest}; ${combined.alone} of ${combined.patients} patients share their values with fewer than ${SMALL - 1} others).`,
    );
  report.push(
    'What remains is coded, not anonymous: with the key, or by what somebody knows of a patient, a person can be found. Keep the key apart.',
  );
  return report;
}

/** Columns that describe a person: few values, the same on all rows of a patient. Readings differ from row to row. */
function describesPerson(
  lines: readonly (readonly string[])[],
  place: number,
  patientAt: number,
): Map<string, Set<string>> | undefined {
  const values = new Map<string, string>();
  const patients = new Map<string, Set<string>>();
  for (const line of lines) {
    const [patient = '', value = ''] = [line[patientAt], line[place]];
    const before = values.get(patient);
    if (before !== undefined && before !== value) return undefined;
    values.set(patient, value);
    patients.set(value, (patients.get(value) ?? new Set()).add(patient));
  }
  return patients;
}

function smallGroups(
  lines: readonly (readonly string[])[],
  names: readonly string[],
  kept: readonly string[],
  patientAt: number,
): { name: string; groups: number; people: number }[] {
  return kept.flatMap((name) => {
    const patients = describesPerson(lines, names.indexOf(name), patientAt);
    if (patients === undefined) return [];
    const small = [...patients.values()].filter((group) => group.size < SMALL);
    return small.length === 0
      ? []
      : [{ name, groups: small.length, people: small.reduce((sum, group) => sum + group.size, 0) }];
  });
}

function smallestGroup(
  lines: readonly (readonly string[])[],
  names: readonly string[],
  kept: readonly string[],
  patientAt: number,
): { smallest: number; alone: number; patients: number } | undefined {
  const places = kept
    .map((name) => names.indexOf(name))
    .filter((place) => describesPerson(lines, place, patientAt) !== undefined);
  if (places.length === 0) return undefined;
  const groups = new Map<string, Set<string>>();
  for (const line of lines) {
    const key = places.map((place) => line[place]).join('\u0000');
    groups.set(key, (groups.get(key) ?? new Set()).add(line[patientAt] ?? ''));
  }
  const sizes = [...groups.values()].map((group) => group.size);
  return {
    smallest: Math.min(...sizes),
    alone: sizes.filter((size) => size < SMALL).reduce((sum, size) => sum + size, 0),
    patients: sizes.reduce((sum, size) => sum + size, 0),
  };
}

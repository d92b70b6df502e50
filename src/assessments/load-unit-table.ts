import { InputError, type Problem } from '../shared/input-error.js';
import { nearest } from '../signs/nearest.js';
import { guardColumn, namedColumn, ruleOfHeader, ruleOfValue } from './identifier-guard.js';
import type { Delimiter } from './parse-delimited.js';
import { ProblemList } from './problem-list.js';
import { cutOf } from './propose-columns.js';
import { readSheet } from './read-sheet.js';
import { lineProblems, sheetTable } from './sheet-table.js';

/** One period of a unit: what it had, what was due and done, and how many people had which worst grade. */
export interface UnitTableRow {
  /** The period's number on the unit's clock. */
  readonly period: number;
  readonly unit?: string;
  /** What people call the period. */
  readonly label?: string;
  readonly patientDays?: number;
  /** Stays or patients on the unit in the period. */
  readonly present?: number;
  /** Assessments due and done. */
  readonly due?: number;
  readonly done?: number;
  /** How many people had each grade, by the category's value. */
  readonly grades?: Readonly<Record<string, number>>;
}

type CountColumn = 'patientDays' | 'present' | 'due' | 'done';
type UnitColumn = 'period' | 'unit' | 'label' | CountColumn;

export interface LoadUnitTableOptions {
  /** Our name of a column → its header in the file. */
  readonly columns?: { readonly [name in UnitColumn]?: string };
  /** Category's value → header of the column with its counts, as in `{ '0': 'none', '2': '2+' }`. */
  readonly grades?: Readonly<Record<string, string>>;
  /** Headers of columns that are not read; any other must have its place, so that none is left out unseen. */
  readonly notRead?: readonly string[];
  readonly sheet?: string;
  readonly delimiter?: Delimiter;
}

const COLUMNS: readonly UnitColumn[] = ['period', 'unit', 'label', 'patientDays', 'present', 'due', 'done'];
const COUNTS: readonly CountColumn[] = ['patientDays', 'present', 'due', 'done'];

/**
 * A unit's small table from a text file or workbook, one row a period: denominators (patient-days, people present,
 * assessments due and done), and monthly counts of grades where there are no single assessments.
 *
 * Periods are numbers, the same for the whole unit. Empty cells stay unknown; they are not 0. A label such as
 * "March 2026" is kept as it is; it is of the unit and of nobody.
 *
 * @throws InputError with every problem at once: `column-missing`, `column-not-found`, `column-not-declared`, `not-a-count`,
 * `not-a-period`, `done-above-due`, `grades-above-present`, `period-twice`, `identifier-column`, `identifier-value`, `identifier-file-name`
 * @example
 * (await loadUnitTable({ text: 'period,present,due,done\n1,16,40,31\n' }))[0]?.due // 40
 */
export async function loadUnitTable(
  source: string | { readonly text: string },
  options: LoadUnitTableOptions = {},
): Promise<readonly UnitTableRow[]> {
  const read = await readSheet(source, options);
  const { titleRows, footerRows } = cutOf(read.rows);
  const sheet = sheetTable(read, { titleRows, footerRows });
  const { cells, headers, firstRow, table } = sheet;
  const found = findUnitColumns(headers, options);
  const problems = new ProblemList();
  problems.add(...found.problems, ...lineProblems(sheet));
  for (const { header, codes, values } of table.columns) {
    const isLabel = header === found.places.get('label');
    // "March 2026" is a period of the unit; anything else that identifies stays out of labels too.
    const looked = isLabel ? values.map((value) => (ruleOfValue(value) === 'date' ? '' : value)) : values;
    const finding = guardColumn(header, looked);
    if (finding.header !== undefined) problems.add(finding.header);
    problems.addAtCodes(codes, finding.values);
  }
  const rows: UnitTableRow[] = [];
  const before = new Map<string, number>();
  for (const [at, line] of cells.entries()) {
    if (line.every((cell) => cell === '')) continue;
    const row = at + firstRow;
    const text = (header: string | undefined): string => line[headers.indexOf(header ?? '')] ?? '';
    const add = (problem: Omit<Problem, 'row'>): void => problems.add({ ...problem, row });
    const one = unitRow((name) => text(found.places.get(name)), text, options.grades ?? {}, found.places, add);
    const key = `${one.unit ?? ''}\u0000${one.period}`;
    const first = Number.isNaN(one.period) ? undefined : before.get(key);
    if (first !== undefined)
      add({
        code: 'period-twice',
        message: `Row ${first} is of the same period.`,
        mend: 'keep one row for each period of a unit.',
      });
    else before.set(key, row);
    rows.push(one);
  }
  const all = await problems.collect([table]);
  if (all.length > 0) throw new InputError([...all].sort((a, b) => (a.row ?? 0) - (b.row ?? 0)));
  return Object.freeze(rows);
}

function findUnitColumns(
  headers: readonly string[],
  { columns = {}, grades = {}, notRead = [] }: LoadUnitTableOptions,
): { places: ReadonlyMap<UnitColumn, string>; problems: Problem[] } {
  const places = new Map<UnitColumn, string>();
  const problems: Problem[] = [];
  const absent = (path: string[], header: string): void => {
    const near = nearest(
      header,
      headers.filter((known) => namedColumn(known).column !== undefined),
    );
    problems.push({
      code: 'column-not-found',
      path,
      message: `The table has no column "${header}".`,
      ...(near === undefined ? {} : { mend: `did you mean "${near}"?` }),
    });
  };
  for (const name of COLUMNS) {
    const wanted = columns[name];
    if (wanted !== undefined) {
      if (headers.includes(wanted)) places.set(name, wanted);
      else absent(['columns', name], wanted);
      continue;
    }
    // "Assessments due" is due.
    const plain = (header: string): string =>
      header
        .toLowerCase()
        .replaceAll(/[\s_-]+/g, '')
        .replace(/^assessments(?=due$|done$)/, '');
    const own = headers.find((header) => plain(header) === name.toLowerCase());
    if (own !== undefined) places.set(name, own);
  }
  for (const [value, header] of Object.entries(grades))
    if (!headers.includes(header)) absent(['grades', value], header);
  const known = new Set([...places.values(), ...Object.values(grades), ...notRead]);
  for (const header of headers.filter((one) => one !== '' && !known.has(one))) {
    const isShown = ruleOfHeader(header) === undefined;
    if (isShown)
      problems.push({
        code: 'column-not-declared',
        column: header,
        message: 'What this column holds is not said.',
        expected: `one of ${COLUMNS.join(', ')}, or a grade`,
        mend: "name it, as in columns: { patientDays: 'bed days' } or grades: { '2': '2+' }, or list it in notRead.",
      });
  }
  if (!places.has('period') && columns.period === undefined) {
    problems.push({
      code: 'column-missing',
      path: ['columns', 'period'],
      message: 'No column holds the number of the period.',
      mend: "number the periods 1, 2, 3, … and name the column, as in columns: { period: 'its name' }.",
    });
  }
  return { places, problems };
}

function unitRow(
  named: (name: UnitColumn) => string,
  text: (header: string) => string,
  grades: Readonly<Record<string, string>>,
  places: ReadonlyMap<UnitColumn, string>,
  add: (problem: Omit<Problem, 'row'>) => void,
): UnitTableRow {
  const whole = (written: string, column: string, code: string, expected: string): number | undefined => {
    if (written === '') return undefined;
    if (/^\d+$/.test(written)) return Number(written);
    add({
      code,
      column,
      message: 'This is no whole number.',
      expected,
      mend:
        code === 'not-a-period'
          ? "number the periods 1, 2, 3, … in a column of their own; the month's name can stay in the column label."
          : 'write 1204, without a sign of thousands, a decimal or a sign such as <.',
    });
    return undefined;
  };
  const period = places.has('period')
    ? whole(named('period'), places.get('period') ?? '', 'not-a-period', 'a whole number')
    : 0;
  if (period === undefined && named('period') === '')
    add({
      code: 'not-a-period',
      column: places.get('period') ?? 'period',
      message: 'The period is missing.',
      expected: 'a whole number',
    });
  const counts = Object.fromEntries(
    COUNTS.map((name) => [
      name,
      whole(named(name), places.get(name) ?? name, 'not-a-count', 'a count, or an empty cell if it is not known'),
    ]),
  ) as { [name in CountColumn]: number | undefined };
  const byGrade = Object.entries(grades).map(([value, header]): readonly [string, number | undefined] => [
    value,
    whole(text(header), header, 'not-a-count', 'a count, or an empty cell if it is not known'),
  ]);
  if (counts.done !== undefined && counts.due !== undefined && counts.done > counts.due)
    add({
      code: 'done-above-due',
      column: places.get('done') ?? 'done',
      message: 'More assessments were done than were due.',
      mend: 'correct one of the two counts.',
    });
  const graded = byGrade.reduce((sum, [, count]) => sum + (count ?? 0), 0);
  if (counts.present !== undefined && graded > counts.present)
    add({
      code: 'grades-above-present',
      column: places.get('present') ?? 'present',
      message: 'More people have a grade than were present.',
      mend: 'count each person once, with the worst grade of the period.',
    });
  const known = byGrade.filter((entry): entry is readonly [string, number] => entry[1] !== undefined);
  return Object.freeze({
    period: period ?? Number.NaN,
    ...(named('unit') === '' ? {} : { unit: named('unit') }),
    ...(named('label') === '' ? {} : { label: named('label') }),
    ...Object.fromEntries(Object.entries(counts).filter(([, count]) => count !== undefined)),
    ...(known.length === 0 ? {} : { grades: Object.freeze(Object.fromEntries(known)) }),
  });
}

import { InputError, type Problem } from '../shared/input-error.js';
import { ruleOfHeader } from './identifier-guard.js';

/** In which order a date is written where its numbers do not tell. */
export type DateOrder = 'year-month-day' | 'month-day-year' | 'day-month-year';

/** A row of the sheet and its number there. */
export interface Row {
  readonly line: readonly string[];
  readonly row: number;
}

const DAY = 86_400_000;
const MONTH_NAMES = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec'];

/** Days since 1970 for each row of each date column; `undefined` for an empty cell. */
export function readDates(
  rows: readonly Row[],
  headers: readonly string[],
  at: (header: string) => number,
  order: DateOrder | undefined,
  problems: Problem[],
): Map<string, (number | undefined)[]> {
  const dates = new Map<string, (number | undefined)[]>();
  for (const header of headers) {
    const parts = rows.map(({ line }) => dateParts(line[at(header)] ?? ''));
    const known = order ?? orderOf(parts);
    if (known === undefined) {
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
        const day = part === 'bad' ? Number.NaN : dayNumber(part, known);
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

/** How the unit counts its periods. */
export interface PeriodOptions {
  readonly periodDays?: number;
  readonly periodStart?: string;
}

/** Numbers days on the unit's clock: by months of the calendar, or by equal stretches of days. */
export function periodClock(days: readonly (number | undefined)[], options: PeriodOptions): (day: number) => number {
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

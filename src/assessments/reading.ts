import type { Problem } from '../shared/input-error.js';
import { convertUnit, unitCodeOf, unitsLike } from '../signs/measuring-unit.js';
import type { Category, Scale } from '../signs/sign.js';
import { MISSING_REASONS, type MissingReason, missingReasonOf } from './missing-reason.js';

type RowProblem = Omit<Problem, 'row'>;

/** Where a problem stands: a column of the source, or an option. */
export type Where = Pick<Problem, 'column' | 'path'>;

export const COMPARATORS = ['<', '<=', '>=', '>'] as const;

export type Comparator = (typeof COMPARATORS)[number];

/** What a cell says once it is understood. */
export interface Reading {
  /** Index in the scale's categories, −1 for a measured or missing value. */
  readonly category: number;
  /** The measured value in the scale's unit or the category's score, `NaN` where there is none. */
  readonly number: number;
  readonly comparator?: Comparator;
  readonly missing?: MissingReason;
  /** The unit as the source spells it, where UCUM spells it otherwise. */
  readonly spelledUnit?: string;
}

export interface ReadingCells {
  readonly value?: string;
  readonly comparator?: string;
  readonly unit?: string;
  readonly missing?: string;
}

export interface ReadingWhere {
  readonly value: Where;
  readonly comparator: Where;
  readonly unit: Where;
  readonly missing: Where;
}

export interface UnderstoodReading {
  readonly reading?: Reading;
  readonly problems: readonly RowProblem[];
}

/** The longest words of a category have half as many letters. The time that the forms below take grows with the square. */
const LONGEST_READING = 120;
/** More digits may be a date as a spreadsheet stores it, or a number by which a person is found: they are not repeated. */
const MOST_DIGITS_SHOWN = 4;

const NONE: Reading = { category: -1, number: Number.NaN };
const MARKS = /^(?:na|n\/a|n\.a\.|nan|null|none given|-+|–|—|\.+|\?+|x|#n\/a)$/i;
/** `L2 R3`, `R: 1+, L: 2+`. */
const TWO_LIMBS =
  /^(?:l|left)\W*[\d+<>.]+\W*(?:r|right)\W*[\d+<>.]+$|^(?:r|right)\W*[\d+<>.]+\W*(?:l|left)\W*[\d+<>.]+$/i;
const GRADE = /^(?:\+\s*)?(\d+(?:[.,]\d+)?)\s*\+?(?:\s*\/\s*(\d+)\s*\+?)?$/;
const MEASURED = /^([<>]=?|≤|≥)?\s*([+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+)\s*([a-zA-Z°%"[{/][\w°%"[\]{}/²\s]*)?$/;

/**
 * Understands one reading on its scale: `2+`, `+2`, `2/4`, `trace`, a category's value or words on a graded scale;
 * `2.5`, `2,5`, `<2`, `>15`, `24 cm` on a measured one. A reason may stand in the value's own cell.
 */
export function understandReading(cells: ReadingCells, scale: Scale, where: ReadingWhere): UnderstoodReading {
  const { value, missing } = cells;
  const reason = missing === undefined ? undefined : missingReasonOf(missing);
  if (missing !== undefined && reason === undefined) return { problems: [unknownReason(where.missing)] };
  const reasonInValue = value === undefined ? undefined : missingReasonOf(value);
  if (value !== undefined && reasonInValue === undefined && reason !== undefined) {
    return {
      problems: [
        {
          code: 'value-and-missing',
          ...where.missing,
          message: 'There is a value, and a reason why there is none.',
          mend: 'keep the value or the reason.',
        },
      ],
    };
  }
  if (reason !== undefined && reasonInValue !== undefined && reason !== reasonInValue) {
    return {
      problems: [
        {
          code: 'two-reasons',
          ...where.missing,
          message: 'Two different reasons are given.',
          mend: 'keep one of them.',
        },
      ],
    };
  }
  const why = reason ?? reasonInValue;
  if (why !== undefined) return { reading: { ...NONE, missing: why }, problems: [] };
  if (value === undefined) return { reading: NONE, problems: [] };
  if (value.length > LONGEST_READING) {
    return {
      problems: [
        {
          code: 'too-long',
          ...where.value,
          message: 'This is longer than any reading.',
          expected: `at most ${LONGEST_READING} letters`,
        },
      ],
    };
  }
  if (TWO_LIMBS.test(value)) {
    return {
      problems: [
        {
          code: 'two-limbs',
          ...where.value,
          message: 'One cell holds readings of two limbs.',
          mend: 'write a row or a column for each side.',
        },
      ],
    };
  }
  if (MARKS.test(value)) return { problems: [unclearMark(where.value)] };
  return scale.categories === undefined
    ? understandMeasured(value, cells, scale, where)
    : understandGrade(value, cells, scale, scale.categories, where);
}

function understandGrade(
  value: string,
  cells: ReadingCells,
  scale: Scale,
  categories: readonly Category[],
  where: ReadingWhere,
): UnderstoodReading {
  const problems: RowProblem[] = [];
  const expected = categories.map((category) => `${category.value} (${category.words})`).join(', ');
  if (cells.comparator !== undefined || /^[<>≤≥]/.test(value)) {
    problems.push({
      code: 'comparator-on-grade',
      ...(cells.comparator === undefined ? where.value : where.comparator),
      message: 'A grade cannot be below or above a limit.',
      expected,
    });
    return { problems };
  }
  if (cells.unit !== undefined) {
    problems.push({
      code: 'unit-on-grade',
      ...where.unit,
      message: `The scale "${scale.label}" has grades and takes no unit.`,
      expected: 'an empty cell',
    });
  }
  const word = value.toLowerCase().replaceAll(/[\s_]+/g, ' ');
  const named = categories.findIndex(
    (category) =>
      [category.value, category.words].some((known) => known.toLowerCase() === word) ||
      hyphened(category.value) === hyphened(word),
  );
  const grade = named >= 0 ? null : GRADE.exec(value);
  const index =
    named >= 0 ? named : grade === null ? wordIndex(word, categories) : gradeIndex(grade[1] ?? '', categories);
  const top = Math.max(...categories.map(({ value: known }) => Number(known)).filter(Number.isFinite));
  if (grade?.[2] !== undefined && Number(grade[2]) !== top) {
    problems.push({
      code: 'denominator-contradicts-scale',
      ...where.value,
      message: `The reading is written as a part of ${isShown(grade[2]) ? grade[2] : 'another number'}, but the scale "${scale.label}" (${scale.id}) ends at ${Number.isFinite(top) ? top : 'no number'}.`,
      mend: 'check which scale was used; the same digit means something else on another.',
    });
  } else if (index < 0) {
    const shown = grade?.[1] === undefined || !isShown(grade[1]) ? 'The value' : `Grade ${grade[1]}`;
    problems.push({
      code: 'off-scale',
      ...where.value,
      message: `${shown} is not on the scale "${scale.label}" (${scale.id}).`,
      expected,
      ...mendOffScale(word, scale),
    });
  }
  if (problems.length > 0) return { problems };
  return { reading: { category: index, number: categories[index]?.score ?? Number.NaN }, problems: [] };
}

function mendOffScale(word: string, scale: Scale): { mend?: string } {
  if (word === 'trace' || word === 'tr')
    return { mend: `use the scale with trace (${scale.id}.trace) if trace was agreed on.` };
  const number = Number(word);
  // Days since 1900, as spreadsheets count them: 36,526 is the first day of 2000.
  if (Number.isInteger(number) && number > 36_526 && number < 60_000)
    return {
      mend: 'a number of this size is how a spreadsheet stores a date; type the reading again in a column formatted as text.',
    };
  return {};
}

function gradeIndex(digits: string, categories: readonly Category[]): number {
  const grade = Number(digits.replace(',', '.'));
  return categories.findIndex((category) => /^[\d.]+$/.test(category.value) && Number(category.value) === grade);
}

/** `tr` for trace; yes and no where the scale has only 0 and 1. */
function wordIndex(word: string, categories: readonly Category[]): number {
  if (word === 'tr' || word === 'tr.') return categories.findIndex((category) => category.value === 'trace');
  if (categories.length === 2 && categories[0]?.value === '0' && categories[1]?.value === '1') {
    if (/^(?:no|n|false)$/.test(word)) return 0;
    if (/^(?:yes|y|true)$/.test(word)) return 1;
  }
  return -1;
}

function hyphened(word: string): string {
  return word.toLowerCase().replaceAll(/[\s_-]+/g, '-');
}

function understandMeasured(value: string, cells: ReadingCells, scale: Scale, where: ReadingWhere): UnderstoodReading {
  const problems: RowProblem[] = [];
  const unit = scale.unit ?? '';
  const parts = MEASURED.exec(value);
  if (parts === null) {
    problems.push({
      code: 'not-a-number',
      ...where.value,
      message: `The value is no number for "${scale.label}" (${scale.id}).`,
      expected: `a number in ${unit}, such as 2.5, or a bound such as <2`,
    });
    return { problems };
  }
  const written = parts[1] === undefined ? undefined : comparatorOf(parts[1]);
  const given = cells.comparator === undefined ? undefined : comparatorOf(cells.comparator);
  if (cells.comparator !== undefined && given === undefined) {
    problems.push({
      code: 'unknown-comparator',
      ...where.comparator,
      message: 'This is no comparator.',
      expected: `one of ${COMPARATORS.join(' ')}, or an empty cell`,
    });
  } else if (written !== undefined && given !== undefined && written !== given) {
    problems.push({
      code: 'two-comparators',
      ...where.comparator,
      message: 'The value and its comparator say different things.',
      mend: 'keep one of the two.',
    });
  }
  const units = unitsOf(parts[3]?.trim(), cells.unit, unit, where);
  problems.push(...units.problems);
  if (problems.length > 0) return { problems };
  // Adding 0 makes 0 of −0.
  const number = Number((parts[2] ?? '').replace(',', '.')) + 0;
  const converted = units.from === undefined ? number : convertUnit(number, units.from, unit);
  if (converted === undefined) return { problems };
  const outside = outsideRange(converted, number, scale, unit, where.value);
  if (outside !== undefined) return { problems: [outside] };
  const comparator = written ?? given;
  return {
    reading: {
      category: -1,
      number: converted,
      ...(comparator === undefined ? {} : { comparator }),
      ...(units.spelled === undefined ? {} : { spelledUnit: units.spelled }),
    },
    problems: [],
  };
}

function unitsOf(
  suffix: string | undefined,
  cell: string | undefined,
  unit: string,
  where: ReadingWhere,
): { from?: string; spelled?: string; problems: RowProblem[] } {
  const problems: RowProblem[] = [];
  const codes: string[] = [];
  let spelled: string | undefined;
  for (const [word, place] of [
    [suffix, where.value],
    [cell, where.unit],
  ] as const) {
    if (word === undefined || word === '') continue;
    const code = unitCodeOf(word);
    if (code === undefined || convertUnit(1, code, unit) === undefined) {
      problems.push({
        code: 'unit-does-not-fit',
        ...place,
        message: `The unit does not fit what is measured in ${unit}.`,
        expected: `one of ${[unit, ...unitsLike(unit)].join(', ')}`,
      });
    } else {
      codes.push(code);
      if (code !== word) spelled = word;
    }
  }
  if (codes.length === 2 && codes[0] !== codes[1]) {
    problems.push({
      code: 'two-units',
      ...where.unit,
      message: 'The value and its unit say different things.',
      mend: 'keep one of the two.',
    });
  }
  const [from] = codes;
  return { problems, ...(from === undefined ? {} : { from }), ...(spelled === undefined ? {} : { spelled }) };
}

function outsideRange(
  value: number,
  written: number,
  scale: Scale,
  unit: string,
  where: Where,
): RowProblem | undefined {
  const { range } = scale;
  if (range === undefined || (value >= range.lowest && value <= range.highest)) return undefined;
  const fits = (candidate: number | undefined): boolean =>
    candidate !== undefined && candidate >= range.lowest && candidate <= range.highest;
  const other = unitsLike(unit).find((candidate) => fits(convertUnit(written, candidate, unit)));
  return {
    code: value < range.lowest ? 'below-range' : 'above-range',
    ...where,
    message: `${isShown(String(written)) ? written : 'The value'} is ${value < range.lowest ? 'below' : 'above'} what can be written down for "${scale.label}" (${scale.id}).`,
    expected: `${range.lowest} to ${range.highest} ${unit}`,
    mend:
      other === undefined || !isShown(String(written))
        ? 'look at the sheet again.'
        : `look at the sheet again; if it was measured in ${other}, write ${convertUnit(written, other, unit)}.`,
  };
}

function isShown(number: string): boolean {
  return number.replaceAll(/\D/g, '').length <= MOST_DIGITS_SHOWN;
}

function comparatorOf(word: string): Comparator | undefined {
  const plain = word.trim().replace('≤', '<=').replace('≥', '>=');
  return COMPARATORS.find((comparator) => comparator === plain);
}

function unknownReason(where: Where): RowProblem {
  return {
    code: 'unknown-reason',
    ...where,
    message: 'This is no reason for a missing value.',
    expected: `one of ${MISSING_REASONS.join(', ')}, or an empty cell`,
  };
}

function unclearMark(where: Where): RowProblem {
  return {
    code: 'unclear-mark',
    ...where,
    message: 'A mark stands in place of a value, and it can mean several things.',
    expected: 'a value, an empty cell, or a reason',
    mend: `empty the cell, or write why there is no value: ${MISSING_REASONS.join(', ')}.`,
  };
}

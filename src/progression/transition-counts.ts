import { median } from 'simple-statistics';
import type { Assessments } from '../assessments/assessments.js';
import type { MadeFor } from '../shared/audience.js';
import { InputError, refuse } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import { checkChoice } from '../shared/options.js';
import { type Cell, formatCount, formatNumber, Table } from '../shared/table.js';
import { oneScale } from '../signs/scale-mapping.js';
import type { Category, Scale } from '../signs/sign.js';

/** How often a grade was followed by a grade, and the days between. */
export interface TransitionCounts extends MadeFor {
  readonly scale: Scale;
  readonly categories: readonly Category[];
  /** `counts[from][to]`, in the order of the scale; `NaN` where hidden. */
  readonly counts: readonly (readonly number[])[];
  /** Which pairs were counted. */
  readonly pairs: 'successive' | 'first and last';
  /** Pairs counted. */
  readonly transitions: number;
  readonly patients: number;
  /** Courses (a site of a limb of a patient) with at least one recorded grade. */
  readonly courses: number;
  /** Days between the two readings of a pair; `NaN` where there is no pair. */
  readonly gapDays: { readonly median: number; readonly lowest: number; readonly highest: number };
  readonly table: Table;
  readonly notes: readonly Note[];
}

export interface TransitionCountsOptions {
  /** Keep only this sign, where the assessments hold several. */
  readonly sign?: string;
  /** Every grade with the one before it, or the last of each course with the first, one pair a course. Default `'successive'`. */
  readonly pairs?: 'successive' | 'first and last';
  /** Where a limb was read more than once on a day: refuse, or take the reading that stands first in the file and say how many were left out. Default `'refuse'`. */
  readonly severalReadings?: 'refuse' | 'first in file';
}

/**
 * Counts of grades by the grade recorded before on the same site of the same limb.
 *
 * n(i, j) = number of pairs of successive recorded grades with grade i first and grade j next, over the courses of
 * all limbs, where a course is the recorded grades of one site of one limb of one patient in the order of their days. With `pairs: 'first and last'` a course gives one pair, its first and its last grade.
 *
 * Missing and empty readings are passed over: the grades before and after them are successive. A course of one
 * reading gives no pair. Counts are of pairs, not of patients; they describe what was read, error of reading
 * included.
 *
 * @throws InputError `scales-differ`, `no-scale` (readings of no or of several scales), `not-graded` (a measured
 * value), `no-day` (a grade without its day), `several-readings-a-day` (two grades of one course on one day), `unknown-choice`.
 * @example
 * transitionCounts(assessments, { sign: 'edema-overall' }).counts // [[1097, 116, 23], [55, 195, 50], [2, 24, 71]]
 */
export function transitionCounts(assessments: Assessments, options: TransitionCountsOptions = {}): TransitionCounts {
  const pairs = checkChoice('pairs', options.pairs ?? 'successive', ['successive', 'first and last']);
  const several = checkChoice('severalReadings', options.severalReadings ?? 'refuse', ['refuse', 'first in file']);
  const chosen = options.sign === undefined ? assessments : assessments.where({ sign: options.sign });
  const scale = oneScale(chosen.scales);
  const { categories } = scale;
  if (categories === undefined)
    throw refuse('not-graded', ['assessments'], `${scale.label} (${scale.id}) is measured and has no grades to count.`);
  const { courses, leftOut } = coursesOf(chosen, several);
  const counts = categories.map(() => categories.map(() => 0));
  const gaps: number[] = [];
  const patients = new Set<number>();
  for (const rows of courses) {
    patients.add(chosen.patient.codes[rows[0]!]!);
    const read = pairs === 'successive' || rows.length < 2 ? rows : [rows[0]!, rows.at(-1)!];
    read.forEach((row, at) => {
      const before = read[at - 1];
      if (before === undefined) return;
      counts[chosen.category[before]!]![chosen.category[row]!]!++;
      gaps.push(chosen.day[row]! - chosen.day[before]!);
    });
  }
  const none = gaps.length === 0;
  const gapDays = {
    median: none ? Number.NaN : median(gaps),
    lowest: none ? Number.NaN : Math.min(...gaps),
    highest: none ? Number.NaN : Math.max(...gaps),
  };
  const notes = [
    information(
      'transitions',
      none
        ? 'No limb has two recorded grades, so there is nothing to count.'
        : `${formatCount(gaps.length)} pairs of ${pairs === 'successive' ? 'successive readings' : 'a first and a last reading'} of ${formatCount(patients.size)} patients, ` +
            `${formatNumber(gapDays.median, 0)} days apart in the middle (${formatNumber(gapDays.lowest, 0)} to ${formatNumber(gapDays.highest, 0)}).`,
    ),
    ...(leftOut > 0
      ? [
          information(
            'one-reading-a-day',
            `${formatCount(leftOut)} further readings of a limb on a day on which it was read already were left out; the one that stands first in the file counts.`,
          ),
        ]
      : []),
  ];
  return transitionResultOf(
    {
      scale,
      categories,
      counts,
      pairs,
      transitions: gaps.length,
      patients: patients.size,
      courses: courses.length,
      gapDays,
    },
    notes,
  );
}

/** The counts with their table and notes. */
export function transitionResultOf(
  counted: Omit<TransitionCounts, 'table' | 'notes'>,
  notes: readonly Note[],
): TransitionCounts {
  return Object.freeze({ ...counted, table: tableOf(counted, notes), notes });
}

/** The rows of each course with a recorded grade, one a day, by day, and how many more there were on a day. */
function coursesOf(
  assessments: Assessments,
  several: 'refuse' | 'first in file',
): { readonly courses: readonly (readonly number[])[]; readonly leftOut: number } {
  const { patient, limb, site, category, day } = assessments;
  const byCourse = new Map<string, number[]>();
  let undated = 0;
  for (let row = 0; row < assessments.length; row++) {
    if (category[row]! < 0) continue;
    if (Number.isNaN(day[row])) undated++;
    const course = `${patient.codes[row]}/${limb.codes[row]}/${site.codes[row]}`;
    const rows = byCourse.get(course);
    if (rows === undefined) byCourse.set(course, [row]);
    else rows.push(row);
  }
  if (undated > 0) {
    throw refuse(
      'no-day',
      ['assessments', 'day'],
      `${formatCount(undated)} grades have no day, so what came before what is not known.`,
      'give the day of each assessment.',
    );
  }
  let leftOut = 0;
  const courses = [...byCourse.values()].map((rows) => {
    // Equal days keep the order of the file: sorting is stable.
    rows.sort((a, b) => day[a]! - day[b]!);
    const first = rows.filter((row, at) => at === 0 || day[row] !== day[rows[at - 1]!]);
    leftOut += rows.length - first.length;
    return first;
  });
  if (leftOut > 0 && several === 'refuse') {
    throw new InputError([
      {
        code: 'several-readings-a-day',
        path: ['assessments'],
        message: `On ${formatCount(leftOut)} occasions a limb was read more than once on a day, so no reading follows another.`,
        mend: "keep one reading a day, as with assessments.where({ assessor: 'A' }) or assessments.where({ round: '1' }), or ask for severalReadings: 'first in file'.",
      },
    ]);
  }
  return { courses, leftOut };
}

function tableOf(counted: Omit<TransitionCounts, 'table' | 'notes'>, notes: readonly Note[]): Table {
  const { scale, categories, counts, pairs } = counted;
  const shown = (count: number): Cell => (Number.isNaN(count) ? 'hidden' : count);
  const head = (category: Category): string =>
    category.value === category.words ? category.value : `${category.value} (${category.words})`;
  return new Table(
    `How often ${pairs === 'successive' ? 'a grade was followed by a grade' : 'a first grade ended in a last grade'} (${scale.label})`,
    [
      { key: 'from', label: 'Read first', kind: 'text' },
      ...categories.map((category, at) => ({
        key: `to${at}`,
        label: `${pairs === 'successive' ? 'then' : 'last'} ${category.value}`,
        kind: 'count' as const,
      })),
    ],
    categories.map((category, from) => ({
      from: head(category),
      ...Object.fromEntries(categories.map((_, to) => [`to${to}`, shown(counts[from]![to]!)])),
    })),
    notes,
    counted,
  );
}

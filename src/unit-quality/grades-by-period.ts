import type { Assessments } from '../assessments/assessments.js';
import type { MadeFor } from '../shared/audience.js';
import { gradeLabel } from '../shared/grade-label.js';
import type { Note } from '../shared/note.js';
import { Table } from '../shared/table.js';
import type { UnitCounts } from './unit-counts.js';
import { scaleSegments, type UnitPeriodOptions, unitPeriods, WORST_IN_PERIOD } from './unit-periods.js';

/** The grades found in one period, each person counted once. */
export interface PeriodGrades {
  readonly label: string;
  /** People per grade, in the scale's order; `null` where numbers are too small to show. */
  readonly counts: readonly number[] | null;
  /** People who were there and were not assessed; `NaN` where hidden. */
  readonly notAssessed: number;
}

/** A stretch of periods on one scale. */
export interface GradesSegment {
  readonly scaleLabel: string;
  /** Words of the grades, lowest first. */
  readonly grades: readonly string[];
  /** The grades as they are written, joined ones as "2–4"; default the words. */
  readonly values?: readonly string[];
  readonly periods: readonly PeriodGrades[];
}

/** The grades of one sign on a unit, period by period; a new segment begins where the scale changes. */
export interface GradesByPeriod extends MadeFor {
  readonly signLabel: string;
  /** What is counted, in the plural: "patients", "stays". */
  readonly counted: string;
  /** How a person with several readings was counted: "worst reading in the period". */
  readonly rule: string;
  readonly segments: readonly GradesSegment[];
}

/** What the chart draws, with its table and notes. */
export interface GradesByPeriodResult extends GradesByPeriod {
  readonly table: Table;
  readonly notes: readonly Note[];
}

/**
 * The shares of all grades on a unit by period: each stay once with its worst grade, "not assessed" beside them.
 * Grades are not averaged; scales are not joined.
 *
 * @throws InputError what `unitPeriods` throws.
 */
export function gradesByPeriod(
  assessments: Assessments | UnitCounts,
  options: UnitPeriodOptions,
): GradesByPeriodResult {
  const unit = unitPeriods(assessments, options);
  const segments = scaleSegments(unit.periods).map(({ scale, periods }) => ({
    scaleLabel: scale.label,
    values: scale.categories!.map((category) => category.value),
    grades: scale.categories!.map(gradeLabel),
    periods: periods.map((period) => ({
      label: period.label,
      counts: period.worst,
      notAssessed: period.present - period.assessed,
    })),
  }));
  const { signLabel, counted } = unit;
  return gradesResultOf({ signLabel, counted, rule: WORST_IN_PERIOD, segments }, unit.notes);
}

/** The grades with their table and notes. */
export function gradesResultOf(grades: GradesByPeriod, notes: readonly Note[]): GradesByPeriodResult {
  return { ...grades, table: tableOf(grades, notes), notes };
}

function tableOf(result: GradesByPeriod, notes: readonly Note[]): Table {
  const { signLabel, counted, segments } = result;
  const valuesOf = ({ values, grades }: GradesSegment): readonly string[] => values ?? grades;
  const grades = [...new Set(segments.flatMap(valuesOf))];
  return new Table(
    `${signLabel}: how many ${counted} had each grade as their worst, period by period?`,
    [
      { key: 'period', label: 'period', kind: 'text' },
      { key: 'scale', label: 'scale', kind: 'text' },
      ...grades.map((grade) => ({ key: `grade ${grade}`, label: `grade ${grade}`, kind: 'count' as const })),
      { key: 'notAssessed', label: 'not assessed', kind: 'count' },
      { key: 'present', label: `${counted} in all`, kind: 'count' },
    ],
    segments.flatMap((segment) =>
      segment.periods.map((period) => ({
        period: period.label,
        scale: segment.scaleLabel,
        ...Object.fromEntries(
          valuesOf(segment).map((grade, at) => [`grade ${grade}`, period.counts?.[at] ?? 'hidden']),
        ),
        notAssessed: period.counts === null ? 'hidden' : period.notAssessed,
        present:
          period.counts === null ? 'hidden' : period.counts.reduce((sum, count) => sum + count, period.notAssessed),
      })),
    ),
    notes,
    result,
  );
}

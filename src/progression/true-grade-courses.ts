import type { Assessments } from '../assessments/assessments.js';
import type { MeasurementError } from '../measurement-error/measurement-error-of.js';
import type { ReadingError } from '../measurement-error/reading-error.js';
import { type HiddenPositionFit, hiddenPositionFit } from '../models/hidden-position-fit.js';
import { hiddenStates } from '../models/hidden-states.js';
import type { ValueWithLimits } from '../models/intensities.js';
import type { MadeFor } from '../shared/audience.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import type { LongWorkOptions } from '../shared/options.js';
import { Table } from '../shared/table.js';
import { type LimbSeries, limbSeriesOf } from './limb-series.js';

export interface TrueGradeOptions extends LongWorkOptions {
  /** Which way limbs can move: `'both'` (the default), or one way where nothing else makes sense. */
  readonly changes?: 'both' | 'up' | 'down';
  readonly seed?: number;
}

/** Days in a month: intensities a month are numbers near 1, where the optimizer works best. */
const DAYS = 30.4375;

/** What all readings of a limb-site, before and after, say about its true grade at a visit. */
export interface TrueGradeVisit {
  readonly day: number;
  /** P(true grade), in the order of `grades`. */
  readonly chances: readonly number[];
  readonly readings: readonly { readonly assessor: string; readonly words: string; readonly grade: number }[];
}

export interface TrueGradeCourse extends MadeFor {
  readonly patient: string;
  readonly limb: string;
  readonly site: string;
  readonly visits: readonly TrueGradeVisit[];
}

export class TrueGradeCourses {
  readonly kind = 'true-grade-courses';

  constructor(
    readonly signLabel: string,
    readonly scaleLabel: string,
    /** Words of the grades the models know, lowest first. */
    readonly grades: readonly string[],
    readonly courses: readonly TrueGradeCourse[],
    readonly fit: HiddenPositionFit,
    /** Days in the unit of time of `fit`. */
    readonly daysPerUnit: number,
    readonly notes: readonly Note[],
  ) {
    Object.freeze(this);
  }

  /** How long limbs stay in each grade before they leave it, and how often they move on. */
  get table(): Table {
    const cells = (name: string, value: ValueWithLimits | undefined, factor = 1): Record<string, number> => ({
      [name]: factor * (value?.value ?? Number.NaN),
      [`${name}Lower`]: factor * (value?.lower ?? Number.NaN),
      [`${name}Upper`]: factor * (value?.upper ?? Number.NaN),
    });
    return new Table(
      `${this.signLabel}: how long do limbs stay in each true grade? (days; from irregular visits and readings with error)`,
      [
        { key: 'grade', label: 'true grade', kind: 'text' },
        { key: 'stay', label: 'days in it', kind: 'number', decimals: 0 },
        { key: 'stayLower', label: 'from', kind: 'number', decimals: 0 },
        { key: 'stayUpper', label: 'to', kind: 'number', decimals: 0 },
        { key: 'first', label: 'share at the first visit', kind: 'percent' },
        { key: 'firstLower', label: 'from', kind: 'percent' },
        { key: 'firstUpper', label: 'to', kind: 'percent' },
      ],
      this.grades.map((grade, at) => ({
        grade,
        ...cells('stay', this.fit.meanTimesInGrade[at], this.daysPerUnit),
        ...cells('first', this.fit.initialGrades[at]),
      })),
      this.notes,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

/**
 * The true grade of each limb-site over time, from irregular visits by several assessors: a hidden Markov model of positions whose reading model is the agreement
 * study's, held fixed.
 *
 * Each grade is cut into sub-states; a position moves to its neighbors in continuous time; P(true grade at a visit | all readings of the limb) sums the sub-states (smoothed). Mean times in a grade
 * follow from the fitted intensities.
 *
 * Missing values: visits without a grade are passed over. Readings by assessors whom the study did not see, and grades it never saw, are left out with a note.
 *
 * @throws InputError `grades-needed`, `different-scale`, `too-few-series`; what `hiddenPositionFit` throws.
 * @example (await trueGradeCourses(assessments, error)).table
 * Source: Jackson CH and others. J R Stat Soc D 2003;52:193–209, doi:10.1111/1467-9884.00351.
 */
export async function trueGradeCourses(
  assessments: Assessments,
  error: MeasurementError,
  options: TrueGradeOptions = {},
): Promise<TrueGradeCourses> {
  if (error.kind !== 'grades' || error.reading === undefined || error.subject === undefined)
    throw refuse(
      'grades-needed',
      ['error'],
      'The true grade needs the reading model of a graded sign.',
      'see the notes of the error for why there is none.',
    );
  const here = assessments.where({ sign: error.subject.sign, scale: error.subject.scale });
  if (here.length === 0)
    throw refuse(
      'different-scale',
      ['assessments'],
      `The error was measured on the scale ${error.subject.scale}; these assessments hold none on it.`,
    );
  const { reading } = error;
  const series = limbSeriesOf(here, here.scales[0]!);
  const { columns, kept, leftOut } = columnsOf(series, reading);
  if (kept.length < 10)
    throw refuse(
      'too-few-series',
      ['assessments'],
      `${kept.length} limb-sites can be followed; at least 10 are needed to learn how grades change.`,
    );
  const fit = await hiddenPositionFit(columns, {
    grades: reading.grades.length,
    reading: reading.continuum.reading,
    changes: options.changes ?? 'both',
    ...(options.seed === undefined ? {} : { seed: options.seed }),
    ...(options.signal === undefined ? {} : { signal: options.signal }),
    ...(options.progress === undefined ? {} : { progress: options.progress }),
  });
  const states = hiddenStates(columns, fit.model);
  const chancesAt = new Map<string, number[]>();
  for (let visit = 0; visit < states.time.length; visit++) {
    const chances = new Array<number>(reading.grades.length).fill(0);
    fit.stateGrades.forEach((grade, state) => {
      chances[grade]! += states.smoothed[visit * states.states + state]!;
    });
    chancesAt.set(`${states.subject[visit]}/${Math.round(states.time[visit]! * DAYS)}`, chances);
  }
  const courses = kept.map((one, subject): TrueGradeCourse => {
    const days = [...new Set(one.readings.map(({ day }) => day))];
    return {
      patient: one.patient,
      limb: one.limb,
      site: one.site,
      visits: days.flatMap((day) => {
        const chances = chancesAt.get(`${subject}/${Math.round(day)}`);
        if (chances === undefined) return [];
        const readings = one.readings
          .filter((written) => written.day === day)
          .map(({ assessor, words, step }) => ({ assessor, words, grade: reading.gradeOf[step]! }));
        return [{ day, chances, readings }];
      }),
    };
  });
  return new TrueGradeCourses(
    error.subject.signLabel,
    error.subject.scaleLabel,
    reading.grades.map((grade) => grade.words),
    courses,
    fit,
    DAYS,
    [
      ...(fit.converged ? [] : [caution('not-converged', `The model did not converge: ${fit.how}`)]),
      ...fit.notes,
      ...(leftOut > 0
        ? [
            information(
              'readings-left-out',
              `${leftOut} readings by assessors or of grades that the agreement study did not see were left out.`,
            ),
          ]
        : []),
      caution(
        'not-for-one-person',
        'A true grade is the consensus that these assessors would reach; it is not for the decision about the person in front of you.',
      ),
    ],
  );
}

function columnsOf(
  series: readonly LimbSeries[],
  reading: ReadingError,
): {
  columns: { subject: number[]; time: number[]; category: number[]; reader: number[] };
  kept: LimbSeries[];
  leftOut: number;
} {
  const readers = new Map(reading.assessors.map((assessor, at) => [assessor, at]));
  const columns = { subject: [] as number[], time: [] as number[], category: [] as number[], reader: [] as number[] };
  const kept: LimbSeries[] = [];
  let leftOut = 0;
  for (const one of series) {
    const usable = one.readings.filter(({ assessor, step }) => readers.has(assessor) && reading.gradeOf[step]! >= 0);
    leftOut += one.readings.length - usable.length;
    if (new Set(usable.map(({ day }) => day)).size < 2) continue;
    for (const { day, assessor, step } of usable) {
      columns.subject.push(kept.length);
      columns.time.push(day / DAYS);
      columns.category.push(reading.gradeOf[step]!);
      columns.reader.push(readers.get(assessor)!);
    }
    kept.push(one);
  }
  return { columns, kept, leftOut };
}

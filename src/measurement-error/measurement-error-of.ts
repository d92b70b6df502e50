import { smallestDetectableChange } from '../agreement/smallest-detectable-change.js';
import { standardErrorOfMeasurement } from '../agreement/standard-error-of-measurement.js';
import type { Ratings, RatingsSubject } from '../ratings/ratings.js';
import type { MadeFor } from '../shared/audience.js';
import type { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions, type IntervalOptions } from '../shared/options.js';
import { type CrossAssessorMatrix, crossAssessorMatrix } from './cross-assessor-matrix.js';
import { type GradeShifts, gradeShifts } from './grade-shifts.js';
import { type ReadingError, readingErrorOf } from './reading-error.js';

export interface MeasurementErrorOptions extends IntervalOptions {
  /** What the readings are, where they come without a sign. A grade is not a length unless you say so here. */
  readonly as?: 'grades' | 'lengths';
  /** When the repeat readings were made; with `'another day'` the error between days is known. Default `'same day'`. */
  readonly repeatsMade?: 'same day' | 'another day';
  /** Count a grade at an end of the scale that was read fewer than ten times with its neighbor, so that chances of change can be worked out. Default false. */
  readonly mergeRareGrades?: boolean;
}

/** What the error of a graded sign is known by: what a second assessor reads, given what the first read. */
export interface GradeError extends MadeFor {
  readonly kind: 'grades';
  readonly subject: RatingsSubject | undefined;
  /** Codes of who read in the study; absent where they are not known. */
  readonly assessors?: readonly string[];
  readonly matrix: CrossAssessorMatrix;
  /** How many grades apart two readings of the same finding are: by different assessors, and by one assessor twice. */
  readonly differentAssessor: GradeShifts;
  readonly sameAssessor: GradeShifts | undefined;
  /** How each assessor reads: tendency, spread, slips. Absent where the study cannot tell; the notes say why. */
  readonly reading: ReadingError | undefined;
  readonly confidenceLevel: number;
  readonly notes: readonly Note[];
}

/** What the error of seconds and lengths is known by, in the sign's unit. */
export interface LengthError extends MadeFor {
  readonly kind: 'lengths';
  readonly subject: RatingsSubject | undefined;
  /** Codes of who read in the study; absent where they are not known. */
  readonly assessors?: readonly string[];
  readonly standardError: { readonly differentAssessor: Estimate; readonly sameAssessor: Estimate | undefined };
  readonly smallestDetectableChange: {
    readonly differentAssessor: Estimate;
    readonly sameAssessor: Estimate | undefined;
  };
  readonly confidenceLevel: number;
  readonly notes: readonly Note[];
}

/** The error of measurement of one sign on one scale, from an agreement study. */
export type MeasurementError = GradeError | LengthError;

/**
 * The error of measurement from readings of the same findings: how large a change must be before it is
 * a change in the limb.
 *
 * Lengths and seconds: SEM = √(Σₜ Σᵢ (xₜᵢ − x̄ₜ)² / Σₜ (mₜ − 1)) over the mₜ readings of target t (different assessors: the matrix;
 * same assessor: the repeats), smallest detectable change SDC = z·√2·SEM, z the normal quantile of the confidence level. Grades: the
 * matrix P(another reads j | one reads i) and the shares of pairs 0, 1, 2, … grades apart; a difference is beyond the error
 * when at most 1 − confidence level of such pairs differ as much.
 *
 * From two assessors without a reference only what one reads given the other is known, never what is read given the truth;
 * the matrix says so. All readings were made on one day: the error on another day can only be larger.
 *
 * Undefined (`NaN` with a note) where no target was read twice. Missing values: a target enters with the readings it has.
 *
 * @throws InputError `level-needed` (readings without a sign, and `as` not given), `level-not-suited` (a sign without order), `bad-option`.
 * @example measurementErrorOf(study.ratings('pulse-grade'))
 * Source: de Vet HCW and others. J Clin Epidemiol 2006;59:1033–1039, doi:10.1016/j.jclinepi.2005.10.015 (SEM, SDC).
 */
export function measurementErrorOf(ratings: Ratings, options: MeasurementErrorOptions = {}): MeasurementError {
  const { confidenceLevel } = checkIntervalOptions(options);
  const repeats = ratings.repeats.length === 0 ? undefined : ratings.withinAssessors();
  const shared = {
    subject: ratings.subject,
    confidenceLevel,
    ...(ratings.assessors.length === 0 ? {} : { assessors: ratings.assessors }),
  };
  if (kindOf(ratings, options.as) === 'grades') {
    const reading = readingErrorOf(ratings, options.mergeRareGrades === true);
    const matrix = crossAssessorMatrix(ratings);
    return {
      kind: 'grades',
      ...shared,
      matrix,
      differentAssessor: gradeShifts(ratings, options),
      sameAssessor: repeats === undefined ? undefined : gradeShifts(repeats, options),
      reading: reading.error,
      notes: [...notesOf(matrix.clusters, repeats, false), noTruthNote(), ...reading.notes],
    };
  }
  const days = options.repeatsMade === 'another day' && repeats !== undefined;
  const kind = {
    day: days ? 'another' : 'same',
    repeatsMade: options.repeatsMade ?? 'same day',
    gradesAsNumbers: options.as === 'lengths',
    ...intervalOptionsOf(options),
  } as const;
  const differentAssessor = standardErrorOfMeasurement(ratings, { ...kind, assessor: 'different' });
  return {
    kind: 'lengths',
    ...shared,
    standardError: {
      differentAssessor,
      sameAssessor:
        repeats === undefined ? undefined : standardErrorOfMeasurement(ratings, { ...kind, assessor: 'same' }),
    },
    smallestDetectableChange: {
      differentAssessor: smallestDetectableChange(ratings, {
        ...kind,
        assessor: 'different',
        changeLevel: confidenceLevel,
      }),
      sameAssessor:
        repeats === undefined
          ? undefined
          : smallestDetectableChange(ratings, { ...kind, assessor: 'same', changeLevel: confidenceLevel }),
    },
    notes: notesOf(differentAssessor.counts.clusters, repeats, days),
  };
}

function intervalOptionsOf(options: IntervalOptions): IntervalOptions {
  const { interval, ...checked } = checkIntervalOptions(options);
  return interval === undefined ? checked : { ...checked, interval };
}

function kindOf(ratings: Ratings, as: 'grades' | 'lengths' | undefined): 'grades' | 'lengths' {
  if (as !== undefined) return as;
  if (ratings.level === 'ordinal') return 'grades';
  if (ratings.level === 'interval' || ratings.level === 'ratio') return 'lengths';
  if (ratings.level === 'nominal')
    throw refuse(
      'level-not-suited',
      ['ratings'],
      'The categories of this sign have no order, so no change on it is larger or smaller.',
    );
  throw refuse(
    'level-needed',
    ['options', 'as'],
    'These readings come without a sign.',
    "say as: 'grades' or as: 'lengths'.",
  );
}

function notesOf(patients: number, repeats: Ratings | undefined, days: boolean): Note[] {
  return [
    ...(days
      ? []
      : [
          information(
            'one-day',
            'The readings of a finding were made at one time, so the error between days may be larger.',
          ),
        ]),
    ...(repeats === undefined
      ? [
          information(
            'no-repeats',
            'No assessor read a finding twice, so the error of one assessor alone is not known.',
          ),
        ]
      : []),
    ...(patients < 30
      ? [
          caution(
            'few-patients-for-error',
            `The error rests on ${patients} patients; with fewer than 30 it is known only roughly.`,
          ),
        ]
      : []),
  ];
}

function noTruthNote(): Note {
  return information(
    'no-truth',
    'The matrix says what another assessor reads, given what one read. It does not say what is read given the truth.',
  );
}

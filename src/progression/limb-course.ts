import type { Assessments } from '../assessments/assessments.js';
import type { MeasurementError } from '../measurement-error/measurement-error-of.js';
import type { MadeFor } from '../shared/audience.js';
import { gradeLabel } from '../shared/grade-label.js';
import { refuse } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import { siteOf } from '../signs/site.js';
import { changeCalls } from './change-calls.js';

/** One reading on the limb. `value` is the place of the grade on the scale (0 first), or the measured number. */
export interface CourseReading {
  readonly day: number;
  readonly value: number | null;
  /** Code of who read it. */
  readonly assessor: string;
  /** Why there is no value, in words: "dressing", "not assessed". */
  readonly missing?: string;
}

/** A step from one reading to a later one, judged against the error of measurement. */
export interface CourseChange {
  readonly fromDay: number;
  readonly toDay: number;
  readonly from: number;
  readonly to: number;
  readonly call: 'within error' | 'beyond error';
  /** The lowest and highest later reading that error alone would explain. */
  readonly explained: { readonly lower: number; readonly upper: number };
}

/** The course of one sign on one limb. */
export interface LimbCourse extends MadeFor {
  readonly signLabel: string;
  readonly scaleLabel: string;
  /** "Left leg, shin". No code of a patient. */
  readonly limbLabel: string;
  /** Words of the grades, lowest first; absent for a measured value. */
  readonly grades?: readonly string[];
  /** Unit of a measured value. */
  readonly unitLabel?: string;
  readonly decimals?: number;
  readonly readings: readonly CourseReading[];
  readonly changes: readonly CourseChange[];
  /** What a change must exceed and where that comes from, as a sentence. */
  readonly errorSentence: string;
}

/**
 * The course of one limb-site: what was written, by whom, and for each later visit whether it lies further from the first than
 * the error of measurement.
 *
 * Visits without a reading are kept with their reason. The code of the patient chooses the limb and appears nowhere in the result.
 * A place without a limb is a site of the midline.
 *
 * @throws InputError `no-readings` (nothing recorded there), and what `changeCalls` throws.
 */
export function limbCourse(
  assessments: Assessments,
  error: MeasurementError,
  place: { readonly patient: string; readonly limb?: string; readonly site?: string },
): LimbCourse {
  const anyLimb = assessments.where({
    patient: place.patient,
    ...(place.site === undefined ? {} : { site: place.site }),
    ...(error.subject === undefined ? {} : { sign: error.subject.sign }),
  });
  const here = place.limb === undefined ? withoutLimb(anyLimb) : anyLimb.where({ limb: place.limb });
  if (here.length === 0)
    throw refuse(
      'no-readings',
      ['place'],
      'Nothing is recorded for that limb and site.',
      'check limb and site; the sites are those of the sign.',
    );
  const calls = changeCalls(here, error);
  const { scale } = calls;
  const graded = scale.categories !== undefined;
  const highest = graded ? scale.categories.length - 1 : Number.POSITIVE_INFINITY;
  const placeOf = (reading: { step: number; value: number }): number => (graded ? reading.step : reading.value);
  const changes = calls.limbs.flatMap((limb) =>
    limb.later.map(({ reading, baseline, threshold, call }) => {
      const from = placeOf(baseline);
      // A difference of the threshold itself is beyond for grades, not for lengths.
      const reach = graded ? threshold - 1 : threshold;
      return {
        fromDay: baseline.day,
        toDay: reading.day,
        from,
        to: placeOf(reading),
        call: call.startsWith('beyond') ? ('beyond error' as const) : ('within error' as const),
        explained: { lower: Math.max(0, from - reach), upper: Math.min(highest, from + reach) },
      };
    }),
  );
  return {
    signLabel: calls.signLabel,
    scaleLabel: scale.label,
    limbLabel: [
      ...(place.limb === undefined ? [] : [place.limb.replace('-', ' ')]),
      ...(place.site === undefined ? [] : [siteOf(place.site).label]),
    ].join(', '),
    ...(graded ? { grades: scale.categories.map(gradeLabel) } : {}),
    ...(scale.unit === undefined ? {} : { unitLabel: scale.unit }),
    ...(scale.decimals === undefined ? {} : { decimals: scale.decimals }),
    readings: readingsOf(here, scale.id, graded),
    changes,
    errorSentence: errorSentence(error, scale.unit),
  };
}

function withoutLimb(assessments: Assessments): Assessments {
  const rows = Array.from(assessments.limb.codes).flatMap((code, row) => (code < 0 ? [row] : []));
  return assessments.rowsAt(Int32Array.from(rows));
}

function readingsOf(here: Assessments, scaleId: string, graded: boolean): CourseReading[] {
  const readings: CourseReading[] = [];
  for (let row = 0; row < here.length; row++) {
    if (here.reference[row] === 1 || here.wordAt('scale', row) !== scaleId) continue;
    const value = graded ? here.category[row]! : here.number[row]!;
    const missing = here.wordAt('missing', row);
    const isGap = graded ? value < 0 : Number.isNaN(value);
    readings.push({
      day: here.day[row]!,
      value: isGap ? null : value,
      assessor: here.wordAt('assessor', row) ?? '',
      ...(isGap ? { missing: missing ?? 'left blank' } : {}),
    });
  }
  return readings.sort((a, b) => a.day - b.day);
}

function errorSentence(error: MeasurementError, unit: string | undefined): string {
  if (error.kind === 'lengths') {
    const { differentAssessor } = error.smallestDetectableChange;
    return `Between different assessors only a difference of more than ${formatNumber(differentAssessor.value, 1)} ${unit ?? ''} is beyond the error of measurement (${differentAssessor.counts.clusters} people in the agreement study).`;
  }
  const { smallestDetectableShift } = error.differentAssessor;
  return `Between different assessors a difference of ${smallestDetectableShift} grades or more is beyond the error of measurement (${error.matrix.clusters} people in the agreement study).`;
}

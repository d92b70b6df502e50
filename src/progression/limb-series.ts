import type { Assessments } from '../assessments/assessments.js';
import type { Scale } from '../signs/sign.js';

/** One reading in the course of a limb-site. */
export interface SeriesReading {
  readonly day: number;
  readonly assessor: string;
  /** The measured number or the grade's score. */
  readonly value: number;
  /** Position of the grade on its scale, from 0; `NaN` for a measured value. */
  readonly step: number;
  /** As it is written: the grade's words or the number. */
  readonly words: string;
}

/** All readings of one sign on one scale at one site of one limb, in order of days. */
export interface LimbSeries {
  readonly patient: string;
  readonly limb: string;
  /** Empty where the sign takes no site. */
  readonly site: string;
  readonly readings: readonly SeriesReading[];
}

/**
 * The series of every limb-site with at least one reading: by day, then order of examination, then the assessor's code. Reference
 * readings, bounds (`<2`) and missing readings are left out.
 */
export function limbSeriesOf(assessments: Assessments, scale: Scale): LimbSeries[] {
  const rowsOf = new Map<string, number[]>();
  const { patient, limb, site } = assessments;
  for (let row = 0; row < assessments.length; row++) {
    if (assessments.reference[row] === 1 || assessments.wordAt('scale', row) !== scale.id) continue;
    const graded = scale.categories !== undefined;
    if (graded ? assessments.category[row]! < 0 : Number.isNaN(assessments.number[row]!)) continue;
    if (!graded && assessments.comparator.codes[row]! >= 0) continue;
    const key = `${patient.codes[row]}/${limb.codes[row]}/${site.codes[row]}`;
    const rows = rowsOf.get(key);
    if (rows === undefined) rowsOf.set(key, [row]);
    else rows.push(row);
  }
  return [...rowsOf.values()].map((rows) => {
    const readings = rows.map((row) => readingAt(assessments, scale, row));
    const order = rows.map((row) => assessments.order[row]!);
    const sorted = readings
      .map((reading, at) => ({ reading, order: Number.isNaN(order[at]!) ? 0 : order[at]! }))
      .sort(
        (a, b) =>
          a.reading.day - b.reading.day ||
          a.order - b.order ||
          (a.reading.assessor < b.reading.assessor ? -1 : a.reading.assessor > b.reading.assessor ? 1 : 0),
      );
    const row = rows[0]!;
    return {
      patient: assessments.wordAt('patient', row) ?? '',
      limb: assessments.wordAt('limb', row) ?? '',
      site: assessments.wordAt('site', row) ?? '',
      readings: sorted.map(({ reading }) => reading),
    };
  });
}

function readingAt(assessments: Assessments, scale: Scale, row: number): SeriesReading {
  const step = assessments.category[row]!;
  return {
    day: assessments.day[row]!,
    assessor: assessments.wordAt('assessor', row) ?? '',
    value: assessments.number[row]!,
    step: step < 0 ? Number.NaN : step,
    words: scale.categories?.[step]?.words ?? String(assessments.number[row]!),
  };
}

import { normal } from '../shared/distributions.js';
import { formatNumber } from '../shared/table.js';
import { checkPlanning, FRACTION, isFraction } from './sample-size.js';

export interface ReadingsPerVisitOptions {
  /** Error of one reading that differs between two readings of one visit, in the sign's unit. */
  readonly readingError: number;
  /** Error that all readings of a visit share: day, position, time of day. Default 0 (unknown, so the answer is a lower bound). */
  readonly visitError?: number;
  /** The smallest change that has to be told from none, in the same unit. */
  readonly change: number;
  /** Default 0.95. */
  readonly confidenceLevel?: number;
}

/** How many readings a visit needs, and what it then can tell. */
export interface ReadingsPerVisit {
  readonly kind: 'readings-per-visit';
  /** `NaN` where no number of readings is enough, since the readings of a visit share an error. */
  readonly readings: number;
  /** Smallest detectable change with so many readings; with one; and with any number. */
  readonly smallestDetectableChange: number;
  readonly withOneReading: number;
  readonly withAnyNumber: number;
  readonly options: Required<ReadingsPerVisitOptions>;
  /** In words. */
  readonly sentence: string;
}

/**
 * Readings at each visit whose mean makes a wanted change of one limb detectable.
 *
 * SDC(m) = z·√2·√(v² + s²/m), s the error of a reading, v the error that a visit's readings share, m the readings averaged, z the normal quantile of the
 * confidence level; the smallest m with SDC(m) ≤ the change, m = ⌈s² / (change²/(2z²) − v²)⌉.
 *
 * Undefined (`NaN`) where z·√2·v alone exceeds the change. Averages are of measured signs; grades are not averaged.
 *
 * @throws InputError `bad-option`: every option that does not fit.
 * @example readingsPerVisit({ readingError: 0.5, change: 1 }).readings // 2
 * Source: de Vet HCW and others. J Clin Epidemiol 2006;59:1033–1039, doi:10.1016/j.jclinepi.2005.10.015 (SDC); solved for m.
 */
export function readingsPerVisit(options: ReadingsPerVisitOptions): ReadingsPerVisit {
  const { readingError, change } = options;
  const visitError = options.visitError ?? 0;
  const confidenceLevel = options.confidenceLevel ?? 0.95;
  checkPlanning([
    ['readingError', readingError, readingError > 0, 'a number above 0'],
    ['visitError', visitError, visitError >= 0, 'at least 0'],
    ['change', change, change > 0, 'a number above 0'],
    ['confidenceLevel', confidenceLevel, isFraction(confidenceLevel), FRACTION],
  ]);
  const factor = normal.quantile((1 + confidenceLevel) / 2) * Math.SQRT2;
  const detectable = (readings: number): number => factor * Math.sqrt(visitError ** 2 + readingError ** 2 / readings);
  const room = (change / factor) ** 2 - visitError ** 2;
  const readings = room > 0 ? Math.max(1, Math.ceil(readingError ** 2 / room - 1e-9)) : Number.NaN;
  const withAnyNumber = factor * visitError;
  return Object.freeze({
    kind: 'readings-per-visit',
    readings,
    smallestDetectableChange: detectable(readings),
    withOneReading: detectable(1),
    withAnyNumber,
    options: { readingError, visitError, change, confidenceLevel },
    sentence: Number.isNaN(readings)
      ? `No number of readings a visit makes a change of ${formatNumber(change)} detectable: the readings of a visit share an error that alone hides changes up to ${formatNumber(withAnyNumber)}.`
      : `The mean of ${readings} ${readings === 1 ? 'reading' : 'readings'} a visit makes changes of ${formatNumber(detectable(readings))} or more detectable; one reading, ${formatNumber(detectable(1))}.${visitError === 0 ? ' The error between days is taken as 0, so this is the least that is needed.' : ''}`,
  });
}

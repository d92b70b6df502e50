import type { Ratings } from '../ratings/ratings.js';
import { normal } from '../shared/distributions.js';
import type { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { scaledEstimate } from './spread-estimate.js';
import { type StandardErrorOfMeasurementOptions, standardErrorOfMeasurement } from './standard-error-of-measurement.js';

export interface SmallestDetectableChangeOptions extends StandardErrorOfMeasurementOptions {
  /** Share of pairs of readings of an unchanged finding that lie less far apart than the result. Default 0.95. */
  readonly changeLevel?: number;
}

/**
 * Smallest detectable change: how far apart two readings must be before the finding, and not the reading, is likely to have changed.
 *
 * SDC = z·√2·SEM, SEM the standard error of measurement of the kind asked for, z the normal quantile of (1 + changeLevel)/2: 1.959964,
 * not 1.96, at 0.95. Choose the kind that the two visits have: most often different assessors on another day.
 *
 * Undefined where the SEM is. Missing values: as there. The interval is the SEM's, times the same factor: how well the study knows the SDC.
 * `details.standardErrorOfMeasurement`.
 *
 * @param ratings numbers in one unit; grades only with `gradesAsNumbers: true`.
 * @throws InputError as `standardErrorOfMeasurement`, and `bad-option` (changeLevel).
 * @example smallestDetectableChange(ratings, { assessor: 'different' }).value
 * Source: de Vet HCW, Terwee CB, Knol DL, Bouter LM. J Clin Epidemiol 2006;59:1033–1039, doi:10.1016/j.jclinepi.2005.10.015.
 */
export function smallestDetectableChange(ratings: Ratings, options: SmallestDetectableChangeOptions = {}): Estimate {
  const { changeLevel = 0.95, ...kind } = options;
  if (!(changeLevel > 0 && changeLevel < 1))
    throw refuse(
      'bad-option',
      ['options', 'changeLevel'],
      `changeLevel is ${changeLevel}.`,
      'give a fraction such as 0.95.',
    );
  const error = standardErrorOfMeasurement(ratings, kind);
  const factor = normal.quantile((1 + changeLevel) / 2) * Math.SQRT2;
  return scaledEstimate(
    error,
    factor,
    error.statistic.replace('standard error of measurement', 'smallest detectable change'),
    { changeLevel },
    { standardErrorOfMeasurement: error.value },
  );
}

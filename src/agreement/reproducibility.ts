import type { Ratings } from '../ratings/ratings.js';
import { normal } from '../shared/distributions.js';
import type { Estimate } from '../shared/estimate.js';
import type { IntervalOptions } from '../shared/options.js';
import type { NumberOptions } from './measured-numbers.js';
import { scaledEstimate } from './spread-estimate.js';
import { standardErrorOfMeasurement } from './standard-error-of-measurement.js';

export interface ReproducibilityOptions extends IntervalOptions, NumberOptions {}

/**
 * Reproducibility: how far apart two readings of one finding by different assessors lie in 95 % of pairs.
 *
 * R = z₀.₉₇₅·√2·s_R, s_R² = σₐ² + σₑ² the variance of readings of one finding over assessors, from all mₜ readings of each target t:
 * s_R = √(Σₜ Σᵢ (xₜᵢ − x̄ₜ)² / Σₜ (mₜ − 1)). It is the smallest detectable change for different assessors on one day, under the name that the
 * standards of measurement use; `repeatability` is the same for one assessor. `details.acrossAssessors` s_R.
 *
 * Undefined (`NaN` with a note) where no target was read twice. Missing values: a target enters with the readings it has.
 *
 * @throws InputError `level-not-suited`, `grades-not-numbers`, `assessors-needed` (columns that are repeats), `bad-option`.
 * @example reproducibility(ratingsOf([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]])).value // 6.937
 * Source: ISO 5725-1 (definitions, from memory); Bland JM, Altman DG. Stat Methods Med Res 1999;8:135–160, doi:10.1177/096228029900800204.
 */
export function reproducibility(ratings: Ratings, options: ReproducibilityOptions = {}): Estimate {
  const error = standardErrorOfMeasurement(ratings, { ...options, assessor: 'different' });
  return scaledEstimate(
    error,
    normal.quantile(0.975) * Math.SQRT2,
    'reproducibility',
    {},
    { acrossAssessors: error.value },
  );
}

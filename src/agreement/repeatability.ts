import type { Ratings } from '../ratings/ratings.js';
import { normal } from '../shared/distributions.js';
import type { Estimate } from '../shared/estimate.js';
import type { IntervalOptions } from '../shared/options.js';
import type { NumberOptions } from './measured-numbers.js';
import { scaledEstimate } from './spread-estimate.js';
import { type ErrorKind, standardErrorOfMeasurement } from './standard-error-of-measurement.js';

export interface RepeatabilityOptions
  extends Pick<ErrorKind, 'columnsAre' | 'definition'>,
    IntervalOptions,
    NumberOptions {}

/**
 * Repeatability: how far apart two readings of one finding by one assessor lie in 95 % of pairs.
 *
 * r = z₀.₉₇₅·√2·s_w, s_w = √(Σ (x − x̄)² / Σ (m − 1)) the within-finding standard deviation of repeat readings about their mean. With two readings
 * s_w = √(Σ d² / 2n), d their difference, taken about 0. `details`: withinFinding s_w, `measurementError` 1.96·s_w (a reading lies that near
 * to the true value in 95 %), and for comparison the rounded conventions `rounded` 2.77·s_w and `twice` 2·√2·s_w.
 *
 * Undefined (`NaN` with a note) where nothing was read twice. Missing values: a finding enters with the readings it has.
 * Intervals: as `standardErrorOfMeasurement`, χ² with Σ (m − 1) degrees of freedom where asymptotic.
 *
 * @param ratings with repeat readings, or `columnsAre: 'repeats'`.
 * @throws InputError `repeats-needed`, `level-not-suited`, `grades-not-numbers`, `unknown-choice`, `bad-option`.
 * @example repeatability(ratingsOf([[494, 490], [395, 397], [516, 512]]), { columnsAre: 'repeats' }).value // 6.789
 * Source: Bland JM, Altman DG. BMJ 1996;312:1654, doi:10.1136/bmj.312.7047.1654.
 */
export function repeatability(ratings: Ratings, options: RepeatabilityOptions = {}): Estimate {
  const error = standardErrorOfMeasurement(ratings, { ...options, assessor: 'same' });
  return scaledEstimate(
    error,
    normal.quantile(0.975) * Math.SQRT2,
    'repeatability',
    {},
    {
      withinFinding: error.value,
      measurementError: 1.96 * error.value,
      rounded: 2.77 * error.value,
      twice: 2 * Math.SQRT2 * error.value,
    },
  );
}

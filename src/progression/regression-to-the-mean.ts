import { normal } from '../shared/distributions.js';
import { refuse } from '../shared/input-error.js';

export interface RegressionToTheMean {
  /** Expected fall from the first (mean) reading to the next one when nothing has changed. */
  readonly expectedChange: number;
  readonly expectedFirst: number;
  readonly expectedSecond: number;
  /** Share of the spread of single readings that is between limbs. */
  readonly intraclassCorrelation: number;
}

/**
 * Expected regression to the mean: how much limbs chosen for a reading above a cut-off will seem to improve at the next reading though nothing
 * changed.
 *
 * With normal true values (mean μ, SD σ_b) and error of one reading σ_w, m baseline readings averaged: z = (cut-off − μ)/√(σ_b² + σ_w²/m), C(z) = φ(z)/(1 − Φ(z)); expected change (σ_w²/m)/√(σ_b² + σ_w²/m) · C(z).
 *
 * @throws InputError `bad-option`.
 * @example regressionToTheMean({ mean: 10, betweenLimbs: 3, error: 2, cutOff: 13 }).expectedChange // 1.5447
 * Source: Barnett AG, van der Pols JC, Dobson AJ. Int J Epidemiol 2005;34:215–220, doi:10.1093/ije/dyh299.
 */
export function regressionToTheMean(input: {
  readonly mean: number;
  /** Standard deviation of true values between limbs, and of one reading about its limb's true value (the SEM). */
  readonly betweenLimbs: number;
  readonly error: number;
  /** Limbs with a first reading above this are chosen. */
  readonly cutOff: number;
  /** Readings averaged for the choice. Default 1. */
  readonly baselineReadings?: number;
}): RegressionToTheMean {
  const { mean, betweenLimbs, error, cutOff, baselineReadings = 1 } = input;
  if (!(betweenLimbs > 0 && error >= 0))
    throw refuse('bad-option', ['betweenLimbs'], 'The standard deviations must be above 0 (error may be 0).');
  if (!(Number.isInteger(baselineReadings) && baselineReadings >= 1))
    throw refuse(
      'bad-option',
      ['baselineReadings'],
      `baselineReadings is ${baselineReadings}.`,
      'give a whole number of readings.',
    );
  const between = betweenLimbs * betweenLimbs;
  const within = (error * error) / baselineReadings;
  const spread = Math.sqrt(between + within);
  const z = (cutOff - mean) / spread;
  const excess = normal.density(z) / normal.upper(z);
  return {
    expectedChange: (within / spread) * excess,
    expectedFirst: mean + spread * excess,
    expectedSecond: mean + (between / spread) * excess,
    intraclassCorrelation: between / (between + error * error),
  };
}

import { chiSquare } from '../shared/distributions.js';
import { formatNumber } from '../shared/table.js';
import { checkPlanning, FRACTION, isFraction, SampleSize } from './sample-size.js';

export interface KappaPrecisionSampleSizeOptions {
  /** The kappa that is expected. */
  readonly expected: number;
  /** Where the lower limit of its interval should lie, below the value expected. */
  readonly lowerLimit: number;
  /** Share of readings that call the finding present, the same for both assessors. */
  readonly prevalence: number;
  /** Default 0.95. */
  readonly confidenceLevel?: number;
}

/**
 * Findings needed so that the goodness-of-fit interval of the intraclass kappa of two assessors, on the table that is expected, has its lower limit where it is wanted.
 *
 * n = χ² / Σ (Pᵢ(κ) − Pᵢ(κ_L))² / Pᵢ(κ_L): κ `expected`, κ_L `lowerLimit`, χ² the quantile on one degree of freedom, P₂ = π² + π(1 − π)κ, P₁ = 2π(1 − π)(1 − κ), P₀ = (1 − π)² + π(1 − π)κ.
 * In about half of such studies the limit lies lower; for a power take `kappaGoodnessOfFitSampleSize`.
 *
 * This is Scott's pi, not Cohen's kappa. Findings are independent, so each is on another patient; see `patientsNeeded`.
 *
 * @throws InputError `bad-option`: every option that does not fit.
 * @example kappaPrecisionSampleSize({ expected: 0.7, lowerLimit: 0.5, prevalence: 0.5 }).findings // 73
 * Source: Donner A, Eliasziw M. Stat Med 1992;11:1511–1519, doi:10.1002/sim.4780111109 (the interval, solved for n).
 */
export function kappaPrecisionSampleSize(options: KappaPrecisionSampleSizeOptions): SampleSize {
  const { expected, lowerLimit, prevalence } = options;
  const confidenceLevel = options.confidenceLevel ?? 0.95;
  const least = Math.max(-prevalence / (1 - prevalence), -(1 - prevalence) / prevalence);
  checkPlanning([
    ['prevalence', prevalence, isFraction(prevalence), FRACTION],
    ['expected', expected, expected > lowerLimit && expected < 1, 'more than lowerLimit, less than 1'],
    ['lowerLimit', lowerLimit, !(lowerLimit <= least), `above ${formatNumber(least)}, the least at this prevalence`],
    ['confidenceLevel', confidenceLevel, isFraction(confidenceLevel), FRACTION],
  ]);
  const spread = prevalence * (1 - prevalence);
  const gap = spread * (expected - lowerLimit);
  const effect =
    gap ** 2 / (prevalence ** 2 + spread * lowerLimit) +
    (2 * gap) ** 2 / (2 * spread * (1 - lowerLimit)) +
    gap ** 2 / ((1 - prevalence) ** 2 + spread * lowerLimit);
  return new SampleSize({
    purpose: `for a ${formatNumber(100 * confidenceLevel, 0)} % interval from ${formatNumber(lowerLimit)} about a kappa of ${formatNumber(expected)}`,
    exact: chiSquare.quantile(confidenceLevel, 1) / effect,
    method: 'goodness-of-fit interval of Donner and Eliasziw 1992',
    options: { expected, lowerLimit, prevalence, confidenceLevel },
    details: { effect },
  });
}

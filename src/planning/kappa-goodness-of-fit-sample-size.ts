import { normal } from '../shared/distributions.js';
import { formatNumber } from '../shared/table.js';
import { checkPlanning, FRACTION, isFraction, SampleSize, type TestedSampleSize, testedParts } from './sample-size.js';

export interface KappaGoodnessOfFitSampleSizeOptions extends Omit<TestedSampleSize, 'sides'> {
  /** Share of readings that call the finding present, the same for both assessors. */
  readonly prevalence: number;
}

/**
 * Findings needed for the intraclass kappa of two assessors on a yes-or-no reading, by the goodness-of-fit test that also gives
 * `kappaGoodnessOfFitInterval`.
 *
 * n = λ / Σ (Pᵢ(κ₁) − Pᵢ(κ₀))² / Pᵢ(κ₀), P₂ = π² + π(1 − π)κ, P₁ = 2π(1 − π)(1 − κ), P₀ = (1 − π)² + π(1 − π)κ the chances that both, one and
 * neither see it at prevalence π; κ₁ is `expected`, κ₀ `ruledOut`; λ the noncentrality at which χ² on one degree of freedom exceeds its quantile with the
 * power asked for. Two-sided.
 *
 * This is Scott's pi, not Cohen's kappa. Findings are independent, so each is on another patient; see `patientsNeeded`.
 *
 * @throws InputError `bad-option`: every option that does not fit.
 * @example kappaGoodnessOfFitSampleSize({ expected: 0.7, ruledOut: 0.4, prevalence: 0.5 }).findings // 74
 * Source: Donner A, Eliasziw M. Stat Med 1992;11:1511–1519, doi:10.1002/sim.4780111109.
 */
export function kappaGoodnessOfFitSampleSize(options: KappaGoodnessOfFitSampleSizeOptions): SampleSize {
  const { expected, ruledOut, prevalence } = options;
  const { significance, power, checks } = testedParts(options);
  const least = Math.max(-prevalence / (1 - prevalence), -(1 - prevalence) / prevalence);
  checkPlanning([
    ...checks,
    ['prevalence', prevalence, isFraction(prevalence), FRACTION],
    ['expected', expected, !(expected < least), `a kappa this prevalence can have, at least ${formatNumber(least)}`],
    ['ruledOut', ruledOut, !(ruledOut <= least), `a kappa this prevalence can have, above ${formatNumber(least)}`],
  ]);
  const noncentrality = noncentralityFor(significance, power);
  const [under, above] = [chances(prevalence, ruledOut), chances(prevalence, expected)];
  const effect = under.reduce((sum, chance, at) => sum + (above[at]! - chance) ** 2 / chance, 0);
  return new SampleSize({
    purpose: `to tell kappa ${formatNumber(expected)} from ${formatNumber(ruledOut)}`,
    exact: noncentrality / effect,
    method: `Donner and Eliasziw 1992, 2-sided ${formatNumber(significance)}, power ${formatNumber(power)}`,
    options: { expected, ruledOut, prevalence, significance, power },
    details: { noncentrality, effect },
  });
}

function chances(prevalence: number, kappa: number): readonly number[] {
  const spread = prevalence * (1 - prevalence);
  return [prevalence ** 2 + spread * kappa, 2 * spread * (1 - kappa), (1 - prevalence) ** 2 + spread * kappa];
}

/** λ with P(|Z + √λ| > z) = power: χ² on one degree of freedom is the square of a shifted normal number. */
function noncentralityFor(significance: number, power: number): number {
  const z = normal.quantile(1 - significance / 2);
  let low = 0;
  let high = z + normal.quantile(power) + 1;
  for (let step = 0; step < 100; step++) {
    const middle = (low + high) / 2;
    if (normal.upper(z - middle) + normal.cdf(-z - middle) < power) low = middle;
    else high = middle;
  }
  return low * low;
}

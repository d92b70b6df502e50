import { fisherF, normal } from '../shared/distributions.js';
import { formatNumber } from '../shared/table.js';
import { checkPlanning, SampleSize, type TestedSampleSize, testedParts } from './sample-size.js';

export interface IntraclassSampleSizeOptions extends Omit<TestedSampleSize, 'sides'> {
  /** Readings of each finding. */
  readonly readings: number;
}

/**
 * Findings needed to show that the intraclass correlation (one-way) is above a lowest acceptable value.
 *
 * k = 1 + 2(z_α + z_β)² n / ((n − 1) (ln C)²), C = (1 + nθ₀)/(1 + nθ₁), θ = ρ/(1 − ρ); n the readings of each finding, ρ₁ `expected`, ρ₀ `ruledOut`, z the
 * normal quantiles of significance and power. One-sided. `details.exactFindings` is the smallest number whose F test has the power, which the formula
 * approximates to within about one.
 *
 * Findings are independent, so each is on another patient; see `patientsNeeded`.
 *
 * @throws InputError `bad-option`: every option that does not fit.
 * @example intraclassSampleSize({ expected: 0.75, ruledOut: 0.5, readings: 2 }).findings // 36
 * Source: Walter SD, Eliasziw M, Donner A. Stat Med 1998;17:101–110, doi:10.1002/(SICI)1097-0258(19980115)17:1<101::AID-SIM727>3.0.CO;2-E.
 */
export function intraclassSampleSize(options: IntraclassSampleSizeOptions): SampleSize {
  const { expected, ruledOut, readings } = options;
  const { significance, power, checks } = testedParts({ ...options, sides: 1 });
  checkPlanning([
    ...checks,
    ['readings', readings, Number.isInteger(readings) && readings >= 2, 'a whole number, at least 2'],
    ['ruledOut', ruledOut, ruledOut >= 0, 'at least 0'],
    ['expected', expected, expected > ruledOut, 'more than ruledOut'],
  ]);
  const odds = (correlation: number): number => correlation / (1 - correlation);
  const ratio = (1 + readings * odds(ruledOut)) / (1 + readings * odds(expected));
  const z = normal.quantile(1 - significance) + normal.quantile(power);
  const exact = 1 + (2 * z * z * readings) / (Math.log(ratio) ** 2 * (readings - 1));
  const powerOf = (findings: number): number => {
    const [between, within] = [findings - 1, findings * (readings - 1)];
    return fisherF.upper(ratio * fisherF.quantile(1 - significance, between, within), between, within);
  };
  let exactFindings = Math.max(2, Math.floor(exact) - 3);
  while (exactFindings > 2 && powerOf(exactFindings - 1) >= power) exactFindings--;
  while (powerOf(exactFindings) < power) exactFindings++;
  return new SampleSize({
    purpose: `to show an intraclass correlation above ${formatNumber(ruledOut)} when it is ${formatNumber(expected)}, ${readings} readings each`,
    exact,
    method: `Walter, Eliasziw and Donner 1998, 1-sided ${formatNumber(significance)}, power ${formatNumber(power)}`,
    options: { expected, ruledOut, readings, significance, power },
    details: { ratio, exactFindings, exactPower: powerOf(exactFindings) },
  });
}

import { normal } from '../shared/distributions.js';
import { formatNumber } from '../shared/table.js';
import { checkPlanning, FRACTION, isFraction, SampleSize, type TestedSampleSize, testedParts } from './sample-size.js';

export interface KappaSampleSizeOptions extends TestedSampleSize {
  /** Share of findings that the first and the second assessor call present. */
  readonly rates: readonly [number, number];
}

/**
 * Findings needed for Cohen's kappa of two assessors on a yes-or-no reading, each with a rate of their own.
 *
 * n = ((z_α √Q₀ + z_β √Q₁) / (κ₁ − κ₀))², κ₁ the kappa `expected`, κ₀ the one `ruledOut`, z the normal quantiles of the significance
 * (halved with two sides) and of the power, Q the variance of √n·κ̂ at given margins (Fleiss, Cohen, Everitt):
 * Q = {Σ pᵢᵢ[(1 − pₑ) − (pᵢ₊ + p₊ᵢ)(1 − pₒ)]² + (1 − pₒ)² Σ_{i≠j} pᵢⱼ(p₊ᵢ + pⱼ₊)² − (pₒpₑ − 2pₑ + pₒ)²} / (1 − pₑ)⁴.
 *
 * Findings are independent, so each is on another patient; see `patientsNeeded`.
 *
 * @throws InputError `bad-option`: every option that does not fit; a kappa that these rates cannot reach is one.
 * @example kappaSampleSize({ expected: 0.7, ruledOut: 0.4, rates: [0.5, 0.5] }).findings // 64
 * Source: Cantor AB. Psychol Methods 1996;1:150–153, doi:10.1037/1082-989X.1.2.150.
 */
export function kappaSampleSize(options: KappaSampleSizeOptions): SampleSize {
  const { expected, ruledOut, rates } = options;
  const { significance, power, sides, checks } = testedParts(options);
  const most = greatest(rates);
  const least = smallest(rates);
  checkPlanning([
    ...checks,
    ...rates.map((rate) => ['rates', rate, isFraction(rate), FRACTION] as const),
    ...([expected, ruledOut] as const).map(
      (kappa, at) =>
        [
          at === 0 ? 'expected' : 'ruledOut',
          kappa,
          !(kappa > most || kappa < least),
          `a kappa that these rates can reach, ${formatNumber(least)} to ${formatNumber(most)}`,
        ] as const,
    ),
  ]);
  const varianceRuledOut = varianceOf(rates, ruledOut);
  const varianceExpected = varianceOf(rates, expected);
  const root =
    (normal.quantile(1 - significance / sides) * Math.sqrt(varianceRuledOut) +
      normal.quantile(power) * Math.sqrt(varianceExpected)) /
    (expected - ruledOut);
  return new SampleSize({
    purpose: `to tell kappa ${formatNumber(expected)} from ${formatNumber(ruledOut)}`,
    exact: root * root,
    method: `Cantor 1996, ${sides}-sided ${formatNumber(significance)}, power ${formatNumber(power)}`,
    options: { expected, ruledOut, rates, significance, power, sides },
    details: { varianceRuledOut, varianceExpected },
  });
}

/** Kappa at these rates and this much agreement. */
function kappaAt([first, second]: readonly [number, number], agreement: number): number {
  const chance = first * second + (1 - first) * (1 - second);
  return (agreement - chance) / (1 - chance);
}

function greatest(rates: readonly [number, number]): number {
  return kappaAt(rates, 1 - Math.abs(rates[0] - rates[1]));
}

function smallest(rates: readonly [number, number]): number {
  const [first, second] = rates;
  return kappaAt(rates, Math.max(0, first + second - 1) + Math.max(0, 1 - first - second));
}

function varianceOf([first, second]: readonly [number, number], kappa: number): number {
  const chance = first * second + (1 - first) * (1 - second);
  const agreement = kappa * (1 - chance) + chance;
  const both = (agreement - 1 + first + second) / 2;
  const table = [
    [both, first - both],
    [second - both, 1 - first - second + both],
  ];
  const rows = [first, 1 - first];
  const columns = [second, 1 - second];
  let sum = 0;
  for (const i of [0, 1])
    for (const j of [0, 1])
      sum +=
        table[i]![j]! *
        (i === j
          ? (1 - chance - (rows[i]! + columns[i]!) * (1 - agreement)) ** 2
          : ((1 - agreement) * (columns[i]! + rows[j]!)) ** 2);
  return (sum - (agreement * chance - 2 * chance + agreement) ** 2) / (1 - chance) ** 4;
}

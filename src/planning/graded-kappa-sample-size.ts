import { type Constraint, equalTo, solve } from 'yalps';
import { normal } from '../shared/distributions.js';
import { refuse } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import { checkPlanning, FRACTION, isFraction, SampleSize, type TestedSampleSize, testedParts } from './sample-size.js';

export interface GradedKappaSampleSizeOptions extends TestedSampleSize {
  /** Share of findings of each grade, the same for both assessors; they sum to 1. */
  readonly shares: readonly number[];
}

/**
 * Findings needed for the unweighted kappa of two assessors over several grades, when nothing is known of the table but its margins.
 *
 * n = ((z_α τ₀ + z_β τ₁) / (κ₁ − κ₀))², τ² the largest variance of √n·κ̂ (Fleiss, Cohen, Everitt) among all tables with margins πᵢ and that
 * kappa. With pₒ fixed it is linear in the cells pᵢⱼ, so the largest is a linear programme:
 * τ² = max {Σ pᵢᵢ[(1 − pₑ) − 2πᵢ(1 − pₒ)]² + (1 − pₒ)² Σ_{i≠j} pᵢⱼ(πᵢ + πⱼ)² − (pₒpₑ − 2pₑ + pₒ)²} / (1 − pₑ)⁴.
 *
 * Findings are independent, so each is on another patient; see `patientsNeeded`. For weighted kappa and for more than two assessors simulate:
 * `precisionByPeople`.
 *
 * @throws InputError `bad-option`: every option that does not fit; `kappa-out-of-reach`: no table with these shares has that kappa.
 * @example gradedKappaSampleSize({ expected: 0.6, ruledOut: 0.4, shares: [0.2, 0.25, 0.55], sides: 1 }).findings // 101
 * Source: Flack VF, Afifi AA, Lachenbruch PA, Schouten HJA. Psychometrika 1988;53:321–325, doi:10.1007/BF02294215 (DOI from memory).
 */
export function gradedKappaSampleSize(options: GradedKappaSampleSizeOptions): SampleSize {
  const { expected, ruledOut, shares } = options;
  const { significance, power, sides, checks } = testedParts(options);
  const sum = shares.reduce((total, share) => total + share, 0);
  checkPlanning([
    ...checks,
    ['shares', shares.length, shares.length >= 2, 'the shares of two grades or more'],
    ...shares.map((share) => ['shares', share, isFraction(share), FRACTION] as const),
    ['shares', sum, Math.abs(sum - 1) < 1e-9, 'shares that sum to 1'],
  ]);
  const varianceRuledOut = largestVariance(shares, ruledOut, 'ruledOut');
  const varianceExpected = largestVariance(shares, expected, 'expected');
  const root =
    (normal.quantile(1 - significance / sides) * Math.sqrt(varianceRuledOut) +
      normal.quantile(power) * Math.sqrt(varianceExpected)) /
    (expected - ruledOut);
  return new SampleSize({
    purpose: `to tell kappa ${formatNumber(expected)} from ${formatNumber(ruledOut)} over ${shares.length} grades`,
    exact: root * root,
    method: `Flack and others 1988, ${sides}-sided ${formatNumber(significance)}, power ${formatNumber(power)}`,
    options: { expected, ruledOut, shares, significance, power, sides },
    details: { varianceRuledOut, varianceExpected },
  });
}

function largestVariance(shares: readonly number[], kappa: number, name: string): number {
  const chance = shares.reduce((sum, share) => sum + share * share, 0);
  const agreement = kappa * (1 - chance) + chance;
  const worth = (i: number, j: number): number =>
    i === j ? (1 - chance - 2 * shares[i]! * (1 - agreement)) ** 2 : ((1 - agreement) * (shares[i]! + shares[j]!)) ** 2;
  const constraints = new Map<string, Constraint>([['agreement', equalTo(agreement)]]);
  shares.forEach((share, at) => {
    constraints.set(`row ${at}`, equalTo(share));
    constraints.set(`column ${at}`, equalTo(share));
  });
  const cells = shares.flatMap((_, i) =>
    shares.map((_, j): [string, Readonly<Record<string, number>>] => [
      `${i} ${j}`,
      { worth: worth(i, j), [`row ${i}`]: 1, [`column ${j}`]: 1, ...(i === j ? { agreement: 1 } : {}) },
    ]),
  );
  const solution = solve(
    { direction: 'maximize', objective: 'worth', constraints, variables: cells },
    { precision: 1e-12 },
  );
  if (solution.status !== 'optimal')
    throw refuse(
      'kappa-out-of-reach',
      ['options', name],
      `No table of two assessors with these shares has a kappa of ${formatNumber(kappa)}.`,
      'take a higher kappa.',
    );
  return (solution.result - (agreement * chance - 2 * chance + agreement) ** 2) / (1 - chance) ** 4;
}

import { refuse } from '../shared/input-error.js';

export interface CumulativeSumChartOptions {
  readonly target: number;
  /** How far a value may lie from the target before it adds to the sum: half the shift to be found, in the unit of the values. */
  readonly allowance: number;
  /** The sum at which a signal is given, in the unit of the values. */
  readonly decision: number;
  /** Where both sums start. Default 0; half the decision finds an early shift sooner. */
  readonly headStart?: number;
}

/** Two one-sided cumulative sums of departures from a target. */
export interface CumulativeSumChart {
  readonly kind: 'cumulative-sum-chart';
  readonly upward: readonly number[];
  readonly downward: readonly number[];
  /** Periods (from 0) at which a sum lies above the decision. */
  readonly signals: readonly number[];
  /** The period (from 0) in which the shift behind the first signal most likely began: after the sum was last 0. */
  readonly shiftBegan: number | undefined;
  readonly options: CumulativeSumChartOptions;
}

/**
 * Tabular cumulative sum (CUSUM): C⁺ₜ = max(0, C⁺ₜ₋₁ + xₜ − target − k), C⁻ₜ = max(0, C⁻ₜ₋₁ − xₜ + target − k); a signal above h.
 *
 * @throws InputError `bad-option`.
 * Source: Lucas JM, Crosier RB. Technometrics 1982;24:199–205, doi:10.1080/00401706.1982.10487759; NIST/SEMATECH e-Handbook 6.3.2.3.
 */
export function cumulativeSumChart(values: readonly number[], options: CumulativeSumChartOptions): CumulativeSumChart {
  const { target, allowance, decision, headStart = 0 } = options;
  if (!(decision > 0))
    throw refuse('bad-option', ['options', 'decision'], `decision is ${decision}.`, 'give a sum above 0.');
  const upward: number[] = [];
  const downward: number[] = [];
  const signals: number[] = [];
  let up = headStart;
  let down = headStart;
  let zeroUp = -1;
  let zeroDown = -1;
  let shiftBegan: number | undefined;
  values.forEach((value, at) => {
    up = Math.max(0, up + value - target - allowance);
    down = Math.max(0, down - value + target - allowance);
    if (up === 0) zeroUp = at;
    if (down === 0) zeroDown = at;
    upward.push(up);
    downward.push(down);
    if (up <= decision && down <= decision) return;
    signals.push(at);
    shiftBegan ??= (up > decision ? zeroUp : zeroDown) + 1;
  });
  return { kind: 'cumulative-sum-chart', upward, downward, signals, shiftBegan, options };
}

import { refuse } from '../shared/input-error.js';
import { type ControlChart, controlChartOf } from './control-chart.js';

export interface MovingAverageChartOptions {
  readonly target: number;
  readonly sigma: number;
  /** Weight of the newest value, 0 < λ ≤ 1. Default 0.2. */
  readonly lambda?: number;
  /** Width of the limits in standard deviations of the average. Default 2.962, about one false signal in 500 periods at λ = 0.2. */
  readonly width?: number;
  /** `'exact'` limits widen over the first periods, `'steady'` ones are those of a long series. Default `'exact'`. */
  readonly limits?: 'exact' | 'steady';
}

/**
 * Exponentially weighted moving average (EWMA) of standardized or measured values: finds small lasting shifts.
 *
 * zₜ = λxₜ + (1 − λ)zₜ₋₁, z₀ the target; limits target ± L σ √(λ/(2 − λ) · (1 − (1 − λ)²ᵗ)). Run lengths: `movingAverageRunLength`.
 *
 * @throws InputError `bad-option`.
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4; Lucas JM, Saccucci MS. Technometrics 1990;32:1–12, doi:10.1080/00401706.1990.10484583.
 */
export function movingAverageChart(values: readonly number[], options: MovingAverageChartOptions): ControlChart {
  const { target, sigma, lambda = 0.2, width = 2.962, limits = 'exact' } = options;
  if (!(lambda > 0 && lambda <= 1))
    throw refuse('bad-option', ['options', 'lambda'], `lambda is ${lambda}.`, 'give a weight above 0 and up to 1.');
  if (!(sigma > 0))
    throw refuse('bad-option', ['options', 'sigma'], `sigma is ${sigma}.`, 'give a standard deviation above 0.');
  let average = target;
  const points = values.map((value, at) => {
    average = lambda * value + (1 - lambda) * average;
    const widening = limits === 'exact' ? 1 - (1 - lambda) ** (2 * (at + 1)) : 1;
    const reach = width * sigma * Math.sqrt((lambda / (2 - lambda)) * widening);
    return { value: average, center: target, lower: target - reach, upper: target + reach };
  });
  const whole = { from: 0, to: values.length - 1, excluded: [], at: values.map((_, at) => at) };
  return controlChartOf('EWMA chart', points, whole, { target, sigma, lambda, width });
}

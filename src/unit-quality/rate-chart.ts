import { refuse } from '../shared/input-error.js';
import { type BaselineOptions, baselineOf, type ControlChart, checkSeries, controlChartOf } from './control-chart.js';
import { movingRangeSpread } from './individuals-chart.js';
import { spreadNotes } from './proportion-chart.js';

export interface RateChartOptions extends BaselineOptions {
  /** `'normal'` ū ± 3√(ū/e); `'spread'` widened by the variation between periods (Laney's u′). Default `'normal'`. */
  readonly limits?: 'normal' | 'spread';
}

/**
 * Control chart of a rate (u chart; c chart when every exposure is 1): events over patient-days.
 *
 * Center ū = Σx / Σe over the baseline; limits ū ± 3√(ū/eᵢ), not below 0; with `'spread'` times σ_z as in `proportionChart`.
 * Assumes events that happen independently. Missing values: a period without exposure has no point.
 *
 * @param events one a period. @param exposures patient-days or the like; default 1 each (c chart).
 * @throws InputError `bad-length`, `bad-count`, `bad-size`, `no-exposure`, `bad-option`.
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.1; Montgomery DC. Introduction to Statistical Quality Control (u chart, from memory).
 */
export function rateChart(
  events: readonly number[],
  exposures: readonly number[] = events.map(() => 1),
  options: RateChartOptions = {},
): ControlChart {
  checkSeries(events, exposures, true);
  const baseline = baselineOf(events.length, options);
  const exposure = baseline.at.reduce((total, at) => total + exposures[at]!, 0);
  if (exposure === 0)
    throw refuse('no-exposure', ['exposures'], 'The baseline has no exposure.', 'give patient-days above 0.');
  const center = baseline.at.reduce((total, at) => total + events[at]!, 0) / exposure;
  const error = (size: number): number => Math.sqrt(center / size);
  const used = baseline.at.filter((at) => exposures[at]! > 0);
  const spread =
    options.limits === 'spread'
      ? movingRangeSpread(used.map((at) => (events[at]! / exposures[at]! - center) / error(exposures[at]!)))
      : 1;
  const points = events.map((count, at) => {
    const size = exposures[at]!;
    const reach = 3 * spread * error(size);
    return size === 0
      ? { value: null, center, lower: Number.NaN, upper: Number.NaN }
      : { value: count / size, center, lower: Math.max(0, center - reach), upper: center + reach };
  });
  const name = exposures.every((size) => size === 1) ? 'c chart' : options.limits === 'spread' ? 'u′ chart' : 'u chart';
  return controlChartOf(
    name,
    points,
    baseline,
    { center, spread },
    options.limits === 'spread' ? spreadNotes(used.length) : [],
  );
}

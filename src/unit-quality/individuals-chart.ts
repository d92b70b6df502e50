import { mean } from 'simple-statistics';
import { type BaselineOptions, baselineOf, type ControlChart, controlChartOf } from './control-chart.js';

/** d2 of two values, 2/√π: the mean range of two standard normal values. */
const MEAN_RANGE_OF_TWO = 2 / Math.sqrt(Math.PI);
/** D4 of two values: 1 + 3 d3/d2. */
const RANGE_LIMIT_OF_TWO = 1 + (3 * Math.sqrt(2 - 4 / Math.PI)) / MEAN_RANGE_OF_TWO;

/**
 * Control chart of single measured values (XmR): mean ± 3 · (mean moving range)/d2, d2 = 2/√π of two values.
 *
 * Missing values: `null` for a period without a figure; moving ranges are taken between neighbors that are there.
 * `details`: center, meanMovingRange, movingRangeLimit, sigma.
 *
 * @throws InputError `bad-option`.
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (which prints limits from d2 rounded to 1.128).
 */
export function individualsChart(values: readonly (number | null)[], options: BaselineOptions = {}): ControlChart {
  const baseline = baselineOf(values.length, options);
  const used = baseline.at.flatMap((at) => values[at] ?? []);
  const center = mean(used);
  const sigma = movingRangeSpread(used);
  return controlChartOf(
    'XmR chart',
    values.map((value) => ({ value, center, lower: center - 3 * sigma, upper: center + 3 * sigma })),
    baseline,
    {
      center,
      sigma,
      meanMovingRange: sigma * MEAN_RANGE_OF_TWO,
      movingRangeLimit: RANGE_LIMIT_OF_TWO * sigma * MEAN_RANGE_OF_TWO,
    },
  );
}

/** Standard deviation from the mean absolute difference of neighbors, over d2. */
export function movingRangeSpread(values: readonly number[]): number {
  const ranges = values.slice(1).map((value, at) => Math.abs(value - values[at]!));
  return ranges.length === 0 ? Number.NaN : mean(ranges) / MEAN_RANGE_OF_TWO;
}

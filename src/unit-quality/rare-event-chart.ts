import { refuse } from '../shared/input-error.js';
import { type BaselineOptions, baselineOf, type ControlChart, controlChartOf } from './control-chart.js';
import { movingRangeSpread } from './individuals-chart.js';

/** Tail beyond three standard deviations of a normal value. */
const TAIL = 0.0013498980316300933;

/**
 * Control chart of the number of cases between rare events (g chart): how many stays passed without the event before the next one.
 *
 * For counts xᵢ ≥ 0 with mean x̄ the chance of the event is p = 1/(x̄ + 1); center is the median and limits are the quantiles .00135 and .99865 of the geometric law
 * P(X ≤ x) = 1 − (1 − p)^(x+1). A long gap lies above the upper limit; a short gap can hardly lie below the lower one.
 *
 * @throws InputError `bad-count`, `bad-option`.
 * Source: Benneyan JC. Health Care Manag Sci 2001;4:305–318, doi:10.1023/A:1011846412909 (from memory).
 */
export function casesBetweenChart(gaps: readonly number[], options: BaselineOptions = {}): ControlChart {
  gaps.forEach((gap, at) => {
    if (!Number.isInteger(gap) || gap < 0)
      throw refuse('bad-count', ['gaps', at], `A gap is ${gap}.`, 'give whole numbers of cases, 0 or more.');
  });
  const baseline = baselineOf(gaps.length, options);
  const mean = baseline.at.reduce((sum, at) => sum + gaps[at]!, 0) / baseline.at.length;
  const chance = 1 / (mean + 1);
  const quantile = (p: number): number => Math.max(0, Math.ceil(Math.log(1 - p) / Math.log(1 - chance) - 1));
  const limits = { center: quantile(0.5), lower: quantile(TAIL), upper: quantile(1 - TAIL) };
  return controlChartOf(
    'g chart',
    gaps.map((value) => ({ value, ...limits })),
    baseline,
    { mean, chance },
  );
}

/** The power that makes exponential times nearly normal. */
const NELSON = 1 / 3.6;

/**
 * Control chart of the time between rare events (t chart): limits of x^(1/3.6) as single values, drawn back to the scale of time.
 *
 * @param times time between events, above 0.
 * @throws InputError `bad-value`, `bad-option`.
 * Source: Nelson LS. J Qual Technol 1994;26:239–240, doi:10.1080/00224065.1994.11979532 (from memory).
 */
export function timeBetweenChart(times: readonly number[], options: BaselineOptions = {}): ControlChart {
  times.forEach((time, at) => {
    if (!(time > 0))
      throw refuse(
        'bad-value',
        ['times', at],
        `A time is ${time}.`,
        'give times above 0; events on one day need their order.',
      );
  });
  const baseline = baselineOf(times.length, options);
  const used = baseline.at.map((at) => times[at]! ** NELSON);
  const center = used.reduce((sum, value) => sum + value, 0) / used.length;
  const sigma = movingRangeSpread(used);
  const back = (value: number): number => Math.max(0, value) ** 3.6;
  const limits = { center: back(center), lower: back(center - 3 * sigma), upper: back(center + 3 * sigma) };
  return controlChartOf(
    't chart',
    times.map((value) => ({ value, ...limits })),
    baseline,
    { center: back(center), sigma },
  );
}

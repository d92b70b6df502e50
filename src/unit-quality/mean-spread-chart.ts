import { mean, sampleStandardDeviation } from 'simple-statistics';
import { refuse } from '../shared/input-error.js';
import { chartConstants } from './chart-constants.js';
import { type BaselineOptions, baselineOf, type ControlChart, controlChartOf } from './control-chart.js';

/**
 * Control charts of subgroup means and spreads (x̄–s, or x̄–R from ranges) for measured values in equal subgroups.
 *
 * Means: x̄̄ ± A3 s̄ (or A2 R̄); spreads: B3 s̄ … B4 s̄ (or D3 R̄ … D4 R̄). s has divisor n − 1 and s̄ is the mean of s.
 *
 * @param subgroups one a period, all of the same size of 2 or more.
 * @throws InputError `unequal-subgroups`, `bad-option`.
 * Source: Montgomery DC. Introduction to Statistical Quality Control (from memory).
 */
export function meanSpreadChart(
  subgroups: readonly (readonly number[])[],
  options: BaselineOptions & { readonly spread?: 'standard deviation' | 'range' } = {},
): { readonly means: ControlChart; readonly spreads: ControlChart } {
  const size = subgroups[0]?.length ?? 0;
  if (size < 2 || subgroups.some((subgroup) => subgroup.length !== size))
    throw refuse(
      'unequal-subgroups',
      ['subgroups'],
      'The subgroups are not of one size of at least 2.',
      'give as many values in each period, or chart single values.',
    );
  const byRange = options.spread === 'range';
  const constants = chartConstants(size);
  const baseline = baselineOf(subgroups.length, options);
  const means = subgroups.map((subgroup) => mean([...subgroup]));
  const spreads = subgroups.map((subgroup) =>
    byRange ? Math.max(...subgroup) - Math.min(...subgroup) : sampleStandardDeviation([...subgroup]),
  );
  const center = mean(baseline.at.map((at) => means[at]!));
  const spread = mean(baseline.at.map((at) => spreads[at]!));
  const reach = (byRange ? constants.A2 : constants.A3) * spread;
  const [low, high] = byRange ? [constants.D3, constants.D4] : [constants.B3, constants.B4];
  const sigma = spread / (byRange ? constants.d2 : constants.c4);
  return {
    means: controlChartOf(
      byRange ? 'x̄ chart from ranges' : 'x̄ chart',
      means.map((value) => ({ value, center, lower: center - reach, upper: center + reach })),
      baseline,
      { center, sigma },
    ),
    spreads: controlChartOf(
      byRange ? 'R chart' : 's chart',
      spreads.map((value) => ({ value, center: spread, lower: low * spread, upper: high * spread })),
      baseline,
      { center: spread, sigma },
    ),
  };
}

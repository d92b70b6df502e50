import { beta } from '../shared/distributions.js';
import { refuse } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';
import { type BaselineOptions, baselineOf, type ControlChart, checkSeries, controlChartOf } from './control-chart.js';
import { movingRangeSpread } from './individuals-chart.js';

export interface ProportionChartOptions extends BaselineOptions {
  /**
   * `'normal'` p̄ ± 3√(p̄(1 − p̄)/n); `'exact'` binomial limits with .00135 in each tail; `'spread'` limits widened by the variation between periods
   * (Laney's p′), for long baselines and large denominators. Default `'exact'`.
   */
  readonly limits?: 'normal' | 'exact' | 'spread';
}

/** Tail beyond three standard deviations of a normal value. */
const TAIL = 0.0013498980316300933;
/** Laney's spread rests on moving ranges of the baseline and is noise before this many. */
const SPREAD_PERIODS = 24;

/**
 * Control chart of a share (p chart): how many of those assessed had the finding, each counted once.
 *
 * Center p̄ = Σx / Σn over the baseline. Normal: p̄ ± 3√(p̄(1 − p̄)/nᵢ), drawn in to 0 … 1. Exact: the binomial quantiles with tail .00135. Spread:
 * p̄ ± 3 σ_z √(p̄(1 − p̄)/nᵢ), σ_z = mean moving range of zᵢ = (pᵢ − p̄)/√(p̄(1 − p̄)/nᵢ), over 1.128.
 *
 * Assumes that each person counts once and periods are independent; with several readings a person the limits are too narrow.
 * Missing values: a period in which nobody was assessed has no point.
 *
 * @param counts people with the finding, one a period. @param sizes people assessed.
 * @throws InputError `bad-length`, `bad-count`, `bad-size`, `count-above-size`, `bad-option`.
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2; Laney DB. Qual Eng 2002;14:531–537, doi:10.1081/QEN-120006555 (from memory).
 */
export function proportionChart(
  counts: readonly number[],
  sizes: readonly number[],
  options: ProportionChartOptions = {},
): ControlChart {
  checkSeries(counts, sizes, true);
  counts.forEach((count, at) => {
    if (count > sizes[at]!)
      throw refuse(
        'count-above-size',
        ['counts', at],
        `Period ${at} has ${count} with the finding of ${sizes[at]} assessed.`,
        'check the two columns.',
      );
  });
  const limits = options.limits ?? 'exact';
  const baseline = baselineOf(counts.length, options);
  const center = sum(baseline.at, counts) / sum(baseline.at, sizes);
  const error = (size: number): number => Math.sqrt((center * (1 - center)) / size);
  const used = baseline.at.filter((at) => sizes[at]! > 0);
  const spread =
    limits === 'spread'
      ? movingRangeSpread(used.map((at) => (counts[at]! / sizes[at]! - center) / error(sizes[at]!)))
      : 1;
  const points = counts.map((count, at) => {
    const size = sizes[at]!;
    const band =
      size === 0
        ? { lower: Number.NaN, upper: Number.NaN }
        : limits === 'exact'
          ? binomialLimits(size, center)
          : {
              lower: Math.max(0, center - 3 * spread * error(size)),
              upper: Math.min(1, center + 3 * spread * error(size)),
            };
    return { value: size === 0 ? null : count / size, center, ...band };
  });
  return controlChartOf(
    {
      normal: 'p chart',
      exact: 'p chart, exact limits',
      spread: 'p′ chart (limits from the variation between periods)',
    }[limits],
    points,
    baseline,
    { center, spread },
    limits === 'spread' ? spreadNotes(used.length) : [],
  );
}

/** What is said of limits from the variation between so many baseline periods. */
export function spreadNotes(periods: number): readonly Note[] {
  return periods < SPREAD_PERIODS
    ? [
        caution(
          'spread-is-noise',
          `The variation between ${periods} baseline periods is mostly noise; this chart needs at least ${SPREAD_PERIODS}.`,
        ),
      ]
    : [];
}

/** Shares between which a binomial count lies but for .00135 in each tail. */
function binomialLimits(size: number, p: number): { lower: number; upper: number } {
  if (p <= 0 || p >= 1) return { lower: p, upper: p };
  const atMost = (x: number): number => beta.upper(p, x + 1, size - x);
  let lower = 0;
  while (lower <= size && atMost(lower) < TAIL) lower++;
  let upper = size;
  while (upper >= 0 && 1 - atMost(upper - 1) < TAIL) upper--;
  return { lower: Math.max(0, lower) / size, upper: Math.min(size, upper) / size };
}

function sum(at: readonly number[], values: readonly number[]): number {
  return at.reduce((total, index) => total + values[index]!, 0);
}

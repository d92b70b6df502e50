import { median } from 'simple-statistics';
import { normal } from '../shared/distributions.js';
import type { Interval } from '../shared/estimate.js';
import { information, type Note } from '../shared/note.js';
import { mannKendallTest } from './mann-kendall-test.js';

export interface TheilSenSlope {
  readonly kind: 'theil-sen';
  readonly slope: number;
  readonly intercept: number;
  readonly interval: Interval;
  readonly slopes: number;
  readonly notes: readonly Note[];
}

/**
 * Theil–Sen slope: the median of the slopes of all pairs of visits, which one odd reading does not move.
 *
 * Intercept: median(x) − slope · median(t). Interval: between the slopes of rank (N − C)/2 and (N + C)/2 + 1, N slopes, C = z √Var(S) of the Mann–Kendall score, ranks interpolated
 * (`'interpolated'`, the default) or rounded.
 *
 * Undefined (`NaN` with a note) when all visits have one time. Missing values: leave the visit out. For measured values; a slope of grades would treat grades as lengths.
 *
 * @throws InputError as `mannKendallTest`.
 * @example theilSenSlope([1, 2, 3, 4, 5], [1.26, 1.27, 1.12, 1.16, 1.03]).slope // −0.05625
 * Source: Sen PK. J Am Stat Assoc 1968;63:1379–1389, doi:10.1080/01621459.1968.10480934.
 */
export function theilSenSlope(
  times: readonly number[],
  values: readonly number[],
  options: { readonly confidenceLevel?: number; readonly ranks?: 'interpolated' | 'rounded' } = {},
): TheilSenSlope {
  const { variance } = mannKendallTest([{ times, values }]);
  const level = options.confidenceLevel ?? 0.95;
  const slopes: number[] = [];
  for (let j = 1; j < times.length; j++)
    for (let i = 0; i < j; i++)
      if (times[j] !== times[i]) slopes.push((values[j]! - values[i]!) / (times[j]! - times[i]!));
  slopes.sort((a, b) => a - b);
  const method = `Kendall ranks, ${options.ranks ?? 'interpolated'}`;
  if (slopes.length === 0)
    return {
      kind: 'theil-sen',
      slope: Number.NaN,
      intercept: Number.NaN,
      interval: { lower: Number.NaN, upper: Number.NaN, level, method },
      slopes: 0,
      notes: [information('not-defined', 'All readings are of one time, so there is no slope.')],
    };
  const slope = median(slopes);
  const reach = normal.quantile(1 - (1 - level) / 2) * Math.sqrt(variance);
  const at = (rank: number): number => {
    const within = Math.min(slopes.length, Math.max(1, options.ranks === 'rounded' ? Math.round(rank) : rank));
    const low = slopes[Math.floor(within) - 1]!;
    const high = slopes[Math.min(slopes.length, Math.ceil(within)) - 1]!;
    return low + (within - Math.floor(within)) * (high - low);
  };
  return {
    kind: 'theil-sen',
    slope,
    intercept: median([...values]) - slope * median([...times]),
    interval: { lower: at((slopes.length - reach) / 2), upper: at((slopes.length + reach) / 2 + 1), level, method },
    slopes: slopes.length,
    notes: [],
  };
}

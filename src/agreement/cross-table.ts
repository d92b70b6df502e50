import { alikeReadings } from '../ratings/alike-readings.js';
import type { RatingCategory, Ratings } from '../ratings/ratings.js';
import { twoAssessorsOf } from './two-assessors.js';

/** Who read what: counts[i][j] targets that the first assessor read as category i and the second as j. */
export interface CrossTable {
  readonly kind: 'cross-table';
  readonly assessors: readonly [string, string];
  readonly categories: readonly RatingCategory[];
  readonly counts: readonly (readonly number[])[];
  readonly targets: number;
  readonly clusters: number;
  readonly excluded: number;
}

/**
 * The cross-table of two assessors on the targets that both have read.
 *
 * @param ratings two assessors, or name two in `assessors`.
 * @throws InputError `two-assessors-needed`, `unknown-assessor`.
 * @example crossTable(ratingsOf([[1, 1], [1, 2], [2, 2]])).counts // [[1, 1], [0, 1]]
 */
export function crossTable(
  ratings: Ratings,
  options: { readonly assessors?: readonly [string, string] } = {},
): CrossTable {
  const pair = twoAssessorsOf(ratings, options.assessors, 'crossTable');
  const size = pair.categories.length;
  const cells = new Float64Array(size * size);
  const entered = new Uint8Array(pair.clusters);
  let targets = 0;
  const { codes, clusterOf, times, targets: different } = alikeReadings(pair);
  for (let target = 0; target < different; target++) {
    const a = codes[2 * target]!;
    const b = codes[2 * target + 1]!;
    if (a < 0 || b < 0) continue;
    const often = times === undefined ? 1 : times[target]!;
    cells[a * size + b]! += often;
    entered[clusterOf[target]!] = 1;
    targets += often;
  }
  return {
    kind: 'cross-table',
    assessors: [pair.assessors[0]!, pair.assessors[1]!],
    categories: pair.categories,
    counts: Array.from({ length: size }, (_, i) => Array.from(cells.subarray(i * size, (i + 1) * size))),
    targets,
    clusters: entered.reduce((sum, one) => sum + one, 0),
    excluded: pair.targets - targets,
  };
}

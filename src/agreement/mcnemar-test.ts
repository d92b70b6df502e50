import type { Ratings } from '../ratings/ratings.js';
import { chiSquare } from '../shared/distributions.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkChoice, type IntervalOptions } from '../shared/options.js';
import { TestResult } from '../shared/test-result.js';
import { type ClusterSums, clusterSums } from './coefficient.js';
import { independenceNotes } from './coefficient-estimate.js';
import { shareShift, shiftEstimate } from './marginal-shift.js';
import { oneCategory } from './one-against-others.js';
import { refuseMeasured } from './suitable-ratings.js';
import { twoAssessorsOf } from './two-assessors.js';

export interface McnemarTestOptions extends IntervalOptions {
  /** How p is computed. Default `'asymptotic'`, without continuity correction. */
  readonly method?: 'asymptotic' | 'continuity-corrected' | 'exact' | 'mid-p';
  /** The category to set against all others; needed when the scale has more than two. Default: the second of two. */
  readonly category?: string | number;
  /** The two assessors to compare; needed when the ratings hold more than two. */
  readonly assessors?: readonly [string, string];
}

/**
 * McNemar's test: does one of two assessors read a category more often than the other?
 *
 * χ² = (Σ dₖ)² / Σ dₖ² with 1 degree of freedom, dₖ = for patient k, targets that only the second read as the category less targets that
 * only the first did. Where each patient has one target, or patients are not known, this is (b − c)² / (b + c), b and c the two
 * discordant counts. Continuity-corrected: max(0, |Σ dₖ| − 1) in place of |Σ dₖ|. Exact: the two assessors exchange their readings within each
 * patient with chance ½, p = P(|Σ ± dₖ| ≥ |Σ dₖ|), for single targets the two-sided binomial p; mid-p counts half of the equal
 * outcomes. The test takes patients as independent.
 *
 * The effect is the difference of the two shares, second minus first, with its interval. Undefined (`NaN` with a note) without
 * discordant pairs; exact and mid-p are then 1. Missing values: a target enters when both have read it; the others are `excluded`.
 * `details`: onlyFirst, onlySecond (discordant targets), discordantPatients (those with dₖ ≠ 0).
 *
 * @param ratings two assessors (or name two in `assessors`), two categories (or name one in `category`).
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `category-needed`, `unknown-category`, `unknown-choice`, `level-not-suited`,
 * `bad-option`.
 * @example mcnemarTest(ratingsOfTable([[20, 10], [5, 15]], { categories: ['no', 'yes'] })).pValue // 0.1967
 * Source: McNemar Q. Psychometrika 1947;12:153–157, doi:10.1007/BF02295996; mid-p: Fagerland MW, Lydersen S, Laake P. BMC Med Res
 * Methodol 2013;13:91, doi:10.1186/1471-2288-13-91; patients: Obuchowski NA. Stat Med 1998;17:1495–1507,
 * doi:10.1002/(SICI)1097-0258(19980715)17:13<1495::AID-SIM863>3.0.CO;2-I, without her factor (K − 1)/K, so that patients with one target each give
 * McNemar's own statistic; exchange within patients: the permutation argument applied to patients, no source.
 */
export function mcnemarTest(ratings: Ratings, options: McnemarTestOptions = {}): TestResult {
  const pair = twoAssessorsOf(ratings, options.assessors, 'mcnemarTest');
  refuseMeasured(pair, 'mcnemarTest');
  const method = checkChoice('method', options.method ?? 'asymptotic', [
    'asymptotic',
    'continuity-corrected',
    'exact',
    'mid-p',
  ]);
  const code = oneCategory(pair, options.category, 'mcnemarTest');
  const estimate = shiftEstimate(pair, shareShift(pair, code), options);
  const sums = clusterSums(pair, {
    cells: 3,
    add(target, at, from) {
      const first = pair.codes[2 * target]!;
      const second = pair.codes[2 * target + 1]!;
      if (first < 0 || second < 0) return false;
      if (first === code && second !== code) at[from + 1]!++;
      if (second === code && first !== code) at[from + 2]!++;
      at[from] = at[from + 2]! - at[from + 1]!;
      return true;
    },
  });
  const [, onlyFirst = 0, onlySecond = 0] = sums.totals;
  const differences = differencesOf(sums);
  const { statistic, pValue, notes } = resultOf(differences, method, sums.targets > 0);
  return new TestResult({
    test: 'McNemar test',
    effect: { name: estimate.statistic, value: estimate.value, interval: estimate.interval },
    statistic,
    degreesOfFreedom: method === 'exact' || method === 'mid-p' ? Number.NaN : 1,
    pValue,
    counts: estimate.counts,
    options: { ...estimate.options, method, category: pair.categories[code]!.value },
    details: { onlyFirst, onlySecond, discordantPatients: differences.length },
    notes: [...notes, ...independenceNotes(pair, 'patients', sums)],
  });
}

function resultOf(
  differences: readonly number[],
  method: NonNullable<McnemarTestOptions['method']>,
  read: boolean,
): { statistic: { name: string; value: number }; pValue: number; notes: Note[] } {
  const total = differences.reduce((sum, d) => sum + d, 0);
  if (!read)
    return { statistic: { name: 'chi-square', value: Number.NaN }, pValue: Number.NaN, notes: [nothingRead()] };
  if (method === 'exact' || method === 'mid-p') {
    const { beyond, at } = exchangeDistribution(differences, Math.abs(total));
    return {
      statistic: { name: 'net discordant targets', value: total },
      pValue: Math.min(1, method === 'mid-p' ? 2 * beyond + at : total === 0 ? 1 : 2 * (beyond + at)),
      notes: [],
    };
  }
  const squares = differences.reduce((sum, d) => sum + d * d, 0);
  const reach = method === 'continuity-corrected' ? Math.max(0, Math.abs(total) - 1) : Math.abs(total);
  const value = squares === 0 ? Number.NaN : (reach * reach) / squares;
  const notes: Note[] = [];
  if (squares === 0)
    notes.push(
      information('no-discordant-pairs', 'The two never disagree on this category, so there is nothing to test.'),
    );
  else if (differences.length < 10)
    notes.push(
      caution(
        'few-discordant-pairs',
        'Fewer than ten patients with a discordant pair: use the exact or the mid-p test.',
      ),
    );
  return { statistic: { name: 'chi-square', value }, pValue: chiSquare.upper(value, 1), notes };
}

/**
 * With each difference's sign + or − with chance ½: the chance that the sum lies above `total`, and that it equals it. Exact, by
 * convolution over whole numbers.
 */
function exchangeDistribution(differences: readonly number[], total: number): { beyond: number; at: number } {
  const reach = differences.reduce((sum, d) => sum + Math.abs(d), 0);
  let chances = new Float64Array(2 * reach + 1);
  let next = new Float64Array(2 * reach + 1);
  chances[reach] = 1;
  let used = 0;
  for (const d of differences) {
    const step = Math.abs(d);
    next.fill(0);
    for (let at = reach - used; at <= reach + used; at++) {
      const half = chances[at]! / 2;
      next[at - step]! += half;
      next[at + step]! += half;
    }
    used += step;
    [chances, next] = [next, chances];
  }
  let beyond = 0;
  for (let at = chances.length - 1; at > reach + total; at--) beyond += chances[at]!;
  return { beyond, at: chances[reach + total]! };
}

function differencesOf(sums: ClusterSums): number[] {
  const differences: number[] = [];
  for (let cluster = 0; cluster < sums.clusters; cluster++) {
    const d = sums.perCluster[cluster * sums.cells]!;
    if (d !== 0) differences.push(d);
  }
  return differences;
}

function nothingRead(): Note {
  return information('not-defined', 'No target has readings by both assessors.');
}

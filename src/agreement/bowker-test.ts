import type { Ratings } from '../ratings/ratings.js';
import { information, type Note } from '../shared/note.js';
import type { TestResult } from '../shared/test-result.js';
import { clusterSums } from './coefficient.js';
import { netShareHigher } from './marginal-shift.js';
import { refuseMeasured } from './suitable-ratings.js';
import { type SymmetryTestOptions, symmetryResult } from './symmetry-result.js';
import { twoAssessorsOf } from './two-assessors.js';

/**
 * Bowker's test of symmetry: when two assessors disagree, does each confusion of two grades happen as often one way as the other?
 *
 * χ² = Σ_{i<j} (nᵢⱼ − nⱼᵢ)² / (nᵢⱼ + nⱼᵢ), nᵢⱼ targets that the first read as i and the second as j; one degree of freedom for each pair of
 * grades that was ever confused: a pair with nᵢⱼ + nⱼᵢ = 0 is skipped and a note says how many were. With several targets a patient it
 * is Dᵀ S⁺ D, D the vector of nᵢⱼ − nⱼᵢ and S = Σ dₖ dₖᵀ over patients k, which takes patients, not targets, as independent and is the same
 * where each patient has one target.
 *
 * p is from the chi-square distribution, or with several targets a patient from Hotelling's F (details F, denominatorDegrees; undefined with no
 * more patients than degrees of freedom).
 *
 * The effect, with its interval, is the share of targets the second reads higher less the share he or she reads lower (for categories
 * without order the largest shift of a share). Undefined (`NaN` with a note) when the two never disagree. Missing values: a target
 * enters when both have read it; the others are `excluded`. `details`: pairsOfGrades, pairsSkipped.
 *
 * @param ratings two assessors (or name two in `assessors`).
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `level-not-suited`, `bad-option`.
 * @example bowkerTest(ratingsOfTable([[5, 4], [1, 5]], { categories: [0, 1] })).statistic.value // 1.8
 * Source: Bowker AH. J Am Stat Assoc 1948;43:572–574, doi:10.1080/01621459.1948.10483284; patients: the same sums as `mcnemarTest`;
 * compare Yang Z, Sun X, Hardin JW. J Stat Plan Inference 2011;141:1313–1318, doi:10.1016/j.jspi.2010.10.002 (not opened).
 */
export function bowkerTest(ratings: Ratings, options: SymmetryTestOptions = {}): TestResult {
  const pair = twoAssessorsOf(ratings, options.assessors, 'bowkerTest');
  refuseMeasured(pair, 'bowkerTest');
  const size = pair.categories.length;
  const pairs = (size * (size - 1)) / 2;
  const pairAt = (i: number, j: number): number => (j * (j - 1)) / 2 + i;
  const confused = new Uint8Array(pairs);
  const sums = clusterSums(pair, {
    cells: pairs + 1,
    add(target, at, from) {
      const first = pair.codes[2 * target]!;
      const second = pair.codes[2 * target + 1]!;
      if (first < 0 || second < 0) return false;
      if (first !== second) {
        const which = pairAt(Math.min(first, second), Math.max(first, second));
        confused[which] = 1;
        at[from + which]! += first < second ? 1 : -1;
      }
      at[from + pairs]!++;
      return true;
    },
  });
  const skipped = pairs - confused.reduce((sum, one) => sum + one, 0);
  return symmetryResult({
    test: 'Bowker test of symmetry',
    pair,
    sums,
    centered: false,
    effect: netShareHigher,
    options,
    details: { pairsOfGrades: pairs, pairsSkipped: skipped },
    notes: skippedNote(skipped, pairs),
  });
}

function skippedNote(skipped: number, pairs: number): Note[] {
  if (skipped === 0 || skipped === pairs) return [];
  return [
    information(
      'pairs-skipped',
      `${skipped} of ${pairs} pairs of grades were never confused and do not count as degrees of freedom.`,
    ),
  ];
}

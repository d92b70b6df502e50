import type { Ratings } from '../ratings/ratings.js';
import type { TestResult } from '../shared/test-result.js';
import { type ClusterSums, clusterSums } from './coefficient.js';
import { meanDifference } from './marginal-shift.js';
import { refuseMeasured } from './suitable-ratings.js';
import { type SymmetryTestOptions, symmetryResult, unusedCategoriesNote } from './symmetry-result.js';
import { twoAssessorsOf } from './two-assessors.js';

/**
 * The test of Stuart and Maxwell: do two assessors use the grades equally often?
 *
 * χ² = Dᵀ S⁺ D, D the vector of n₊ᵢ − nᵢ₊ (readings of grade i by the second less those by the first) and S = Σ dₖ dₖᵀ, dₖ the same for patient
 * k; degrees of freedom = the rank of S, q − 1 for q grades in use that are all confused with one another. Where each patient
 * has one target, or patients are not known, S has nᵢ₊ + n₊ᵢ − 2nᵢᵢ on the diagonal and −(nᵢⱼ + nⱼᵢ) off it.
 *
 * p is from the chi-square distribution, or with several targets a patient from Hotelling's F, (K − r)/(rK) · χ²/(1 − χ²/K) with r and K − r degrees of
 * freedom, K patients (details F, denominatorDegrees; undefined with K ≤ r).
 *
 * The effect, with its interval, is the mean difference of scores, second minus first (for categories without order the largest shift
 * of a share). Grades that neither used are left out and a note names them. Undefined (`NaN` with a note) when the two never
 * disagree. Missing values: a target enters when both have read it; the others are `excluded`. `details`: the shift of each
 * category's share, `category …`.
 *
 * @param ratings two assessors (or name two in `assessors`).
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `level-not-suited`, `bad-option`.
 * @example stuartMaxwellTest(ratingsOfTable([[5, 4], [1, 5]], { categories: [0, 1] })).statistic.value // 1.8
 * Source: Stuart A. Biometrika 1955;42:412–416, doi:10.1093/biomet/42.3-4.412; Maxwell AE. Br J Psychiatry 1970;116:651–655,
 * doi:10.1192/bjp.116.535.651; patients: the same sums as `mcnemarTest`;
 * compare Yang Z, Sun X, Hardin JW. J Stat Plan Inference 2011;141:1313–1318, doi:10.1016/j.jspi.2010.10.002 (not opened).
 */
export function stuartMaxwellTest(ratings: Ratings, options: SymmetryTestOptions = {}): TestResult {
  const pair = twoAssessorsOf(ratings, options.assessors, 'stuartMaxwellTest');
  refuseMeasured(pair, 'stuartMaxwellTest');
  const sums = marginSums(pair);
  return symmetryResult({
    test: 'Stuart–Maxwell test of equal margins',
    pair,
    sums,
    centered: false,
    effect: meanDifference,
    options,
    details: shareShifts(pair, sums),
    notes: unusedCategoriesNote(pair),
  });
}

/** For each patient: readings of each category by the second less those by the first, then the targets. */
export function marginSums(pair: Ratings): ClusterSums {
  const size = pair.categories.length;
  return clusterSums(pair, {
    cells: size + 1,
    add(target, at, from) {
      const first = pair.codes[2 * target]!;
      const second = pair.codes[2 * target + 1]!;
      if (first < 0 || second < 0) return false;
      at[from + second]!++;
      at[from + first]!--;
      at[from + size]!++;
      return true;
    },
  });
}

/** The shift of each category's share, second minus first. */
export function shareShifts(pair: Ratings, sums: ClusterSums): Record<string, number> {
  const n = sums.totals[pair.categories.length]!;
  return Object.fromEntries(pair.categories.map(({ value }, code) => [`category ${value}`, sums.totals[code]! / n]));
}

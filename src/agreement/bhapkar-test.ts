import type { Ratings } from '../ratings/ratings.js';
import type { TestResult } from '../shared/test-result.js';
import { meanDifference } from './marginal-shift.js';
import { marginSums, shareShifts } from './stuart-maxwell-test.js';
import { refuseMeasured } from './suitable-ratings.js';
import { type SymmetryTestOptions, symmetryResult, unusedCategoriesNote } from './symmetry-result.js';
import { twoAssessorsOf } from './two-assessors.js';

/**
 * Bhapkar's test: do two assessors use the grades equally often? As `stuartMaxwellTest`, with the covariance estimated without assuming that they
 * do (a Wald test), which finds a difference a little more often.
 *
 * χ² = Dᵀ S⁺ D, D as there and S = Σ (dₖ − nₖ D/n)(dₖ − nₖ D/n)ᵀ over patients k, nₖ their targets, n all targets. With independent targets this
 * is X / (1 − X/n), X the statistic of Stuart and Maxwell.
 *
 * p is from the chi-square distribution, or with several targets a patient from Hotelling's F, (K − r)/(rK) · χ² with r and K − r degrees of freedom, K
 * patients (details F, denominatorDegrees).
 *
 * Effect, unused grades, missing values and `details` as in `stuartMaxwellTest`. Undefined (`NaN` with a note) when the two never disagree.
 *
 * @param ratings two assessors (or name two in `assessors`).
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `level-not-suited`, `bad-option`.
 * @example bhapkarTest(ratingsOfTable([[5, 4], [1, 5]], { categories: [0, 1] })).statistic.value // 2.0455
 * Source: Bhapkar VP. J Am Stat Assoc 1966;61:228–235, doi:10.1080/01621459.1966.10502021; F: Hotelling H. Ann Math Stat 1931;2:360–378,
 * doi:10.1214/aoms/1177732979.
 */
export function bhapkarTest(ratings: Ratings, options: SymmetryTestOptions = {}): TestResult {
  const pair = twoAssessorsOf(ratings, options.assessors, 'bhapkarTest');
  refuseMeasured(pair, 'bhapkarTest');
  const sums = marginSums(pair);
  return symmetryResult({
    test: 'Bhapkar test of equal margins',
    pair,
    sums,
    centered: true,
    effect: meanDifference,
    options,
    details: shareShifts(pair, sums),
    notes: unusedCategoriesNote(pair),
  });
}

import { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import type { TestResult } from '../shared/test-result.js';
import type { CoefficientChoice } from './agreement-coefficient.js';
import { compareAgreement } from './compare-agreement.js';

export interface WithinAndBetweenOptions extends CoefficientChoice {
  readonly confidenceLevel?: number;
  readonly interval?: 'cluster-robust' | 'asymptotic';
}

/** The same assessor twice against two assessors, and the difference of the two. */
export interface WithinAndBetween {
  readonly kind: 'within-and-between';
  readonly within: Estimate;
  readonly between: Estimate;
  /** Within less between. */
  readonly difference: TestResult;
}

/**
 * Agreement within assessors (the same assessor reading the same target twice) against agreement between them.
 *
 * Both are the chosen coefficient (default Conger's kappa, which for first and second readings is Cohen's): within on the pairs of first and
 * repeat readings of all assessors, between on the first readings of all. The difference has a joint covariance over the patients that both
 * share (`compareAgreement`).
 *
 * Undefined as the coefficient. Missing values: repeats need a first reading by the same assessor; a third reading is not used. Within assessors a reading
 * remembered is not a reading: repeats that were not blinded flatter it.
 *
 * @param ratings with repeat readings.
 * @throws InputError `repeats-needed`, and what `compareAgreement` throws.
 * @example withinAndBetween(ratings, { coefficient: 'gwet-agreement', weights: 'quadratic' }).difference.effect
 * Source: common practice, no source; the covariance as in `compareAgreement`.
 */
export function withinAndBetween(ratings: Ratings, options: WithinAndBetweenOptions = {}): WithinAndBetween {
  const { coefficient = 'conger-kappa' } = options;
  // The patient of each target goes along as an attribute, because the repeats number their patients anew.
  const { subject, ...rest } = ratings;
  const repeats = new Ratings({
    ...rest,
    ...(subject === undefined ? {} : { subject }),
    attributes: { ...ratings.attributes, patient: Array.from(ratings.clusterOf, String) },
  }).withinAssessors();
  if (repeats.targets === 0)
    throw refuse(
      'repeats-needed',
      ['ratings'],
      'No assessor read a target twice.',
      'give assessments with replicate numbers (ratingsFrom), or compare assessors with congerKappa.',
    );
  const comparison = compareAgreement(
    [
      { label: 'within assessors', ratings: repeats, patientOf: (at) => Number(repeats.attributes.patient![at]) },
      { label: 'between assessors', ratings, patientOf: (at) => ratings.clusterOf[at]! },
    ],
    { ...options, coefficient },
  );
  return {
    kind: 'within-and-between',
    within: comparison.groups[0]!.estimate,
    between: comparison.groups[1]!.estimate,
    difference: comparison.contrasts[0]!.result,
  };
}

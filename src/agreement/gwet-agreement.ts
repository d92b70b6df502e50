import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import type { IntervalOptions } from '../shared/options.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { type ChanceCorrected, prevalenceCorrected, readTwice, sumOfWeights } from './prevalence-corrected.js';
import { observedCategoriesNote, undefinedNote } from './sparse-readings.js';
import { refuseMeasured } from './suitable-ratings.js';
import { agreementWeights, type Weights, weightsName } from './weights.js';

export interface GwetAgreementOptions extends IntervalOptions {
  /** Agreement weights: `'identity'` (the default) gives Gwet's first coefficient, all others his second. */
  readonly weights?: Weights;
}

/**
 * Gwet's agreement coefficients of any number of assessors: agreement beyond chance, where chance is thought to play only
 * for hard targets, so that one frequent category does not pull the coefficient down.
 *
 * (pₐ − pₑ) / (1 − pₑ), pₑ = T / (q(q − 1)) · Σ πₖ(1 − πₖ), T = Σ wₖₗ, q the categories of the scale, used or not, πₖ their prevalences
 * and pₐ target-averaged as in `fleissKappa`, wₖₗ the agreement weights. Identity weights (T = q): the first coefficient.
 * It can be high while assessors never agree on a rare grade: read the specific agreement beside it.
 *
 * Undefined (`NaN` with a note) when no target was read twice, or the scale has one category; with one category in use it is 1. Missing
 * values: a target read once gives its reading to the prevalences, not to the agreement; one read by nobody is `excluded`.
 *
 * Depends on how many categories the scale has: with categories taken from the readings, grades nobody used are missing, and a note
 * says so. The asymptotic error is Gwet's linearization (divisor n − 1, t with n − 1 degrees of freedom, targets read twice taken as fixed in
 * number; an upper limit above 1 is kept and said). `details`: observedAgreement pₐ, expectedAgreement pₑ, targetsReadTwice,
 * standardErrorDivisorN (the convention for a table of two assessors).
 *
 * @throws InputError `unknown-choice`, `bad-weights`, `level-not-suited`, `bad-option`.
 * @example gwetAgreement(ratingsOfTable([[80, 10], [5, 5]], { categories: ['no', 'yes'] })).value // 0.808
 * Source: Gwet KL. Br J Math Stat Psychol 2008;61:29–48, doi:10.1348/000711006X126600; weights: Gwet KL. Handbook of Inter-Rater
 * Reliability (from memory).
 */
export function gwetAgreement(ratings: Ratings, options: GwetAgreementOptions = {}): Estimate {
  const weights = options.weights ?? 'identity';
  const coefficient = gwetCoefficient(ratings, { weights });
  return coefficientEstimate(ratings, coefficient, options, {
    options: { weights },
    details: (totals) => ({ ...coefficient.parts(totals), targetsReadTwice: readTwice(ratings).targets }),
    divisorN: true,
    notes: (value) => [...undefinedNote(value, coefficient.name), ...observedCategoriesNote(ratings)],
  });
}

/** The coefficient behind `gwetAgreement`. */
export function gwetCoefficient(ratings: Ratings, options: Pick<GwetAgreementOptions, 'weights'>): ChanceCorrected {
  refuseMeasured(ratings, 'gwetAgreement');
  const asked = options.weights ?? 'identity';
  const weights = agreementWeights(ratings, asked);
  const size = ratings.categories.length;
  const factor = sumOfWeights(weights) / (size * (size - 1));
  return prevalenceCorrected(ratings, {
    name: asked === 'identity' ? 'Gwet first coefficient' : `Gwet second coefficient, ${weightsName(asked)} weights`,
    weights,
    chance: {
      of(pi) {
        let sum = 0;
        for (let k = 0; k < size; k++) sum += pi[k]! * (1 - pi[k]!);
        return 1 - factor * sum;
      },
      derivatives: (pi) => pi.map((share) => -factor * (1 - 2 * share)),
    },
    counting: 'target-averaged',
    asymptotic: 't, divisor n − 1',
    asymptoticSource: 'Gwet 2008',
    bootstrapForm: 'symmetric',
  });
}

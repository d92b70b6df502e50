import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import type { IntervalOptions } from '../shared/options.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { type ChanceCorrected, prevalenceCorrected, readTwice, sumOfWeights } from './prevalence-corrected.js';
import { observedCategoriesNote, undefinedNote } from './sparse-readings.js';
import { refuseMeasured } from './suitable-ratings.js';
import { agreementWeights, type Weights, weightsName } from './weights.js';

export interface BrennanPredigerOptions extends IntervalOptions {
  /** Agreement weights. Default `'identity'` (unweighted). */
  readonly weights?: Weights;
}

/**
 * The coefficient of Brennan and Prediger of any number of assessors: agreement beyond what guessing evenly among the scale's
 * categories would give. With two categories it is 2pₐ − 1, known as prevalence-adjusted bias-adjusted kappa.
 *
 * (pₐ − pₑ) / (1 − pₑ), pₑ = Σ wₖₗ / q², q the categories of the scale, used or not, wₖₗ the agreement weights; pₐ target-averaged as
 * in `fleissKappa`.
 *
 * Undefined (`NaN` with a note) when no target was read twice, or the scale has one category. Missing values: targets read
 * once do not change the value (they enter the published error's n); one read by nobody is counted as `excluded`.
 *
 * Depends on how many categories the scale has: with categories taken from the readings, grades nobody used are missing, and a note
 * says so. The asymptotic error is Gwet's (divisor n − 1, t with n − 1 degrees of freedom, targets read twice taken as fixed in number).
 * `details`: observedAgreement pₐ, expectedAgreement pₑ, targetsReadTwice, standardErrorDivisorN.
 *
 * @throws InputError `unknown-choice`, `bad-weights`, `level-not-suited`, `bad-option`.
 * @example brennanPrediger(ratingsOfTable([[80, 10], [5, 5]], { categories: ['no', 'yes'] })).value // 0.7
 * Source: Brennan RL, Prediger DJ. Educ Psychol Meas 1981;41:687–699, doi:10.1177/001316448104100307; two categories: Byrt T, Bishop J,
 * Carlin JB. J Clin Epidemiol 1993;46:423–429, doi:10.1016/0895-4356(93)90018-V; error: Gwet KL. Br J Math Stat Psychol 2008;61:29–48,
 * doi:10.1348/000711006X126600.
 */
export function brennanPrediger(ratings: Ratings, options: BrennanPredigerOptions = {}): Estimate {
  const weights = options.weights ?? 'identity';
  const coefficient = brennanPredigerCoefficient(ratings, { weights });
  return coefficientEstimate(ratings, coefficient, options, {
    options: { weights },
    details: (totals) => ({ ...coefficient.parts(totals), targetsReadTwice: readTwice(ratings).targets }),
    divisorN: true,
    notes: (value) => [...undefinedNote(value, coefficient.name), ...observedCategoriesNote(ratings)],
  });
}

/** The coefficient behind `brennanPrediger`. */
export function brennanPredigerCoefficient(
  ratings: Ratings,
  options: Pick<BrennanPredigerOptions, 'weights'>,
): ChanceCorrected {
  refuseMeasured(ratings, 'brennanPrediger');
  const asked = options.weights ?? 'identity';
  const weights = agreementWeights(ratings, asked);
  const size = ratings.categories.length;
  const even = sumOfWeights(weights) / (size * size);
  return prevalenceCorrected(ratings, {
    name:
      asked === 'identity'
        ? 'Brennan–Prediger coefficient'
        : `Brennan–Prediger coefficient, ${weightsName(asked)} weights`,
    weights,
    chance: { of: () => 1 - even, derivatives: () => new Float64Array(size) },
    counting: 'target-averaged',
    asymptotic: 't, divisor n − 1',
    asymptoticSource: 'Gwet 2008',
    bootstrapForm: 'symmetric',
  });
}

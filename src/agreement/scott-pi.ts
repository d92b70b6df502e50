import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import type { IntervalOptions } from '../shared/options.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { type ChanceCorrected, drawnFromPrevalences, prevalenceCorrected } from './prevalence-corrected.js';
import { alikeNote, undefinedNote } from './sparse-readings.js';
import { refuseMeasured } from './suitable-ratings.js';
import { twoAssessorsOf } from './two-assessors.js';
import { agreementWeights, type Weights, weightsName } from './weights.js';

export interface ScottPiOptions extends IntervalOptions {
  /** Agreement weights. Default `'identity'` (unweighted). */
  readonly weights?: Weights;
  /** The two assessors to compare; needed when the ratings hold more than two. */
  readonly assessors?: readonly [string, string];
}

/**
 * Scott's pi of two assessors: agreement beyond the chance that their pooled margin gives. A difference between the two margins
 * counts as disagreement, which in Cohen's kappa it partly does not.
 *
 * π = (pₒ − pₑ) / (1 − pₑ), pₒ = Σ wᵢⱼ pᵢⱼ, pₑ = Σ wᵢⱼ πᵢ πⱼ, πᵢ = (pᵢ₊ + p₊ᵢ) / 2; symbols as in `cohenKappa`.
 *
 * Undefined (`NaN` with a note) when both used one category throughout, or no target has both readings. Missing values: a target
 * enters when both have read it; the others are counted as `excluded`.
 *
 * The asymptotic error is the delta method with divisor n and normal quantiles (Gwet's for a table of two assessors).
 * `details`: observedAgreement pₒ, expectedAgreement pₑ.
 *
 * @param ratings two assessors (or name two in `assessors`).
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `unknown-choice`, `bad-weights`, `level-not-suited`, `bad-option`.
 * @example scottPi(ratingsOfTable([[40, 9], [6, 45]], { categories: ['no', 'yes'] })).value // 0.6992
 * Source: Scott WA. Public Opin Q 1955;19:321–325, doi:10.1086/266577; error: Gwet KL. Br J Math Stat Psychol 2008;61:29–48,
 * doi:10.1348/000711006X126600.
 */
export function scottPi(ratings: Ratings, options: ScottPiOptions = {}): Estimate {
  const pair = twoAssessorsOf(ratings, options.assessors, 'scottPi');
  const weights = options.weights ?? 'identity';
  const coefficient = scottCoefficient(pair, { weights });
  return coefficientEstimate(pair, coefficient, options, {
    options: { weights },
    details: (totals) => coefficient.parts(totals),
    ratingsPerTarget: 2,
    notes: (value) => [...undefinedNote(value, coefficient.name), ...alikeNote(pair)],
  });
}

/** The coefficient behind `scottPi`. */
export function scottCoefficient(pair: Ratings, options: Pick<ScottPiOptions, 'weights'>): ChanceCorrected {
  refuseMeasured(pair, 'scottPi');
  const asked = options.weights ?? 'identity';
  const weights = agreementWeights(pair, asked);
  return prevalenceCorrected(pair, {
    name: asked === 'identity' ? 'Scott pi' : `Scott pi, ${weightsName(asked)} weights`,
    weights,
    chance: drawnFromPrevalences(weights, pair.categories.length),
    counting: 'pairs-only',
    asymptotic: 'normal, divisor n',
    asymptoticSource: 'Gwet 2008, two assessors',
    bootstrapForm: 'equal-tailed',
  });
}

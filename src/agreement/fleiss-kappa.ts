import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import { checkChoice, type IntervalOptions } from '../shared/options.js';
import { clusterSums } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { oneAgainstOthers } from './one-against-others.js';
import { type ChanceCorrected, drawnFromPrevalences, prevalenceCorrected, readTwice } from './prevalence-corrected.js';
import { alikeNote, undefinedNote } from './sparse-readings.js';
import { refuseMeasured } from './suitable-ratings.js';
import { agreementWeights, type Weights, weightsName } from './weights.js';

export interface FleissKappaOptions extends IntervalOptions {
  /** Agreement weights. Default `'identity'` (unweighted). */
  readonly weights?: Weights;
  /**
   * How targets with unequal numbers of readings count; it makes no difference when all have the same number.
   * Default `'target-averaged'`.
   */
  readonly counting?: 'target-averaged' | 'pair-weighted';
}

/**
 * Fleiss' kappa of any number of assessors, who need not be the same for each target: agreement beyond what the pooled
 * prevalences of the categories give by chance.
 *
 * κ = (pₐ − pₑ) / (1 − pₑ), pₑ = Σ wₖₗ πₖ πₗ, wₖₗ the agreement weights. Target-averaged: pₐ = mean over targets read twice or more of
 * Σ wₖₗ nₖ(nₗ − [k = l]) / (m(m − 1)), πₖ = mean over targets of nₖ / m, nₖ readings of the target in category k and m its
 * readings. Pair-weighted: numerator and denominator of pₐ are summed over targets first, πₖ is the share of all readings.
 * Krippendorff's alpha is the third convention for unequal numbers; see there.
 *
 * Undefined (`NaN` with a note) when all readings are of one category or no target was read twice. Missing values: a target read
 * once gives its reading to the prevalences, not to the agreement; one read by nobody is counted as `excluded`.
 *
 * The asymptotic error is Gwet's linearization (divisor n − 1, t with n − 1 degrees of freedom, targets read twice taken as fixed in number);
 * pair-weighted, the delta method with divisor n. `details`: observedAgreement pₐ, expectedAgreement pₑ, targetsReadTwice,
 * nullStandardError (Fleiss, Nee, Landis 1979: for a test of κ = 0, never for an interval; `NaN` unless unweighted with equal
 * numbers of readings), standardErrorDivisorN (the asymptotic error with divisor n), and, unweighted with at most twelve categories,
 * one `category …` each: the kappa of that category against all others (with intervals: `fleissKappaByCategory`).
 *
 * @throws InputError `unknown-choice`, `bad-weights`, `level-not-suited`, `bad-option`.
 * @example fleissKappa(ratingsOfCounts([[0, 3], [2, 1], [3, 0]], { categories: ['no', 'yes'] })).value // 0.55
 * Source: Fleiss JL. Psychol Bull 1971;76:378–382, doi:10.1037/h0031619; null error: Fleiss JL, Nee JCM, Landis JR. Psychol Bull
 * 1979;86:974–977, doi:10.1037/0033-2909.86.5.974; error: Gwet KL. Br J Math Stat Psychol 2008;61:29–48, doi:10.1348/000711006X126600.
 */
export function fleissKappa(ratings: Ratings, options: FleissKappaOptions = {}): Estimate {
  const weights = options.weights ?? 'identity';
  const counting = options.counting ?? 'target-averaged';
  const coefficient = fleissCoefficient(ratings, { weights, counting });
  return coefficientEstimate(ratings, coefficient, options, {
    options: { weights, counting },
    details: (totals) => ({
      ...coefficient.parts(totals),
      targetsReadTwice: readTwice(ratings).targets,
      nullStandardError: weights === 'identity' ? nullErrors(ratings).all : Number.NaN,
      ...(weights === 'identity' && ratings.categories.length <= 12 ? byCategory(ratings, counting) : {}),
    }),
    divisorN: true,
    notes: (value) => [...undefinedNote(value, coefficient.name), ...alikeNote(ratings)],
  });
}

/** The coefficient behind `fleissKappa`. */
export function fleissCoefficient(
  ratings: Ratings,
  options: Pick<FleissKappaOptions, 'weights' | 'counting'>,
): ChanceCorrected {
  refuseMeasured(ratings, 'fleissKappa');
  const asked = options.weights ?? 'identity';
  const counting = checkChoice('counting', options.counting ?? 'target-averaged', ['target-averaged', 'pair-weighted']);
  const weights = agreementWeights(ratings, asked);
  return prevalenceCorrected(ratings, {
    name: asked === 'identity' ? 'Fleiss kappa' : `Fleiss kappa, ${weightsName(asked)} weights`,
    weights,
    chance: drawnFromPrevalences(weights, ratings.categories.length),
    counting,
    bootstrapForm: 'symmetric',
    ...(counting === 'pair-weighted'
      ? { asymptotic: 'normal, divisor n', asymptoticSource: 'delta method' }
      : { asymptotic: 't, divisor n − 1', asymptoticSource: 'Gwet 2008' }),
  });
}

/**
 * Errors under κ = 0 of Fleiss, Nee and Landis (1979), for all categories together and for each; `NaN` when targets have
 * unequal numbers of readings.
 */
export function nullErrors(ratings: Ratings): { all: number; each: number } {
  const { targets, readingsEach: m } = readTwice(ratings);
  const each = Math.sqrt(2 / (targets * m * (m - 1)));
  const counts = new Float64Array(ratings.categories.length);
  let readings = 0;
  for (const code of ratings.codes) {
    if (code < 0) continue;
    counts[code]!++;
    readings++;
  }
  // The published (Σpq)² − Σpq(q − p) as a sum over pairs of categories, in which nothing cancels where one is rare.
  let spread = 0;
  let squares = 0;
  counts.forEach((count, k) => {
    const p = count / readings;
    const q = (readings - count) / readings;
    spread += p * q;
    counts.forEach((other, l) => {
      if (l !== k) squares += p * p * (other / readings) * (other / readings + q);
    });
  });
  return { all: (each * Math.sqrt(squares)) / spread, each };
}

function byCategory(ratings: Ratings, counting: 'target-averaged' | 'pair-weighted'): Record<string, number> {
  return Object.fromEntries(
    ratings.categories.map(({ value }, code) => {
      const one = oneAgainstOthers(ratings, code);
      const coefficient = fleissCoefficient(one, { counting });
      return [`category ${value}`, coefficient.value(clusterSums(one, coefficient).totals)];
    }),
  );
}

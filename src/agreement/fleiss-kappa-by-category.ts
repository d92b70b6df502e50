import type { Ratings } from '../ratings/ratings.js';
import type { IntervalOptions } from '../shared/options.js';
import { CategoryEstimates } from './category-estimates.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { type FleissKappaOptions, fleissCoefficient, nullErrors } from './fleiss-kappa.js';
import { oneAgainstOthers } from './one-against-others.js';
import { undefinedNote } from './sparse-readings.js';

/**
 * Fleiss' kappa of each category against all others: which grades assessors tell apart better than chance.
 *
 * κₖ = 1 − Σₜ nₖ(m − nₖ) / (N m(m − 1) πₖ(1 − πₖ)), nₖ readings of target t in category k, m its readings, N targets, πₖ the prevalence;
 * this is `fleissKappa` on the two categories "k" and "other", and is computed so for unequal numbers of readings too.
 *
 * Undefined (`NaN` with a note) for a category that nobody or everybody used. Missing values as in `fleissKappa`. `details` of each
 * estimate: readings of the category, observedAgreement, expectedAgreement, nullStandardError √(2 / (N m(m − 1))).
 *
 * @throws InputError `unknown-choice`, `level-not-suited`, `bad-option`.
 * @example fleissKappaByCategory(ratingsOfCounts([[0, 3], [2, 1], [3, 0]], { categories: ['no', 'yes'] })).categories[0].estimate.value // 0.55
 * Source: Fleiss JL. Psychol Bull 1971;76:378–382, doi:10.1037/h0031619; null error: Fleiss JL, Nee JCM, Landis JR. Psychol Bull
 * 1979;86:974–977, doi:10.1037/0033-2909.86.5.974.
 */
export function fleissKappaByCategory(
  ratings: Ratings,
  options: IntervalOptions & Pick<FleissKappaOptions, 'counting'> = {},
): CategoryEstimates {
  const { counting = 'target-averaged' } = options;
  return new CategoryEstimates(
    'kappa-by-category',
    'How well is each grade told from all the others, beyond chance?',
    'Fleiss kappa',
    ratings.categories.map((category, code) => {
      const one = oneAgainstOthers(ratings, code);
      const coefficient = { ...fleissCoefficient(one, { counting }), name: `Fleiss kappa of "${category.words}"` };
      const estimate = coefficientEstimate(one, coefficient, options, {
        options: { category: category.value, counting },
        details: (totals) => ({
          readings: one.codes.reduce((count, reading) => count + (reading === 1 ? 1 : 0), 0),
          ...coefficient.parts(totals),
          nullStandardError: nullErrors(one).each,
        }),
        divisorN: true,
        notes: (value) => undefinedNote(value, coefficient.name),
      });
      return { category, estimate };
    }),
  );
}

import { agreementCoefficient } from '../../src/agreement/agreement-coefficient.ts';
import type { Coefficient } from '../../src/agreement/coefficient.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';

/** The coefficient of a name and a choice of weights, for any ratings. */
export const named =
  (name: Parameters<typeof agreementCoefficient>[0], choice = {}) =>
  (ratings: Ratings): Coefficient =>
    agreementCoefficient(name).coefficient(ratings, choice);

import type { Ratings } from '../ratings/ratings.js';
import { refuse } from '../shared/input-error.js';

/** The two assessors asked for; throws when the ratings hold none or more than two and none were named. */
export function twoAssessorsOf(
  ratings: Ratings,
  names: readonly [string, string] | undefined,
  caller: string,
): Ratings {
  if (names !== undefined) return ratings.ofAssessors(...names);
  if (ratings.assessors.length === 2) return ratings;
  throw refuse(
    'two-assessors-needed',
    ['ratings'],
    ratings.assessors.length === 0
      ? `${caller} compares two assessors, but who gave which reading is not known here.`
      : `${caller} compares two assessors; these ratings hold ${ratings.assessors.length}.`,
    'name two in the option assessors, or use a coefficient for many assessors (krippendorffAlpha).',
  );
}

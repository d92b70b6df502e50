import type { Ratings } from '../ratings/ratings.js';
import { refuse } from '../shared/input-error.js';

/** Refuses measured numbers, for which "the same category" is an accident of rounding. */
export function refuseMeasured(ratings: Ratings, caller: string): void {
  if (ratings.level !== 'interval' && ratings.level !== 'ratio') return;
  throw refuse(
    'level-not-suited',
    ['ratings'],
    `${caller} is for grades; ${ratings.subject?.signLabel ?? 'this sign'} is measured.`,
    'use intraclassCorrelation, limitsOfAgreement, concordanceCorrelation or krippendorffAlpha.',
  );
}

/** Refuses readings of which it is not known who gave them. */
export function refuseUnknownAssessors(ratings: Ratings, caller: string): void {
  if (ratings.assessors.length >= 2) return;
  throw refuse(
    'assessors-needed',
    ['ratings'],
    ratings.assessors.length === 0
      ? `${caller} needs each assessor's own margin, but who gave which reading is not known here.`
      : `${caller} compares assessors; there is one.`,
    'give ratings with their assessors, or use fleissKappa, gwetAgreement or krippendorffAlpha.',
  );
}

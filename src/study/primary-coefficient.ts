import { brennanPrediger } from '../agreement/brennan-prediger.js';
import { cohenKappa } from '../agreement/cohen-kappa.js';
import { congerKappa } from '../agreement/conger-kappa.js';
import { fleissKappa } from '../agreement/fleiss-kappa.js';
import { gwetAgreement } from '../agreement/gwet-agreement.js';
import { intraclassCorrelation } from '../agreement/intraclass-correlation.js';
import { type AlphaMetric, krippendorffAlpha } from '../agreement/krippendorff-alpha.js';
import { lightKappa } from '../agreement/light-kappa.js';
import { percentAgreement } from '../agreement/percent-agreement.js';
import { scottPi } from '../agreement/scott-pi.js';
import type { Weights } from '../agreement/weights.js';
import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import type { IntervalOptions } from '../shared/options.js';

/** Options of any primary coefficient: each takes those that concern it. */
export interface PrimaryOptions extends IntervalOptions {
  readonly weights?: Weights;
  readonly metric?: AlphaMetric;
}

interface Entry {
  readonly words: string;
  /** Whether 0 means "as by chance". */
  readonly chanceCorrected: boolean;
  /** What of the plan it is computed with. */
  readonly takes: 'weights' | 'metric' | 'neither';
  readonly estimate: (ratings: Ratings, options: PrimaryOptions) => Estimate;
}

/** The coefficients that a plan can name as its primary one for graded signs. */
export const PRIMARY_COEFFICIENTS = {
  'cohen-kappa': { words: 'Cohen kappa', chanceCorrected: true, takes: 'weights', estimate: cohenKappa },
  'conger-kappa': { words: 'Conger kappa', chanceCorrected: true, takes: 'weights', estimate: congerKappa },
  'fleiss-kappa': { words: 'Fleiss kappa', chanceCorrected: true, takes: 'weights', estimate: fleissKappa },
  'light-kappa': { words: 'Light kappa', chanceCorrected: true, takes: 'weights', estimate: lightKappa },
  'scott-pi': { words: 'Scott pi', chanceCorrected: true, takes: 'weights', estimate: scottPi },
  'gwet-agreement': {
    words: 'Gwet agreement coefficient',
    chanceCorrected: true,
    takes: 'weights',
    estimate: gwetAgreement,
  },
  'brennan-prediger': {
    words: 'Brennan–Prediger coefficient',
    chanceCorrected: true,
    takes: 'weights',
    estimate: brennanPrediger,
  },
  'krippendorff-alpha': {
    words: 'Krippendorff alpha',
    chanceCorrected: true,
    takes: 'metric',
    estimate: krippendorffAlpha,
  },
  'percent-agreement': {
    words: 'percent agreement',
    chanceCorrected: false,
    takes: 'neither',
    estimate: percentAgreement,
  },
} as const satisfies Record<string, Entry>;

export type PrimaryCoefficient = keyof typeof PRIMARY_COEFFICIENTS;

/** The primary coefficient of measured signs: agreement of single readings, assessors as random effects of the two-way table. */
export function measuredCoefficient(ratings: Ratings, options: IntervalOptions): Estimate {
  return intraclassCorrelation(ratings, { model: 'two-way', definition: 'agreement', unit: 'single', ...options });
}

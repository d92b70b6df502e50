import { cohenKappa } from '../agreement/cohen-kappa.js';
import { type AlphaMetric, krippendorffAlpha } from '../agreement/krippendorff-alpha.js';
import { percentAgreement } from '../agreement/percent-agreement.js';
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
  readonly estimate: (ratings: Ratings, options: PrimaryOptions) => Estimate;
}

/** The coefficients that a plan can name as its primary one. */
export const PRIMARY_COEFFICIENTS = {
  'cohen-kappa': { words: 'Cohen kappa', chanceCorrected: true, estimate: cohenKappa },
  'krippendorff-alpha': { words: 'Krippendorff alpha', chanceCorrected: true, estimate: krippendorffAlpha },
  'percent-agreement': { words: 'percent agreement', chanceCorrected: false, estimate: percentAgreement },
} as const satisfies Record<string, Entry>;

export type PrimaryCoefficient = keyof typeof PRIMARY_COEFFICIENTS;

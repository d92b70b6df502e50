import { oneSidedToleranceFactor } from '../agreement/tolerance-factors.js';
import { lnGamma } from '../shared/distributions.js';
import { information } from '../shared/note.js';
import { formatNumber } from '../shared/table.js';
import { checkPlanning, FRACTION, isFraction, SampleSize } from './sample-size.js';

export interface LimitsOfAgreementSampleSizeOptions {
  /** Standard deviation expected of the difference between two readings, in the sign's unit. */
  readonly standardDeviation: number;
  /** Whole width wanted of the interval of one limit of agreement, in the same unit. */
  readonly width: number;
  /** Share of differences that lie between the limits. Default 0.95. */
  readonly coverage?: number;
  /** Default 0.95. */
  readonly confidenceLevel?: number;
}

/** More pairs than a bedside study will ever have: the search ends there. */
const MOST = 5000;

/**
 * Findings, each read by two assessors, needed so that the exact interval of a limit of agreement has at most a given width on average.
 *
 * The smallest n with (k_U − k_L)·σ·c ≤ w: k_L and k_U the exact one-sided tolerance factors of n that `limitsOfAgreement` uses, σ the standard deviation
 * of the difference, c = E(s)/σ = √(2/(n − 1)) Γ(n/2)/Γ((n − 1)/2), w the width. `details.width` is the width at that number.
 *
 * Findings are independent, so each is on another patient; see `patientsNeeded`.
 *
 * @throws InputError `bad-option`: every option that does not fit, or a width that would need more than 5,000 findings.
 * @example limitsOfAgreementSampleSize({ standardDeviation: 0.6, width: 0.4 }).findings // 105
 * Source: Carkeet A. Optom Vis Sci 2015;92:e71–e80, doi:10.1097/OPX.0000000000000513 (factors); the search over n is ours.
 */
export function limitsOfAgreementSampleSize(options: LimitsOfAgreementSampleSizeOptions): SampleSize {
  const { standardDeviation, width } = options;
  const coverage = options.coverage ?? 0.95;
  const confidenceLevel = options.confidenceLevel ?? 0.95;
  checkPlanning([
    ['standardDeviation', standardDeviation, standardDeviation > 0, 'a number above 0'],
    ['width', width, width > 0, 'a number above 0'],
    ['coverage', coverage, isFraction(coverage), FRACTION],
    ['confidenceLevel', confidenceLevel, isFraction(confidenceLevel), FRACTION],
  ]);
  const content = (1 + coverage) / 2;
  const alpha = (1 - confidenceLevel) / 2;
  const widthOf = (n: number): number =>
    (oneSidedToleranceFactor(n, content, 1 - alpha) - oneSidedToleranceFactor(n, content, alpha)) *
    standardDeviation *
    meanOfSpread(n);
  checkPlanning([['width', width, widthOf(MOST) <= width, `a width that ${MOST} findings can give or more`]]);
  let few = 2;
  let enough = MOST;
  while (enough - few > 1) {
    const middle = Math.floor((few + enough) / 2);
    if (widthOf(middle) <= width) enough = middle;
    else few = middle;
  }
  return new SampleSize({
    purpose: `for a ${formatNumber(100 * confidenceLevel, 0)} % interval of each limit of agreement at most ${formatNumber(width)} wide on average`,
    exact: enough,
    method: 'exact tolerance factors (Carkeet 2015), two readings a finding',
    options: { standardDeviation, width, coverage, confidenceLevel },
    details: { width: widthOf(enough) },
    notes: [information('two-readings', 'Each finding is read by two assessors, once each.')],
  });
}

/** E(s)/σ of n normal numbers. */
function meanOfSpread(n: number): number {
  return Math.sqrt(2 / (n - 1)) * Math.exp(lnGamma(n / 2) - lnGamma((n - 1) / 2));
}

import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import { checkChoice, type IntervalOptions } from '../shared/options.js';
import { brennanPrediger, brennanPredigerCoefficient } from './brennan-prediger.js';
import type { Coefficient } from './coefficient.js';
import { cohenKappa, kappaCoefficient } from './cohen-kappa.js';
import { congerCoefficient, congerKappa } from './conger-kappa.js';
import { fleissCoefficient, fleissKappa } from './fleiss-kappa.js';
import { gwetAgreement, gwetCoefficient } from './gwet-agreement.js';
import { intraclassAnalysis, intraclassCorrelation } from './intraclass-correlation.js';
import { type AlphaMetric, alphaCoefficient, krippendorffAlpha } from './krippendorff-alpha.js';
import { lightCoefficient, lightKappa } from './light-kappa.js';
import { percentAgreement, percentCoefficient } from './percent-agreement.js';
import { scottCoefficient, scottPi } from './scott-pi.js';
import { agreementWeights, type Weights } from './weights.js';

/** The coefficients that can be named where one is to be chosen: compared, taken pair by pair, within and between. */
export type AgreementCoefficient =
  | 'percent-agreement'
  | 'cohen-kappa'
  | 'conger-kappa'
  | 'fleiss-kappa'
  | 'light-kappa'
  | 'scott-pi'
  | 'brennan-prediger'
  | 'gwet-agreement'
  | 'krippendorff-alpha'
  | 'intraclass-correlation';

/** Which coefficient, and what it is computed with; options that do not concern it are not looked at. */
export interface CoefficientChoice {
  /** The intraclass correlation is that for agreement of single readings (two-way). */
  readonly coefficient?: AgreementCoefficient;
  /** Agreement weights of the coefficients that take them. Default `'identity'`. */
  readonly weights?: Weights;
  /** Metric of Krippendorff's alpha. Default: the sign's own level. */
  readonly metric?: AlphaMetric;
  /** Grades apart that still count as agreeing, for percent agreement. Default 0. */
  readonly within?: number;
}

interface Entry {
  readonly estimate: (ratings: Ratings, options: CoefficientChoice & IntervalOptions) => Estimate;
  readonly coefficient: (ratings: Ratings, choice: CoefficientChoice) => Coefficient;
}

/** For measured signs: agreement of single readings, assessors as effects of the two-way table. */
const SINGLE_AGREEMENT = { model: 'two-way', definition: 'agreement', unit: 'single' } as const;

const COEFFICIENTS: Readonly<Record<AgreementCoefficient, Entry>> = {
  'percent-agreement': {
    estimate: percentAgreement,
    coefficient: (ratings, { within = 0 }) => percentCoefficient(ratings, within),
  },
  'cohen-kappa': {
    estimate: cohenKappa,
    coefficient: (ratings, { weights = 'identity' }) =>
      kappaCoefficient(ratings, agreementWeights(ratings, weights), weights),
  },
  'conger-kappa': { estimate: congerKappa, coefficient: congerCoefficient },
  'fleiss-kappa': { estimate: fleissKappa, coefficient: fleissCoefficient },
  'light-kappa': { estimate: lightKappa, coefficient: lightCoefficient },
  'scott-pi': { estimate: scottPi, coefficient: scottCoefficient },
  'brennan-prediger': { estimate: brennanPrediger, coefficient: brennanPredigerCoefficient },
  'gwet-agreement': { estimate: gwetAgreement, coefficient: gwetCoefficient },
  'krippendorff-alpha': { estimate: krippendorffAlpha, coefficient: alphaCoefficient },
  'intraclass-correlation': {
    estimate: (ratings, { confidenceLevel, interval, replicates, seed }) =>
      intraclassCorrelation(ratings, {
        ...SINGLE_AGREEMENT,
        ...(confidenceLevel === undefined ? {} : { confidenceLevel }),
        ...(interval === undefined ? {} : { interval }),
        ...(replicates === undefined ? {} : { replicates }),
        ...(seed === undefined ? {} : { seed }),
      }),
    coefficient: (ratings) => intraclassAnalysis(ratings, SINGLE_AGREEMENT, 'intraclassCorrelation').coefficient,
  },
};

/** A coefficient by its name: its estimate with an interval, and the sums behind it. */
export function agreementCoefficient(name: AgreementCoefficient): Entry {
  return COEFFICIENTS[checkChoice('coefficient', name, Object.keys(COEFFICIENTS) as readonly AgreementCoefficient[])];
}

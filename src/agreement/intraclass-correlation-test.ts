import type { Ratings } from '../ratings/ratings.js';
import { fisherF } from '../shared/distributions.js';
import { refuse } from '../shared/input-error.js';
import { caution } from '../shared/note.js';
import { TestResult } from '../shared/test-result.js';
import {
  type IntraclassCorrelationOptions,
  intraclassAnalysis,
  intraclassCorrelation,
} from './intraclass-correlation.js';
import { agreementRatio, consistencyRatio, oneWayRatio } from './intraclass-f-interval.js';

export interface IntraclassCorrelationTestOptions extends IntraclassCorrelationOptions {
  /** The value that the coefficient is held against; 0 or more, below 1. Default 0. */
  readonly nullValue?: number;
}

/**
 * F test of whether an intraclass correlation is larger than a stated value.
 *
 * For one reading, ρ₀ the value, n targets, k readings: one-way and consistency F = (MSₜ/MSₑ)·(1 − ρ₀)/(1 + (k − 1)ρ₀) with n − 1 and the
 * degrees of freedom of MSₑ (within, or residual); agreement F = MSₜ/(a·MSₐ + b·MSₑ), a = kρ₀/(n(1 − ρ₀)), b = 1 + kρ₀(n − 1)/(n(1 − ρ₀)), the
 * denominator's degrees of freedom by Satterthwaite at ρ₀. An average of k is tested through the value of one reading that it stands for.
 * One-sided. `degreesOfFreedom` is the numerator's; `details.denominatorDegrees` the other.
 *
 * Targets are taken as independent; where patients have several, the p-value is too small and a caution says so.
 * Undefined (`NaN`) where the coefficient is. Missing values: one-way as in `intraclassCorrelation`; two-way needs every reading.
 *
 * @param ratings numbers; grades only with `gradesAsNumbers: true`.
 * @throws InputError as `intraclassCorrelation`, `complete-readings-needed` (two-way with gaps), `bad-option` (nullValue).
 * @example intraclassCorrelationTest(ratings, { model: 'two-way', definition: 'consistency', unit: 'single', nullValue: 0.6 }).pValue
 * Source: McGraw KO, Wong SP. Psychol Methods 1996;1:30–46, doi:10.1037/1082-989X.1.1.30.
 */
export function intraclassCorrelationTest(ratings: Ratings, options: IntraclassCorrelationTestOptions): TestResult {
  const { nullValue = 0, ...form } = options;
  if (!(nullValue >= 0 && nullValue < 1))
    throw refuse(
      'bad-option',
      ['options', 'nullValue'],
      `nullValue is ${nullValue}.`,
      'give 0 or more, and less than 1.',
    );
  const { oneWay, twoWay, averagedOver } = intraclassAnalysis(ratings, form, 'intraclassCorrelationTest');
  if (oneWay === undefined && twoWay === undefined)
    throw refuse(
      'complete-readings-needed',
      ['ratings'],
      'Some assessors did not read some targets, and the F test needs every reading.',
      'read the interval of intraclassCorrelation instead.',
    );
  const single = form.unit === 'average' ? nullValue / (averagedOver - (averagedOver - 1) * nullValue) : nullValue;
  const ratio =
    oneWay !== undefined
      ? oneWayRatio(oneWay, single)
      : form.definition === 'agreement'
        ? agreementRatio(twoWay!, single)
        : consistencyRatio(twoWay!, single);
  const estimate = intraclassCorrelation(ratings, form);
  const { f, numeratorDegrees, denominatorDegrees } = ratio;
  const { targets, clusters } = estimate.counts;
  return new TestResult({
    test: `F test that the ${estimate.statistic} exceeds ${nullValue}`,
    effect: { name: estimate.statistic, value: estimate.value, interval: estimate.interval },
    statistic: { name: 'F', value: f },
    degreesOfFreedom: numeratorDegrees,
    pValue: fisherF.upper(f, numeratorDegrees, denominatorDegrees),
    counts: estimate.counts,
    options: { ...estimate.options, nullValue },
    details: { numeratorDegrees, denominatorDegrees },
    notes: [
      ...(clusters < targets
        ? [
            caution(
              'assumes-independent-targets',
              'The test takes targets as independent although some share a patient; its p-value is too small.',
            ),
          ]
        : []),
      ...estimate.notes,
    ],
  });
}

import type { Ratings } from '../ratings/ratings.js';
import { Estimate, type Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkChoice, type IntervalOptions } from '../shared/options.js';
import { type Coefficient, clusterSums } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { agreementLimits, consistencyLimits, oneWayLimits } from './intraclass-f-interval.js';
import { assessorsWhoRead, measuredNumbers, type NumberOptions } from './measured-numbers.js';
import { ONE_WAY_CELLS, type OneWayTable, oneWayAdder, oneWayDerivatives, oneWayTable } from './one-way-table.js';
import { restrictedSums } from './two-way-restricted.js';
import {
  isComplete,
  type TwoWayComponents,
  type TwoWayTable,
  targetShare,
  targetShareGradient,
  twoWaySums,
} from './two-way-table.js';

export interface IntraclassForm {
  /** `'one-way'`: other assessors at every target, or who read is not known. `'two-way'`: the same assessors at all targets. */
  readonly model: 'one-way' | 'two-way';
  /** Two-way only. `'agreement'`: steady differences between assessors count as disagreement. `'consistency'`: they do not. */
  readonly definition?: 'agreement' | 'consistency';
  /** What will be used in practice: one reading, or the average of several. */
  readonly unit: 'single' | 'average';
  /** With `unit: 'average'`: of how many readings. Default: as many as here (one-way with unequal numbers: n₀). */
  readonly averagedOver?: number;
}

export interface IntraclassCorrelationOptions extends IntraclassForm, IntervalOptions, NumberOptions {}

/** A form with its sums: what the estimate and the test share. */
export interface IntraclassAnalysis {
  /** Those given, without assessors who read nothing. */
  readonly ratings: Ratings;
  readonly coefficient: Coefficient;
  /** Readings that an average is taken over. */
  readonly averagedOver: number;
  readonly oneWay: OneWayTable | undefined;
  readonly twoWay: TwoWayTable | undefined;
  readonly components: TwoWayComponents | undefined;
  readonly totals: Float64Array;
  readonly notes: readonly Note[];
}

/**
 * Intraclass correlation: the share of the variance of readings that lies between targets.
 *
 * σₜ² targets, σₐ² assessors, σₑ² residual, of one reading: one-way σₜ²/(σₜ² + σ_w²); two-way agreement σₜ²/(σₜ² + σₐ² + σₑ²); two-way
 * consistency σₜ²/(σₜ² + σₑ²). Average of k readings: kρ/(1 + (k − 1)ρ). Variances from the analysis of variance, MS the mean squares of n
 * targets and k assessors: σₑ² = MSₑ, σₜ² = (MSₜ − MSₑ)/k, σₐ² = (MSₐ − MSₑ)/n; one-way σ_w² = MS_w, σₜ² = (MSₜ − MS_w)/n₀, n₀ = (N − Σ mₜ²/N)/(n − 1) where
 * target t has mₜ of the N readings. Two-way with gaps: restricted maximum likelihood of the same model (never below 0).
 * In the papers' names: ICC(1), ICC(A,1), ICC(C,1), ICC(k), ICC(A,k), ICC(C,k).
 *
 * Undefined (`NaN` with a note) when nothing varies or no target was read twice. Missing values: a target enters with the readings it
 * has; one without any is counted as `excluded`, and assessors who read nothing are left out. Repeat readings do not enter.
 *
 * Intervals. With patients: studentized patient bootstrap on the Fisher scale for these assessors; with gaps the patient jackknife.
 * `interval: 'asymptotic'`: McGraw and Wong's F intervals, for independent targets; for agreement they take the assessors as a sample of
 * any assessors. The interval of an average is that of one reading, stepped up by the same formula.
 * `details`: the mean squares and variances, `averagedOver`, and F with its degrees of freedom.
 *
 * @param given numbers; grades only with `gradesAsNumbers: true`.
 * @throws InputError `unknown-choice`, `definition-needed`, `level-not-suited`, `grades-not-numbers`, `assessors-needed`, `two-assessors-needed`,
 * `complete-readings-needed` (asymptotic, two-way with gaps), `bad-option`.
 * @example intraclassCorrelation(ratingsOf([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]),
 *   { model: 'two-way', definition: 'agreement', unit: 'single' }).value // 0.2898
 * Source: Shrout PE, Fleiss JL. Psychol Bull 1979;86:420–428, doi:10.1037/0033-2909.86.2.420; McGraw KO, Wong SP. Psychol Methods
 * 1996;1:30–46, doi:10.1037/1082-989X.1.1.30, with the correction on page 390 of that volume.
 */
export function intraclassCorrelation(given: Ratings, options: IntraclassCorrelationOptions): Estimate {
  const analysis = intraclassAnalysis(given, options, 'intraclassCorrelation');
  const { ratings, coefficient, averagedOver, twoWay, oneWay } = analysis;
  const gaps = options.model === 'two-way' && twoWay === undefined;
  if (gaps && options.interval === 'asymptotic')
    throw refuse(
      'complete-readings-needed',
      ['options', 'interval'],
      'Some assessors did not read some targets, and F intervals need every reading.',
      "use interval: 'cluster-robust' or 'bootstrap'.",
    );
  const single = coefficientEstimate(
    ratings,
    coefficient,
    gaps && options.interval === undefined ? { ...options, interval: 'cluster-robust' } : options,
    { options: formOf(options), ratings: () => readingsThatEntered(analysis, ratings) },
  );
  const asymptotic = single.options.interval === 'asymptotic';
  const { confidenceLevel } = single.options as { confidenceLevel: number };
  const interval = asymptotic ? fInterval(analysis, options, single.value, confidenceLevel) : single.interval;
  const average = options.unit === 'average';
  // One reading's limit may lie where no average has a value: below −1/(k − 1) the average has no lower limit.
  const up = (rho: number): number => {
    if (!average) return rho;
    const whole = 1 + (averagedOver - 1) * rho;
    return whole <= 1e-12 ? Number.NEGATIVE_INFINITY : (averagedOver * rho) / whole;
  };
  const value = up(single.value);
  const noAverage = value === Number.NEGATIVE_INFINITY;
  const slope = average ? averagedOver / (1 + (averagedOver - 1) * single.value) ** 2 : 1;
  const { linearizedStandardError: _perReading, ...details } = single.details;
  return new Estimate({
    ...single,
    statistic: nameOf(options),
    value: noAverage ? Number.NaN : value,
    standardError: slope * single.standardError,
    interval: { ...interval, lower: up(interval.lower), upper: up(interval.upper) },
    details: { ...details, ...detailsOf(analysis), ...(average ? { averagedOver } : {}) },
    notes: [
      ...undefinedNotes(single.value, coefficient.name),
      ...(noAverage
        ? [
            information(
              'not-defined',
              'The coefficient of an average is not defined: the means of the targets do not differ.',
            ),
          ]
        : []),
      ...analysis.notes,
      ...assessorNotes(options, asymptotic, ratings.columns),
      ...signNotes(single.value, oneWay, asymptotic),
      ...single.notes.filter(({ code }) => !asymptotic || code !== 'limit-beyond-one'),
    ],
  });
}

/** Checks the form and takes the sums. */
export function intraclassAnalysis(
  given: Ratings,
  options: IntraclassForm & NumberOptions,
  caller: string,
): IntraclassAnalysis {
  const model = checkChoice('model', options.model, ['one-way', 'two-way']);
  checkChoice('unit', options.unit, ['single', 'average']);
  const notes = measuredNumbers(given, options, caller);
  const ratings = assessorsWhoRead(given);
  const { averagedOver } = options;
  if (averagedOver !== undefined && !(averagedOver >= 1 && Number.isFinite(averagedOver)))
    throw refuse(
      'bad-option',
      ['options', 'averagedOver'],
      `averagedOver is ${averagedOver}.`,
      'give 1 or more readings.',
    );
  if (model === 'one-way') return oneWayAnalysis(ratings, averagedOver, notes);
  if (options.definition === undefined)
    throw refuse(
      'definition-needed',
      ['options', 'definition'],
      'The two-way model has two definitions.',
      "say 'agreement' (steady differences between assessors count) or 'consistency' (they do not).",
    );
  const agreement = checkChoice('definition', options.definition, ['agreement', 'consistency']) === 'agreement';
  if (ratings.assessors.length === 0)
    throw refuse(
      'assessors-needed',
      ['ratings'],
      'The two-way model needs to know who gave which reading, which is not known here.',
      "use model: 'one-way'.",
    );
  if (ratings.columns < 2)
    throw refuse(
      'two-assessors-needed',
      ['ratings'],
      `${caller} needs at least two assessors; these ratings hold one.`,
    );
  return isComplete(ratings)
    ? completeAnalysis(ratings, agreement, averagedOver, notes)
    : gapsAnalysis(ratings, agreement, averagedOver, notes);
}

const SHAPE = {
  scale: 'fisher',
  bootstrapForm: 'equal-tailed',
  asymptotic: 'normal, divisor n',
  asymptoticSource: 'linearized',
} as const;

function oneWayAnalysis(
  ratings: Ratings,
  averagedOver: number | undefined,
  notes: readonly Note[],
): IntraclassAnalysis {
  const coefficient: Coefficient = {
    ...SHAPE,
    name: 'intraclass correlation, one-way',
    cells: ONE_WAY_CELLS,
    add: oneWayAdder(ratings),
    value(sums) {
      const { betweenVariance, withinMeanSquare } = oneWayTable(sums);
      return betweenVariance / (betweenVariance + withinMeanSquare);
    },
    gradient(sums) {
      const { between, within, byBetween, byWithin } = oneWayDerivatives(sums);
      const all = (between + within) ** 2;
      return byBetween.map((by, cell) => (within * by - between * byWithin[cell]!) / all);
    },
  };
  const { totals } = clusterSums(ratings, coefficient);
  const oneWay = oneWayTable(totals);
  return {
    ratings,
    coefficient,
    averagedOver: averagedOver ?? oneWay.effectiveReadings,
    oneWay,
    twoWay: undefined,
    components: undefined,
    totals,
    notes,
  };
}

function completeAnalysis(
  ratings: Ratings,
  agreement: boolean,
  averagedOver: number | undefined,
  notes: readonly Note[],
): IntraclassAnalysis {
  const sums = twoWaySums(ratings);
  const coefficient: Coefficient = {
    ...SHAPE,
    name: `intraclass correlation, two-way ${agreement ? 'agreement' : 'consistency'}`,
    cells: sums.cells,
    add: sums.add,
    value: (totals) => targetShare(sums.components(totals), agreement),
    gradient: (totals) => targetShareGradient(sums, totals, agreement),
  };
  const { totals } = clusterSums(ratings, coefficient);
  return {
    ratings,
    coefficient,
    averagedOver: averagedOver ?? ratings.columns,
    oneWay: undefined,
    twoWay: sums.table(totals),
    components: sums.components(totals),
    totals,
    notes,
  };
}

function gapsAnalysis(
  ratings: Ratings,
  agreement: boolean,
  averagedOver: number | undefined,
  notes: readonly Note[],
): IntraclassAnalysis {
  const sums = restrictedSums(ratings);
  const coefficient: Coefficient = {
    ...SHAPE,
    name: `intraclass correlation, two-way ${agreement ? 'agreement' : 'consistency'}`,
    cells: sums.cells,
    add: sums.add,
    value: (totals) => targetShare(sums.components(totals), agreement),
    // A likelihood has no cheap derivative by its sums; only the asymptotic interval would use it, and that is refused with gaps.
    gradient: (totals) => new Float64Array(totals.length).fill(Number.NaN),
  };
  const { totals } = clusterSums(ratings, coefficient);
  const components = sums.components(totals);
  return {
    ratings,
    coefficient,
    averagedOver: averagedOver ?? ratings.columns,
    oneWay: undefined,
    twoWay: undefined,
    components,
    totals,
    notes: [
      ...notes,
      information(
        'gaps',
        'Some assessors did not read some targets: the variances are estimated by restricted maximum likelihood, which takes gaps as unrelated to the readings.',
      ),
      ...(components.target === 0 || components.assessor === 0
        ? [
            information(
              'at-zero',
              `The variance ${components.target === 0 ? 'between targets' : 'between assessors'} is estimated as 0, the lowest it can be.`,
            ),
          ]
        : []),
    ],
  };
}

function fInterval(
  { oneWay, twoWay }: IntraclassAnalysis,
  { definition }: IntraclassForm,
  rho: number,
  level: number,
): Interval {
  const limits =
    oneWay !== undefined
      ? oneWayLimits(oneWay, level)
      : definition === 'agreement'
        ? agreementLimits(twoWay!, rho, level)
        : consistencyLimits(twoWay!, level);
  return { ...limits, level, method: 'F interval (McGraw, Wong 1996, corrected), targets taken as independent' };
}

function detailsOf({ oneWay, twoWay, components }: IntraclassAnalysis): Record<string, number> {
  if (oneWay !== undefined)
    return {
      targetMeanSquare: oneWay.betweenMeanSquare,
      withinMeanSquare: oneWay.withinMeanSquare,
      targetVariance: oneWay.betweenVariance,
      withinVariance: oneWay.withinMeanSquare,
      effectiveReadings: oneWay.effectiveReadings,
      f: oneWay.betweenMeanSquare / oneWay.withinMeanSquare,
      numeratorDegrees: oneWay.betweenDegrees,
      denominatorDegrees: oneWay.withinDegrees,
    };
  const variances = {
    targetVariance: components!.target,
    assessorVariance: components!.assessor,
    residualVariance: components!.residual,
  };
  if (twoWay === undefined) return variances;
  return {
    targetMeanSquare: twoWay.targetMeanSquare,
    assessorMeanSquare: twoWay.assessorMeanSquare,
    residualMeanSquare: twoWay.residualMeanSquare,
    withinMeanSquare: twoWay.withinMeanSquare,
    ...variances,
    f: twoWay.targetMeanSquare / twoWay.residualMeanSquare,
    numeratorDegrees: twoWay.targets - 1,
    denominatorDegrees: (twoWay.targets - 1) * (twoWay.assessors - 1),
  };
}

function nameOf({ model, definition, unit }: IntraclassForm): string {
  const of = unit === 'single' ? 'of one reading' : 'of an average';
  return model === 'one-way'
    ? `intraclass correlation ${of}, one-way`
    : `intraclass correlation ${of}, two-way ${definition}`;
}

function formOf({ model, definition, unit, gradesAsNumbers }: IntraclassCorrelationOptions): Record<string, unknown> {
  return {
    model,
    ...(model === 'two-way' ? { definition } : {}),
    unit,
    ...(gradesAsNumbers === true ? { gradesAsNumbers } : {}),
  };
}

function readingsThatEntered({ oneWay, twoWay }: IntraclassAnalysis, ratings: Ratings): number {
  if (oneWay !== undefined) return oneWay.readings;
  return twoWay === undefined ? ratings.readings : twoWay.targets * twoWay.assessors;
}

function undefinedNotes(value: number, name: string): Note[] {
  return Number.isNaN(value)
    ? [
        information(
          'not-defined',
          `The ${name} is not defined: the readings do not vary, too few targets were read twice, or nothing is left once targets and assessors are taken off.`,
        ),
      ]
    : [];
}

/** These assessors or any assessor, in words. */
function assessorNotes({ model, definition }: IntraclassForm, asymptotic: boolean, assessors: number): Note[] {
  if (model === 'one-way')
    return [
      information(
        'assessors-interchanged',
        'The one-way model does not use who read: differences between assessors count as error, and nothing is said of one assessor.',
      ),
    ];
  if (definition === 'consistency')
    return [
      information(
        'these-assessors',
        'Steady differences between these assessors are left out: their readings order the targets alike, which does not make them exchangeable.',
      ),
    ];
  return [
    asymptotic
      ? information(
          'any-assessor',
          `The interval takes the ${assessors} assessors as a sample of all such assessors: it is meant for any assessor.`,
        )
      : information(
          'these-assessors',
          `The interval is for these ${assessors} assessors; for any assessor of their kind it would be wider.`,
        ),
  ];
}

function signNotes(value: number, oneWay: OneWayTable | undefined, asymptotic: boolean): Note[] {
  const unequal =
    asymptotic && oneWay !== undefined && Math.abs(oneWay.effectiveReadings - oneWay.readings / oneWay.targets) > 1e-9
      ? [
          caution(
            'unequal-readings',
            'Targets have different numbers of readings, so the F interval is only approximate.',
          ),
        ]
      : [];
  const negative =
    value < 0
      ? [
          information(
            'negative-estimate',
            'The estimate is negative: readings of one target differ more than readings of different targets. It is given as it came out.',
          ),
        ]
      : [];
  return [...unequal, ...negative];
}

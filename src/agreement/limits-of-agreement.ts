import type { Ratings } from '../ratings/ratings.js';
import { chiSquare, normal, studentT } from '../shared/distributions.js';
import { type Counts, Estimate, type Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import {
  type CheckedIntervalOptions,
  checkChoice,
  checkIntervalOptions,
  type IntervalOptions,
} from '../shared/options.js';
import { formatNumber, Table } from '../shared/table.js';
import type { Coefficient } from './coefficient.js';
import { type Differences, differencesOf } from './differences.js';
import { bootstrapInterval, clusterRobustInterval } from './interval.js';
import { measuredNumbers, type NumberOptions } from './measured-numbers.js';
import { proportionalBias } from './proportional-bias.js';
import { oneSidedToleranceFactor, twoSidedToleranceFactor } from './tolerance-factors.js';
import { twoAssessorsOf } from './two-assessors.js';

export interface LimitsOfAgreementOptions extends IntervalOptions, NumberOptions {
  /** The two assessors, in the order of the difference (second taken from first); needed when the ratings hold more than two. */
  readonly assessors?: readonly [string, string];
  /** Share of differences that lie between the limits. Default 0.95. */
  readonly coverage?: number;
  /** Standard deviations from the bias to a limit. Default: the normal quantile of the coverage, 1.959964 at 0.95; the paper of 1986 has 2. */
  readonly multiplier?: number;
  /** The asymptotic interval of a limit: `'exact'` each on its own (default), `'exact pair'` both at once, or the approximations of 1999 or 1986. */
  readonly limitInterval?: 'exact' | 'exact pair' | '1999' | '1986';
  /** What repeat readings are of: one value (default), or a value that changes, so that readings are paired by replicate. */
  readonly trueValue?: 'constant' | 'varying';
  /** The bias: the mean over targets (default), or over single readings, as in 2007. They differ only where targets have unequal repeats. */
  readonly center?: 'targets' | 'readings';
  /** How variances are estimated where patients have several targets. Default `'analysis of variance'`. */
  readonly components?: 'analysis of variance' | 'restricted likelihood';
}

/** Bias and limits of agreement, each with its interval. */
export class LimitsOfAgreement {
  readonly kind = 'limits-of-agreement';
  readonly bias: Estimate;
  /** Of the difference between two single readings. */
  readonly standardDeviation: Estimate;
  readonly lower: Estimate;
  readonly upper: Estimate;
  /** How much the difference grows with each unit of the mean of the two readings. */
  readonly proportionalBias: Estimate;
  readonly counts: Counts;
  readonly options: Readonly<Record<string, unknown>>;
  readonly details: Readonly<Record<string, number>>;
  readonly notes: readonly Note[];

  constructor(fields: Omit<LimitsOfAgreement, 'kind' | 'toTable' | 'toString'>) {
    this.bias = fields.bias;
    this.standardDeviation = fields.standardDeviation;
    this.lower = fields.lower;
    this.upper = fields.upper;
    this.proportionalBias = fields.proportionalBias;
    this.counts = Object.freeze(fields.counts);
    this.options = Object.freeze(fields.options);
    this.details = Object.freeze(fields.details);
    this.notes = Object.freeze(fields.notes);
    Object.freeze(this);
  }

  toTable(): Table {
    const rows = [this.bias, this.standardDeviation, this.lower, this.upper, this.proportionalBias].map(
      ({ statistic, value, interval }) => ({
        statistic,
        value,
        lower: interval.lower,
        upper: interval.upper,
        method: interval.method,
      }),
    );
    return new Table(
      `How far apart two readings of one finding are: ${this.counts.targets} findings, ${this.counts.clusters} patients`,
      [
        { key: 'statistic', label: 'Statistic', kind: 'text' },
        { key: 'value', label: 'Value', kind: 'number' },
        { key: 'lower', label: 'Lower limit', kind: 'number' },
        { key: 'upper', label: 'Upper limit', kind: 'number' },
        { key: 'method', label: 'Interval', kind: 'text' },
      ],
      rows,
      this.notes,
    );
  }

  toString(): string {
    const of = ({ value, interval }: Estimate): string =>
      `${formatNumber(value)} (${formatNumber(interval.lower)} to ${formatNumber(interval.upper)})`;
    const notes = this.notes.map((note) => ` [${note.message}]`).join('');
    return `bias ${of(this.bias)}, limits of agreement ${of(this.lower)} and ${of(this.upper)}; ${this.counts.targets} targets, ${this.counts.clusters} patients${notes}`;
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

/**
 * Limits of agreement of two assessors: the bias, and the limits between which the difference of two readings lies in 95 % of findings.
 *
 * d̄ ± m·s, d the first assessor's reading less the second's, m the `multiplier`. s² without repeats and with one finding a patient:
 * Σ (d − d̄)²/(n − 1). Where patients have several findings s² = σ_p² + σ_w², between and within patients, by the one-way analysis of variance of d on
 * patients (n₀ for unequal numbers). With repeats of one value, d is the difference of a target's means and s² = var(d̄ₜ) +
 * (1 − 1/m₁)s₁² + (1 − 1/m₂)s₂², sⱼ² the variance of assessor j's repeats and 1/mⱼ the mean over targets of one over their number. With
 * `trueValue: 'varying'` repeats are paired by replicate and the pairs of a patient (of a target, where patients are not known) are a group.
 *
 * Undefined (`NaN` with a note) with fewer than two findings read by both. Missing values: a target enters when both have read it.
 *
 * Intervals. Where patients are known: studentized patient bootstrap for these assessors; with the restricted likelihood the patient jackknife. Asymptotic, independent targets without repeats: bias by t;
 * s by χ²; each limit by exact factors k of one-sided tolerance limits, from d̄ ± k₁s to d̄ ± k₂s, or of two-sided ones for both limits at once
 * (Carkeet), or ± t·s√(1/n + m²/(2(n − 1))) (1999), or ± t·√(3s²/n) (1986). Otherwise the patient jackknife.
 * `details`: betweenVariance and withinVariance, the variances of repeats, and `slopePValue` and `intercept` of the proportional bias.
 *
 * @param ratings numbers in one unit; grades only with `gradesAsNumbers: true`.
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `level-not-suited`, `grades-not-numbers`, `unknown-choice`, `bad-option`,
 * `interval-not-available` (asymptotic with repeats or several findings a patient).
 * @example limitsOfAgreement(ratingsOf([[494, 512], [395, 430], [516, 520]])).bias.value // −19
 * Source: Bland JM, Altman DG. Lancet 1986;1:307–310, doi:10.1016/S0140-6736(86)90837-8; Stat Methods Med Res 1999;8:135–160,
 * doi:10.1177/096228029900800204; J Biopharm Stat 2007;17:571–582, doi:10.1080/10543400701329422; Carkeet A. Optom Vis Sci
 * 2015;92:e71–e80, doi:10.1097/OPX.0000000000000513.
 */
export function limitsOfAgreement(ratings: Ratings, options: LimitsOfAgreementOptions = {}): LimitsOfAgreement {
  const pair = twoAssessorsOf(ratings, options.assessors, 'limitsOfAgreement');
  const gradeNotes = measuredNumbers(pair, options, 'limitsOfAgreement');
  const asked = checkedOptions(options);
  const checked = checkIntervalOptions(options);
  const differences = differencesOf(pair, asked);
  const plainPairs = differences.repeats === 'none' && differences.sums.clusters === differences.sums.targets;
  if (checked.interval === 'asymptotic' && !plainPairs)
    throw refuse(
      'interval-not-available',
      ['options', 'interval'],
      'The asymptotic intervals are for one finding a patient, read once by each.',
      'leave the interval out, or use its cluster-robust or bootstrap form.',
    );
  const quick = asked.components === 'analysis of variance';
  const method =
    checked.interval ??
    (pair.clustersKnown && quick ? 'bootstrap' : plainPairs && quick ? 'asymptotic' : 'cluster-robust');
  const counts: Counts = {
    targets: differences.sums.targets,
    clusters: differences.sums.clusters,
    assessors: 2,
    ratings: differences.readings,
    excluded: differences.sums.excluded,
  };
  const optionsGiven = { ...asked, ...checked, interval: method };
  const estimate = (statistic: string, coefficient: Coefficient): Estimate => {
    const { standardError, interval, notes } =
      method === 'asymptotic'
        ? asymptotic(differences, coefficient, statistic as Figure, asked, checked)
        : method === 'bootstrap'
          ? bootstrapInterval(coefficient, differences.sums, checked)
          : clusterRobustInterval(coefficient, differences.sums, checked);
    const value = coefficient.value(differences.sums.totals);
    return new Estimate({ statistic, value, standardError, interval, counts, options: optionsGiven, notes });
  };
  const figures = differences.figures(asked.multiplier);
  const slope = proportionalBias(pair, { ...options, interval: method });
  const { between, within, details } = differences.variances(differences.sums.totals);
  return new LimitsOfAgreement({
    bias: estimate('bias', figures.bias),
    standardDeviation: estimate('standard deviation of differences', figures.spread),
    lower: estimate('lower limit of agreement', figures.lower),
    upper: estimate('upper limit of agreement', figures.upper),
    proportionalBias: slope.estimate,
    counts,
    options: optionsGiven,
    details: {
      betweenVariance: between,
      withinVariance: within,
      ...details,
      intercept: slope.intercept,
      slopePValue: slope.pValue,
    },
    notes: [
      ...gradeNotes,
      ...notesOn(differences, pair, counts, method),
      ...(between < 0
        ? [
            information(
              'negative-variance',
              'The variance of differences between patients comes out negative; it is kept in the sum, which is what makes the sum unbiased.',
            ),
          ]
        : []),
    ],
  });
}

type Figure = 'bias' | 'standard deviation of differences' | 'lower limit of agreement' | 'upper limit of agreement';

export interface CheckedLimits {
  readonly coverage: number;
  readonly multiplier: number;
  readonly limitInterval: 'exact' | 'exact pair' | '1999' | '1986';
  readonly trueValue: 'constant' | 'varying';
  readonly center: 'targets' | 'readings';
  readonly components: 'analysis of variance' | 'restricted likelihood';
}

function checkedOptions(options: LimitsOfAgreementOptions): CheckedLimits {
  const coverage = options.coverage ?? 0.95;
  if (!(coverage > 0 && coverage < 1))
    throw refuse('bad-option', ['options', 'coverage'], `coverage is ${coverage}.`, 'give a fraction such as 0.95.');
  const multiplier = options.multiplier ?? normal.quantile((1 + coverage) / 2);
  if (!(multiplier > 0 && Number.isFinite(multiplier)))
    throw refuse(
      'bad-option',
      ['options', 'multiplier'],
      `multiplier is ${multiplier}.`,
      'give a number such as 1.96.',
    );
  return {
    coverage,
    multiplier,
    limitInterval: checkChoice('limitInterval', options.limitInterval ?? 'exact', [
      'exact',
      'exact pair',
      '1999',
      '1986',
    ]),
    trueValue: checkChoice('trueValue', options.trueValue ?? 'constant', ['constant', 'varying']),
    center: checkChoice('center', options.center ?? 'targets', ['targets', 'readings']),
    components: checkChoice('components', options.components ?? 'analysis of variance', [
      'analysis of variance',
      'restricted likelihood',
    ]),
  };
}

/** Intervals for independent differences without repeats. */
function asymptotic(
  { sums, figures }: Differences,
  coefficient: Coefficient,
  figure: Figure,
  asked: CheckedLimits,
  { confidenceLevel }: CheckedIntervalOptions,
): { standardError: number; interval: Interval; notes: readonly Note[] } {
  const n = sums.targets;
  const value = coefficient.value(sums.totals);
  const s = figures(asked.multiplier).spread.value(sums.totals);
  const bias = figures(asked.multiplier).bias.value(sums.totals);
  const tail = (1 - confidenceLevel) / 2;
  const t = n > 1 ? studentT.quantile(1 - tail, n - 1) : Number.NaN;
  const made = (standardError: number, lower: number, upper: number, method: string) => ({
    standardError,
    interval: { lower, upper, level: confidenceLevel, method: `${method}, targets taken as independent` },
    notes: [],
  });
  const symmetric = (standardError: number, method: string) =>
    made(standardError, value - t * standardError, value + t * standardError, method);
  if (!(s > 0)) return made(Number.NaN, Number.NaN, Number.NaN, 'none');
  if (figure === 'bias') return symmetric(s / Math.sqrt(n), 't');
  if (figure === 'standard deviation of differences') {
    const limit = (p: number): number => s * Math.sqrt((n - 1) / chiSquare.quantile(p, n - 1));
    return made(s / Math.sqrt(2 * (n - 1)), limit(1 - tail), limit(tail), 'χ²');
  }
  const ofLimit = s * Math.sqrt(1 / n + asked.multiplier ** 2 / (2 * (n - 1)));
  if (asked.limitInterval === '1986') return symmetric(Math.sqrt((3 * s * s) / n), 't, √(3s²/n) (Bland, Altman 1986)');
  if (asked.limitInterval === '1999') return symmetric(ofLimit, 't (Bland, Altman 1999)');
  // A multiplier of the user's own stands for the content that it holds of a normal distribution.
  const content = asked.multiplier;
  const pair = asked.limitInterval === 'exact pair';
  const factor = (confidence: number): number =>
    pair
      ? twoSidedToleranceFactor(n, 2 * normal.cdf(content) - 1, confidence)
      : oneSidedToleranceFactor(n, normal.cdf(content), confidence);
  const inner = factor(tail) * s;
  const outer = factor(1 - tail) * s;
  const method = pair ? 'exact, both limits at once (Carkeet 2015)' : 'exact, each limit (Carkeet 2015)';
  return figure === 'lower limit of agreement'
    ? made(ofLimit, bias - outer, bias - inner, method)
    : made(ofLimit, bias + inner, bias + outer, method);
}

function notesOn({ repeats, group }: Differences, pair: Ratings, counts: Counts, method: string): Note[] {
  const notes: Note[] = [];
  if (!pair.clustersKnown)
    notes.push(
      caution(
        'patients-not-given',
        'Patients were not given, so every target counts as independent; two limbs of one patient are not.',
      ),
    );
  else if (counts.clusters < 12)
    notes.push(
      caution(
        'few-patients',
        `Only ${counts.clusters} patients: the interval may be too narrow (below 12 it has not been shown to cover).`,
      ),
    );
  if (repeats === 'constant')
    notes.push(
      information(
        'repeats-of-one-value',
        'Repeat readings are taken as readings of one value; the limits are for single readings.',
      ),
    );
  if (repeats === 'varying')
    notes.push(
      information(
        'repeats-of-a-changing-value',
        `Repeat readings are paired by replicate; pairs of one ${group} are taken to belong together.`,
      ),
    );
  if (counts.targets < 2)
    notes.push(
      information('not-defined', 'Limits of agreement are not defined: fewer than two findings were read by both.'),
    );
  if (method !== 'asymptotic') notes.push(information('these-assessors', 'The limits are for these two assessors.'));
  return notes;
}

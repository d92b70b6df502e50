import type { Ratings } from '../ratings/ratings.js';
import { chiSquare, fisherF } from '../shared/distributions.js';
import { type Counts, Estimate, type Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkChoice, type IntervalOptions } from '../shared/options.js';
import { formatNumber, Table } from '../shared/table.js';
import { type Coefficient, clusterSums } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { assessorsWhoRead, measuredNumbers, type NumberOptions } from './measured-numbers.js';
import { oneWayRestrictedSums } from './one-way-restricted.js';
import { ONE_WAY_CELLS, oneWayAdder, oneWayDerivatives, oneWayTable } from './one-way-table.js';
import { restrictedSums } from './two-way-restricted.js';
import { isComplete, twoWaySums } from './two-way-table.js';

type Method = 'analysis of variance' | 'restricted likelihood';

export interface VarianceComponentsOptions extends IntervalOptions, NumberOptions {
  /** `'one-way'`: targets and residual. `'two-way'` (default): targets, assessors and residual. */
  readonly model?: 'one-way' | 'two-way';
  /** Default: the analysis of variance; two-way with gaps the restricted likelihood. */
  readonly method?: Method;
}

/** Variances of readings by where they come from, each with its interval. */
export class VarianceComponents {
  readonly kind = 'variance-components';
  readonly target: Estimate;
  /** `undefined` in the one-way model. */
  readonly assessor: Estimate | undefined;
  readonly residual: Estimate;
  readonly counts: Counts;
  readonly options: Readonly<Record<string, unknown>>;
  readonly notes: readonly Note[];

  constructor(fields: Omit<VarianceComponents, 'kind' | 'toTable' | 'toString'>) {
    this.target = fields.target;
    this.assessor = fields.assessor;
    this.residual = fields.residual;
    this.counts = Object.freeze(fields.counts);
    this.options = Object.freeze(fields.options);
    this.notes = Object.freeze(fields.notes);
    Object.freeze(this);
  }

  toTable(): Table {
    const parts =
      this.assessor === undefined ? [this.target, this.residual] : [this.target, this.assessor, this.residual];
    return new Table(
      `Where the variance of readings comes from: ${this.counts.targets} findings, ${this.counts.clusters} patients`,
      [
        { key: 'part', label: 'Variance', kind: 'text' },
        { key: 'value', label: 'Value', kind: 'number' },
        { key: 'lower', label: 'Lower limit', kind: 'number' },
        { key: 'upper', label: 'Upper limit', kind: 'number' },
        { key: 'deviation', label: 'Standard deviation', kind: 'number' },
      ],
      parts.map(({ statistic, value, interval }) => ({
        part: statistic,
        value,
        lower: interval.lower,
        upper: interval.upper,
        deviation: Math.sqrt(value),
      })),
      this.notes,
    );
  }

  toString(): string {
    const of = ({ statistic, value, interval }: Estimate): string =>
      `${statistic} ${formatNumber(value)} (${formatNumber(interval.lower)} to ${formatNumber(interval.upper)})`;
    const parts = [this.target, ...(this.assessor === undefined ? [] : [this.assessor]), this.residual].map(of);
    const notes = this.notes.map((note) => ` [${note.message}]`).join('');
    return `${parts.join(', ')}; ${this.counts.targets} targets, ${this.counts.clusters} patients${notes}`;
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

/**
 * Variance components: how much of the variance of readings lies between targets, between assessors, and in the rest.
 *
 * Two-way: reading = mean + target + assessor + residual. Analysis of variance of n targets and k assessors: σ_e² = MS_e, σ_t² = (MS_t − MS_e)/k,
 * σ_a² = (MS_a − MS_e)/n, MS the mean squares. One-way: σ_w² = MS_w, σ_t² = (MS_t − MS_w)/n₀, n₀ = (N − Σ mₜ²/N)/(n − 1), target t with mₜ of the N readings.
 * An estimate by the analysis of variance can be negative and is given as it came out, with a note; the restricted likelihood stops at 0. On
 * balanced data with no negative estimate both give the same.
 *
 * Undefined (`NaN` with a note) where no target was read twice. Missing values: one-way and restricted likelihood take gaps as they are,
 * unrelated to the readings; the two-way analysis of variance refuses them. Repeat readings do not enter.
 *
 * Intervals. With patients: studentized patient bootstrap for these assessors; restricted likelihood the patient jackknife. Asymptotic,
 * independent targets, analysis of variance: residual by χ²; the others by the modified large-sample method, which takes assessors as a sample.
 *
 * @param given numbers; grades only with `gradesAsNumbers: true`.
 * @throws InputError `unknown-choice`, `level-not-suited`, `grades-not-numbers`, `assessors-needed`, `two-assessors-needed`,
 * `complete-readings-needed`, `interval-not-available`, `bad-option`.
 * @example varianceComponents(ratingsOf([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]])).target.value // 2.556
 * Source: Searle SR, Casella G, McCulloch CE. Variance Components, 1992, doi:10.1002/9780470316856; intervals: Ting N, Burdick RK, Graybill FA,
 * Jeyaratnam S, Lu TFC. J Stat Comput Simul 1990;35:135–143 (from memory).
 */
export function varianceComponents(given: Ratings, options: VarianceComponentsOptions = {}): VarianceComponents {
  const gradeNotes = measuredNumbers(given, options, 'varianceComponents');
  const ratings = assessorsWhoRead(given);
  const model = checkChoice('model', options.model ?? 'two-way', ['one-way', 'two-way']);
  if (model === 'two-way') checkAssessors(ratings);
  const gaps = model === 'two-way' && !isComplete(ratings);
  const method = checkChoice<Method>(
    'method',
    options.method ?? (gaps ? 'restricted likelihood' : 'analysis of variance'),
    ['analysis of variance', 'restricted likelihood'],
  );
  if (gaps && method === 'analysis of variance')
    throw refuse(
      'complete-readings-needed',
      ['options', 'method'],
      'Some assessors did not read some targets, and the two-way analysis of variance needs every reading.',
      "use method: 'restricted likelihood'.",
    );
  const parts = model === 'one-way' ? oneWayParts(ratings, method) : twoWayParts(ratings, method);
  if (options.interval === 'asymptotic' && parts.asymptotic === undefined)
    throw refuse(
      'interval-not-available',
      ['options', 'interval'],
      'The restricted likelihood has no asymptotic interval here.',
      "use interval: 'cluster-robust' or 'bootstrap'.",
    );
  const interval = options.interval ?? (parts.asymptotic === undefined ? ('cluster-robust' as const) : undefined);
  const estimate = (coefficient: Coefficient, ofPart: (level: number) => AsymptoticPart | undefined): Estimate => {
    const made = coefficientEstimate(
      ratings,
      coefficient,
      interval === undefined ? options : { ...options, interval },
      {
        options: { model, method },
      },
    );
    const asymptotic = made.options.interval === 'asymptotic' ? ofPart(made.interval.level) : undefined;
    const { linearizedStandardError: _notHere, ...details } = made.details;
    return new Estimate({
      ...made,
      details,
      ...(asymptotic ?? {}),
      notes: made.notes.filter(({ code }) => code !== 'limit-beyond-one'),
    });
  };
  const target = estimate(parts.target, (level) => parts.asymptotic?.target(level));
  const assessor =
    parts.assessor === undefined ? undefined : estimate(parts.assessor, (level) => parts.asymptotic?.assessor?.(level));
  const residual = estimate(parts.residual, (level) => parts.asymptotic?.residual(level));
  return new VarianceComponents({
    target,
    assessor,
    residual,
    counts: target.counts,
    options: target.options,
    notes: [
      ...gradeNotes,
      ...partNotes(target, assessor, residual),
      ...(gaps
        ? [
            information(
              'gaps',
              'Some assessors did not read some targets; the gaps are taken as unrelated to the readings.',
            ),
          ]
        : []),
      ...(parts.unequal && target.options.interval === 'asymptotic'
        ? [
            caution(
              'unequal-readings',
              'Targets have different numbers of readings, so the interval of the target variance is only approximate.',
            ),
          ]
        : []),
      ...target.notes,
    ],
  });
}

interface AsymptoticPart {
  readonly standardError: number;
  readonly interval: Interval;
}

interface Parts {
  readonly target: Coefficient;
  readonly assessor?: Coefficient;
  readonly residual: Coefficient;
  readonly unequal: boolean;
  readonly asymptotic?: {
    target(level: number): AsymptoticPart;
    assessor?(level: number): AsymptoticPart;
    residual(level: number): AsymptoticPart;
  };
}

interface Sums {
  readonly cells: number;
  add(target: number, sums: Float64Array, at: number): boolean;
}

function part(
  sums: Sums,
  name: string,
  scale: 'plain' | 'log',
  value: (totals: Float64Array) => number,
  gradient: (totals: Float64Array) => Float64Array = (totals) => new Float64Array(totals.length).fill(Number.NaN),
): Coefficient {
  return {
    name,
    cells: sums.cells,
    add: sums.add,
    scale,
    value,
    gradient,
    bootstrapForm: 'equal-tailed',
    asymptotic: 'normal, divisor n',
    asymptoticSource: 'linearized',
  };
}

const BETWEEN_TARGETS = 'variance between targets';
const BETWEEN_ASSESSORS = 'variance between assessors';
const RESIDUAL = 'residual variance';
const WITHIN_TARGETS = 'variance within targets';

function oneWayParts(ratings: Ratings, method: Method): Parts {
  if (method === 'restricted likelihood') {
    const sums = oneWayRestrictedSums(ratings);
    return {
      target: part(sums, BETWEEN_TARGETS, 'plain', (totals) => sums.fit(totals).between),
      residual: part(sums, WITHIN_TARGETS, 'log', (totals) => sums.fit(totals).within),
      unequal: false,
    };
  }
  const sums = { cells: ONE_WAY_CELLS, add: oneWayAdder(ratings) };
  const target = part(
    sums,
    BETWEEN_TARGETS,
    'plain',
    (totals) => oneWayTable(totals).betweenVariance,
    (totals) => oneWayDerivatives(totals).byBetween,
  );
  const table = oneWayTable(clusterSums(ratings, target).totals);
  return {
    target,
    residual: part(
      sums,
      WITHIN_TARGETS,
      'log',
      (totals) => oneWayTable(totals).withinMeanSquare,
      (totals) => oneWayDerivatives(totals).byWithin,
    ),
    unequal: Math.abs(table.effectiveReadings - table.readings / table.targets) > 1e-9,
    asymptotic: {
      target: (level) =>
        differenceInterval(
          { square: table.betweenMeanSquare, degrees: table.betweenDegrees },
          { square: table.withinMeanSquare, degrees: table.withinDegrees },
          table.effectiveReadings,
          level,
        ),
      residual: (level) => squareInterval({ square: table.withinMeanSquare, degrees: table.withinDegrees }, level),
    },
  };
}

function twoWayParts(ratings: Ratings, method: Method): Parts {
  if (method === 'restricted likelihood') {
    const sums = restrictedSums(ratings);
    return {
      target: part(sums, BETWEEN_TARGETS, 'plain', (totals) => sums.components(totals).target),
      assessor: part(sums, BETWEEN_ASSESSORS, 'plain', (totals) => sums.components(totals).assessor),
      residual: part(sums, RESIDUAL, 'log', (totals) => sums.components(totals).residual),
      unequal: false,
    };
  }
  const sums = twoWaySums(ratings);
  const of = (name: string, which: 'target' | 'assessor' | 'residual'): Coefficient =>
    part(
      sums,
      name,
      which === 'residual' ? 'log' : 'plain',
      (totals) => sums.components(totals)[which],
      (totals) => sums.derivatives(totals).by[which],
    );
  const target = of(BETWEEN_TARGETS, 'target');
  const table = sums.table(clusterSums(ratings, target).totals);
  const { targets: n, assessors: k } = table;
  const ofTargets = { square: table.targetMeanSquare, degrees: n - 1 };
  const ofAssessors = { square: table.assessorMeanSquare, degrees: k - 1 };
  const ofResidual = { square: table.residualMeanSquare, degrees: (n - 1) * (k - 1) };
  return {
    target,
    assessor: of(BETWEEN_ASSESSORS, 'assessor'),
    residual: of(RESIDUAL, 'residual'),
    unequal: false,
    asymptotic: {
      target: (level) => differenceInterval(ofTargets, ofResidual, k, level),
      assessor: (level) => differenceInterval(ofAssessors, ofResidual, n, level),
      residual: (level) => squareInterval(ofResidual, level),
    },
  };
}

interface MeanSquare {
  readonly square: number;
  readonly degrees: number;
}

function squareInterval({ square, degrees }: MeanSquare, level: number): AsymptoticPart {
  const tail = (1 - level) / 2;
  const limit = (p: number): number => (square * degrees) / chiSquare.quantile(p, degrees);
  const defined = square > 0 && degrees > 0;
  return {
    standardError: square * Math.sqrt(2 / degrees),
    interval: {
      lower: defined ? limit(1 - tail) : Number.NaN,
      upper: defined ? limit(tail) : Number.NaN,
      level,
      method: 'χ², targets taken as independent',
    },
  };
}

/** Of (MS₁ − MS₂)/divisor by the modified large-sample method: its lower limit is 0 exactly where the F test of the variance is at its edge. */
function differenceInterval(one: MeanSquare, two: MeanSquare, divisor: number, level: number): AsymptoticPart {
  const tail = (1 - level) / 2;
  const { square: a, degrees: f } = one;
  const { square: b, degrees: g } = two;
  const method = 'modified large-sample, targets taken as independent';
  const standardError = Math.sqrt(2 * ((a * a) / f + (b * b) / g)) / divisor;
  if (!(f > 0 && g > 0 && b > 0))
    return { standardError: Number.NaN, interval: { lower: Number.NaN, upper: Number.NaN, level, method } };
  const below = (degrees: number): number => 1 - degrees / chiSquare.quantile(1 - tail, degrees);
  const above = (degrees: number): number => degrees / chiSquare.quantile(tail, degrees) - 1;
  const high = fisherF.quantile(1 - tail, f, g);
  const low = fisherF.quantile(tail, f, g);
  const crossLower = ((high - 1) ** 2 - (below(f) * high) ** 2 - above(g) ** 2) / high;
  const crossUpper = ((1 - low) ** 2 - (above(f) * low) ** 2 - below(g) ** 2) / low;
  const down = (below(f) * a) ** 2 + (above(g) * b) ** 2 + crossLower * a * b;
  const up = (above(f) * a) ** 2 + (below(g) * b) ** 2 + crossUpper * a * b;
  return {
    standardError,
    interval: {
      lower: (a - b - Math.sqrt(Math.max(0, down))) / divisor,
      upper: (a - b + Math.sqrt(Math.max(0, up))) / divisor,
      level,
      method,
    },
  };
}

function checkAssessors(ratings: Ratings): void {
  if (ratings.assessors.length === 0)
    throw refuse(
      'assessors-needed',
      ['ratings'],
      'The two-way model needs to know who gave which reading, which is not known here.',
      "use model: 'one-way'.",
    );
  if (ratings.columns < 2)
    throw refuse('two-assessors-needed', ['ratings'], 'The two-way model needs at least two assessors.');
}

function partNotes(target: Estimate, assessor: Estimate | undefined, residual: Estimate): Note[] {
  const parts = [target, ...(assessor === undefined ? [] : [assessor]), residual];
  if (parts.some(({ value }) => Number.isNaN(value)))
    return [
      information(
        'not-defined',
        'The variances are not defined: too few targets were read twice, or nothing is left once targets and assessors are taken off.',
      ),
    ];
  return parts.flatMap(({ statistic, value, options }) =>
    value < 0
      ? [
          information(
            'negative-estimate',
            `The ${statistic} is estimated below 0, which no variance can be: it is small against the residual, and is given as it came out.`,
          ),
        ]
      : value === 0 && options.method === 'restricted likelihood'
        ? [information('at-zero', `The ${statistic} is estimated as 0, the lowest it can be.`)]
        : [],
  );
}

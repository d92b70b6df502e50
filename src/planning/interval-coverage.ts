import { agreementCoefficient, type CoefficientChoice } from '../agreement/agreement-coefficient.js';
import { type ClusterSums, type Coefficient, clusterSums } from '../agreement/coefficient.js';
import { asymptoticInterval, bootstrapInterval, clusterRobustInterval, quantileOf } from '../agreement/interval.js';
import { fewMinorityPatients } from '../agreement/sparse-readings.js';
import type { Ratings } from '../ratings/ratings.js';
import { ABOUT_NOBODY } from '../shared/audience.js';
import { caution, information, type Note } from '../shared/note.js';
import { type CheckedIntervalOptions, DEFAULT_SEED, type LongWorkOptions } from '../shared/options.js';
import { seededRandom } from '../shared/random.js';
import { formatNumber, Table } from '../shared/table.js';
import { checkPlanning } from './sample-size.js';
import {
  assumptionChecks,
  designChecks,
  longRunReadings,
  type ReadingAssumptions,
  type SimulatedDesign,
  simulateReadings,
} from './simulate-readings.js';

export interface IntervalCoverageOptions extends LongWorkOptions {
  /** Who is examined, where and by how many, as the study has it. */
  readonly design: SimulatedDesign;
  readonly assumptions: ReadingAssumptions;
  /** The coefficients to try. Default: Conger's kappa with quadratic weights. */
  readonly coefficients?: readonly CoefficientChoice[];
  /** Simulated studies. Default 400, which tells .95 from .93. */
  readonly studies?: number;
  /** Bootstrap replicates within each study. Default 199: coverage is that of thousands, only the width of a single interval is less steady. */
  readonly replicates?: number;
  /** Default 20260301. */
  readonly seed?: number;
}

/** The intervals that are tried, in the order shown, as a reader sees them. */
export const INTERVAL_WORDS: Readonly<Record<string, string>> = {
  default: 'as given here',
  'patient jackknife': 'patient jackknife',
  'percentile bootstrap': 'percentile bootstrap',
  'targets independent': 'limbs as independent',
};

/** What one kind of 95 % interval did over the simulated studies. */
export interface IntervalCoverageRow {
  readonly statistic: string;
  /**
   * How it was made: `'default'` as the library does unless asked otherwise, `'patient jackknife'`, `'percentile bootstrap'` of patients, or
   * `'targets independent'`.
   */
  readonly interval: string;
  /** The coefficient in the long run, which the intervals should hold. */
  readonly longRunValue: number;
  /** Share of the intervals that hold it. */
  readonly coverage: number;
  /** Share of the intervals that lie below it, and above it. */
  readonly below: number;
  readonly above: number;
  readonly meanWidth: number;
  /** Studies with an interval, and those without: nothing varied, or the coefficient is not defined. */
  readonly intervals: number;
  readonly withoutInterval: number;
}

/** How often intervals hold the value they are about, in simulated studies of one design. */
export class IntervalCoverage {
  readonly kind = 'interval-coverage';

  constructor(
    readonly rows: readonly IntervalCoverageRow[],
    readonly design: SimulatedDesign,
    readonly assumptions: ReadingAssumptions,
    /** Studies that were simulated; fewer than asked for when the work was stopped. */
    readonly studies: number,
    /** Share of the studies that carried the caution of fewer than ten patients with a grade other than the commonest. */
    readonly cautioned: number,
    readonly replicates: number,
    readonly seed: number,
    readonly notes: readonly Note[],
  ) {
    Object.freeze(this);
  }

  get table(): Table {
    const { patients, limbs, sites, assessors } = this.design;
    return new Table(
      `How often do 95 % intervals hold the value? ${patients} people, ${limbs * sites} findings each, ${assessors} assessors; ${this.studies} simulated studies`,
      [
        { key: 'statistic', label: 'coefficient', kind: 'text' },
        { key: 'interval', label: 'interval', kind: 'text' },
        { key: 'longRunValue', label: 'value in the long run', kind: 'number' },
        { key: 'coverage', label: 'hold it', kind: 'percent' },
        { key: 'below', label: 'lie below', kind: 'percent' },
        { key: 'above', label: 'lie above', kind: 'percent' },
        { key: 'meanWidth', label: 'mean width', kind: 'number' },
        { key: 'withoutInterval', label: 'studies without one', kind: 'count' },
      ],
      this.rows.map((row) => ({ ...row, interval: INTERVAL_WORDS[row.interval] ?? row.interval })),
      this.notes,
      ABOUT_NOBODY,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

/** A statistic with the sums behind it, made anew for each study's readings. */
export interface TriedStatistic {
  readonly coefficient: (ratings: Ratings) => Coefficient;
}

/** The intervals of one coefficient in one study, by name; a study without a `default` one is not judged. */
export type IntervalMaker = (
  coefficient: Coefficient,
  ratings: Ratings,
  sums: ClusterSums,
  options: CheckedIntervalOptions,
) => Readonly<Record<string, { readonly lower: number; readonly upper: number }>>;

/** Independent findings from which the long-run value is taken. */
const LONG_RUN_FINDINGS = 100_000;
const LEVEL = 0.95;

/**
 * Would the intervals of a study of this design hold what they are about as often as they say? Whole studies with the clustering of a real one (`simulateReadings`)
 * are invented, and the default interval of each coefficient is held against the coefficient in the long run, beside three others: the patient jackknife, the
 * percentile patient bootstrap, and the asymptotic interval that takes targets as independent.
 *
 * coverage = share of the studies' intervals with lower ≤ θ ≤ upper, θ the coefficient of 100,000 independent findings, which has the same limit as
 * the clustered studies. With s studies it has a Monte Carlo error of √(.95 · .05/s). The percentile bootstrap takes the .025 and .975 quantiles of the coefficient over patients drawn again.
 *
 * Studies in which a coefficient or its interval is not defined are counted as `withoutInterval`, apart from the coverage. The assessors are the same in every
 * study: coverage says nothing of other assessors. Long work: yields between studies, reports progress, and keeps the studies it has when stopped.
 *
 * @throws InputError `bad-option`: every option that does not fit; `unknown-choice`, and what a coefficient says of readings it cannot take.
 * @example (await intervalCoverage({ design: { patients: 20, limbs: 2, sites: 7, assessors: 3 }, assumptions: { shares: [0.1, 0.3, 0.6], readingSpread: 0.5 } })).table
 * Source: the interval forms are those of Efron B, Tibshirani R. An Introduction to the Bootstrap, 1993 (from memory).
 */
export async function intervalCoverage(options: IntervalCoverageOptions): Promise<IntervalCoverage> {
  const coefficients = options.coefficients ?? [{ coefficient: 'conger-kappa', weights: 'quadratic' }];
  checkPlanning([
    ['coefficients', coefficients.length, coefficients.length > 0, 'at least one coefficient'],
    ...designChecks(options.design),
    ...assumptionChecks(options.assumptions),
  ]);
  return coverageOf(
    coefficients.map((choice) => {
      const { coefficient } = agreementCoefficient(choice.coefficient ?? 'conger-kappa');
      return { coefficient: (ratings) => coefficient(ratings, choice) };
    }),
    options,
  );
}

/** The same for any statistics that are made of sums over targets. */
export async function coverageOf(
  statistics: readonly TriedStatistic[],
  options: Omit<IntervalCoverageOptions, 'coefficients'>,
  intervalsOf: IntervalMaker = usualIntervals,
): Promise<IntervalCoverage> {
  const { design, assumptions, signal, progress } = options;
  const studies = options.studies ?? 400;
  const replicates = options.replicates ?? 199;
  const seed = options.seed ?? DEFAULT_SEED;
  checkPlanning([
    ['studies', studies, Number.isInteger(studies) && studies >= 20, 'a whole number, at least 20'],
    ['replicates', replicates, Number.isInteger(replicates) && replicates >= 99, 'a whole number, at least 99'],
    ['seed', seed, Number.isSafeInteger(seed), 'a whole number'],
  ]);
  const longRun = longRunReadings(design, assumptions, LONG_RUN_FINDINGS, seed);
  const tallies = statistics.map(({ coefficient }) => {
    const made = coefficient(longRun);
    const longRunValue = made.value(clusterSums(longRun, made).totals);
    return { statistic: made.name, longRunValue, byInterval: new Map<string, Count>() };
  });
  let cautioned = 0;
  let done = 0;
  for (; done < studies && signal?.aborted !== true; done++) {
    const ratings = simulateReadings(design, assumptions, seed, done);
    if (fewMinorityPatients(ratings).length > 0) cautioned++;
    const checked = { confidenceLevel: LEVEL, interval: undefined, replicates, seed: seed + done };
    statistics.forEach((statistic, at) => {
      const coefficient = statistic.coefficient(ratings);
      countIn(tallies[at]!, intervalsOf(coefficient, ratings, clusterSums(ratings, coefficient), checked));
    });
    progress?.((done + 1) / studies, `study ${done + 1} of ${studies}`);
    await new Promise((resolve) => setImmediate(resolve));
  }
  return new IntervalCoverage(
    tallies.flatMap(rowsOf),
    design,
    assumptions,
    done,
    cautioned / done,
    replicates,
    seed,
    notesOf(done, studies),
  );
}

interface Count {
  held: number;
  below: number;
  above: number;
  width: number;
  missing: number;
}

interface Tally {
  readonly statistic: string;
  readonly longRunValue: number;
  readonly byInterval: Map<string, Count>;
}

function countIn(tally: Tally, intervals: ReturnType<IntervalMaker>): void {
  const { default: usual } = intervals;
  // Where nothing varies no interval is given, so the others are not judged there either.
  const none = usual === undefined || Number.isNaN(usual.lower + usual.upper);
  for (const [name, { lower, upper }] of Object.entries(intervals)) {
    const count = tally.byInterval.get(name) ?? { held: 0, below: 0, above: 0, width: 0, missing: 0 };
    tally.byInterval.set(name, count);
    if (none || Number.isNaN(lower + upper)) {
      count.missing++;
      continue;
    }
    count.width += upper - lower;
    if (upper < tally.longRunValue) count.below++;
    else if (lower > tally.longRunValue) count.above++;
    else count.held++;
  }
}

function usualIntervals(
  coefficient: Coefficient,
  ratings: Ratings,
  sums: ClusterSums,
  options: CheckedIntervalOptions,
): ReturnType<IntervalMaker> {
  return {
    default: bootstrapInterval(coefficient, sums, options).interval,
    'patient jackknife': clusterRobustInterval(coefficient, sums, options).interval,
    'percentile bootstrap': percentileInterval(coefficient, sums, options),
    'targets independent': asymptoticInterval(coefficient, ratings, sums, options).interval,
  };
}

/** Quantiles of the coefficient over patients drawn with replacement. */
export function percentileInterval(
  coefficient: Coefficient,
  sums: ClusterSums,
  { confidenceLevel, replicates, seed }: CheckedIntervalOptions,
): { lower: number; upper: number } {
  const { clusters, cells, perCluster } = sums;
  const random = seededRandom(seed, -1);
  const totals = new Float64Array(cells);
  const values: number[] = [];
  for (let replicate = 0; replicate < replicates; replicate++) {
    totals.fill(0);
    for (let drawn = 0; drawn < clusters; drawn++) {
      const from = random.below(clusters) * cells;
      for (let cell = 0; cell < cells; cell++) totals[cell]! += perCluster[from + cell]!;
    }
    const value = coefficient.value(totals);
    if (!Number.isNaN(value)) values.push(value);
  }
  const sorted = Float64Array.from(values).sort();
  const tail = (1 - confidenceLevel) / 2;
  return { lower: quantileOf(sorted, tail), upper: quantileOf(sorted, 1 - tail) };
}

function rowsOf({ statistic, longRunValue, byInterval }: Tally): IntervalCoverageRow[] {
  return [...byInterval].map(([interval, { held, below, above, width, missing }]) => {
    const intervals = held + below + above;
    return {
      statistic,
      interval,
      longRunValue,
      coverage: held / intervals,
      below: below / intervals,
      above: above / intervals,
      meanWidth: width / intervals,
      intervals,
      withoutInterval: missing,
    };
  });
}

function notesOf(done: number, asked: number): Note[] {
  return [
    information(
      'assumptions',
      'Invented studies: intervals hold elsewhere as often as here if limbs and readings there are as assumed.',
    ),
    ...(done === 0
      ? []
      : [
          information(
            'simulation-error',
            `A share near 95 % has a simulation error of ${formatNumber(100 * Math.sqrt((LEVEL * (1 - LEVEL)) / done))} points.`,
          ),
        ]),
    ...(done < asked ? [caution('stopped', `The simulation was stopped after ${done} of ${asked} studies.`)] : []),
  ];
}

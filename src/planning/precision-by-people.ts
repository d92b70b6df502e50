import type { Ratings } from '../ratings/ratings.js';
import { ABOUT_NOBODY } from '../shared/audience.js';
import type { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { DEFAULT_SEED, type LongWorkOptions } from '../shared/options.js';
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

export interface PrecisionByPeopleOptions extends LongWorkOptions {
  /** Numbers of patients to try. */
  readonly people: readonly number[];
  readonly design: Omit<SimulatedDesign, 'patients'>;
  /** With `readingSpread`, or with the value that the coefficient is expected to have; the spread is then found. */
  readonly assumptions: Omit<ReadingAssumptions, 'readingSpread'> &
    ({ readonly readingSpread: number } | { readonly expected: number });
  /** The coefficient with its interval, as the study will compute it. `'cluster-robust'` intervals are quick; bootstrap ones take far longer. */
  readonly coefficient: (ratings: Ratings) => Estimate;
  /** Distance from the value to a limit of its interval that is wanted. Default 0.1. */
  readonly wantedHalfWidth?: number;
  /** Simulated studies of each size. Default 200. */
  readonly studies?: number;
  /** Default 20260301. */
  readonly seed?: number;
}

/** What studies with so many people gave. */
export interface PrecisionRow {
  readonly people: number;
  readonly findings: number;
  /** Mean of the coefficient, and standard deviation from study to study. */
  readonly value: number;
  readonly spread: number;
  /** Half the width of the interval: the middle study, and the bounds of the middle 80 %. */
  readonly halfWidth: number;
  readonly halfWidthLower: number;
  readonly halfWidthUpper: number;
  /** Share of studies at least as precise as wanted. */
  readonly preciseEnough: number;
  /** Share of intervals that held the long-run value. */
  readonly coverage: number;
  /** Studies whose coefficient or interval was not defined. */
  readonly notDefined: number;
}

/** How precise an agreement study would be with more or fewer people, from simulated studies. */
export class PrecisionByPeople {
  readonly kind = 'precision-by-people';

  constructor(
    readonly rows: readonly PrecisionRow[],
    readonly statistic: string,
    readonly method: string,
    /** The coefficient in a very large study. */
    readonly longRunValue: number,
    readonly readingSpread: number,
    readonly wantedHalfWidth: number,
    readonly design: Omit<SimulatedDesign, 'patients'>,
    readonly level: number,
    /** Studies of each size that were simulated; fewer than asked for when the work was stopped. */
    readonly studies: number,
    readonly seed: number,
    readonly notes: readonly Note[],
  ) {
    Object.freeze(this);
  }

  /** The row of a number of people. */
  with(people: number): PrecisionRow {
    const row = this.rows.find((one) => one.people === people);
    if (row !== undefined) return row;
    throw refuse(
      'not-simulated',
      ['people'],
      `Studies with ${people} people were not simulated; there are ${this.rows.map((one) => one.people).join(', ')}.`,
    );
  }

  get table(): Table {
    return new Table(
      `How precise would ${this.statistic} be with so many people? It is ${formatNumber(this.longRunValue)} in the long run; ${this.studies} simulated studies of each size`,
      [
        { key: 'people', label: 'people', kind: 'count' },
        { key: 'findings', label: 'findings', kind: 'count' },
        { key: 'value', label: 'mean value', kind: 'number' },
        { key: 'halfWidth', label: 'interval, ± (middle study)', kind: 'number' },
        { key: 'halfWidthLower', label: '± from', kind: 'number' },
        { key: 'halfWidthUpper', label: '± to (8 of 10 studies)', kind: 'number' },
        { key: 'preciseEnough', label: `± ${formatNumber(this.wantedHalfWidth)} or better`, kind: 'percent' },
        { key: 'coverage', label: 'intervals that hold the value', kind: 'percent' },
        { key: 'notDefined', label: 'not defined', kind: 'count' },
      ],
      this.rows.map((row) => ({ ...row })),
      this.notes,
      ABOUT_NOBODY,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

/** Findings in the study from which the long-run value is taken. */
const LONG_RUN_FINDINGS = 12_000;

/**
 * The precision of any coefficient in studies with more or fewer people, by simulation with the clustering of the study: sites in limbs in patients, occasions,
 * assessors, gaps (`simulateReadings`).
 *
 * Half width = (upper − lower)/2 of the interval that `coefficient` gives; its median and middle 80 % over the studies, the share at most
 * `wantedHalfWidth`, and the share of intervals that hold the long-run value, which is the coefficient of one study with 12,000 findings. With `expected` the
 * spread of readings that gives this long-run value is found by bisection. With s studies a share p has a Monte Carlo error of √(p(1 − p)/s).
 *
 * Studies in which the coefficient or its interval is not defined are counted as `notDefined` and count as not precise enough. An interrupted simulation
 * keeps the studies there are, the same number of each size.
 *
 * @throws InputError `bad-option`: every option that does not fit; `expected-out-of-reach`: no spread of readings gives that value.
 * @example (await precisionByPeople({ people: [22, 40], design: { limbs: 2, sites: 3, assessors: 2 }, assumptions: { shares: [0.2, 0.5, 0.3], expected: 0.6 },
 *   coefficient: (ratings) => cohenKappa(ratings, { weights: 'quadratic', interval: 'cluster-robust' }) })).table
 */
export async function precisionByPeople(options: PrecisionByPeopleOptions): Promise<PrecisionByPeople> {
  const { people, design, coefficient, signal, progress } = options;
  const wantedHalfWidth = options.wantedHalfWidth ?? 0.1;
  const studies = options.studies ?? 200;
  const seed = options.seed ?? DEFAULT_SEED;
  const asked = options.assumptions;
  checkPlanning([
    ['people', people.length, people.length > 0, 'at least one number of people'],
    ...people.flatMap((patients) => designChecks({ ...design, patients })),
    ...assumptionChecks({ ...asked, readingSpread: 'readingSpread' in asked ? asked.readingSpread : 1 }),
    ['wantedHalfWidth', wantedHalfWidth, wantedHalfWidth > 0, 'a number above 0'],
    ['studies', studies, Number.isInteger(studies) && studies >= 20, 'a whole number, at least 20'],
    ['seed', seed, Number.isSafeInteger(seed), 'a whole number'],
  ]);
  const longRun = (readingSpread: number): Estimate =>
    coefficient(longRunReadings({ ...design, patients: 1 }, { ...asked, readingSpread }, LONG_RUN_FINDINGS, seed));
  const readingSpread =
    'readingSpread' in asked ? asked.readingSpread : await spreadFor(asked.expected, longRun, signal);
  const { value: longRunValue, statistic, interval } = longRun(readingSpread);
  const estimates: Estimate[][] = people.map(() => []);
  let done = 0;
  for (; done < studies; done++) {
    if (signal?.aborted) break;
    for (const [at, patients] of people.entries())
      estimates[at]!.push(
        coefficient(simulateReadings({ ...design, patients }, { ...asked, readingSpread }, seed, done)),
      );
    progress?.((done + 1) / studies, `study ${done + 1} of ${studies}`);
    await nextTurn();
  }
  const perPatient = design.limbs * design.sites * (design.occasions ?? 1);
  return new PrecisionByPeople(
    people.map((patients, at) => rowOf(patients, patients * perPatient, estimates[at]!, longRunValue, wantedHalfWidth)),
    statistic,
    // Degrees of freedom are each study's own.
    interval.method.replace(/ with [\d.]+ degrees of freedom/, ''),
    longRunValue,
    readingSpread,
    wantedHalfWidth,
    design,
    interval.level,
    done,
    seed,
    notesOf(done, studies, people),
  );
}

function rowOf(
  people: number,
  findings: number,
  estimates: readonly Estimate[],
  longRunValue: number,
  wanted: number,
): PrecisionRow {
  const defined = estimates.filter(
    ({ value, interval }) => !Number.isNaN(value) && !Number.isNaN(interval.lower) && !Number.isNaN(interval.upper),
  );
  const halves = defined.map(({ interval }) => (interval.upper - interval.lower) / 2).sort((a, b) => a - b);
  const mean = defined.reduce((sum, { value }) => sum + value, 0) / defined.length;
  const squares = defined.reduce((sum, { value }) => sum + (value - mean) ** 2, 0);
  const at = (share: number): number => halves[Math.round(share * (halves.length - 1))] ?? Number.NaN;
  const held = defined.filter(({ interval }) => interval.lower <= longRunValue && longRunValue <= interval.upper);
  return {
    people,
    findings,
    value: mean,
    spread: Math.sqrt(squares / (defined.length - 1)),
    halfWidth: at(0.5),
    halfWidthLower: at(0.1),
    halfWidthUpper: at(0.9),
    preciseEnough: halves.filter((half) => half <= wanted).length / estimates.length,
    coverage: held.length / defined.length,
    notDefined: estimates.length - defined.length,
  };
}

/** The spread of readings at which the long-run value is the one expected; agreement falls as the spread grows. */
async function spreadFor(
  expected: number,
  longRun: (spread: number) => Estimate,
  signal: AbortSignal | undefined,
): Promise<number> {
  let [low, high] = [Math.log(0.01), Math.log(20)];
  const [best, worst] = [longRun(Math.exp(low)).value, longRun(Math.exp(high)).value];
  if (!(expected < best && expected > worst))
    throw refuse(
      'expected-out-of-reach',
      ['options', 'assumptions', 'expected'],
      `With these assessors and shares the coefficient can be ${formatNumber(worst)} to ${formatNumber(best)}, not ${formatNumber(expected)}.`,
      'expect another value, or assume that the assessors lie closer together (assessorSpread).',
    );
  for (let step = 0; step < 16 && !signal?.aborted; step++) {
    const middle = (low + high) / 2;
    if (longRun(Math.exp(middle)).value > expected) low = middle;
    else high = middle;
    await nextTurn();
  }
  return Math.exp((low + high) / 2);
}

function notesOf(done: number, asked: number, people: readonly number[]): Note[] {
  return [
    information(
      'assumptions',
      'What comes out rests on what was put in: grades, spread and likeness of limbs as assumed. A pilot says how wrong they are.',
    ),
    ...(done < asked ? [caution('stopped', `The simulation was stopped after ${done} of ${asked} studies.`)] : []),
    ...(people.some((count) => count < 12)
      ? [caution('few-people', 'With fewer than 12 people intervals have not been shown to cover.')]
      : []),
  ];
}

function nextTurn(): Promise<void> {
  return new Promise((resolve) => setImmediate(resolve));
}

import { InputError, type Problem } from '../shared/input-error.js';
import type { Note } from '../shared/note.js';
import { type CensoredCode, compileReadings, type SerialReadings } from './chain-data.js';
import { type FitReport, maximizeChain, type NamedParameter, reportOf, type StartOptions } from './chain-fit.js';
import {
  chainLikelihood,
  fixedLayer,
  type InitialPattern,
  type IntensityPattern,
  softmax,
} from './chain-likelihood.js';
import { readersIn } from './hidden-markov-fit.js';
import type { HiddenMarkovModel } from './hidden-markov-model.js';
import { checkConfidenceLevel, refuseImpossible, startingRates, type ValueWithLimits } from './intensities.js';
import { limitsOf } from './limits.js';
import { solveGeneral } from './linear-algebra.js';
import {
  leaningOnPriors,
  positionLayer,
  priorsInWords,
  type ReadingPriors,
  readingVector,
  WEAK_PRIORS,
} from './reading-layer.js';
import { fillReadingProbabilities, type ReadingParameters } from './reading-probabilities.js';

export interface HiddenPositionFitOptions extends StartOptions {
  /** Number of grades q; categories are 0 … q − 1. */
  readonly grades: number;
  /** Sub-states inside each grade. Default 3. */
  readonly statesPerGrade?: number;
  /**
   * How assessors read: the parameters of an agreement study, held fixed, or `'estimated'` from the serial readings alone, with
   * cuts at 0.5, 1.5, … (which fixes the position's scale: one grade is one unit).
   */
  readonly reading: ReadingParameters | 'estimated';
  /** When estimated: a spread for each reader, or one for all. Default: each with three or more readers, else common. */
  readonly spreads?: 'each reader' | 'common';
  /** Which way positions can move. Default `'both'`. */
  readonly changes?: 'both' | 'up' | 'down';
  /** Category q stands for an end (death, amputation) whose time is known exactly. Default false. */
  readonly exactEnd?: boolean;
  /** Codes that leave several grades possible; `states` are grades. */
  readonly censored?: readonly CensoredCode[];
  /** P(grade at the first visit), or `'estimated'`. Default `'estimated'`. */
  readonly initial?: readonly number[] | 'estimated';
  readonly priors?: Partial<ReadingPriors>;
  /** Default 0.95. */
  readonly confidenceLevel?: number;
}

export interface HiddenPositionFit extends FitReport {
  readonly kind: 'hidden-position-fit';
  /** Intensity of the step to the next sub-state up or down, and of the end, for each grade; 0 where there is no such step. Steps outward inside an outer grade share the neighbor's. */
  readonly stepsUp: readonly ValueWithLimits[];
  readonly stepsDown: readonly ValueWithLimits[];
  readonly ends: readonly ValueWithLimits[];
  /** Mean time in each grade, entered at any of its sub-states alike, before it is left. */
  readonly meanTimesInGrade: readonly ValueWithLimits[];
  /** P(grade at the first visit). */
  readonly initialGrades: readonly ValueWithLimits[];
  /** Tendency and spread of each reader and the slip; without limits when they were given. */
  readonly tendencies: readonly ValueWithLimits[];
  readonly spreads: readonly ValueWithLimits[];
  readonly slip: ValueWithLimits;
  readonly cuts: readonly number[];
  /** Position of each sub-state, and the grade it is in. */
  readonly positions: readonly number[];
  readonly stateGrades: readonly number[];
  /** The fitted numbers, for decoding and simulation; its states are the sub-states, then the end. */
  readonly model: HiddenMarkovModel;
  readonly confidenceLevel: number;
  readonly counts: {
    readonly subjects: number;
    readonly visits: number;
    readonly readings: number;
    readonly readers: number;
  };
}

/**
 * A hidden Markov chain whose states are positions: each grade is cut into sub-states, a position moves to its neighbors in
 * continuous time, and assessor a reads position θ as P(Y ≤ k | θ, a) = (1 − ε) Φ((c_{k+1} − θ − bₐ)/σₐ) + ε (k + 1)/q. A limb near a cut is so read low by everybody
 * at every visit, which matrices of grades cannot say. One intensity up and one down for each grade, shared by its sub-states, each with a weak prior;
 * steps outward inside an outer grade share the neighbor's.
 * The reading model comes from an agreement study and stays fixed, or is estimated too, with weak priors and Σ bₐ = 0.
 * Sub-states of an inner grade lie evenly between its cuts; an outer grade is taken to be as wide as its neighbor.
 *
 * @throws InputError as `hiddenMarkovFit` for the readings; `bad-option`; `unknown-reader` when a reader has no parameters.
 * @example
 * const fit = await hiddenPositionFit(readings, { grades: 4, reading: study.reading });
 * hiddenStates(readings, fit.model).smoothed; // sum the sub-states of a grade by fit.stateGrades
 *
 * Source: Jackson CH et al. J R Stat Soc D 2003;52:193–209, doi:10.1111/1467-9884.00351 (hidden chain); Johnson VE, Albert JH.
 * Ordinal Data Modeling. Springer 1999, chapter 5 (tendency and spread of each assessor).
 */
export async function hiddenPositionFit(
  data: SerialReadings,
  options: HiddenPositionFitOptions,
): Promise<HiddenPositionFit> {
  const { grades } = options;
  const perGrade = options.statesPerGrade ?? 3;
  const level = checkConfidenceLevel(options.confidenceLevel);
  const readers = readersIn(data);
  checkOptions(options, perGrade, readers);
  const given = options.reading === 'estimated' ? undefined : options.reading;
  const cuts = given === undefined ? Array.from({ length: grades - 1 }, (_, k) => k + 0.5) : Array.from(given.cuts);
  const positions = subStatePositions(cuts, perGrade);
  const places = positions.length;
  const states = places + (options.exactEnd === true ? 1 : 0);
  const categories = grades + (options.exactEnd === true ? 1 : 0);
  const stateGrades = positions.map((_, i) => Math.floor(i / perGrade));
  const { pattern, groups } = stepPattern(grades, perGrade, states, options);
  const endState = options.exactEnd === true ? places : undefined;
  const statesOf = (grade: number): number[] =>
    grade === grades ? [places] : stateGrades.flatMap((own, s) => (own === grade ? [s] : []));
  const compiled = compileReadings(data, {
    states,
    categories,
    readers,
    statesOf,
    ...(endState === undefined ? {} : { exactEnd: { category: grades, state: endState } }),
    censored: (options.censored ?? []).map(({ code, states: possible }) => ({
      code,
      states: possible.flatMap(statesOf),
    })),
  });
  const priors = { ...WEAK_PRIORS, ...options.priors };
  const common = (options.spreads ?? (readers >= 3 ? 'each reader' : 'common')) === 'common';
  const vector = readingVector(readers, common, priors);
  const tableOf = (reading: ReadingParameters): Float64Array => {
    const inner = new Float64Array(readers * grades * places);
    fillReadingProbabilities(reading, positions, inner);
    const table = new Float64Array(readers * categories * states);
    for (let a = 0; a < readers; a++)
      for (let k = 0; k < grades; k++)
        for (let i = 0; i < places; i++)
          table[(a * categories + k) * states + i] = inner[(a * grades + k) * places + i] as number;
    return table;
  };
  const fixedReading =
    given === undefined
      ? undefined
      : {
          cuts,
          tendencies: Array.from(given.tendencies).slice(0, readers),
          spreads: Array.from(given.spreads).slice(0, readers),
          slip: given.slip,
        };
  const layer =
    fixedReading === undefined
      ? positionLayer(vector, cuts, positions, readers, states, categories)
      : fixedLayer(tableOf(fixedReading));
  const stated = options.initial ?? 'estimated';
  const initial: InitialPattern =
    stated === 'estimated'
      ? {
          kind: 'free',
          groups: Int32Array.from({ length: states }, (_, s) => stateGrades[s] ?? -1),
          count: grades,
        }
      : {
          kind: 'fixed',
          probabilities: Float64Array.from({ length: states }, (_, s) =>
            s < places ? (stated[stateGrades[s] as number] as number) / perGrade : 0,
          ),
        };
  // Sub-states of one grade share what its category shows: m steps cross a grade, and about half of the changes seen are error.
  const seen = startingRates(compiled, data.category, gradePattern(groups, categories, pattern.count), categories);
  const crude = seen.map((logRate, g) => (groups[g]?.to === 'end' ? logRate : logRate + Math.log(perGrade / 2)));
  const likelihood = chainLikelihood({
    compiled,
    states,
    cells: readers * categories,
    intensities: pattern,
    initial,
    layer,
    endState,
    ratePrior: { centers: crude, scale: RATE_SCALE },
  });
  const { layout } = likelihood;

  const start = new Float64Array(layout.size);
  start.set(crude);
  if (initial.kind === 'free')
    start.set(startingGrades(compiled.chain.starts, compiled.visitRows, data.category, grades), layout.initial);
  if (fixedReading === undefined)
    start.set(
      vector.pack({
        tendencies: new Float64Array(readers),
        spreads: new Float64Array(readers).fill(0.5),
        slip: 0.03,
      }),
      layout.readings,
    );
  refuseImpossible(likelihood, start, compiled);

  const names: NamedParameter[] = [
    ...groups.map(
      ({ grade, to }): NamedParameter => ({
        kind: 'rate',
        name: to === 'end' ? `intensity of the end from grade ${grade}` : `intensity of a step ${to} in grade ${grade}`,
      }),
    ),
    ...compiled.covariateNames.flatMap((covariate) =>
      groups.map(
        ({ grade, to }): NamedParameter => ({
          kind: 'effect',
          name: `effect of ${covariate} on ${to === 'end' ? 'the end' : `steps ${to}`} in grade ${grade}`,
        }),
      ),
    ),
    ...(initial.kind === 'free'
      ? Array.from(
          { length: grades - 1 },
          (_, g): NamedParameter => ({
            kind: 'first state',
            name: `probability of starting in grade ${g + 1}`,
          }),
        )
      : []),
    ...(fixedReading === undefined ? vector.names.map((name): NamedParameter => ({ kind: 'reading', name })) : []),
  ];
  const found = await maximizeChain(likelihood, start, names, options);
  const { point, covariance } = found;
  const limits = (value: (p: Float64Array) => number, scale: 'plain' | 'logarithm' | 'logit'): ValueWithLimits =>
    limitsOf(value, point, covariance, level, scale);
  const readingAt = (p: Float64Array): ReadingParameters =>
    fixedReading ?? { cuts, ...vector.unpack(p.subarray(layout.readings)) };
  const reading = readingAt(point);
  const table = tableOf(reading);
  const rate = (grade: number, to: Step): ValueWithLimits => {
    const group = groups.findIndex((own) => own.grade === sharedGrade(grade, to, grades) && own.to === to);
    return group < 0 || (perGrade === 1 && sharedGrade(grade, to, grades) !== grade)
      ? withoutLimits(0)
      : limits((p) => Math.exp(p[group] as number), 'logarithm');
  };
  const firstGrade = (p: Float64Array, grade: number): number =>
    initial.kind === 'free'
      ? (softmax(p, layout.initial, grades)[grade] as number)
      : (initial.probabilities[grade * perGrade] as number) * perGrade;
  const q = likelihood.intensitiesAt(
    point,
    compiled.covariateNames.map(() => 0),
  );
  const byGrade = Array.from({ length: grades }, (_, grade) => grade);
  const notes: Note[] = [...found.notes];
  if (fixedReading === undefined)
    notes.push(...leaningOnPriors(vector.names, vector.priorVariances, covariance, layout.readings, layout.size));

  return {
    kind: 'hidden-position-fit',
    ...reportOf(found, [
      'The chain has no memory beyond its position.',
      'Visits are timed without regard to the position.',
      'Readings are independent given the position, at one visit and from visit to visit.',
      'Subjects are independent.',
      `Each grade holds ${perGrade} sub-states, evenly between its cuts; the outer grades are as wide as their neighbors.`,
      `Weak priors: ln of each intensity N(ln of what consecutive readings show, ${RATE_SCALE}²).`,
      fixedReading === undefined
        ? `Cuts at ${cuts.join(', ')} fix the scale; tendencies add up to 0. ${priorsInWords(priors)}`
        : 'Cuts, tendencies, spreads and the slip are those given.',
      initial.kind === 'free'
        ? 'Subjects start from one common distribution of grades, which was estimated.'
        : 'The grades at the first visit have the stated probabilities.',
    ]),
    notes,
    stepsUp: byGrade.map((grade) => rate(grade, 'up')),
    stepsDown: byGrade.map((grade) => rate(grade, 'down')),
    ends: byGrade.map((grade) => rate(grade, 'end')),
    meanTimesInGrade: byGrade.map((grade) => {
      const time = (p: Float64Array): number =>
        meanTime(
          likelihood.intensitiesAt(
            p,
            compiled.covariateNames.map(() => 0),
          ),
          states,
          grade,
          perGrade,
        );
      return Number.isFinite(time(point)) ? limits(time, 'logarithm') : withoutLimits(Number.POSITIVE_INFINITY);
    }),
    initialGrades: byGrade.map((grade) =>
      initial.kind === 'free' ? limits((p) => firstGrade(p, grade), 'logit') : withoutLimits(firstGrade(point, grade)),
    ),
    tendencies: Array.from({ length: readers }, (_, a) =>
      fixedReading === undefined && readers > 1
        ? limits((p) => readingAt(p).tendencies[a] as number, 'plain')
        : withoutLimits(reading.tendencies[a] as number),
    ),
    spreads: Array.from({ length: readers }, (_, a) =>
      fixedReading === undefined
        ? limits((p) => readingAt(p).spreads[a] as number, 'logarithm')
        : withoutLimits(reading.spreads[a] as number),
    ),
    slip: fixedReading === undefined ? limits((p) => readingAt(p).slip, 'logit') : withoutLimits(reading.slip),
    cuts,
    positions,
    stateGrades,
    model: {
      intensities: Array.from({ length: states }, (_, r) =>
        Array.from({ length: states }, (_, s) => (r === s ? 0 : (q[r * states + s] as number))),
      ),
      ...(compiled.covariateNames.length === 0
        ? {}
        : {
            covariateEffects: Object.fromEntries(
              compiled.covariateNames.map((name, c) => [
                name,
                Array.from({ length: states }, (_, r) =>
                  Array.from({ length: states }, (_, s) => {
                    const group = pattern.groups[r * states + s] as number;
                    return group < 0 ? 0 : (point[layout.effects + c * pattern.count + group] as number);
                  }),
                ),
              ]),
            ),
          }),
      initial: Array.from({ length: states }, (_, s) =>
        s < places ? firstGrade(point, stateGrades[s] as number) / perGrade : 0,
      ),
      readings: Array.from({ length: readers }, (_, a) =>
        Array.from({ length: states }, (_, s) =>
          s === places
            ? Array.from({ length: categories }, (_, k) => (k === grades ? 1 : 0))
            : Array.from({ length: categories }, (_, k) => table[(a * categories + k) * states + s] as number),
        ),
      ),
      stateCategories: Array.from({ length: states }, (_, s) => stateGrades[s] ?? grades),
      ...(endState === undefined ? {} : { exactEnd: { category: grades, state: endState } }),
      ...(options.censored === undefined
        ? {}
        : {
            censored: options.censored.map(({ code, states: possible }) => ({
              code,
              states: possible.flatMap(statesOf),
            })),
          }),
    },
    confidenceLevel: level,
    counts: {
      subjects: compiled.subjects.length,
      visits: compiled.visitRows.length,
      readings: compiled.readings,
      readers,
    },
  };
}

/** ln of an intensity ~ N(ln of what consecutive readings show, this²): a factor of 7 either way within one standard deviation. */
const RATE_SCALE = 2;

type Step = 'up' | 'down' | 'end';

/** Positions of the sub-states: evenly inside each grade, the outer grades as wide as their neighbors (width 1 with a single cut). */
function subStatePositions(cuts: readonly number[], perGrade: number): number[] {
  const last = cuts.length - 1;
  const first = cuts[0] as number;
  const end = cuts[last] as number;
  const widthBelow = last > 0 ? (cuts[1] as number) - first : 1;
  const widthAbove = last > 0 ? end - (cuts[last - 1] as number) : 1;
  const edges = [first - widthBelow, ...cuts, end + widthAbove];
  return edges.slice(1).flatMap((upper, g) => {
    const lower = edges[g] as number;
    return Array.from({ length: perGrade }, (_, j) => lower + ((j + 0.5) / perGrade) * (upper - lower));
  });
}

interface StepGroup {
  readonly grade: number;
  readonly to: Step;
}

/**
 * The grade whose intensity a step takes. Steps that lead outward inside an outer grade leave hardly a trace in readings, so they share the
 * intensity of the neighbor.
 */
function sharedGrade(grade: number, to: Step, grades: number): number {
  if (to === 'down' && grade === 0) return 1;
  if (to === 'up' && grade === grades - 1) return grades - 2;
  return grade;
}

function stepPattern(
  grades: number,
  perGrade: number,
  states: number,
  options: HiddenPositionFitOptions,
): { pattern: IntensityPattern; groups: StepGroup[] } {
  const places = grades * perGrade;
  const groups: StepGroup[] = [];
  const map = new Int32Array(states * states).fill(-1);
  const groupOf = (own: number, to: Step): number => {
    const grade = sharedGrade(own, to, grades);
    const known = groups.findIndex((group) => group.grade === grade && group.to === to);
    return known >= 0 ? known : groups.push({ grade, to }) - 1;
  };
  for (let s = 0; s < places; s++) {
    const grade = Math.floor(s / perGrade);
    if (s + 1 < places && options.changes !== 'down') map[s * states + s + 1] = groupOf(grade, 'up');
    if (s > 0 && options.changes !== 'up') map[s * states + s - 1] = groupOf(grade, 'down');
    if (options.exactEnd === true) map[s * states + places] = groupOf(grade, 'end');
  }
  return { pattern: { groups: map, count: groups.length }, groups };
}

/** The same groups on grades instead of sub-states, for starting values. */
function gradePattern(groups: readonly StepGroup[], categories: number, count: number): IntensityPattern {
  const map = new Int32Array(categories * categories).fill(-1);
  const grades = groups.reduce((most, { grade }) => Math.max(most, grade + 1), 0);
  groups.forEach(({ grade, to }, group) => {
    const target = to === 'end' ? grades : to === 'up' ? grade + 1 : grade - 1;
    if (target >= 0 && target < (to === 'end' ? categories : grades)) map[grade * categories + target] = group;
  });
  return { groups: map, count };
}

/** ln odds of each grade against the first, from the categories at first visits. */
function startingGrades(
  starts: Int32Array,
  visitRows: Int32Array,
  category: ArrayLike<number>,
  grades: number,
): number[] {
  const seen = new Float64Array(grades).fill(0.5);
  for (let i = 0; i + 1 < starts.length; i++) {
    const grade = category[visitRows[starts[i] as number] as number] as number;
    if (grade >= 0 && grade < grades) seen[grade] = (seen[grade] as number) + 1;
  }
  return Array.from({ length: grades - 1 }, (_, g) => Math.log((seen[g + 1] as number) / (seen[0] as number)));
}

/** Mean time in a grade, each of its m sub-states as likely a beginning: −1ᵀ Q_gg⁻¹ 1 / m. */
function meanTime(q: Float64Array, states: number, grade: number, perGrade: number): number {
  const block = new Float64Array(perGrade * perGrade);
  for (let i = 0; i < perGrade; i++)
    for (let j = 0; j < perGrade; j++)
      block[i * perGrade + j] = -(q[(grade * perGrade + i) * states + grade * perGrade + j] as number);
  const times = solveGeneral(block, perGrade, new Float64Array(perGrade).fill(1), 1);
  const mean = times === undefined ? Number.POSITIVE_INFINITY : times.reduce((sum, t) => sum + t, 0) / perGrade;
  return mean > 0 && mean < 1e12 ? mean : Number.POSITIVE_INFINITY;
}

function withoutLimits(value: number): ValueWithLimits {
  return { value, standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN };
}

function checkOptions(options: HiddenPositionFitOptions, perGrade: number, readers: number): void {
  const problems: Problem[] = [];
  const bad = (name: string, message: string, expected: string, code = 'bad-option'): void => {
    problems.push({ code, path: ['options', name], message, expected });
  };
  const { grades, reading } = options;
  if (!(Number.isInteger(grades) && grades >= 2)) bad('grades', `grades is ${grades}.`, 'a whole number from 2');
  if (!(Number.isInteger(perGrade) && perGrade >= 1 && perGrade <= 12))
    bad('statesPerGrade', `statesPerGrade is ${perGrade}.`, 'a whole number from 1 to 12');
  if (reading !== 'estimated') {
    const { cuts, tendencies, spreads, slip } = reading;
    const ordered = Array.from(cuts).every(
      (cut, k) => Number.isFinite(cut) && (k === 0 || cut > (cuts[k - 1] as number)),
    );
    if (cuts.length !== grades - 1 || !ordered)
      bad('reading', `reading.cuts does not fit ${grades} grades.`, `${grades - 1} rising numbers`);
    if (tendencies.length !== spreads.length || !Array.from(spreads).every((spread) => spread > 0))
      bad(
        'reading',
        'reading.tendencies and reading.spreads do not fit each other.',
        'one of each a reader, spreads above 0',
      );
    if (!(slip >= 0 && slip < 1)) bad('reading', `reading.slip is ${slip}.`, 'a share from 0, below 1');
    if (readers > tendencies.length)
      bad(
        'reading',
        `The readings name ${readers} readers, but only ${tendencies.length} have a tendency and a spread.`,
        'parameters for every reader',
        'unknown-reader',
      );
  }
  if (options.initial !== undefined && options.initial !== 'estimated') {
    const total = options.initial.reduce((sum, p) => sum + p, 0);
    if (options.initial.length !== grades || options.initial.some((p) => !(p >= 0)) || Math.abs(total - 1) > 1e-9)
      bad('initial', 'initial does not hold probabilities of the grades.', `${grades} probabilities that add up to 1`);
  }
  options.censored?.forEach(({ code, states }) => {
    if (Number.isInteger(code) && code >= 0 && code <= grades)
      bad('censored', `The code ${code} is also a category.`, 'a code outside the categories');
    if (states.length === 0 || states.some((grade) => !(Number.isInteger(grade) && grade >= 0 && grade < grades)))
      bad('censored', `The grades [${states.join(', ')}] are not all from 0 to ${grades - 1}.`, 'grades');
  });
  if (problems.length > 0) throw new InputError(problems);
}

import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { type CensoredCode, compileReadings, type SerialReadings } from './chain-data.js';
import { type FitReport, maximizeChain, type NamedParameter, reportOf, type StartOptions } from './chain-fit.js';
import { chainLikelihood, type InitialPattern, type ReadingLayer, softmax } from './chain-likelihood.js';
import type { HiddenMarkovModel } from './hidden-markov-model.js';
import {
  checkConfidenceLevel,
  checkMeaning,
  type IntensityEstimates,
  intensityEstimates,
  intensityNames,
  intensityPattern,
  logRatesOf,
  refuseImpossible,
  startingRates,
  type ValueWithLimits,
} from './intensities.js';
import { limitsOf } from './limits.js';

export interface HiddenMarkovFitOptions extends StartOptions {
  /** states × states: whether the change from row to column can happen at once. */
  readonly allowed: readonly (readonly boolean[])[];
  /** states × categories: whether the state in the row can be misread as the category in the column. */
  readonly misreadings: readonly (readonly boolean[])[];
  /** One matrix for all readers, or one for each. Default `'all'`. */
  readonly matrixFor?: 'all' | 'each reader';
  /** P(state at the first visit), or `'estimated'`. */
  readonly initial: readonly number[] | 'estimated';
  /** A state that is the end and whose time is known exactly. */
  readonly exactEnd?: number;
  readonly censored?: readonly CensoredCode[];
  /** Intensities to start from; found from the data when left out. */
  readonly startIntensities?: readonly (readonly number[])[];
  /** Misreading probabilities to start from, off the diagonal; a tenth shared by a row's when left out. */
  readonly startMisreadings?: readonly (readonly number[])[];
  /** Default 0.95. */
  readonly confidenceLevel?: number;
}

export interface HiddenMarkovFit extends FitReport, IntensityEstimates {
  readonly kind: 'hidden-markov-fit';
  /** matrices[reader][state][category] = P(written | true) with limits on the logit scale; one entry when the matrix is common. */
  readonly matrices: readonly (readonly (readonly ValueWithLimits[])[])[];
  /** P(state at the first visit); limits where it was estimated. */
  readonly initial: readonly ValueWithLimits[];
  /** The fitted numbers, for decoding and simulation. */
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
 * A hidden Markov chain in continuous time whose states are read with error: intensities q_rs and
 * misreading probabilities e_sk = P(category k written | state s), from serial readings at irregular visits.
 * ℓ as in `hiddenMarkovLogLikelihood`, maximized over ln q_rs and ln(e_sk/e_ss) with the exact gradient from several starts;
 * limits from the curvature. A visit read by several readers multiplies their probabilities; rows marked `certain` are
 * references. It assumes that readings are independent given the state: limbs near a cut, read low by everybody at every visit, break that,
 * and then `hiddenPositionFit` is the model to use.
 *
 * @throws InputError `unequal-columns`, `bad-value`, `no-rows`, `reading-after-end`, `end-first` (readings); `bad-option`, `not-square`,
 *   `no-change-allowed` (options); `impossible-change`.
 * @example
 * await hiddenMarkovFit(readings, {
 *   allowed: [[false, true], [false, false]],
 *   misreadings: [[false, true], [true, false]],
 *   initial: [1, 0],
 * });
 *
 * Source: Jackson CH, Sharples LD, Thompson SG, Duffy SW, Couto E. J R Stat Soc D 2003;52:193–209, doi:10.1111/1467-9884.00351.
 */
export async function hiddenMarkovFit(data: SerialReadings, options: HiddenMarkovFitOptions): Promise<HiddenMarkovFit> {
  const states = options.allowed.length;
  const pattern = intensityPattern(options.allowed);
  const level = checkConfidenceLevel(options.confidenceLevel);
  checkMeaning(options, states, pattern);
  checkMatrices(options, states);
  const readers = readersIn(data);
  const matrices = options.matrixFor === 'each reader' ? readers : 1;
  const compiled = compileReadings(data, {
    states,
    categories: states,
    readers,
    statesOf: (category) => [category],
    ...(options.exactEnd === undefined ? {} : { exactEnd: { category: options.exactEnd, state: options.exactEnd } }),
    censored: options.censored ?? [],
  });
  const cells = misreadingCells(options.misreadings);
  const layer = matrixLayer(cells, states, readers, matrices);
  const initial: InitialPattern =
    options.initial === 'estimated'
      ? freeStart(states, options.exactEnd)
      : { kind: 'fixed', probabilities: Float64Array.from(options.initial) };
  const likelihood = chainLikelihood({
    compiled,
    states,
    cells: readers * states,
    intensities: pattern,
    initial,
    layer,
    endState: options.exactEnd,
  });
  const { layout } = likelihood;
  const start = new Float64Array(layout.size);
  start.set(
    options.startIntensities === undefined
      ? startingRates(compiled, data.category, pattern, states)
      : logRatesOf(options.startIntensities, pattern),
  );
  for (let m = 0; m < matrices; m++)
    start.set(startingOdds(cells, options.startMisreadings), layout.readings + m * cells.length);
  refuseImpossible(likelihood, start, compiled);

  const names: NamedParameter[] = [
    ...intensityNames(pattern, states, compiled.covariateNames),
    ...(initial.kind === 'free'
      ? Array.from(
          { length: initial.count - 1 },
          (_, g): NamedParameter => ({
            kind: 'first state',
            name: `probability of starting in state ${initial.groups.indexOf(g + 1)}`,
          }),
        )
      : []),
    ...Array.from({ length: matrices }, (_, m) =>
      cells.map(
        ({ state, category }): NamedParameter => ({
          kind: 'misreading',
          name: `probability of writing ${category} for ${state}${matrices > 1 ? ` (reader ${m})` : ''}`,
        }),
      ),
    ).flat(),
  ];
  const found = await maximizeChain(likelihood, start, names, options);
  const { point, covariance } = found;

  const tableAt = (p: Float64Array): Float64Array => {
    const table = new Float64Array(readers * states * states);
    layer.fill(p.subarray(layout.readings), table);
    return table;
  };
  const fitted = Array.from({ length: matrices }, (_, m) =>
    Array.from({ length: states }, (_, state) =>
      Array.from({ length: states }, (_, category): ValueWithLimits => {
        const at = (m * states + category) * states + state;
        const isFree = cells.some((cell) => cell.state === state && (category === state || cell.category === category));
        return isFree
          ? limitsOf((p) => tableAt(p)[at] as number, point, covariance, level, 'logit')
          : known(category === state ? 1 : 0);
      }),
    ),
  );
  const firstAt = (p: Float64Array, state: number): number => {
    if (initial.kind === 'fixed') return initial.probabilities[state] as number;
    const group = initial.groups[state] as number;
    return group < 0 ? 0 : (softmax(p, layout.initial, initial.count)[group] as number);
  };
  const estimates = intensityEstimates(found, likelihood, pattern, states, compiled.covariateNames, level);
  return {
    kind: 'hidden-markov-fit',
    ...reportOf(found, [
      'The chain has no memory: how long a state has lasted does not matter.',
      'Visits are timed without regard to the state.',
      'Readings are independent given the state, at one visit and from visit to visit.',
      'Subjects are independent.',
      matrices > 1 || readers === 1 ? 'Each reader misreads in one way throughout.' : 'All readers misread alike.',
      options.initial === 'estimated'
        ? 'Subjects start from one common distribution of states, which was estimated.'
        : 'The probabilities of the first state are as stated.',
      ...(options.exactEnd === undefined
        ? []
        : ['The time of the end is exact; the state just before it is not seen.']),
      ...(compiled.covariateNames.length === 0 ? [] : ['A covariate keeps its value from one visit to the next.']),
    ]),
    ...estimates,
    matrices: fitted,
    initial: Array.from({ length: states }, (_, state) =>
      initial.kind === 'free' && (initial.groups[state] as number) >= 0
        ? limitsOf((p) => firstAt(p, state), point, covariance, level, 'logit')
        : known(firstAt(point, state)),
    ),
    model: {
      intensities: estimates.intensitiesAt(),
      ...(compiled.covariateNames.length === 0
        ? {}
        : {
            covariateEffects: Object.fromEntries(
              Object.entries(estimates.intensityRatios).map(([name, ratios]) => [
                name,
                ratios.map((row) => row.map(({ value }) => (value > 0 ? Math.log(value) : 0))),
              ]),
            ),
          }),
      initial: Array.from({ length: states }, (_, state) => firstAt(point, state)),
      readings: Array.from({ length: readers }, (_, reader) =>
        (fitted[matrices === 1 ? 0 : reader] as ValueWithLimits[][]).map((row) => row.map(({ value }) => value)),
      ),
      ...(options.exactEnd === undefined ? {} : { exactEnd: { category: options.exactEnd, state: options.exactEnd } }),
      ...(options.censored === undefined ? {} : { censored: options.censored }),
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

/** One more than the largest reader index; 1 when readers are not told apart. */
export function readersIn(data: SerialReadings): number {
  let readers = 1;
  if (data.reader !== undefined)
    for (let row = 0; row < data.reader.length; row++) readers = Math.max(readers, (data.reader[row] as number) + 1);
  return Number.isInteger(readers) ? readers : 1;
}

/** A free probability for every state but the end. */
function freeStart(states: number, end: number | undefined): InitialPattern {
  let count = 0;
  const groups = Int32Array.from({ length: states }, (_, s) => (s === end ? -1 : count++));
  return { kind: 'free', groups, count };
}

function known(value: number): ValueWithLimits {
  return { value, standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN };
}

interface Cell {
  readonly state: number;
  readonly category: number;
}

function misreadingCells(misreadings: readonly (readonly boolean[])[]): Cell[] {
  return misreadings.flatMap((row, state) =>
    row.flatMap((can, category) => (can && state !== category ? [{ state, category }] : [])),
  );
}

function startingOdds(cells: readonly Cell[], given: readonly (readonly number[])[] | undefined): number[] {
  return cells.map(({ state, category }) => {
    const row = cells.filter((cell) => cell.state === state);
    if (given === undefined) return Math.log(0.1 / row.length / 0.9);
    const probability = (cell: Cell): number => given[state]?.[cell.category] ?? Number.NaN;
    const kept = 1 - row.reduce((sum, cell) => sum + probability(cell), 0);
    const own = probability({ state, category });
    if (!(own > 0 && kept > 0))
      throw refuse(
        'bad-option',
        ['options', 'startMisreadings', state],
        `Row ${state} does not hold probabilities above 0 that leave something for reading the state rightly.`,
      );
    return Math.log(own / kept);
  });
}

/** e_sk = exp(x_sk) / (1 + Σ exp(x_sj)): ln odds of each allowed misreading against reading rightly. */
function matrixLayer(cells: readonly Cell[], states: number, readers: number, matrices: number): ReadingLayer {
  const rows = Array.from({ length: states }, (_, state) =>
    cells.flatMap((cell, i) => (cell.state === state ? [{ category: cell.category, parameter: i }] : [])),
  );
  return {
    parameters: matrices * cells.length,
    fill(parameters, table) {
      table.fill(0);
      for (let reader = 0; reader < readers; reader++) {
        const base = matrices === 1 ? 0 : reader * cells.length;
        for (let state = 0; state < states; state++) {
          const row = rows[state] as { category: number; parameter: number }[];
          // Against the largest, so that no exponential overflows.
          const largest = row.reduce(
            (most, { parameter }) => Math.max(most, parameters[base + parameter] as number),
            0,
          );
          let total = Math.exp(-largest);
          for (const { parameter } of row) total += Math.exp((parameters[base + parameter] as number) - largest);
          table[(reader * states + state) * states + state] = Math.exp(-largest) / total;
          for (const { category, parameter } of row)
            table[(reader * states + category) * states + state] =
              Math.exp((parameters[base + parameter] as number) - largest) / total;
        }
      }
    },
    pull(_, table, counts, gradient) {
      for (let reader = 0; reader < readers; reader++) {
        const base = matrices === 1 ? 0 : reader * cells.length;
        for (let state = 0; state < states; state++) {
          let visits = 0;
          for (let category = 0; category < states; category++)
            visits += counts[(reader * states + category) * states + state] as number;
          for (const { category, parameter } of rows[state] as { category: number; parameter: number }[]) {
            const at = (reader * states + category) * states + state;
            gradient[base + parameter] =
              (gradient[base + parameter] as number) + (counts[at] as number) - visits * (table[at] as number);
          }
        }
      }
      return 0;
    },
  };
}

function checkMatrices(options: HiddenMarkovFitOptions, states: number): void {
  const problems: Problem[] = [];
  if (options.misreadings.length !== states || options.misreadings.some((row) => row.length !== states))
    problems.push({
      code: 'not-square',
      path: ['options', 'misreadings'],
      message: `misreadings is not ${states} × ${states}.`,
    });
  if (options.initial !== 'estimated') {
    const { initial } = options;
    const total = initial.reduce((sum, p) => sum + p, 0);
    if (initial.length !== states || initial.some((p) => !(p >= 0)) || Math.abs(total - 1) > 1e-9)
      problems.push({
        code: 'bad-option',
        path: ['options', 'initial'],
        message: `initial does not hold ${states} probabilities that add up to 1.`,
      });
  }
  if (options.matrixFor !== undefined && options.matrixFor !== 'all' && options.matrixFor !== 'each reader')
    problems.push({
      code: 'bad-option',
      path: ['options', 'matrixFor'],
      message: `matrixFor is "${options.matrixFor}"; choose one of all, each reader.`,
    });
  if (problems.length > 0) throw new InputError(problems);
}

import { InputError, type Problem } from '../shared/input-error.js';
import { type CensoredCode, type CompiledReadings, compileReadings, type SerialReadings } from './chain-data.js';
import { type ChainLikelihood, chainLikelihood, fixedLayer } from './chain-likelihood.js';
import { generatorOf, intensityPattern, logRatesOf } from './intensities.js';

/** A hidden Markov chain with every number given. */
export interface HiddenMarkovModel {
  /** states × states, per unit of time; the diagonal is not looked at. At covariates 0. */
  readonly intensities: readonly (readonly number[])[];
  /** For each covariate, what one unit adds to ln q_rs. */
  readonly covariateEffects?: Readonly<Record<string, readonly (readonly number[])[]>>;
  /** P(state at the first visit). */
  readonly initial: readonly number[];
  /** readings[reader][state][category] = P(reader writes category | state). */
  readonly readings: readonly (readonly (readonly number[])[])[];
  /** The category that each state truly is. Left out: state s is category s. */
  readonly stateCategories?: readonly number[];
  /** An end (death, amputation) whose time is known exactly: the category written and the state. */
  readonly exactEnd?: { readonly category: number; readonly state: number };
  readonly censored?: readonly CensoredCode[];
}

/** A model with its data, ready for the recursions. */
export interface CompiledModel {
  readonly compiled: CompiledReadings;
  readonly likelihood: ChainLikelihood;
  readonly point: Float64Array;
  readonly states: number;
}

/**
 * The log-likelihood of serial readings under a hidden Markov chain whose numbers are given:
 * ℓ = Σ over subjects of ln Σ over paths of π(s₁) Π P(sᵥ | sᵥ₋₁; tᵥ − tᵥ₋₁) Π P(category | sᵥ, reader), readings being
 * independent given the states; P(t) = exp(Q t). Rows marked `certain` have the state that was written.
 * −Infinity when some subject's readings cannot happen under the model.
 *
 * @throws InputError as `hiddenMarkovFit` for the readings; `bad-model` with every fault of the model; `too-fast`.
 * @example
 * hiddenMarkovLogLikelihood(
 *   { subject: [1, 1], time: [0, 1], category: [0, 1] },
 *   { intensities: [[0, 0.5], [0, 0]], initial: [1, 0], readings: [[[0.9, 0.1], [0.2, 0.8]]] },
 * ); // −1.0850 = ln 0.9 + ln(0.6065 · 0.1 + 0.3935 · 0.8)
 *
 * Source: Jackson CH, Sharples LD, Thompson SG, Duffy SW, Couto E. J R Stat Soc D 2003;52:193–209, doi:10.1111/1467-9884.00351.
 */
export function hiddenMarkovLogLikelihood(data: SerialReadings, model: HiddenMarkovModel): number {
  const { likelihood, point } = compileModel(data, model);
  return likelihood.evaluate(point).logLikelihood;
}

/** Checks a model and lays it beside its data. */
export function compileModel(data: SerialReadings, model: HiddenMarkovModel): CompiledModel {
  checkModel(model);
  const states = model.intensities.length;
  const readers = model.readings.length;
  const categories = model.readings[0]?.[0]?.length ?? 0;
  const effects = Object.entries(model.covariateEffects ?? {});
  const pattern = intensityPattern(model.intensities.map((row, r) => row.map((rate, s) => r !== s && rate > 0)));
  const own = model.stateCategories ?? Array.from({ length: states }, (_, s) => s);
  const missing = effects.map(([name]) => name).filter((name) => data.covariates?.[name] === undefined);
  if (missing.length > 0)
    throw new InputError(
      missing.map((name) => ({
        code: 'missing-covariate',
        path: ['covariates', name],
        message: `The model has the covariate "${name}", the readings have not.`,
      })),
    );
  const compiled = compileReadings(
    {
      ...data,
      covariates: Object.fromEntries(effects.map(([name]) => [name, data.covariates?.[name] as ArrayLike<number>])),
    },
    {
      states,
      categories: Math.max(categories, (model.exactEnd?.category ?? 0) + 1),
      readers,
      statesOf: (category) => own.flatMap((c, s) => (c === category ? [s] : [])),
      ...(model.exactEnd === undefined ? {} : { exactEnd: model.exactEnd }),
      censored: model.censored ?? [],
    },
  );
  const width = Math.max(categories, (model.exactEnd?.category ?? 0) + 1);
  const table = new Float64Array(readers * width * states);
  model.readings.forEach((matrix, reader) => {
    matrix.forEach((row, state) => {
      row.forEach((probability, category) => {
        table[(reader * width + category) * states + state] = probability;
      });
    });
  });
  const likelihood = chainLikelihood({
    compiled,
    states,
    cells: readers * width,
    intensities: pattern,
    initial: { kind: 'fixed', probabilities: Float64Array.from(model.initial) },
    layer: fixedLayer(table),
    endState: model.exactEnd?.state,
  });
  const point = new Float64Array(likelihood.layout.size);
  point.set(logRatesOf(model.intensities, pattern), likelihood.layout.rates);
  effects.forEach(([, matrix], c) => {
    pattern.groups.forEach((group, at) => {
      if (group >= 0)
        point[likelihood.layout.effects + c * pattern.count + group] = matrix[Math.floor(at / states)]?.[
          at % states
        ] as number;
    });
  });
  likelihood.refuseTooFast(point);
  return { compiled, likelihood, point, states };
}

/** Throws `bad-model` with every fault. */
export function checkModel(model: HiddenMarkovModel): void {
  const problems: Problem[] = [];
  const bad = (path: readonly (string | number)[], message: string): void => {
    problems.push({ code: 'bad-model', path, message });
  };
  const states = model.intensities.length;
  generatorOf(model.intensities);
  const isDistribution = (row: readonly number[]): boolean =>
    row.every((p) => p >= 0) && Math.abs(row.reduce((sum, p) => sum + p, 0) - 1) <= 1e-9;
  if (model.initial.length !== states || !isDistribution(model.initial))
    bad(['initial'], `initial does not hold ${states} probabilities that add up to 1.`);
  if (model.readings.length === 0) bad(['readings'], 'readings holds no reader.');
  const categories = model.readings[0]?.[0]?.length;
  model.readings.forEach((matrix, reader) => {
    if (matrix.length !== states)
      bad(['readings', reader], `readings[${reader}] has ${matrix.length} rows, but there are ${states} states.`);
    matrix.forEach((row, state) => {
      if (row.length !== categories || !isDistribution(row))
        bad(
          ['readings', reader, state],
          `readings[${reader}][${state}] does not hold ${categories} probabilities that add up to 1.`,
        );
    });
  });
  if (model.stateCategories !== undefined && model.stateCategories.length !== states)
    bad(
      ['stateCategories'],
      `stateCategories has ${model.stateCategories.length} entries, but there are ${states} states.`,
    );
  for (const [name, matrix] of Object.entries(model.covariateEffects ?? {}))
    if (matrix.length !== states || matrix.some((row) => row.length !== states || !row.every(Number.isFinite)))
      bad(['covariateEffects', name], `The effects of ${name} are not ${states} × ${states} finite numbers.`);
  if (problems.length > 0) throw new InputError(problems);
}

import { InputError, type Problem } from '../shared/input-error.js';
import { type CensoredCode, type CompiledReadings, compileReadings, type SerialReadings } from './chain-data.js';
import { type FitReport, maximizeChain, reportOf, type StartOptions } from './chain-fit.js';
import { type ChainLikelihood, chainLikelihood, fixedLayer, type IntensityPattern } from './chain-likelihood.js';
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
} from './intensities.js';

export interface MarkovFitOptions extends StartOptions {
  /** states × states: whether the change from row to column can happen at once. Diagonal entries are not looked at. */
  readonly allowed: readonly (readonly boolean[])[];
  /** A state that is the end and whose time is known exactly (death, amputation). */
  readonly exactEnd?: number;
  /** Codes that say only that the state is one of several. */
  readonly censored?: readonly CensoredCode[];
  /** Intensities to start from; found from the data when left out. */
  readonly start?: readonly (readonly number[])[];
  /** Default 0.95. */
  readonly confidenceLevel?: number;
}

export interface MarkovFit extends FitReport, IntensityEstimates {
  readonly kind: 'markov-fit';
  readonly confidenceLevel: number;
  readonly counts: { readonly subjects: number; readonly visits: number; readonly changesSeen: number };
}

/**
 * Intensities of a continuous-time Markov chain whose states are seen without error, at irregular visits.
 * The likelihood of a subject is Π P(sᵥ | sᵥ₋₁; tᵥ − tᵥ₋₁), given the first state; an end at a known time t
 * contributes Σₛ P(s | sᵥ₋₁; t − tᵥ₋₁) q_{s,end}; a censored code the sum over its states. Maximized over ln q_rs
 * with the exact gradient; limits from the curvature, on the logarithmic scale.
 * An intensity the readings do not determine is reported with a note and without limits. A subject's first reading
 * must be a known state.
 *
 * @throws InputError `unequal-columns`, `bad-value`, `no-rows`, `reading-after-end`, `end-first` (readings); `bad-option` (options);
 *   `unknown-first-state`; `impossible-change` (a change seen that `allowed` rules out).
 * @example
 * const fit = await markovFit({ subject: [1, 1, 1], time: [0, 1, 3], category: [0, 0, 1] }, { allowed: [[false, true], [false, false]] });
 * fit.intensities[0][1].value; // 0.5493 = ½ ln 3, where e⁻ᑫ(1 − e⁻²ᑫ) is highest
 *
 * Source: Kalbfleisch JD, Lawless JF. J Am Stat Assoc 1985;80:863–871, doi:10.1080/01621459.1985.10478195;
 * Jackson CH. J Stat Softw 2011;38(8), doi:10.18637/jss.v038.i08.
 */
export async function markovFit(data: SerialReadings, options: MarkovFitOptions): Promise<MarkovFit> {
  const states = options.allowed.length;
  const pattern = intensityPattern(options.allowed);
  const level = checkConfidenceLevel(options.confidenceLevel);
  const { compiled, likelihood } = observedChain(data, options, pattern);
  const names = intensityNames(pattern, states, compiled.covariateNames);
  const start = new Float64Array(likelihood.layout.size);
  start.set(
    options.start === undefined
      ? startingRates(compiled, data.category, pattern, states)
      : logRatesOf(options.start, pattern),
  );
  refuseImpossible(likelihood, start, compiled);
  const found = await maximizeChain(likelihood, start, names, options);
  return {
    kind: 'markov-fit',
    ...reportOf(found, [
      'The chain has no memory: how long a state has lasted does not matter.',
      'Visits are timed without regard to the state.',
      'States are read without error.',
      'Subjects are independent, and each first state is taken as given.',
      ...(options.exactEnd === undefined
        ? []
        : ['The time of the end is exact; the state just before it is not seen.']),
      ...(compiled.covariateNames.length === 0 ? [] : ['A covariate keeps its value from one visit to the next.']),
    ]),
    ...intensityEstimates(found, likelihood, pattern, states, compiled.covariateNames, level),
    confidenceLevel: level,
    counts: {
      subjects: compiled.subjects.length,
      visits: compiled.visitRows.length,
      changesSeen: changesSeen(compiled, data.category),
    },
  };
}

/**
 * The log-likelihood of intensities that are given, for the same model as `markovFit`.
 *
 * @throws InputError as `markovFit`; the intensities decide which changes can happen.
 * @example
 * markovLogLikelihood({ subject: [1, 1], time: [0, 2], category: [0, 1] }, { intensities: [[0, 0.5], [0, 0]] }); // −0.4587 = ln(1 − e⁻¹)
 */
export function markovLogLikelihood(
  data: SerialReadings,
  options: {
    /** states × states; the diagonal is not looked at. */
    readonly intensities: readonly (readonly number[])[];
    readonly exactEnd?: number;
    readonly censored?: readonly CensoredCode[];
  },
): number {
  const allowed = options.intensities.map((row, r) => row.map((rate, s) => r !== s && rate > 0));
  const pattern = intensityPattern(allowed);
  const { compiled, likelihood } = observedChain(data, options, pattern);
  const point = new Float64Array(likelihood.layout.size);
  point.set(logRatesOf(options.intensities, pattern));
  refuseImpossible(likelihood, point, compiled);
  return likelihood.evaluate(point).logLikelihood;
}

function observedChain(
  data: SerialReadings,
  options: { readonly exactEnd?: number; readonly censored?: readonly CensoredCode[] },
  pattern: IntensityPattern,
): { compiled: CompiledReadings; likelihood: ChainLikelihood } {
  const states = Math.sqrt(pattern.groups.length);
  checkMeaning(options, states, pattern);
  const compiled = compileReadings(
    { ...data, certain: new Uint8Array(data.subject.length).fill(1) },
    {
      states,
      categories: states,
      readers: 1,
      statesOf: (category) => [category],
      ...(options.exactEnd === undefined ? {} : { exactEnd: { category: options.exactEnd, state: options.exactEnd } }),
      censored: options.censored ?? [],
    },
  );
  const problems: Problem[] = [];
  for (let subject = 0; subject < compiled.subjects.length; subject++) {
    const visit = compiled.chain.starts[subject] as number;
    const signature = compiled.signatures[compiled.chain.readings[visit] as number];
    if (signature?.kind === 'readings' && signature.possible?.length !== 1) {
      const row = compiled.visitRows[visit] as number;
      problems.push({
        code: 'unknown-first-state',
        path: ['category', row],
        message: `category[${row}] is a subject's first reading and leaves ${signature.possible?.length} states possible.`,
        mend: 'start the subject at its first known state.',
      });
    }
  }
  if (problems.length > 0) throw new InputError(problems);
  const likelihood = chainLikelihood({
    compiled,
    states,
    cells: 0,
    intensities: pattern,
    initial: { kind: 'fixed', probabilities: new Float64Array(states).fill(1) },
    layer: fixedLayer(new Float64Array(0)),
    endState: options.exactEnd,
  });
  return { compiled, likelihood };
}

/** Pairs of consecutive visits with different categories. */
function changesSeen(compiled: CompiledReadings, category: ArrayLike<number>): number {
  const { steps } = compiled.chain;
  let changes = 0;
  for (let visit = 1; visit < steps.length; visit++)
    if (
      steps[visit] !== -1 &&
      category[compiled.visitRows[visit] as number] !== category[compiled.visitRows[visit - 1] as number]
    )
      changes++;
  return changes;
}

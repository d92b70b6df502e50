import { normal } from '../shared/distributions.js';
import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { DEFAULT_CONFIDENCE_LEVEL } from '../shared/options.js';
import type { CensoredCode, CompiledReadings } from './chain-data.js';
import type { MaximumFound, NamedParameter } from './chain-fit.js';
import type { ChainLikelihood, IntensityPattern } from './chain-likelihood.js';
import { limitsOf } from './limits.js';
import { multiply } from './linear-algebra.js';
import { transitionKernel } from './transition-kernel.js';

/** A number with its standard error and limits, `NaN` where the data do not give them. */
export interface ValueWithLimits {
  readonly value: number;
  readonly standardError: number;
  readonly lower: number;
  readonly upper: number;
}

/** Intensities of a continuous-time Markov chain and what follows from them. */
export interface IntensityEstimates {
  /** q_rs with limits on the logarithmic scale; the diagonal is −Σ of its row; 0 without limits where no change is allowed. At covariates 0. */
  readonly intensities: readonly (readonly ValueWithLimits[])[];
  /** Mean time in each state before it is left, 1/(−q_rr); infinite in a state that is never left. */
  readonly meanSojourns: readonly ValueWithLimits[];
  /** For each covariate, the factor by which one unit multiplies q_rs, with limits. */
  readonly intensityRatios: Readonly<Record<string, readonly (readonly ValueWithLimits[])[]>>;
  /** Q at given covariate values (0 where left out). */
  intensitiesAt(covariates?: Readonly<Record<string, number>>): readonly (readonly number[])[];
  /** P(t) at given covariate values (0 where left out). */
  transitionProbabilities(time: number, covariates?: Readonly<Record<string, number>>): readonly (readonly number[])[];
  /** P(t) with limits on the logit scale; without limits where it is 0 or 1 by the model. */
  transitionEstimates(
    time: number,
    covariates?: Readonly<Record<string, number>>,
  ): readonly (readonly ValueWithLimits[])[];
}

/**
 * P(t) = exp(Q t): the probability of being in each state a time t after each state.
 *
 * @param intensities states × states; the diagonal is not looked at, and becomes −Σ of its row.
 * @throws InputError `bad-intensity` (negative or not finite), `not-square`, `bad-time`.
 * @example
 * transitionProbabilities([[0, 0.5], [0, 0]], 2)[0]; // [0.3679, 0.6321]
 *
 * Source: Kalbfleisch JD, Lawless JF. J Am Stat Assoc 1985;80:863–871, doi:10.1080/01621459.1985.10478195.
 */
export function transitionProbabilities(
  intensities: readonly (readonly number[])[],
  time: number,
): readonly (readonly number[])[] {
  const q = generatorOf(intensities);
  checkTime(time);
  return probabilitiesOf(q, intensities.length, time);
}

function checkTime(time: number): void {
  if (!(time >= 0 && time < Number.POSITIVE_INFINITY))
    throw refuse('bad-time', ['time'], `time is ${time}, not a finite number from 0.`);
}

/** Q, row by row, from rates whose diagonal is not looked at. */
export function generatorOf(intensities: readonly (readonly number[])[]): Float64Array {
  const states = intensities.length;
  const problems: Problem[] = [];
  const q = new Float64Array(states * states);
  intensities.forEach((row, r) => {
    if (row.length !== states)
      problems.push({
        code: 'not-square',
        path: ['intensities', r],
        message: `intensities[${r}] has ${row.length} entries, but there are ${states} states.`,
      });
    row.forEach((rate, s) => {
      if (r === s) return;
      if (!(rate >= 0 && rate < Number.POSITIVE_INFINITY))
        problems.push({
          code: 'bad-intensity',
          path: ['intensities', r, s],
          message: `intensities[${r}][${s}] is ${rate}.`,
          expected: 'a finite number from 0',
        });
      q[r * states + s] = rate;
      q[r * states + r] = (q[r * states + r] as number) - rate;
    });
  });
  if (problems.length > 0) throw new InputError(problems);
  return q;
}

/** At this many expected jumps the time is halved, and the result squared. */
const MOST_JUMPS = 32;

/**
 * P(t) by uniformization, Σ e^−m mᵏ/k! Uᵏ with U = I + Q/λ, λ the largest rate of leaving and m = λt: no term is below 0, so that also a
 * probability of 1e-14 has all its digits, which neither eigenvectors nor a matrix exponential give it.
 * Source: Jensen A. Skand Aktuarietidskr 1953;36:87–91 (from memory).
 */
function probabilitiesOf(q: Float64Array, states: number, time: number): number[][] {
  let rate = 0;
  for (let state = 0; state < states; state++) rate = Math.max(rate, -q[state * states + state]!);
  let jumps = rate * time;
  if (!(jumps > 0) || !Number.isFinite(jumps)) {
    const out = new Float64Array(states * states);
    transitionKernel(q, states).probabilities(time, out, 0);
    return rowsOf(out, states);
  }
  let halvings = 0;
  for (; jumps > MOST_JUMPS; jumps /= 2) halvings++;
  const step = q.map((value, at) => (at % (states + 1) === 0 ? (rate + value) / rate : value / rate));
  let power: Float64Array = q.map((_, at) => (at % (states + 1) === 0 ? 1 : 0));
  let weight = Math.exp(-jumps);
  let result: Float64Array = power.map((value) => weight * value);
  // At most 32 jumps: the weights rise from e⁻³² at least, then fall.
  for (let k = 1; weight > 1e-300; k++) {
    power = multiply(power, step, states, states, states);
    weight *= jumps / k;
    result = result.map((value, at) => value + weight * power[at]!);
  }
  for (; halvings > 0; halvings--) result = multiply(result, result, states, states, states);
  // Each row sums to 1, and to nothing else in its last digit: a state that is never left is kept with certainty.
  return rowsOf(result, states).map((row) => {
    const sum = row.reduce((total, value) => total + value, 0);
    return row.map((value) => value / sum);
  });
}

function rowsOf(matrix: Float64Array, states: number): number[][] {
  return Array.from({ length: states }, (_, r) => Array.from(matrix.subarray(r * states, (r + 1) * states)));
}

/** Every allowed change has its own intensity. Throws `not-square` or `no-change-allowed`. */
export function intensityPattern(allowed: readonly (readonly boolean[])[]): IntensityPattern {
  const states = allowed.length;
  const groups = new Int32Array(states * states).fill(-1);
  let count = 0;
  allowed.forEach((row, r) => {
    if (row.length !== states)
      throw refuse('not-square', ['allowed', r], `Row ${r} has ${row.length} entries, but there are ${states} states.`);
    row.forEach((can, s) => {
      if (can && r !== s) groups[r * states + s] = count++;
    });
  });
  if (count === 0) throw refuse('no-change-allowed', ['allowed'], 'No change of state is allowed.');
  return { groups, count };
}

/** Checks the codes of ends and of censoring against the states; throws `bad-option` with every fault. */
export function checkMeaning(
  options: { readonly exactEnd?: number; readonly censored?: readonly CensoredCode[] },
  states: number,
  pattern: IntensityPattern,
): void {
  const problems: Problem[] = [];
  const isState = (state: number): boolean => Number.isInteger(state) && state >= 0 && state < states;
  const { exactEnd } = options;
  if (exactEnd !== undefined) {
    const leaves = pattern.groups.subarray(exactEnd * states, (exactEnd + 1) * states).some((group) => group >= 0);
    const entered = isState(exactEnd) && pattern.groups.some((group, at) => group >= 0 && at % states === exactEnd);
    if (!isState(exactEnd) || leaves || !entered)
      problems.push({
        code: 'bad-option',
        path: ['options', 'exactEnd'],
        message: `exactEnd is ${exactEnd}.`,
        expected: 'a state that can be entered and never left',
      });
  }
  options.censored?.forEach(({ code, states: possible }, i) => {
    if (!Number.isFinite(code) || isState(code))
      problems.push({
        code: 'bad-option',
        path: ['options', 'censored', i, 'code'],
        message: `The code ${code} is not a number outside the states.`,
      });
    if (possible.length === 0 || !possible.every(isState))
      problems.push({
        code: 'bad-option',
        path: ['options', 'censored', i, 'states'],
        message: `The states [${possible.join(', ')}] are not all from 0 to ${states - 1}.`,
      });
  });
  if (problems.length > 0) throw new InputError(problems);
}

export function checkConfidenceLevel(level = DEFAULT_CONFIDENCE_LEVEL): number {
  if (level > 0 && level < 1) return level;
  throw refuse(
    'bad-option',
    ['options', 'confidenceLevel'],
    `confidenceLevel is ${level}, not a fraction between 0 and 1.`,
  );
}

/** ln q of each group from a matrix of rates; a group's rates are averaged. Throws `bad-intensity` where an allowed one is not above 0. */
export function logRatesOf(intensities: readonly (readonly number[])[], pattern: IntensityPattern): Float64Array {
  const states = Math.sqrt(pattern.groups.length);
  const sums = new Float64Array(pattern.count);
  const entries = new Float64Array(pattern.count);
  const problems: Problem[] = [];
  for (let at = 0; at < pattern.groups.length; at++) {
    const group = pattern.groups[at] as number;
    if (group < 0) continue;
    const [r, s] = [Math.floor(at / states), at % states];
    const rate = intensities[r]?.[s] ?? Number.NaN;
    if (!(rate > 0 && rate < Number.POSITIVE_INFINITY))
      problems.push({
        code: 'bad-intensity',
        path: ['intensities', r, s],
        message: `The intensity from state ${r} to state ${s} is ${rate}.`,
        expected: 'a finite number above 0',
      });
    sums[group] = (sums[group] as number) + rate;
    entries[group] = (entries[group] as number) + 1;
  }
  if (problems.length > 0) throw new InputError(problems);
  return sums.map((sum, g) => Math.log(sum / (entries[g] as number)));
}

/**
 * ln of (changes seen from r to s at consecutive visits) / (time spent in r), as if a state held until the next visit.
 * `stateOf` gives the state that a category suggests, or −1. Half a change stands in where none was seen.
 */
export function startingRates(
  compiled: CompiledReadings,
  category: ArrayLike<number>,
  pattern: IntensityPattern,
  states: number,
  stateOf: (category: number) => number = (code) => code,
): Float64Array {
  const changes = new Float64Array(states * states);
  const spent = new Float64Array(states);
  const { steps } = compiled.chain;
  let total = 0;
  for (let visit = 1; visit < steps.length; visit++) {
    const step = steps[visit] as number;
    if (step < 0) continue;
    const from = stateOf(category[compiled.visitRows[visit - 1] as number] as number);
    const to = stateOf(category[compiled.visitRows[visit] as number] as number);
    const gap = compiled.stepTimes[step] as number;
    total += gap;
    if (!(from >= 0 && from < states && to >= 0 && to < states)) continue;
    spent[from] = (spent[from] as number) + gap;
    changes[from * states + to] = (changes[from * states + to] as number) + 1;
  }
  const sums = new Float64Array(pattern.count);
  const times = new Float64Array(pattern.count);
  for (let at = 0; at < changes.length; at++) {
    const group = pattern.groups[at] as number;
    if (group < 0) continue;
    sums[group] = (sums[group] as number) + (changes[at] as number);
    times[group] = (times[group] as number) + (spent[Math.floor(at / states)] as number);
  }
  const fallback = total > 0 ? total / states : 1;
  return sums.map((sum, g) =>
    Math.log(Math.max(sum, 0.5) / ((times[g] as number) > 0 ? (times[g] as number) : fallback)),
  );
}

/** Throws `impossible-change` when a subject's readings have probability 0 at the start, `too-fast` when the start cannot be evaluated. */
export function refuseImpossible(likelihood: ChainLikelihood, start: Float64Array, compiled: CompiledReadings): void {
  likelihood.refuseTooFast(start);
  const subject = likelihood.impossibleSubject(start);
  if (subject === undefined) return;
  const row = compiled.visitRows[compiled.chain.starts[subject] as number] as number;
  throw refuse(
    'impossible-change',
    ['category', row],
    `The subject whose first reading is at row ${row} shows a course that the allowed changes and readings rule out.`,
    'allow the change it shows, or correct the reading.',
  );
}

/** Names of ln intensities and of the effects of covariates on them, in the order of the parameters. */
export function intensityNames(
  pattern: IntensityPattern,
  states: number,
  covariates: readonly string[],
  stateName: (state: number) => string = (state) => `state ${state}`,
): NamedParameter[] {
  const changes = Array.from({ length: pattern.count }, (_, group) => {
    const at = pattern.groups.indexOf(group);
    return `from ${stateName(Math.floor(at / states))} to ${stateName(at % states)}`;
  });
  return [
    ...changes.map((change): NamedParameter => ({ kind: 'rate', name: `intensity ${change}` })),
    ...covariates.flatMap((covariate) =>
      changes.map(
        (change): NamedParameter => ({ kind: 'effect', name: `effect of ${covariate} on the intensity ${change}` }),
      ),
    ),
  ];
}

/** Intensities, mean sojourns and ratios with limits by the delta method on the logarithmic scale. */
export function intensityEstimates(
  found: MaximumFound,
  likelihood: ChainLikelihood,
  pattern: IntensityPattern,
  states: number,
  covariateNames: readonly string[],
  level: number,
): IntensityEstimates {
  const { point, covariance } = found;
  const size = point.length;
  const z = normal.quantile(0.5 + level / 2);
  const none: ValueWithLimits = { value: 0, standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN };
  const fromLog = (logValue: number, variance: number): ValueWithLimits => {
    const value = Math.exp(logValue);
    const error = Math.sqrt(variance);
    return {
      value,
      standardError: value * error,
      lower: Math.exp(logValue - z * error),
      upper: Math.exp(logValue + z * error),
    };
  };
  const groupAt = (r: number, s: number): number => pattern.groups[r * states + s] as number;
  const rateAt = (r: number, s: number): number =>
    groupAt(r, s) < 0 ? 0 : Math.exp(point[likelihood.layout.rates + groupAt(r, s)] as number);
  const total = (r: number): ValueWithLimits => {
    let rate = 0;
    for (let s = 0; s < states; s++) if (s !== r) rate += rateAt(r, s);
    let variance = 0;
    for (let s = 0; s < states; s++)
      for (let t = 0; t < states; t++)
        if (groupAt(r, s) >= 0 && groupAt(r, t) >= 0)
          variance += rateAt(r, s) * rateAt(r, t) * (covariance[groupAt(r, s) * size + groupAt(r, t)] as number);
    return fromLog(Math.log(rate), variance / rate ** 2);
  };
  const totals = Array.from({ length: states }, (_, r) => total(r));
  const isLeft = (r: number): boolean => (totals[r] as ValueWithLimits).value > 0;
  const entries = (entry: (r: number, s: number) => ValueWithLimits): ValueWithLimits[][] =>
    Array.from({ length: states }, (_, r) => Array.from({ length: states }, (_, s) => entry(r, s)));
  const patternOf = (covariates: Readonly<Record<string, number>> = {}): number[] => {
    const unknown = Object.keys(covariates).filter((name) => !covariateNames.includes(name));
    if (unknown.length > 0)
      throw refuse(
        'unknown-covariate',
        ['covariates'],
        `The model has no covariate ${unknown.map((name) => `"${name}"`).join(', ')}; it has ${covariateNames.join(', ') || 'none'}.`,
      );
    return covariateNames.map((name) => covariates[name] ?? 0);
  };

  return {
    intensities: entries((r, s) => {
      if (r !== s) {
        const group = groupAt(r, s);
        return group < 0 ? none : fromLog(point[group] as number, covariance[group * size + group] as number);
      }
      if (!isLeft(r)) return none;
      const { value, standardError, lower, upper } = totals[r] as ValueWithLimits;
      return { value: -value, standardError, lower: -upper, upper: -lower };
    }),
    meanSojourns: totals.map((rate, r) =>
      isLeft(r)
        ? {
            value: 1 / rate.value,
            standardError: rate.standardError / rate.value ** 2,
            lower: 1 / rate.upper,
            upper: 1 / rate.lower,
          }
        : { value: Number.POSITIVE_INFINITY, standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN },
    ),
    intensityRatios: Object.fromEntries(
      covariateNames.map((name, c) => [
        name,
        entries((r, s) => {
          const group = r === s ? -1 : groupAt(r, s);
          if (group < 0) return none;
          const at = likelihood.layout.effects + c * pattern.count + group;
          return fromLog(point[at] as number, covariance[at * size + at] as number);
        }),
      ]),
    ),
    intensitiesAt: (covariates) => rowsOf(likelihood.intensitiesAt(point, patternOf(covariates)), states),
    transitionProbabilities(time, covariates) {
      checkTime(time);
      return probabilitiesOf(likelihood.intensitiesAt(point, patternOf(covariates)), states, time);
    },
    transitionEstimates(time, covariates) {
      checkTime(time);
      const pattern = patternOf(covariates);
      const at = (p: Float64Array, r: number, s: number): number =>
        probabilitiesOf(likelihood.intensitiesAt(p, pattern), states, time)[r]?.[s] as number;
      return entries((r, s) => {
        const value = at(point, r, s);
        return value > 0 && value < 1
          ? limitsOf((p) => at(p, r, s), point, covariance, level, 'logit')
          : { value, standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN };
      });
    },
  };
}

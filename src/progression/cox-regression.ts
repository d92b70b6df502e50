import { solveGeneral } from '../models/linear-algebra.js';
import { normal } from '../shared/distributions.js';
import type { Interval } from '../shared/estimate.js';
import { InputError, refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkChoice } from '../shared/options.js';
import { checkEventTimes, type EventTimes } from './event-times.js';

export interface CoxRegressionOptions {
  /** How tied times are taken. Default `'efron'`. */
  readonly ties?: 'efron' | 'breslow';
  readonly confidenceLevel?: number;
}

export interface HazardRatio {
  readonly name: string;
  /** Logarithm of the hazard ratio for one unit more. */
  readonly logRatio: number;
  readonly standardError: number;
  readonly ratio: number;
  readonly interval: Interval;
}

export interface CoxRegression {
  readonly kind: 'cox-regression';
  readonly effects: readonly HazardRatio[];
  readonly logLikelihood: number;
  readonly converged: boolean;
  readonly iterations: number;
  readonly counts: { readonly entries: number; readonly patients: number; readonly events: number };
  readonly notes: readonly Note[];
}

/**
 * Cox regression: hazard ratios of covariates, with late entry, and with errors that count patients where several limbs belong to one.
 *
 * h(t | x) = h₀(t) e^{x′β}; partial likelihood with tied events by Efron or Breslow, Newton's method with step halving. Errors: inverse information, or with patients the
 * sandwich of the patients' summed score residuals times K/(K − 1), K patients. Intervals exp(β ± z·se).
 *
 * Undefined: a covariate that separates those with the event from those without has no finite ratio; `converged` is then `false` and a note says so.
 * Missing values are not allowed.
 *
 * @param covariates name → one number an entry.
 * @throws InputError `no-events`, `bad-covariate` (not finite or without variation), and as `kaplanMeier`.
 * Source: Cox DR. J R Stat Soc B 1972;34:187–220; Efron B. J Am Stat Assoc 1977;72:557–565, doi:10.1080/01621459.1977.10480613; sandwich: Lin DY, Wei LJ. J Am Stat Assoc
 * 1989;84:1074–1078, doi:10.1080/01621459.1989.10478874.
 */
export function coxRegression(
  data: EventTimes,
  covariates: Readonly<Record<string, readonly number[]>>,
  options: CoxRegressionOptions = {},
): CoxRegression {
  checkEventTimes(data);
  const names = Object.keys(covariates);
  checkCovariates(covariates, data.times.length);
  const eventCount = data.events.filter(Boolean).length;
  if (eventCount === 0) throw refuse('no-events', ['events'], 'No event happened, so no hazard can be compared.');
  const ties = checkChoice('ties', options.ties ?? 'efron', ['efron', 'breslow']);
  const level = options.confidenceLevel ?? 0.95;
  const z = normal.quantile(1 - (1 - level) / 2);
  const n = data.times.length;
  const p = names.length;
  // Centered covariates leave β as it is and keep the exponentials small.
  const columns = names.map((name) => {
    const values = covariates[name]!;
    const center = values.reduce((sum, value) => sum + value, 0) / n;
    return values.map((value) => value - center);
  });
  const x = (row: number, k: number): number => columns[k]![row]!;
  const risk = riskSets(data);

  let beta = new Float64Array(p);
  let state = partialLikelihood(beta, x, risk, p, ties);
  let converged = false;
  let iterations = 0;
  for (; iterations < 50 && !converged; iterations++) {
    const step = solveGeneral(state.information, p, state.score, 1);
    if (step === undefined) break;
    let scale = 1;
    let next = state;
    let trial = beta;
    for (let halving = 0; halving < 30; halving++, scale /= 2) {
      trial = beta.map((value, k) => value + scale * step[k]!);
      next = partialLikelihood(trial, x, risk, p, ties);
      if (next.logLikelihood >= state.logLikelihood - 1e-12) break;
    }
    const gain = next.logLikelihood - state.logLikelihood;
    beta = trial;
    state = next;
    converged =
      Math.abs(gain) < 1e-12 * Math.max(1, Math.abs(state.logLikelihood)) &&
      columns.every((column, k) => Math.abs(beta[k]!) * rangeOf(column) < SEPARATION);
  }
  const inverse = solveGeneral(state.information, p, identity(p), p) ?? new Float64Array(p * p).fill(Number.NaN);
  const patients = data.patients ?? data.times.map((_, at) => at);
  const clusters = new Set(patients).size;
  const covariance =
    clusters < n ? sandwich(inverse, scoreResiduals(beta, x, risk, n, p, ties), patients, clusters, p) : inverse;
  return {
    kind: 'cox-regression',
    effects: names.map((name, k) => {
      const standardError = Math.sqrt(covariance[k * p + k]!);
      return {
        name,
        logRatio: beta[k]!,
        standardError,
        ratio: Math.exp(beta[k]!),
        interval: {
          lower: Math.exp(beta[k]! - z * standardError),
          upper: Math.exp(beta[k]! + z * standardError),
          level,
          method: clusters < n ? 'normal, patients as units' : 'normal, inverse information',
        },
      };
    }),
    logLikelihood: state.logLikelihood,
    converged,
    iterations,
    counts: { entries: n, patients: clusters, events: eventCount },
    notes: notesOf(converged, eventCount, p, clusters, n),
  };
}

/** A ratio of e¹⁵ between the ends of a covariate is no finding: the likelihood rises for ever. */
const SEPARATION = 15;

interface RiskSet {
  /** Rows at risk just before the time. */
  readonly atRisk: readonly number[];
  /** Rows whose event happened at the time. */
  readonly events: readonly number[];
}

function riskSets(data: EventTimes): RiskSet[] {
  const times = [...new Set(data.times.filter((_, at) => data.events[at]))].sort((a, b) => a - b);
  return times.map((time) => {
    const atRisk: number[] = [];
    const events: number[] = [];
    data.times.forEach((own, at) => {
      if (own < time || (data.entries?.[at] ?? Number.NEGATIVE_INFINITY) >= time) return;
      atRisk.push(at);
      if (own === time && data.events[at]) events.push(at);
    });
    return { atRisk, events };
  });
}

/** Weighted sums over a risk set, and over its events. */
function weightedSums(
  rows: readonly number[],
  beta: Float64Array,
  x: (row: number, k: number) => number,
  p: number,
): { total: number; first: Float64Array; second: Float64Array } {
  let total = 0;
  const first = new Float64Array(p);
  const second = new Float64Array(p * p);
  for (const row of rows) {
    const weight = hazardOf(row, beta, x);
    total += weight;
    for (let k = 0; k < p; k++) {
      first[k]! += weight * x(row, k);
      for (let l = 0; l < p; l++) second[k * p + l]! += weight * x(row, k) * x(row, l);
    }
  }
  return { total, first, second };
}

function hazardOf(row: number, beta: Float64Array, x: (row: number, k: number) => number): number {
  let eta = 0;
  for (let k = 0; k < beta.length; k++) eta += beta[k]! * x(row, k);
  return Math.exp(eta);
}

function partialLikelihood(
  beta: Float64Array,
  x: (row: number, k: number) => number,
  risk: readonly RiskSet[],
  p: number,
  ties: 'efron' | 'breslow',
): { logLikelihood: number; score: Float64Array; information: Float64Array } {
  let logLikelihood = 0;
  const score = new Float64Array(p);
  const information = new Float64Array(p * p);
  for (const { atRisk, events } of risk) {
    const all = weightedSums(atRisk, beta, x, p);
    const tied = weightedSums(events, beta, x, p);
    for (const row of events) {
      logLikelihood += Math.log(hazardOf(row, beta, x));
      for (let k = 0; k < p; k++) score[k]! += x(row, k);
    }
    for (let j = 0; j < events.length; j++) {
      const share = ties === 'efron' ? j / events.length : 0;
      const total = all.total - share * tied.total;
      logLikelihood -= Math.log(total);
      for (let k = 0; k < p; k++) {
        const mean = (all.first[k]! - share * tied.first[k]!) / total;
        score[k]! -= mean;
        for (let l = 0; l < p; l++)
          information[k * p + l]! +=
            (all.second[k * p + l]! - share * tied.second[k * p + l]!) / total -
            (mean * (all.first[l]! - share * tied.first[l]!)) / total;
      }
    }
  }
  return { logLikelihood, score, information };
}

/** What each entry adds to the score: its own event less its share of everybody's. */
function scoreResiduals(
  beta: Float64Array,
  x: (row: number, k: number) => number,
  risk: readonly RiskSet[],
  n: number,
  p: number,
  ties: 'efron' | 'breslow',
): Float64Array {
  const residuals = new Float64Array(n * p);
  for (const { atRisk, events } of risk) {
    const all = weightedSums(atRisk, beta, x, p);
    const tied = weightedSums(events, beta, x, p);
    const isEvent = new Set(events);
    for (let j = 0; j < events.length; j++) {
      const share = ties === 'efron' ? j / events.length : 0;
      const total = all.total - share * tied.total;
      const mean = all.first.map((value, k) => (value - share * tied.first[k]!) / total);
      // Under Efron's rule the tied events stand in the risk set with what is left of them.
      for (const row of atRisk) {
        const presence = isEvent.has(row) ? 1 - share : 1;
        const weight = (presence * hazardOf(row, beta, x)) / total;
        for (let k = 0; k < p; k++) residuals[row * p + k]! -= weight * (x(row, k) - mean[k]!);
      }
      for (const row of events)
        for (let k = 0; k < p; k++) residuals[row * p + k]! += (x(row, k) - mean[k]!) / events.length;
    }
  }
  return residuals;
}

function sandwich(
  inverse: Float64Array,
  residuals: Float64Array,
  patients: readonly (string | number)[],
  clusters: number,
  p: number,
): Float64Array {
  const sums = new Map<string | number, Float64Array>();
  patients.forEach((patient, row) => {
    const sum = sums.get(patient) ?? new Float64Array(p);
    for (let k = 0; k < p; k++) sum[k]! += residuals[row * p + k]!;
    sums.set(patient, sum);
  });
  const middle = new Float64Array(p * p);
  for (const sum of sums.values())
    for (let k = 0; k < p; k++) for (let l = 0; l < p; l++) middle[k * p + l]! += sum[k]! * sum[l]!;
  const result = new Float64Array(p * p);
  const factor = clusters / (clusters - 1);
  for (let k = 0; k < p; k++)
    for (let l = 0; l < p; l++)
      for (let a = 0; a < p; a++)
        for (let b = 0; b < p; b++)
          result[k * p + l]! += factor * inverse[k * p + a]! * middle[a * p + b]! * inverse[b * p + l]!;
  return result;
}

function identity(p: number): Float64Array {
  const result = new Float64Array(p * p);
  for (let k = 0; k < p; k++) result[k * p + k] = 1;
  return result;
}

function rangeOf(column: readonly number[]): number {
  const most = column.reduce((largest, value) => Math.max(largest, value), Number.NEGATIVE_INFINITY);
  return most - column.reduce((least, value) => Math.min(least, value), Number.POSITIVE_INFINITY);
}

function checkCovariates(covariates: Readonly<Record<string, readonly number[]>>, n: number): void {
  const problems = Object.entries(covariates).flatMap(([name, values]) => {
    if (values.length !== n)
      return [
        { code: 'bad-length', path: ['covariates', name], message: `It has ${values.length} entries for ${n} times.` },
      ];
    if (values.some((value) => !Number.isFinite(value)))
      return [{ code: 'bad-covariate', path: ['covariates', name], message: 'It holds a value that is not a number.' }];
    if (new Set(values).size < 2)
      return [
        {
          code: 'bad-covariate',
          path: ['covariates', name],
          message: 'It is the same for all entries.',
          mend: 'leave it out.',
        },
      ];
    return [];
  });
  if (problems.length > 0) throw new InputError(problems);
}

function notesOf(converged: boolean, events: number, p: number, clusters: number, n: number): Note[] {
  return [
    ...(converged
      ? []
      : [
          caution(
            'not-converged',
            'The likelihood has no maximum at a finite ratio: a covariate separates those with the event from those without, or covariates are copies of each other.',
          ),
        ]),
    ...(events < 10 * p
      ? [
          caution(
            'few-events',
            `${events} events for ${p} covariates: the ratios are uncertain beyond their intervals (fewer than 10 events each, common practice, no source).`,
          ),
        ]
      : []),
    ...(clusters < n
      ? [information('patients-as-units', 'Several entries belong to one patient; the errors count patients.')]
      : []),
    ...(clusters < 30 && clusters < n
      ? [caution('few-patients', `${clusters} patients are few for errors that count patients.`)]
      : []),
  ];
}

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
  const variances =
    clusters < n
      ? sandwich(inverse, scoreResiduals(beta, x, risk, n, p, ties), patients, clusters, p)
      : names.map((_, k) => inverse[k * p + k]!);
  return {
    kind: 'cox-regression',
    effects: names.map((name, k) => {
      const standardError = Math.sqrt(variances[k]!);
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

interface RiskSets {
  /** The distinct times of events, ascending. */
  readonly times: Float64Array;
  /** Rows whose event happened at each of the times. */
  readonly events: readonly (readonly number[])[];
  /** Each row is at risk at the times numbered from `since` to before `until`. */
  readonly since: Int32Array;
  readonly until: Int32Array;
}

function riskSets(data: EventTimes): RiskSets {
  const times = Float64Array.from(new Set(data.times.filter((_, at) => data.events[at]))).sort();
  /** How many of the times are not after this one. */
  const upTo = (time: number): number => {
    let [low, high] = [0, times.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (times[middle]! <= time) low = middle + 1;
      else high = middle;
    }
    return low;
  };
  const until = Int32Array.from(data.times, upTo);
  const since = Int32Array.from(data.times, (_, at) => upTo(data.entries?.[at] ?? Number.NEGATIVE_INFINITY));
  const events: number[][] = Array.from(times, () => []);
  data.times.forEach((_, at) => {
    if (data.events[at]) events[until[at]! - 1]!.push(at);
  });
  return { times, events, since, until };
}

/** Sums of the hazards wᵢ of rows, of wᵢxᵢ and of wᵢxᵢxᵢᵀ, side by side. */
function addWeighted(
  sums: Float64Array,
  at: number,
  row: number,
  weight: number,
  x: (row: number, k: number) => number,
  p: number,
): void {
  sums[at]! += weight;
  for (let k = 0; k < p; k++) {
    const weighted = weight * x(row, k);
    sums[at + 1 + k]! += weighted;
    for (let l = 0; l < p; l++) sums[at + 1 + p + k * p + l]! += weighted * x(row, l);
  }
}

/**
 * The sums over those at risk at each time. Each row enters at the last time it is at risk and, where observation began late, leaves
 * before the first; running from the last time to the first, every row is touched once or twice and not once for every time.
 */
function sumsAtRisk(
  hazards: Float64Array,
  { times, since, until }: RiskSets,
  x: (row: number, k: number) => number,
  p: number,
): Float64Array {
  const width = 1 + p + p * p;
  const sums = new Float64Array(times.length * width);
  for (let row = 0; row < until.length; row++) {
    if (until[row]! <= since[row]!) continue;
    addWeighted(sums, (until[row]! - 1) * width, row, hazards[row]!, x, p);
    if (since[row]! > 0) addWeighted(sums, (since[row]! - 1) * width, row, -hazards[row]!, x, p);
  }
  for (let at = sums.length - width - 1; at >= 0; at--) sums[at]! += sums[at + width]!;
  return sums;
}

function hazardsOf(beta: Float64Array, x: (row: number, k: number) => number, n: number): Float64Array {
  return Float64Array.from({ length: n }, (_, row) => {
    let eta = 0;
    for (let k = 0; k < beta.length; k++) eta += beta[k]! * x(row, k);
    return Math.exp(eta);
  });
}

function partialLikelihood(
  beta: Float64Array,
  x: (row: number, k: number) => number,
  risk: RiskSets,
  p: number,
  ties: 'efron' | 'breslow',
): { logLikelihood: number; score: Float64Array; information: Float64Array } {
  let logLikelihood = 0;
  const score = new Float64Array(p);
  const information = new Float64Array(p * p);
  const hazards = hazardsOf(beta, x, risk.until.length);
  const width = 1 + p + p * p;
  const all = sumsAtRisk(hazards, risk, x, p);
  const tied = new Float64Array(width);
  const left = new Float64Array(width);
  risk.events.forEach((events, time) => {
    tied.fill(0);
    for (const row of events) {
      addWeighted(tied, 0, row, hazards[row]!, x, p);
      logLikelihood += Math.log(hazards[row]!);
      for (let k = 0; k < p; k++) score[k]! += x(row, k);
    }
    for (let j = 0; j < events.length; j++) {
      const share = ties === 'efron' ? j / events.length : 0;
      for (let cell = 0; cell < width; cell++) left[cell] = all[time * width + cell]! - share * tied[cell]!;
      const total = left[0]!;
      logLikelihood -= Math.log(total);
      for (let k = 0; k < p; k++) {
        const mean = left[1 + k]! / total;
        score[k]! -= mean;
        for (let l = 0; l < p; l++)
          information[k * p + l]! += left[1 + p + k * p + l]! / total - (mean * left[1 + l]!) / total;
      }
    }
  });
  return { logLikelihood, score, information };
}

/**
 * What each entry adds to the score: its own event less its share of everybody's. With S the sum of 1/total over the tied
 * events of a time and M that of mean/total, a row at risk loses w(xS − M) there; sums of S and M up to each time serve all rows.
 */
function scoreResiduals(
  beta: Float64Array,
  x: (row: number, k: number) => number,
  risk: RiskSets,
  n: number,
  p: number,
  ties: 'efron' | 'breslow',
): Float64Array {
  const residuals = new Float64Array(n * p);
  const hazards = hazardsOf(beta, x, n);
  const width = 1 + p + p * p;
  const all = sumsAtRisk(hazards, risk, x, p);
  const tied = new Float64Array(width);
  // S, then M, before each time.
  const before = new Float64Array((risk.times.length + 1) * (1 + p));
  const mean = new Float64Array(p);
  risk.events.forEach((events, time) => {
    tied.fill(0);
    for (const row of events) addWeighted(tied, 0, row, hazards[row]!, x, p);
    const here = (time + 1) * (1 + p);
    for (let cell = 0; cell <= p; cell++) before[here + cell] = before[here - 1 - p + cell]!;
    for (let j = 0; j < events.length; j++) {
      const share = ties === 'efron' ? j / events.length : 0;
      const total = all[time * width]! - share * tied[0]!;
      before[here]! += 1 / total;
      for (let k = 0; k < p; k++) {
        mean[k] = (all[time * width + 1 + k]! - share * tied[1 + k]!) / total;
        before[here + 1 + k]! += mean[k]! / total;
      }
      for (const row of events) {
        // Under Efron's rule the tied events stand in the risk set with what is left of them.
        const back = (share * hazards[row]!) / total;
        for (let k = 0; k < p; k++) residuals[row * p + k]! += (1 / events.length + back) * (x(row, k) - mean[k]!);
      }
    }
  });
  for (let row = 0; row < n; row++) {
    const [from, to] = [risk.since[row]! * (1 + p), risk.until[row]! * (1 + p)];
    if (to <= from) continue;
    const total = before[to]! - before[from]!;
    for (let k = 0; k < p; k++)
      residuals[row * p + k]! -= hazards[row]! * (x(row, k) * total - (before[to + 1 + k]! - before[from + 1 + k]!));
  }
  return residuals;
}

/** Variances of the effects: the diagonal of I⁻¹ (Σ uuᵀ) I⁻¹ K/(K − 1), u the summed residuals of each of K patients. */
function sandwich(
  inverse: Float64Array,
  residuals: Float64Array,
  patients: readonly (string | number)[],
  clusters: number,
  p: number,
): number[] {
  const sums = new Map<string | number, Float64Array>();
  patients.forEach((patient, row) => {
    const sum = sums.get(patient) ?? new Float64Array(p);
    for (let k = 0; k < p; k++) sum[k]! += residuals[row * p + k]!;
    sums.set(patient, sum);
  });
  const middle = new Float64Array(p * p);
  for (const sum of sums.values())
    for (let k = 0; k < p; k++) for (let l = 0; l < p; l++) middle[k * p + l]! += sum[k]! * sum[l]!;
  const variances = new Array<number>(p).fill(0);
  const factor = clusters / (clusters - 1);
  for (let k = 0; k < p; k++)
    for (let a = 0; a < p; a++)
      for (let b = 0; b < p; b++)
        variances[k]! += factor * inverse[k * p + a]! * middle[a * p + b]! * inverse[b * p + k]!;
  return variances;
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

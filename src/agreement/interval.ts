import type { Ratings } from '../ratings/ratings.js';
import { normal, studentT } from '../shared/distributions.js';
import type { Interval } from '../shared/estimate.js';
import { caution, information, type Note } from '../shared/note.js';
import type { CheckedIntervalOptions } from '../shared/options.js';
import type { ClusterSums, Coefficient, CondensedSums } from './coefficient.js';
import { expandedError } from './expanded-error.js';
import { type DrawnRows, distinctRows, leaveEachOut } from './leave-each-out.js';
import { listDrawn, PatientDraws } from './patient-draws.js';

/** A standard error with the interval that was made from it. */
export interface IntervalResult {
  readonly standardError: number;
  readonly interval: Interval;
  readonly notes: readonly Note[];
}

/**
 * Delta-method standard error with each target on its own: √Σₜ (g · xₜ)², g the gradient of the
 * coefficient and xₜ a target's sums; with divisor n − 1 times √(n / (n − 1)). For two assessors and
 * kappa this is the error of Fleiss, Cohen and Everitt (1969). It takes targets as independent.
 */
export function asymptoticInterval(
  coefficient: Coefficient,
  ratings: Ratings,
  sums: ClusterSums,
  options: CheckedIntervalOptions,
): IntervalResult {
  const value = coefficient.value(sums.totals);
  const usesT = coefficient.asymptotic === 't, divisor n − 1';
  const standardError = asymptoticError(coefficient, ratings, sums, usesT ? 'n − 1' : 'n');
  const upperTail = 1 - (1 - options.confidenceLevel) / 2;
  const quantile = usesT ? studentT.quantile(upperTail, sums.targets - 1) : normal.quantile(upperTail);
  const method = `asymptotic, targets taken as independent (${coefficient.asymptoticSource})`;
  if (!(standardError > 0)) return undefinedInterval(standardError, options.confidenceLevel, method, value);
  const lower = value - quantile * standardError;
  const upper = value + quantile * standardError;
  return {
    standardError,
    interval: { lower, upper, level: options.confidenceLevel, method },
    notes: coefficient.scale === 'fisher' || coefficient.scale === 'logit' ? limitBeyondOne(upper) : [],
  };
}

/** Said where an asymptotic interval reaches beyond the scale; it is not cut off. */
export function limitBeyondOne(upper: number): Note[] {
  return upper > 1
    ? [
        information(
          'limit-beyond-one',
          'The upper limit lies above 1, which no agreement can be; it is printed as computed, not cut off.',
        ),
      ]
    : [];
}

/** The error behind `asymptoticInterval`, by either divisor; 0 where only rounding varies. */
export function asymptoticError(
  coefficient: Coefficient,
  ratings: Ratings,
  sums: ClusterSums,
  divisor: 'n' | 'n − 1',
): number {
  let squares = 0;
  linearShares(coefficient, ratings, sums, undefined, (_target, share) => {
    squares += share * share;
  });
  const { targets } = sums;
  const error = Math.sqrt((divisor === 'n' ? 1 : targets / (targets - 1)) * squares);
  return zeroIfRounding(error, coefficient, coefficient.value(sums.totals));
}

/** What each target adds to the coefficient's asymptotic error: their squares sum to its square. */
export function asymptoticShares(
  coefficient: Coefficient,
  ratings: Ratings,
  sums: ClusterSums,
  keep: ((target: number) => boolean) | undefined,
  give: (target: number, share: number) => void,
): void {
  const factor = coefficient.asymptotic === 't, divisor n − 1' ? Math.sqrt(sums.targets / (sums.targets - 1)) : 1;
  linearShares(coefficient, ratings, sums, keep, (target, share) => give(target, factor * share));
}

function linearShares(
  coefficient: Coefficient,
  ratings: Ratings,
  sums: ClusterSums,
  keep: ((target: number) => boolean) | undefined,
  give: (target: number, share: number) => void,
): void {
  const gradient = coefficient.publishedGradient?.(sums.totals) ?? coefficient.gradient(sums.totals);
  const own = new Float64Array(coefficient.cells);
  for (let target = 0; target < ratings.targets; target++) {
    if (keep !== undefined && !keep(target)) continue;
    own.fill(0);
    if (coefficient.add(target, own, 0)) give(target, dot(gradient, own, 0));
  }
}

/**
 * Delta-method standard error with patients as the units: √(K/(K − 1) · Σₖ (g · xₖ)²), K patients.
 * Source for kappa: Yang Z, Zhou M. Stat Med 2014;33:2612–2633.
 */
export function linearizedClusterError(coefficient: Coefficient, sums: ClusterSums): number {
  return Math.sqrt(linearClusterShares(coefficient, sums).reduce((sum, share) => sum + share * share, 0));
}

/** What each patient adds to the linearized error: √(K/(K − 1)) g · xₖ. Their squares sum to its square. */
export function linearClusterShares(coefficient: Coefficient, sums: ClusterSums): Float64Array {
  const gradient = coefficient.gradient(sums.totals);
  const factor = Math.sqrt(sums.clusters / (sums.clusters - 1));
  return Float64Array.from(
    { length: sums.clusters },
    (_, cluster) => factor * dot(gradient, sums.perCluster, cluster * sums.cells),
  );
}

/** What each patient adds to the jackknife error: √((K − 1)/K) (θ₍₋ₖ₎ − θ̄). Their squares sum to its square. */
export function jackknifeShares(coefficient: Coefficient, sums: ClusterSums): Float64Array {
  const { clusters, cells, perCluster, totals } = sums;
  const shares = new Float64Array(clusters);
  const rest = new Float64Array(cells);
  let mean = 0;
  for (let cluster = 0; cluster < clusters; cluster++) {
    for (let cell = 0; cell < cells; cell++) rest[cell] = totals[cell]! - perCluster[cluster * cells + cell]!;
    shares[cluster] = coefficient.value(rest);
    mean += shares[cluster]! / clusters;
  }
  const factor = Math.sqrt((clusters - 1) / clusters);
  for (let cluster = 0; cluster < clusters; cluster++) shares[cluster] = factor * (shares[cluster]! - mean);
  return shares;
}

/**
 * Patient-jackknife standard error and t interval on the coefficient's scale.
 *
 * SE² = (K − 1)/K · Σₖ (θ₍₋ₖ₎ − θ̄)², θ₍₋ₖ₎ the coefficient without patient k, θ̄ their mean. Degrees of
 * freedom by Satterthwaite: 2(K − 1)/(κ − 1), κ the kurtosis of the leave-one-out values, at most K − 1.
 * Undefined below two patients, or where leaving one patient out leaves the coefficient undefined.
 */
export function clusterRobustInterval(
  coefficient: Coefficient,
  sums: ClusterSums,
  options: CheckedIntervalOptions,
): IntervalResult {
  const value = coefficient.value(sums.totals);
  const { standardError, kurtosis } = jackknife(coefficient, sums);
  const most = sums.clusters - 1;
  const degrees = Math.max(1, Math.min(most, kurtosis > 1 ? (2 * most) / (kurtosis - 1) : most));
  const method = `patient jackknife, t with ${degrees.toFixed(1)} degrees of freedom${scaleWords(coefficient)}`;
  if (!(standardError > 0) || !Number.isFinite(transform(coefficient, value)))
    return undefinedInterval(standardError, options.confidenceLevel, method, value);
  const quantile = studentT.quantile(1 - (1 - options.confidenceLevel) / 2, degrees);
  return {
    standardError,
    interval: {
      ...backFrom(coefficient, value, standardError, quantile, quantile),
      level: options.confidenceLevel,
      method,
    },
    notes: [],
  };
}

/**
 * Studentized patient bootstrap on the coefficient's scale with the jackknife error inside and outside.
 *
 * Patients are drawn with replacement; each replicate gives t* = (h(θ*) − h(θ)) / (h′(θ*) · SE*), SE* the
 * replicate's own patient-jackknife error (from 400 patients on expanded about the data, see `expandedError`) and h the scale; the quantiles of t* are then applied to the
 * data's own jackknife error. The symmetric form uses the quantile of |t*|. These assessors are taken as
 * they are: the interval says nothing about other assessors.
 * A replicate where every reading agrees counts as an infinite t*; one where the coefficient is undefined
 * is left out and counted in a note. Source: Efron B, Tibshirani R. An Introduction to the Bootstrap, 1993, ch. 12.5
 * (from memory); the choice among forms is the calibration page's.
 */
export function bootstrapInterval(
  coefficient: Coefficient,
  sums: ClusterSums,
  options: CheckedIntervalOptions,
): IntervalResult {
  const value = coefficient.value(sums.totals);
  const { standardError } = jackknife(coefficient, sums);
  const form = coefficient.bootstrapForm;
  const method = `studentized patient bootstrap, ${form}${scaleWords(coefficient)}, ${options.replicates} replicates, seed ${options.seed}`;
  if (!(standardError > 0) || !Number.isFinite(transform(coefficient, value)))
    return undefinedInterval(standardError, options.confidenceLevel, method, value);

  const studentized = replicateStatistics(coefficient, sums, options, { value, standardError });
  const undefinedCount = options.replicates - studentized.length;
  const limits = studentizedLimits(coefficient, { value, standardError, studentized, form }, options.confidenceLevel);
  const usable = limits !== undefined && undefinedCount < options.replicates / 2;
  if (!usable) {
    const fallback = clusterRobustInterval(coefficient, sums, options);
    return {
      ...fallback,
      notes: [
        ...fallback.notes,
        caution(
          'bootstrap-not-usable',
          'Too many bootstrap samples show perfect agreement or leave the coefficient undefined; the patient-jackknife interval is given instead.',
        ),
      ],
    };
  }
  return {
    standardError,
    interval: { ...limits, level: options.confidenceLevel, method },
    notes:
      undefinedCount === 0
        ? []
        : [
            information(
              'undefined-replicates',
              `${undefinedCount} of ${options.replicates} bootstrap samples left the coefficient undefined and were left out.`,
            ),
          ],
  };
}

/** The limits from studentized replicates, `undefined` where a quantile that is needed is infinite. */
export function studentizedLimits(
  coefficient: Coefficient,
  made: {
    readonly value: number;
    readonly standardError: number;
    readonly studentized: Float64Array;
    readonly form: Coefficient['bootstrapForm'];
  },
  level: number,
): { lower: number; upper: number } | undefined {
  const tail = (1 - level) / 2;
  let below: number;
  let above: number;
  if (made.form === 'symmetric') {
    below = above = quantileOf(made.studentized.map(Math.abs).sort(), level);
  } else {
    const sorted = made.studentized.slice().sort();
    below = quantileOf(sorted, 1 - tail);
    above = -quantileOf(sorted, tail);
  }
  if (!Number.isFinite(below) || !Number.isFinite(above)) return undefined;
  return backFrom(coefficient, made.value, made.standardError, below, above);
}

/** Studentized statistics of the replicates in which the coefficient is defined, in the order drawn; `made` is of the data. */
export function replicateStatistics(
  coefficient: Coefficient,
  sums: ClusterSums,
  options: Pick<CheckedIntervalOptions, 'replicates' | 'seed'>,
  made: { readonly value: number; readonly standardError: number },
): Float64Array {
  const { clusters } = sums;
  const center = transform(coefficient, made.value);
  const drawnFrom = coefficient.condensed?.(sums.perCluster) ?? { ...coefficient, perCluster: sums.perCluster };
  const sampleOf =
    expandedSamples(drawnFrom, clusters, made.standardError, options.seed) ??
    samples(drawnFrom, clusters, options.seed);
  const result = new Float64Array(options.replicates);
  let kept = 0;
  for (let replicate = 0; replicate < options.replicates; replicate++) {
    const sample = sampleOf(replicate);
    const theta = drawnFrom.value(sample.totals);
    if (Number.isNaN(theta)) continue;
    const error = sample.error();
    const distance = transform(coefficient, theta) - center;
    const t = Number.isFinite(distance)
      ? distance / (slope(coefficient, theta) * error)
      : Math.sign(distance) * Number.POSITIVE_INFINITY;
    if (!Number.isNaN(t)) result[kept++] = t;
  }
  return result.slice(0, kept);
}

/** The sums of the patients that a replicate drew, and its error where that is asked for. */
interface Sample {
  readonly totals: Float64Array;
  readonly error: () => number;
}

/** Samples whose error is the patient jackknife's. Patients with the same sums are drawn as one that is drawn more often. */
function samples(drawnFrom: CondensedSums, patients: number, seed: number): (replicate: number) => Sample {
  const draws = drawsOf(seed, patients);
  const { rows, rowOf } = distinctRows(drawnFrom.perCluster, drawnFrom.cells);
  const leave = drawnFrom.leaveEachOut?.(rows) ?? leaveEachOut(drawnFrom, rows);
  const totals = new Float64Array(drawnFrom.cells);
  const distinct = rows.length / drawnFrom.cells;
  const often = new Int32Array(distinct);
  const list = new Int32Array(2 * distinct);
  let drawn: DrawnRows;
  const error = (): number => Math.sqrt(((patients - 1) / patients) * leave(totals, drawn, patients));
  return (replicate) => {
    drawn = draws.of(replicate);
    if (rowOf !== undefined) {
      addTimes(drawn, rowOf, often);
      const length = listDrawn(often, list, 0);
      drawn = { rows: list.subarray(0, length), times: list.subarray(length, 2 * length) };
    }
    totalsOf(rows, drawn, totals);
    return { totals, error };
  };
}

/** Samples whose error is expanded about the data; `undefined` where each patient must be left out. */
function expandedSamples(
  drawnFrom: CondensedSums,
  patients: number,
  standardError: number,
  seed: number,
): ((replicate: number) => Sample) | undefined {
  const expanded = expandedError(drawnFrom, patients, standardError);
  if (expanded === undefined) return undefined;
  const draws = drawsOf(seed, patients);
  const sums = new Float64Array(expanded.rows.length / patients);
  const totals = sums.subarray(0, drawnFrom.cells);
  const error = (): number => expanded.errorOf(sums);
  return (replicate) => {
    draws.sum(expanded.rows, replicate, sums);
    return { totals, error };
  };
}

/** The draws of the last bootstrap, which the next one of a study draws again; made when the first is asked for. */
let lastDraws: PatientDraws | undefined;

function drawsOf(seed: number, patients: number): PatientDraws {
  lastDraws ??= new PatientDraws();
  return lastDraws.begin(seed, patients);
}

/** How often each distinct row was drawn, from the patients drawn. */
function addTimes({ rows, times }: DrawnRows, rowOf: Int32Array, sum: Int32Array): void {
  sum.fill(0);
  for (let i = 0; i < rows.length; i++) sum[rowOf[rows[i]!]!]! += times[i]!;
}

/** Σ timesᵣ · rowsᵣ, four rows at a time so that the totals are fetched and put back once for four. */
function totalsOf(rows: Float64Array, { rows: drawn, times }: DrawnRows, totals: Float64Array): void {
  const cells = totals.length;
  totals.fill(0);
  let i = 0;
  for (; i + 3 < drawn.length; i += 4) {
    const a = drawn[i]! * cells;
    const b = drawn[i + 1]! * cells;
    const c = drawn[i + 2]! * cells;
    const d = drawn[i + 3]! * cells;
    const byA = times[i]!;
    const byB = times[i + 1]!;
    const byC = times[i + 2]!;
    const byD = times[i + 3]!;
    for (let cell = 0; cell < cells; cell++)
      totals[cell] =
        totals[cell]! + byA * rows[a + cell]! + byB * rows[b + cell]! + byC * rows[c + cell]! + byD * rows[d + cell]!;
  }
  for (; i < drawn.length; i++) {
    const at = drawn[i]! * cells;
    const often = times[i]!;
    for (let cell = 0; cell < cells; cell++) totals[cell]! += often * rows[at + cell]!;
  }
}

/** Leave-one-patient-out standard error and the kurtosis of the leave-one-out values. */
function jackknife(coefficient: Coefficient, sums: ClusterSums): { standardError: number; kurtosis: number } {
  if (sums.clusters < 2) return { standardError: Number.NaN, kurtosis: Number.NaN };
  let second = 0;
  let fourth = 0;
  for (const share of jackknifeShares(coefficient, sums)) {
    const square = share * share;
    second += square;
    fourth += square * square;
  }
  return {
    standardError: zeroIfRounding(Math.sqrt(second), coefficient, coefficient.value(sums.totals)),
    kurtosis: (sums.clusters * fourth) / (second * second),
  };
}

/** 0 where only rounding varies: held against 1 for coefficients, against the value for what has a unit. */
function zeroIfRounding(error: number, { scale }: Coefficient, value: number): number {
  const size = scale === 'fisher' || scale === 'logit' ? 1 : 0.1 * Math.abs(value);
  return error < 1e-12 * size ? 0 : error;
}

function dot(gradient: Float64Array, sums: Float64Array, at: number): number {
  let total = 0;
  for (let cell = 0; cell < gradient.length; cell++) total += gradient[cell]! * sums[at + cell]!;
  return total;
}

/** Each scale as a function, its derivative and its inverse. Half the logit is used: artanh of 2p − 1. */
const SCALES = {
  fisher: {
    to: Math.atanh,
    slope: (value: number) => 1 / (1 - value * value),
    back: Math.tanh,
    words: ', Fisher scale',
  },
  logit: {
    to: (value: number) => Math.atanh(2 * value - 1),
    slope: (value: number) => 1 / (2 * value * (1 - value)),
    back: (z: number) => (1 + Math.tanh(z)) / 2,
    words: ', logit scale',
  },
  log: { to: Math.log, slope: (value: number) => 1 / value, back: Math.exp, words: ', log scale' },
  plain: { to: (value: number) => value, slope: () => 1, back: (z: number) => z, words: '' },
} as const;

function transform(coefficient: Coefficient, value: number): number {
  return SCALES[coefficient.scale].to(value);
}

function slope(coefficient: Coefficient, value: number): number {
  return SCALES[coefficient.scale].slope(value);
}

function backFrom(
  coefficient: Coefficient,
  value: number,
  standardError: number,
  below: number,
  above: number,
): { lower: number; upper: number } {
  const { to, slope: by, back } = SCALES[coefficient.scale];
  const step = by(value) * standardError;
  return { lower: back(to(value) - below * step), upper: back(to(value) + above * step) };
}

function scaleWords(coefficient: Coefficient): string {
  return SCALES[coefficient.scale].words;
}

/** Linear interpolation between order statistics at rank (n + 1)p, the usual rule for bootstrap quantiles. */
export function quantileOf(sorted: Float64Array, p: number): number {
  const rank = (sorted.length + 1) * p - 1;
  const low = Math.max(0, Math.min(sorted.length - 1, Math.floor(rank)));
  const high = Math.min(sorted.length - 1, low + 1);
  const share = Math.max(0, Math.min(1, rank - low));
  if (share === 0 || sorted[low] === sorted[high]) return sorted[low] ?? Number.NaN;
  return sorted[low]! + share * (sorted[high]! - sorted[low]!);
}

function undefinedInterval(standardError: number, level: number, method: string, value: number): IntervalResult {
  const why = Number.isNaN(value)
    ? []
    : Math.abs(value) === 1 || standardError === 0
      ? [
          caution(
            'no-variation',
            'All patients give the same value, so nothing varies from which an interval could be made.',
          ),
        ]
      : [caution('no-interval', 'There are too few patients for an interval.')];
  return { standardError, interval: { lower: Number.NaN, upper: Number.NaN, level, method }, notes: why };
}

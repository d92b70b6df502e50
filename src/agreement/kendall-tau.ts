import type { Ratings } from '../ratings/ratings.js';
import { normal } from '../shared/distributions.js';
import { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { information } from '../shared/note.js';
import { checkIntervalOptions } from '../shared/options.js';
import { leaveOneOutInterval, patientNotes } from './leave-one-out-interval.js';
import { twoAssessorsOf } from './two-assessors.js';

export interface KendallTauOptions {
  /** The two assessors to compare; needed when the ratings hold more than two. */
  readonly assessors?: readonly [string, string];
  /** Coverage asked for, a fraction between 0 and 1. Default 0.95. */
  readonly confidenceLevel?: number;
}

/** Without ties and up to this many targets the null distribution is counted out. */
const EXACT_UP_TO = 100;

/**
 * Kendall's tau-b of two assessors: how alike they order the same targets, −1 to 1, ties allowed for.
 *
 * τ_b = (C − D)/√((n₀ − n₁)(n₀ − n₂)), C pairs of targets in the same order by both, D in opposite order, n₀ = n(n − 1)/2 all pairs, n₁ and n₂ those tied
 * by the first and by the second. It looks at order alone: a steady difference does not lower it.
 *
 * Undefined (`NaN` with a note) when an assessor ties all targets. Missing values: a target enters when both have read it.
 *
 * Interval: patient jackknife on the Fisher scale; where patients are not known, targets stand in.
 * `details`: concordant C, discordant D, score C − D, and of the test of no association scoreVariance (ties allowed for) and pValue, two-sided:
 * counted out without ties up to 100 targets, else normal without continuity correction; `NaN` where patients have several targets.
 *
 * @param ratings numbers or ordered grades of two assessors (or name two in `assessors`).
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `level-not-suited` (no order), `bad-option`.
 * @example kendallTau(ratingsOf([[1, 2], [2, 1], [3, 4], [4, 3]])).value // 0.3333
 * Source: Kendall MG. Biometrika 1945;33:239–251, doi:10.1093/biomet/33.3.239.
 */
export function kendallTau(ratings: Ratings, options: KendallTauOptions = {}): Estimate {
  const pair = twoAssessorsOf(ratings, options.assessors, 'kendallTau');
  if (pair.level === 'nominal')
    throw refuse(
      'level-not-suited',
      ['ratings'],
      `The categories of ${pair.subject?.signLabel ?? 'this sign'} have no order, so they cannot be ranked.`,
      'use cohenKappa.',
    );
  const { confidenceLevel } = checkIntervalOptions(options);
  const readings = readingsOf(pair);
  const n = readings.length;
  const scores = scoresOf(readings);
  const total = scores.reduce((sum, score) => sum + score, 0) / 2;
  const [first, second] = [tieCounts(readings, 0), tieCounts(readings, 1)];
  const value = tau(total, n, tiedPairs(first), tiedPairs(second));
  const byPatient = new Map<number, number[]>();
  readings.forEach(({ patient }, at) => {
    byPatient.set(patient, [...(byPatient.get(patient) ?? []), at]);
  });
  const leftOut = Float64Array.from(byPatient.values(), (own) => {
    let score = total;
    for (const at of own) score -= scores[at]!;
    for (const at of own) for (const other of own) if (other < at) score += sameOrder(readings[at]!, readings[other]!);
    const without = (counts: ReadonlyMap<number, number>, which: 'x' | 'y'): number => {
      let pairs = tiedPairs(counts);
      const left = new Map<number, number>();
      for (const at of own) {
        const key = readings[at]![which];
        const now = left.get(key) ?? counts.get(key)!;
        pairs -= now - 1;
        left.set(key, now - 1);
      }
      return pairs;
    };
    return tau(score, n - own.length, without(first, 'x'), without(second, 'y'));
  });
  const pairs = (n * (n - 1)) / 2;
  const tiedTwice = tiedPairs(jointCounts(readings));
  const untied = pairs - tiedPairs(first) - tiedPairs(second) + tiedTwice;
  const variance = scoreVariance(n, first, second);
  const independent = byPatient.size === n;
  const noTies = first.size === n && second.size === n;
  const { standardError, interval, notes } = leaveOneOutInterval(value, leftOut, 'fisher', confidenceLevel);
  return new Estimate({
    statistic: 'Kendall tau-b',
    value,
    standardError,
    interval,
    counts: { targets: n, clusters: byPatient.size, assessors: 2, ratings: 2 * n, excluded: pair.targets - n },
    options: { confidenceLevel },
    details: {
      concordant: (untied + total) / 2,
      discordant: (untied - total) / 2,
      score: total,
      scoreVariance: variance,
      pValue: !independent
        ? Number.NaN
        : noTies && n <= EXACT_UP_TO
          ? exactPValue(n, total)
          : 2 * normal.upper(Math.abs(total) / Math.sqrt(variance)),
    },
    notes: [
      ...(Number.isNaN(value)
        ? [
            information(
              'not-defined',
              'Kendall tau-b is not defined: an assessor gave all targets the same reading, or there are fewer than two.',
            ),
          ]
        : []),
      information(
        'order-alone',
        'Tau looks at order alone: a steady difference between the assessors does not lower it.',
      ),
      ...patientNotes(pair.clustersKnown, byPatient.size),
      ...notes,
    ],
  });
}

interface Reading {
  readonly x: number;
  readonly y: number;
  readonly patient: number;
}

function readingsOf(pair: Ratings): Reading[] {
  const readings: Reading[] = [];
  for (let target = 0; target < pair.targets; target++) {
    const x = pair.numbers[2 * target]!;
    const y = pair.numbers[2 * target + 1]!;
    if (!Number.isNaN(x) && !Number.isNaN(y)) readings.push({ x, y, patient: pair.clusterOf[target]! });
  }
  return readings;
}

/** 1, −1, or 0 with a tie. */
function sameOrder(a: Reading, b: Reading): number {
  return Math.sign(a.x - b.x) * Math.sign(a.y - b.y);
}

/** Of each target, the pairs with others in the same order less those in opposite order. Targets read alike are counted once. */
function scoresOf(readings: readonly Reading[]): Float64Array {
  const kinds = new Map<string, { reading: Reading; members: number[] }>();
  readings.forEach((reading, at) => {
    const key = `${reading.x}/${reading.y}`;
    const kind = kinds.get(key) ?? { reading, members: [] };
    kind.members.push(at);
    kinds.set(key, kind);
  });
  const all = [...kinds.values()];
  const scores = new Float64Array(readings.length);
  for (const { reading, members } of all) {
    let score = 0;
    for (const other of all) score += sameOrder(reading, other.reading) * other.members.length;
    for (const at of members) scores[at] = score;
  }
  return scores;
}

function tieCounts(readings: readonly Reading[], which: 0 | 1): Map<number, number> {
  const counts = new Map<number, number>();
  for (const { x, y } of readings) {
    const key = which === 0 ? x : y;
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  return counts;
}

function jointCounts(readings: readonly Reading[]): Map<string, number> {
  const counts = new Map<string, number>();
  for (const { x, y } of readings) counts.set(`${x}/${y}`, (counts.get(`${x}/${y}`) ?? 0) + 1);
  return counts;
}

function tiedPairs(counts: ReadonlyMap<unknown, number>): number {
  let pairs = 0;
  for (const count of counts.values()) pairs += (count * (count - 1)) / 2;
  return pairs;
}

function tau(score: number, n: number, tiedFirst: number, tiedSecond: number): number {
  const pairs = (n * (n - 1)) / 2;
  const room = (pairs - tiedFirst) * (pairs - tiedSecond);
  return room > 0 ? score / Math.sqrt(room) : Number.NaN;
}

/** Variance of the score when the assessors' orders are unrelated, allowing for ties (Kendall). */
function scoreVariance(n: number, first: ReadonlyMap<number, number>, second: ReadonlyMap<number, number>): number {
  const sum = (counts: ReadonlyMap<number, number>, of: (t: number) => number): number =>
    [...counts.values()].reduce((total, t) => total + of(t), 0);
  const fives = (t: number): number => t * (t - 1) * (2 * t + 5);
  const threes = (t: number): number => t * (t - 1) * (t - 2);
  const twos = (t: number): number => t * (t - 1);
  return (
    (fives(n) - sum(first, fives) - sum(second, fives)) / 18 +
    (n > 2 ? (sum(first, threes) * sum(second, threes)) / (9 * threes(n)) : 0) +
    (sum(first, twos) * sum(second, twos)) / (2 * twos(n))
  );
}

/** Two-sided p of the score without ties: shares of orders by their number of inversions, built up one target at a time. */
function exactPValue(n: number, score: number): number {
  const pairs = (n * (n - 1)) / 2;
  let shares = Float64Array.of(1);
  for (let size = 2; size <= n; size++) {
    const next = new Float64Array(shares.length + size - 1);
    for (let inversions = 0; inversions < shares.length; inversions++)
      for (let more = 0; more < size; more++) next[inversions + more]! += shares[inversions]! / size;
    shares = next;
  }
  const fewest = (pairs - Math.abs(score)) / 2;
  let tail = 0;
  for (let inversions = 0; inversions <= fewest; inversions++) tail += shares[inversions]!;
  return Math.min(1, 2 * tail);
}

import { normal } from '../shared/distributions.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';

/** A series of one site of one limb: figures at times. `null` is a visit without a figure. */
export interface TrendSeries {
  readonly times: readonly number[];
  readonly values: readonly (number | null)[];
}

export interface MannKendallOptions {
  /**
   * How the series hang together. `'independent'`: one a patient, or patients as blocks. `'same visits'`: sites of the same patients at the same visits, whose
   * covariance is estimated; all series must have the same times. Default `'independent'`.
   */
  readonly series?: 'independent' | 'same visits';
}

/** Whether figures tend to rise or fall with time, counted pair by pair within each series. */
export interface MannKendallResult {
  readonly kind: 'mann-kendall';
  /** Pairs of visits that rise, and that fall, within series. */
  readonly rising: number;
  readonly falling: number;
  /** rising − falling. */
  readonly score: number;
  readonly variance: number;
  /** Kendall's tau-b over all series: (rising − falling) / √(pairs untied in time · pairs untied in value). */
  readonly tau: number;
  readonly z: number;
  readonly pNormal: number;
  /** Exact two-sided p where there are no ties and one series of at most 40; else `NaN`. */
  readonly pExact: number;
  readonly counts: { readonly series: number; readonly withVariation: number; readonly figures: number };
  readonly notes: readonly Note[];
}

const EXACT_LENGTH = 40;

/**
 * Mann–Kendall test of trend, within one series or blocked over the series of many patients.
 *
 * Score S = Σ_series Σ_{i<j} sign(xⱼ − xᵢ) sign(tⱼ − tᵢ); variance of a series with ties [n(n−1)(2n+5) − Σ t(t−1)(2t+5) − Σ u(u−1)(2u+5)]/18 + Σt(t−1)(t−2) Σu(u−1)(u−2)/(9n(n−1)(n−2)) +
 * Σt(t−1) Σu(u−1)/(2n(n−1)), t and u the sizes of groups tied in value and in time; z = (|S| − 1)/√V with the sign of S. Series of the same visits add the covariances
 * [K_gh + 4 Σ RᵢgRᵢh − n(n_g + 1)(n_h + 1)]/3, K_gh = Σ_{i<j} sign((xⱼg − xᵢg)(xⱼh − xᵢh)), R mid-ranks (missing: (n_g + 1)/2): four sites of one patient are not four patients.
 *
 * Nothing varies: S = 0, p = 1 and a note. Missing values: `null` is left out of its pairs.
 *
 * @throws InputError `bad-length`, `bad-value`, `different-visits`: all at once.
 * @example mannKendallTest([{ times: [1, 2, 3, 4], values: [0, 1, 1, 2] }]).score // 5
 * Source: Mann HB. Econometrica 1945;13:245–259, doi:10.2307/1907187; blocks and covariance: Hirsch RM, Slack JR. Water Resour Res 1984;20:727–732,
 * doi:10.1029/WR020i006p00727; Dietz EJ, Killeen TJ. J Am Stat Assoc 1981;76:169–174, doi:10.1080/01621459.1981.10477624.
 */
export function mannKendallTest(series: readonly TrendSeries[], options: MannKendallOptions = {}): MannKendallResult {
  check(series, options.series === 'same visits');
  const parts = series.map(partOf);
  const sum = (pick: (part: Part) => number): number => parts.reduce((total, part) => total + pick(part), 0);
  const [rising, falling] = [sum((part) => part.rising), sum((part) => part.falling)];
  const score = rising - falling;
  let variance = sum((part) => part.variance);
  if (options.series === 'same visits')
    for (let g = 0; g < series.length; g++)
      for (let h = 0; h < g; h++) variance += 2 * covarianceOf(series[g]!, series[h]!);
  const withVariation = parts.filter((part) => part.variance > 0).length;
  const z = variance > 0 ? (Math.sign(score) * Math.max(0, Math.abs(score) - 1)) / Math.sqrt(variance) : 0;
  const only = parts.length === 1 ? parts[0] : undefined;
  return {
    kind: 'mann-kendall',
    rising,
    falling,
    score,
    variance,
    tau: score / Math.sqrt(sum((part) => part.untiedTimes) * sum((part) => part.untiedValues)),
    z,
    pNormal: variance > 0 ? 2 * normal.upper(Math.abs(z)) : 1,
    pExact: only !== undefined && !only.ties && only.n <= EXACT_LENGTH ? exactP(only.n, Math.abs(score)) : Number.NaN,
    counts: { series: series.length, withVariation, figures: sum((part) => part.n) },
    notes: [
      ...(variance > 0
        ? []
        : [information('no-variation', 'No figure changes within any series, so there is no trend to find.')]),
      ...(withVariation < series.length && variance > 0
        ? [
            information(
              'unchanged-series',
              `${series.length - withVariation} of ${series.length} series never change and add nothing to the test.`,
            ),
          ]
        : []),
    ],
  };
}

interface Part {
  readonly n: number;
  readonly rising: number;
  readonly falling: number;
  readonly variance: number;
  readonly untiedTimes: number;
  readonly untiedValues: number;
  readonly ties: boolean;
}

function partOf(series: TrendSeries): Part {
  const points = series.times.flatMap((time, at) =>
    series.values[at] === null ? [] : [{ time, value: series.values[at]! }],
  );
  const n = points.length;
  let rising = 0;
  let falling = 0;
  let untiedTimes = 0;
  let untiedValues = 0;
  for (let j = 1; j < n; j++) {
    for (let i = 0; i < j; i++) {
      const time = Math.sign(points[j]!.time - points[i]!.time);
      const value = Math.sign(points[j]!.value - points[i]!.value);
      if (time !== 0) untiedTimes++;
      if (value !== 0) untiedValues++;
      if (time * value > 0) rising++;
      if (time * value < 0) falling++;
    }
  }
  const values = groupSizes(points.map((point) => point.value));
  const times = groupSizes(points.map((point) => point.time));
  const over = (sizes: readonly number[], f: (t: number) => number): number =>
    sizes.reduce((total, t) => total + f(t), 0);
  const first = (t: number): number => t * (t - 1) * (2 * t + 5);
  const second = (t: number): number => t * (t - 1) * (t - 2);
  const third = (t: number): number => t * (t - 1);
  // Exactly 0 where all figures or all times are one: the terms would cancel but for rounding.
  const variance =
    values.length < 2 || times.length < 2
      ? 0
      : (first(n) - over(values, first) - over(times, first)) / 18 +
        (n > 2 ? (over(values, second) * over(times, second)) / (9 * second(n)) : 0) +
        (over(values, third) * over(times, third)) / (2 * third(n));
  return {
    n,
    rising,
    falling,
    variance,
    untiedTimes,
    untiedValues,
    ties: values.some((t) => t > 1) || times.some((t) => t > 1),
  };
}

/** Covariance of the scores of two series read at the same visits. */
function covarianceOf(g: TrendSeries, h: TrendSeries): number {
  const n = g.times.length;
  let concordance = 0;
  for (let j = 1; j < n; j++) {
    for (let i = 0; i < j; i++) {
      const [a, b, c, d] = [g.values[j], g.values[i], h.values[j], h.values[i]];
      if (a == null || b == null || c == null || d == null) continue;
      concordance += Math.sign((a - b) * (c - d));
    }
  }
  const [ranksG, ranksH] = [midRanks(g.values), midRanks(h.values)];
  const product = ranksG.ranks.reduce((total, rank, at) => total + rank * ranksH.ranks[at]!, 0);
  return (concordance + 4 * product - n * (ranksG.count + 1) * (ranksH.count + 1)) / 3;
}

function midRanks(values: readonly (number | null)[]): { ranks: number[]; count: number } {
  const known = values.filter((value) => value !== null);
  const ranks = values.map((value) =>
    value === null
      ? (known.length + 1) / 2
      : known.filter((other) => other < value).length + (known.filter((other) => other === value).length + 1) / 2,
  );
  return { ranks, count: known.length };
}

function groupSizes(values: readonly number[]): number[] {
  const counts = new Map<number, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  return [...counts.values()];
}

/** Two-sided P(|S| ≥ score) over all orders of n different values, by the number of inversions. */
function exactP(n: number, score: number): number {
  let counts = [1];
  for (let size = 2; size <= n; size++) {
    const next = new Array<number>(counts.length + size - 1).fill(0);
    counts.forEach((count, at) => {
      for (let added = 0; added < size; added++) next[at + added]! += count / size;
    });
    counts = next;
  }
  const pairs = (n * (n - 1)) / 2;
  const tail = counts.reduce(
    (total, share, inversions) => (Math.abs(pairs - 2 * inversions) >= score ? total + share : total),
    0,
  );
  return Math.min(1, tail);
}

function check(series: readonly TrendSeries[], sameVisits: boolean): void {
  const problems: Problem[] = [];
  series.forEach(({ times, values }, at) => {
    if (times.length !== values.length)
      problems.push({
        code: 'bad-length',
        path: ['series', at],
        message: `The series has ${times.length} times and ${values.length} figures.`,
      });
    for (const value of [...times, ...values])
      if (value !== null && !Number.isFinite(value))
        problems.push({
          code: 'bad-value',
          path: ['series', at],
          message: `The series holds ${value}.`,
          expected: 'numbers, or null for a visit without a figure',
        });
    if (
      sameVisits &&
      (times.length !== series[0]!.times.length || times.some((time, i) => time !== series[0]!.times[i]))
    )
      problems.push({
        code: 'different-visits',
        path: ['series', at],
        message: 'The series was not read at the visits of the first one.',
        mend: 'give all visits to all series, with null where a site has no figure.',
      });
  });
  if (problems.length > 0) throw new InputError(problems);
}

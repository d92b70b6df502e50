import { median } from 'simple-statistics';
import { beta, binomial } from '../shared/distributions.js';
import { refuse } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';

export interface RunChartOptions {
  /**
   * How many of the first points form a frozen baseline: their median is the middle line of all. Default: no baseline, the middle line is
   * the median of all points.
   */
  readonly baseline?: number;
  /** A middle line known from outside, such as that of a long earlier series; not together with `baseline`. */
  readonly middle?: number;
}

/** A series against its middle line, with the two rules that random points break rarely and equally often at any length. */
export interface RunChart {
  readonly kind: 'run-chart';
  readonly middle: number;
  /** Points that lie off the middle line; only they count. */
  readonly useful: number;
  readonly longestRun: { readonly length: number; readonly from: number; readonly to: number; readonly limit: number };
  readonly crossings: { readonly count: number; readonly least: number };
  /** A longer run than the limit, or fewer crossings than the least. */
  readonly signal: boolean;
  /** Chance that points in random order break a rule on a chart of this length: exact. */
  readonly falseSignal: { readonly longestRun: number; readonly crossings: number; readonly either: number };
  readonly sentence: string;
  readonly notes: readonly Note[];
}

/** Below ten useful points the rules have no meaning (Anhøj & Olesen start there). */
const LEAST_POINTS = 10;

/**
 * Run chart: do the points lie about their middle line as in random order?
 *
 * Signals: the longest run of points on one side is longer than round(log₂ n + 3), or the line joining the points crosses the middle
 * less often than the 5 % quantile of Binomial(n − 1, ½); n counts the points off the middle line. A trend rule is left out: it adds false
 * signals and finds little. The false-signal chances: over all orders of the points above and below when the middle line is the chart's own median; over independent sides
 * of equal chance when it is known from outside; when it is the median of m baseline points, over all orders of these and later points that lie above with chance p, p ~ Beta(a, a)
 * as the median of m points has it (a = (m + 1)/2 for odd m, 2a + 1 = (m + 1)(m + 2)/m for even m). The first two are exact; a line from a short baseline lies off, and the third says so.
 *
 * Undefined: below ten useful points nothing is signaled and a note says that it is too soon. Missing values: `null` for a period without a figure is
 * passed over.
 *
 * @param values one figure a period, in order of time; shares, rates or lengths.
 * @throws InputError `bad-value` (not finite), `bad-option` (baseline not within the series, or a middle line beside it).
 * @example runChart([62, 70, 65, 68, 71, 66, 64, 69, 70, 67, 66, 72, 68, 70, 75, 76, 74, 78, 75, 77, 79, 74, 76, 78]).longestRun.length // 10
 * Source: Anhøj J, Olesen AV. PLoS ONE 2014;9:e113825, doi:10.1371/journal.pone.0113825.
 */
export function runChart(values: readonly (number | null)[], options: RunChartOptions = {}): RunChart {
  values.forEach((value, at) => {
    if (value !== null && !Number.isFinite(value))
      throw refuse(
        'bad-value',
        ['values', at],
        `A figure is ${value}.`,
        'give a number, or null for a period without one.',
      );
  });
  const points = values.flatMap((value, at) => (value === null ? [] : [{ value, at }]));
  const { baseline } = options;
  if (baseline !== undefined && (!Number.isInteger(baseline) || baseline < 1 || baseline > values.length))
    throw refuse(
      'bad-option',
      ['options', 'baseline'],
      `baseline is ${baseline}.`,
      `give how many of the ${values.length} first points form it.`,
    );
  if (options.middle !== undefined && (baseline !== undefined || !Number.isFinite(options.middle)))
    throw refuse(
      'bad-option',
      ['options', 'middle'],
      `middle is ${options.middle}${baseline === undefined ? '' : ' and a baseline is given too'}.`,
      'give a number, or a baseline, or neither.',
    );
  const forMiddle = points.filter(({ at }) => baseline === undefined || at < baseline).map(({ value }) => value);
  const middle = options.middle ?? (forMiddle.length === 0 ? Number.NaN : median(forMiddle));
  const off = points.filter(({ value }) => value !== middle);
  const n = off.length;
  const above = off.map(({ value }) => value > middle);
  const longest = longestRunOf(above);
  const crossings = above.filter((side, at) => at > 0 && side !== above[at - 1]).length;
  const limit = longestRunLimit(n);
  const least = leastCrossings(n);
  const tooSoon = n < LEAST_POINTS;
  const tooLong = !tooSoon && longest.length > limit;
  const tooFew = !tooSoon && crossings < least;
  const falseSignal = tooSoon
    ? { longestRun: Number.NaN, crossings: Number.NaN, either: Number.NaN }
    : options.middle !== undefined
      ? falseSignalKnown(n, limit, least)
      : baseline === undefined
        ? falseSignalOwnMedian(above.filter(Boolean).length, above.filter((side) => !side).length, limit, least)
        : falseSignalBaseline(
            forMiddle.length,
            forMiddle.filter((value) => value > middle).length,
            forMiddle.filter((value) => value < middle).length,
            n,
            limit,
            least,
          );
  const run = { length: longest.length, from: off[longest.from]?.at ?? -1, to: off[longest.to]?.at ?? -1, limit };
  return {
    kind: 'run-chart',
    middle,
    useful: n,
    longestRun: run,
    crossings: { count: crossings, least },
    signal: tooLong || tooFew,
    falseSignal,
    sentence: sentenceOf(
      tooSoon,
      tooLong,
      tooFew,
      run,
      above[longest.from] === true,
      crossings,
      least,
      falseSignal.either,
      options.middle === undefined && baseline !== undefined,
    ),
    notes: tooSoon
      ? [
          information(
            'too-soon',
            `With ${n} points off the middle line it is too soon for the rules; they need ${LEAST_POINTS}.`,
          ),
        ]
      : [],
  };
}

/** The longest run of n random points on one side that is still expected: round(log₂ n + 3). */
export function longestRunLimit(n: number): number {
  return n < 1 ? 0 : Math.round(Math.log2(n) + 3);
}

/** The least number of crossings still expected among n points: the 5 % quantile of Binomial(n − 1, ½). */
export function leastCrossings(n: number): number {
  let least = 0;
  while (n > 1 && binomial.cdf(least, n - 1, 0.5) < 0.05) least++;
  return least;
}

function longestRunOf(above: readonly boolean[]): { length: number; from: number; to: number } {
  let best = { length: 0, from: -1, to: -1 };
  let from = 0;
  above.forEach((side, at) => {
    if (at > 0 && side !== above[at - 1]) from = at;
    if (at - from + 1 > best.length) best = { length: at - from + 1, from, to: at };
  });
  return best;
}

interface FalseSignal {
  longestRun: number;
  crossings: number;
  either: number;
}

/**
 * Points above and below in random order. The share of orders in which every run is at most `limit` long and crossings are at least
 * `least`, counted by the number of runs: orders with r runs on one side are compositions of that side's points.
 */
function falseSignalOwnMedian(above: number, below: number, limit: number, least: number): FalseSignal {
  const most = above + below;
  const free = compositions(above, above, most);
  const freeBelow = compositions(below, below, most);
  const short = compositions(above, limit, most);
  const shortBelow = compositions(below, limit, most);
  let total = 0;
  let noLong = 0;
  let enough = 0;
  let neither = 0;
  for (let runs = 1; runs <= most; runs++) {
    // Runs alternate: r runs are r/2 a side (either side first) or one more on the side that comes first.
    const [small, large] = [Math.floor(runs / 2), Math.ceil(runs / 2)];
    const orders = (a: Float64Array, b: Float64Array): number => a[large]! * b[small]! + a[small]! * b[large]!;
    const all = orders(free, freeBelow);
    const withoutLong = orders(short, shortBelow);
    total += all;
    noLong += withoutLong;
    if (runs - 1 >= least) {
      enough += all;
      neither += withoutLong;
    }
  }
  return { longestRun: 1 - noLong / total, crossings: 1 - enough / total, either: 1 - neither / total };
}

/** compositions[r]: ways to write `points` as r ordered parts of 1 … `largest`; scaled so that no count overflows. */
function compositions(points: number, largest: number, most: number): Float64Array {
  const result = new Float64Array(most + 2);
  let ways = new Float64Array(points + 1);
  ways[0] = 1;
  if (points === 0) result[0] = 1;
  for (let parts = 1; parts <= points; parts++) {
    const next = new Float64Array(points + 1);
    for (let sum = parts; sum <= points; sum++)
      for (let part = 1; part <= Math.min(largest, sum); part++) next[sum]! += ways[sum - part]!;
    result[parts] = next[points]!;
    ways = next;
  }
  return result;
}

/** Sides independent and equally likely: the line is known from outside. */
function falseSignalKnown(n: number, limit: number, least: number): FalseSignal {
  return chancesOf(
    (longest, fewest) => {
      const start = firstPoint(0.5, longest, n);
      return 1 - keptMass(after(start, n - 1, 0.5, longest, n), fewest, n);
    },
    n,
    limit,
    least,
  );
}

/** The line is the median of m baseline points: their sides are in random order, later points lie above with an uncertain chance. */
function falseSignalBaseline(
  m: number,
  above: number,
  below: number,
  n: number,
  limit: number,
  least: number,
): FalseSignal {
  const shape = m % 2 === 1 ? (m + 1) / 2 : ((m + 1) * (m + 2)) / (2 * m) - 0.5;
  const later = n - above - below;
  return chancesOf(
    (longest, fewest) => {
      const baseline = ordersOf(above, below, longest, n);
      let signaled = 0;
      for (let node = 0; node < NODES; node++) {
        const chance = beta.quantile((node + 0.5) / NODES, shape, shape);
        const start = above + below === 0 ? firstPoint(chance, longest, n) : baseline;
        const steps = above + below === 0 ? later - 1 : later;
        signaled += (1 - keptMass(after(start, steps, chance, longest, n), fewest, n)) / NODES;
      }
      return signaled;
    },
    n,
    limit,
    least,
  );
}

/** Equally weighted quantiles of the beta law that stand for it. */
const NODES = 40;

function chancesOf(
  chance: (longest: number, fewest: number) => number,
  n: number,
  limit: number,
  least: number,
): FalseSignal {
  return { longestRun: chance(limit, 0), crossings: chance(n, least), either: chance(limit, least) };
}

/** A law over (side of the last point, length of its run, crossings so far), as one array; runs beyond `longest` are left out. */
function cellOf(side: number, length: number, crossings: number, longest: number, n: number): number {
  return (side * (longest + 1) + length) * (n + 1) + crossings;
}

function firstPoint(chance: number, longest: number, n: number): Float64Array {
  const state = new Float64Array(2 * (longest + 1) * (n + 1));
  state[cellOf(0, 1, 0, longest, n)] = 1 - chance;
  state[cellOf(1, 1, 0, longest, n)] = chance;
  return state;
}

/** The law after more points, each above with the same chance. */
function after(start: Float64Array, points: number, chance: number, longest: number, n: number): Float64Array {
  let state = start;
  for (let point = 0; point < points; point++) {
    const next = new Float64Array(state.length);
    for (let side = 0; side < 2; side++)
      for (let length = 1; length <= longest; length++)
        for (let crossings = 0; crossings < n; crossings++) {
          const mass = state[cellOf(side, length, crossings, longest, n)]!;
          if (mass === 0) continue;
          const same = side === 1 ? chance : 1 - chance;
          if (length < longest) next[cellOf(side, length + 1, crossings, longest, n)]! += mass * same;
          next[cellOf(1 - side, 1, crossings + 1, longest, n)]! += mass * (1 - same);
        }
    state = next;
  }
  return state;
}

/** The law after so many points above and below in random order. */
function ordersOf(above: number, below: number, longest: number, n: number): Float64Array {
  const size = 2 * (longest + 1) * (n + 1);
  let states = new Map<number, Float64Array>();
  const into = (to: Map<number, Float64Array>, ups: number): Float64Array => {
    const known = to.get(ups) ?? new Float64Array(size);
    to.set(ups, known);
    return known;
  };
  const total = above + below;
  for (let point = 0; point < total; point++) {
    const next = new Map<number, Float64Array>();
    if (point === 0) {
      if (above > 0) into(next, 1)[cellOf(1, 1, 0, longest, n)] = above / total;
      if (below > 0) into(next, 0)[cellOf(0, 1, 0, longest, n)] = below / total;
    }
    for (const [ups, state] of states) {
      const up = (above - ups) / (total - point);
      for (let side = 0; side < 2; side++)
        for (let length = 1; length <= longest; length++)
          for (let crossings = 0; crossings < n; crossings++) {
            const mass = state[cellOf(side, length, crossings, longest, n)]!;
            if (mass === 0) continue;
            for (const [to, chance] of [
              [1, up],
              [0, 1 - up],
            ] as const) {
              if (chance <= 0) continue;
              const target = into(next, ups + to);
              if (to !== side) target[cellOf(to, 1, crossings + 1, longest, n)]! += mass * chance;
              else if (length < longest) target[cellOf(to, length + 1, crossings, longest, n)]! += mass * chance;
            }
          }
    }
    states = next;
  }
  return states.get(above) ?? new Float64Array(size);
}

/** Mass with at least so many crossings. */
function keptMass(state: Float64Array, fewest: number, n: number): number {
  let kept = 0;
  for (let at = 0; at < state.length; at++) if (at % (n + 1) >= fewest) kept += state[at]!;
  return kept;
}

function sentenceOf(
  tooSoon: boolean,
  tooLong: boolean,
  tooFew: boolean,
  run: RunChart['longestRun'],
  runIsAbove: boolean,
  crossings: number,
  least: number,
  either: number,
  ofBaseline: boolean,
): string {
  if (tooSoon) return 'It is too soon to tell whether anything but chance moves the points.';
  // Simulated shares of few patients signal in .09 to .11 where figures that never repeat would in .08 (24 periods, baseline of 12).
  const repeating = ofBaseline ? ', and more where figures repeat' : '';
  const byChance = `By chance alone about 1 chart in ${Math.max(1, Math.round(1 / either))} of this length shows a signal${repeating}.`;
  if (tooLong)
    return `${run.length} periods in a row lie ${runIsAbove ? 'above' : 'below'} the middle line, more than the ${run.limit} that chance explains. ${byChance}`;
  if (tooFew)
    return `The points cross the middle line ${crossings} times, fewer than the ${least} that chance explains. ${byChance}`;
  return `The points lie about their middle line as in random order. ${byChance}`;
}

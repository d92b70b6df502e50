import { cholesky, solveCholesky } from '../models/linear-algebra.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';

/** A stretch of time that holds some of the events; where within it they fall the data do not say. */
export interface EventStretch {
  /** Events after this time … */
  readonly left: number;
  /** … and up to this one; infinite for "not yet". */
  readonly right: number;
  readonly share: number;
}

export interface IntervalCensoredCurve {
  readonly kind: 'interval-censored-curve';
  readonly stretches: readonly EventStretch[];
  /** Entries, and those among them whose event was seen. */
  readonly counts: { readonly entries: number; readonly events: number };
  readonly logLikelihood: number;
  readonly converged: boolean;
  /** Largest of (1/n) Σ 1/P(own interval) over the stretches: 1 at the maximum, never below. */
  readonly optimality: number;
  readonly notes: readonly Note[];
  /** Lowest and highest share without the event at a time that the data allow. */
  survival(time: number): { readonly lowest: number; readonly highest: number };
}

/**
 * Turnbull's estimate for events known only to lie between two visits: the share of events in each innermost stretch (left, right].
 *
 * Maximizes Σ ln P(Lᵢ < T ≤ Rᵢ) over shares of the innermost intervals, by Newton steps on few of them to which the steepest of the others are added one by one; optimal when (1/n) Σᵢ [stretch within own
 * interval] / P(own interval) ≤ 1 in every stretch and = 1 where the share is positive.
 *
 * Undefined: where within a stretch the events fall; `survival` gives both ends. A midpoint would be a guess and is not offered. Nor is an interval: the bootstrap is not consistent here (Sen B, Xu G.
 * Computational Statistics & Data Analysis 2015;81:121–129, from memory).
 *
 * @param left time of the last visit without the event (0 if none). @param right time of the first visit with it, `Infinity` or `null` when not seen yet.
 * @throws InputError `bad-length`, `bad-interval`.
 * Source: Turnbull BW. J R Stat Soc B 1976;38:290–295, doi:10.1111/j.2517-6161.1976.tb01597.x.
 */
export function intervalCensoredCurve(
  left: readonly number[],
  right: readonly (number | null)[],
): IntervalCensoredCurve {
  if (left.length !== right.length || left.length === 0)
    throw refuse(
      'bad-length',
      ['right'],
      `There are ${left.length} left and ${right.length} right ends.`,
      'give one of each an entry.',
    );
  const ends = right.map((value) => value ?? Number.POSITIVE_INFINITY);
  left.forEach((value, at) => {
    if (!(value >= 0 && value < ends[at]!))
      throw refuse(
        'bad-interval',
        ['left', at],
        `An interval runs from ${value} to ${ends[at]}.`,
        'give a last visit without the event before the first with it.',
      );
  });
  const stretches = innermost(left, ends);
  const m = stretches.length;
  const n = left.length;
  const within = left.map((from, at) =>
    stretches.flatMap((stretch, j) => (stretch.left >= from && stretch.right <= ends[at]! ? [j] : [])),
  );
  const chances = (p: Float64Array): number[] => within.map((own) => own.reduce((sum, j) => sum + p[j]!, 0));
  const slopes = (p: Float64Array): Float64Array => {
    const result = new Float64Array(m);
    chances(p).forEach((chance, at) => {
      for (const j of within[at]!) result[j]! += 1 / (n * chance);
    });
    return result;
  };
  // From few stretches that leave nobody out, the steepest of the others is let in until none is steeper than 1.
  let shares = fewest(within, m);
  let converged = false;
  for (let round = 0; round < 10 * m && !converged; round++) {
    shares = settled(shares, within);
    const slope = slopes(shares);
    const steepest = slope.indexOf(Math.max(...slope));
    converged = slope[steepest]! <= 1 + 1e-9;
    if (!converged) {
      // Newton's step of this share alone from 0, which falls short of its best.
      const curvature = chances(shares).reduce(
        (sum, chance, at) => sum + (within[at]!.includes(steepest) ? 1 / (chance * chance) : 0),
        0,
      );
      shares[steepest] = (n * (slope[steepest]! - 1)) / curvature;
    }
  }
  const total = shares.reduce((sum, share) => sum + share, 0);
  shares = shares.map((share) => share / total);
  const kept = stretches
    .map((stretch, j) => ({ ...stretch, share: shares[j]! }))
    .filter((stretch) => stretch.share > 0);
  return {
    kind: 'interval-censored-curve',
    stretches: kept,
    counts: { entries: n, events: ends.filter(Number.isFinite).length },
    logLikelihood: chances(shares).reduce((sum, chance) => sum + Math.log(chance), 0),
    converged,
    optimality: Math.max(...slopes(shares)),
    notes: [
      information(
        'between-visits',
        'An event lies between two visits; where, the data do not say. The two ends show what they allow. No interval for chance is given with them: drawing people again is not known to cover for such a curve.',
      ),
      ...(converged ? [] : [caution('not-converged', 'The shares had not settled when the steps were used up.')]),
    ],
    survival: (time) => ({
      lowest: kept.filter((stretch) => stretch.left >= time).reduce((sum, stretch) => sum + stretch.share, 0),
      highest: kept.filter((stretch) => stretch.right > time).reduce((sum, stretch) => sum + stretch.share, 0),
    }),
  };
}

/** Equal shares of stretches of which every entry holds one: of each entry that holds none yet, in order of right ends, the last. */
function fewest(within: readonly (readonly number[])[], m: number): Float64Array {
  const shares = new Float64Array(m);
  const inOrder = [...within].sort((a, b) => a.at(-1)! - b.at(-1)!);
  for (const own of inOrder) if (!own.some((j) => shares[j]! > 0)) shares[own.at(-1)!] = 1;
  const count = shares.reduce((sum, share) => sum + share, 0);
  return shares.map((share) => share / count);
}

/**
 * Newton's method for the maximum of Σ ln P(own interval) − nΣp over the positive shares, at which Σp = 1; a share that a step would take below 0 is 0. The curvature is
 * positive definite: each stretch is the last of some entry, so no two sets of shares give all entries the same chances.
 */
function settled(start: Float64Array, within: readonly (readonly number[])[]): Float64Array {
  const objective = (p: Float64Array): number => {
    let sum = 0;
    for (const own of within) sum += Math.log(own.reduce((chance, j) => chance + p[j]!, 0));
    return sum - within.length * p.reduce((total, share) => total + share, 0);
  };
  let shares = start;
  for (let turn = 0; turn < 100; turn++) {
    const open = [...shares.keys()].filter((j) => shares[j]! > 0);
    const placeOf = new Map(open.map((j, place) => [j, place]));
    const order = open.length;
    const curvature = new Float64Array(order * order);
    const step = new Float64Array(order).fill(-within.length);
    for (const own of within) {
      const places = own.flatMap((j) => placeOf.get(j) ?? []);
      const chance = own.reduce((sum, j) => sum + shares[j]!, 0);
      for (const i of places) {
        step[i]! += 1 / chance;
        for (const k of places) curvature[i * order + k]! += 1 / (chance * chance);
      }
    }
    if (!cholesky(curvature, order)) break;
    solveCholesky(curvature, order, step);
    // As far as the first share that reaches 0, then half as far while that loses.
    let reach = 1;
    let emptied = -1;
    open.forEach((j, place) => {
      const most = -shares[j]! / step[place]!;
      if (step[place]! < 0 && most <= reach) {
        reach = most;
        emptied = j;
      }
    });
    const before = objective(shares);
    const moved = (): Float64Array => {
      const to = shares.slice();
      open.forEach((j, place) => {
        to[j] = j === emptied ? 0 : shares[j]! + reach * step[place]!;
      });
      return to;
    };
    let next = moved();
    while (objective(next) < before - 1e-12 * within.length) {
      reach /= 2;
      emptied = -1;
      next = moved();
    }
    shares = next;
    if (emptied < 0 && step.every((change) => Math.abs(change) < 1e-15)) break;
  }
  return shares;
}

/** Innermost intervals: a left end directly followed by a right end in the order of all ends. Right ends close, left ends open. */
function innermost(left: readonly number[], right: readonly number[]): { left: number; right: number }[] {
  const ends = [...left.map((time) => ({ time, opens: true })), ...right.map((time) => ({ time, opens: false }))].sort(
    (a, b) => a.time - b.time || Number(a.opens) - Number(b.opens),
  );
  return ends.flatMap((end, at) => {
    const next = ends[at + 1];
    return end.opens && next !== undefined && !next.opens ? [{ left: end.time, right: next.time }] : [];
  });
}

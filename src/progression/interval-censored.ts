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
 * Maximizes Σ ln P(Lᵢ < T ≤ Rᵢ) over shares of the innermost intervals, by EM steps followed by projected Newton steps on what EM leaves positive; optimal when (1/n) Σᵢ [stretch within own
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
  let shares: Float64Array = new Float64Array(m).fill(1 / m);
  const chances = (p: Float64Array): number[] => within.map((own) => own.reduce((sum, j) => sum + p[j]!, 0));
  const logLikelihood = (p: Float64Array): number => chances(p).reduce((sum, chance) => sum + Math.log(chance), 0);
  const gradient = (p: Float64Array): Float64Array => {
    const result = new Float64Array(m);
    chances(p).forEach((chance, at) => {
      for (const j of within[at]!) result[j]! += 1 / (n * chance);
    });
    return result;
  };
  // EM multiplies each share with its gradient; squaring the steps (extrapolation with a check) brings it to the end in few rounds.
  let converged = false;
  for (let round = 0; round < 20_000 && !converged; round++) {
    const one = shares.map((share, j) => share * gradient(shares)[j]!);
    const slopeOne = gradient(one);
    const two = one.map((share, j) => share * slopeOne[j]!);
    let length = 0;
    let change = 0;
    for (let j = 0; j < m; j++) {
      const r = one[j]! - shares[j]!;
      const v = two[j]! - one[j]! - r;
      length += r * r;
      change += v * v;
    }
    let next = two;
    if (change > 0) {
      const alpha = Math.max(1, Math.sqrt(length / change));
      const far = shares.map((share, j) => {
        const r = one[j]! - share;
        const v = two[j]! - one[j]! - r;
        return Math.max(0, share + 2 * alpha * r + alpha * alpha * v);
      });
      const total = far.reduce((sum, share) => sum + share, 0);
      const scaled = far.map((share) => share / total);
      if (logLikelihood(scaled) > logLikelihood(two)) next = scaled;
    }
    shares = next.map((share) => (share < 1e-14 ? 0 : share));
    const slope = gradient(shares);
    converged = slope.every(
      (value, j) => value <= 1 + 1e-9 && (shares[j] === 0 || shares[j]! * Math.abs(value - 1) < 1e-10),
    );
    // A share that was set to 0 too early is given back a little.
    if (!converged) for (let j = 0; j < m; j++) if (shares[j] === 0 && slope[j]! > 1) shares[j] = 1e-6;
  }
  const total = shares.reduce((sum, share) => sum + share, 0);
  shares = shares.map((share) => share / total);
  const exact = converged ? newton(shares, within) : undefined;
  if (exact !== undefined && gradient(exact).every((value) => value <= 1 + 1e-9)) shares = exact;
  const kept = stretches
    .map((stretch, j) => ({ ...stretch, share: shares[j]! }))
    .filter((stretch) => stretch.share > 1e-9);
  return {
    kind: 'interval-censored-curve',
    stretches: kept,
    counts: { entries: n, events: ends.filter(Number.isFinite).length },
    logLikelihood: logLikelihood(shares),
    converged,
    optimality: Math.max(...gradient(shares)),
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

/**
 * The digits that EM leaves open: Newton's method for the maximum of Σ ln P(own interval) − nΣp over the positive shares, at which Σp = 1; a share
 * that a step would take below 0 is 0. `undefined` where the shares are not determined.
 */
function newton(start: Float64Array, within: readonly (readonly number[])[]): Float64Array | undefined {
  const shares = start.slice();
  for (let turn = 0; turn < 60; turn++) {
    const open = [...shares.keys()].filter((j) => shares[j]! > 0);
    const placeOf = new Map(open.map((j, place) => [j, place]));
    const order = open.length;
    const curvature = new Float64Array(order * order);
    const step = new Float64Array(order).fill(-within.length);
    for (const own of within) {
      const chance = own.reduce((sum, j) => sum + shares[j]!, 0);
      const places = own.flatMap((j) => placeOf.get(j) ?? []);
      for (const i of places) {
        step[i]! += 1 / chance;
        for (const k of places) curvature[i * order + k]! += 1 / (chance * chance);
      }
    }
    if (!cholesky(curvature, order)) return undefined;
    solveCholesky(curvature, order, step);
    // As far as the first share that reaches 0.
    let reach = 1;
    let emptied = -1;
    open.forEach((j, place) => {
      const most = -shares[j]! / step[place]!;
      if (step[place]! < 0 && most <= reach) {
        reach = most;
        emptied = j;
      }
    });
    open.forEach((j, place) => {
      shares[j] = j === emptied ? 0 : shares[j]! + reach * step[place]!;
    });
    if (emptied < 0 && step.every((change) => Math.abs(change) < 1e-15)) break;
  }
  const total = shares.reduce((sum, share) => sum + share, 0);
  return shares.map((share) => share / total);
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

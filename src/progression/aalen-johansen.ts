import { normal } from '../shared/distributions.js';
import type { Interval } from '../shared/estimate.js';
import { InputError, type Problem } from '../shared/input-error.js';

/** Times with the kind of what ended them: the event, or something after which the event can no longer happen (amputation, death). */
export interface CompetingTimes {
  readonly times: readonly number[];
  /** The kind of event, or `null` when observation ended without one. */
  readonly kinds: readonly (string | null)[];
  readonly entries?: readonly number[];
}

export interface IncidenceStep {
  readonly time: number;
  /** Share of all with each kind of event by this time. */
  readonly incidence: Readonly<Record<string, number>>;
  readonly standardError: Readonly<Record<string, number>>;
  readonly interval: Readonly<Record<string, Interval>>;
  readonly atRisk: number;
}

/**
 * Aalen–Johansen cumulative incidence: the share with each kind of event over time, where one kind rules out the others. One minus Kaplan–Meier
 * with the others censored would be too high.
 *
 * F_k(t) = Σ_{tᵢ ≤ t} S(tᵢ−) d_ki / nᵢ, S the Kaplan–Meier share without any event. Variance by the delta method (Aalen), intervals on the log–log scale of 1 − F.
 *
 * Undefined (`NaN`): intervals where the incidence is 0 or 1. Missing values are not allowed.
 *
 * @throws InputError `bad-length`, `bad-time`, `bad-entry`.
 * Source: Aalen OO, Johansen S. Scand J Stat 1978;5:141–150; variance as in Marubini E, Valsecchi MG. Analysing Survival Data from Clinical Trials, 1995 (from memory).
 */
export function cumulativeIncidence(
  data: CompetingTimes,
  options: { readonly confidenceLevel?: number } = {},
): IncidenceStep[] {
  check(data);
  const level = options.confidenceLevel ?? 0.95;
  const z = normal.quantile(1 - (1 - level) / 2);
  const kinds = [...new Set(data.kinds.filter((kind) => kind !== null))].sort();
  const times = [...new Set(data.times.filter((_, at) => data.kinds[at] !== null))].sort((a, b) => a - b);
  const steps = times.map((time) => {
    const events = new Map(kinds.map((kind) => [kind, 0]));
    let atRisk = 0;
    data.times.forEach((own, at) => {
      if (own >= time && (data.entries?.[at] ?? Number.NEGATIVE_INFINITY) < time) atRisk++;
      const kind = data.kinds[at];
      if (own === time && typeof kind === 'string') events.set(kind, events.get(kind)! + 1);
    });
    const all = [...events.values()].reduce((sum, count) => sum + count, 0);
    return { time, atRisk, events, all };
  });
  let survival = 1;
  const before = steps.map((step) => {
    const now = survival;
    survival *= 1 - step.all / step.atRisk;
    return now;
  });
  const curves = kinds.map((kind) => {
    let sum = 0;
    return steps.map((step, at) => {
      sum += (before[at]! * step.events.get(kind)!) / step.atRisk;
      return sum;
    });
  });
  return steps.map((step, at) => {
    const incidence: Record<string, number> = {};
    const standardError: Record<string, number> = {};
    const interval: Record<string, Interval> = {};
    kinds.forEach((kind, k) => {
      const value = curves[k]![at]!;
      let variance = 0;
      for (let i = 0; i <= at; i++) {
        const { atRisk: n, all: d, events } = steps[i]!;
        const own = events.get(kind)!;
        const rest = value - curves[k]![i]!;
        if (n > d) variance += (rest * rest * d) / (n * (n - d));
        variance += (before[i]! ** 2 * own * (n - own)) / n ** 3 - (2 * rest * before[i]! * own) / (n * n);
      }
      incidence[kind] = value;
      const error = Math.sqrt(Math.max(0, variance));
      standardError[kind] = error;
      const left = 1 - value;
      // Where F is 0 or 1 this is 0/0, and so are the limits.
      const reach = (z * error) / (left * Math.abs(Math.log(left)));
      interval[kind] = {
        lower: 1 - left ** Math.exp(-reach),
        upper: 1 - left ** Math.exp(reach),
        level,
        method: 'log–log, entries taken as independent',
      };
    });
    return { time: step.time, incidence, standardError, interval, atRisk: step.atRisk };
  });
}

function check(data: CompetingTimes): void {
  const problems: Problem[] = [];
  if (
    data.kinds.length !== data.times.length ||
    (data.entries !== undefined && data.entries.length !== data.times.length)
  )
    problems.push({
      code: 'bad-length',
      path: ['kinds'],
      message: `There are ${data.times.length} times and ${data.kinds.length} kinds.`,
    });
  data.times.forEach((time, at) => {
    if (!(Number.isFinite(time) && time >= 0))
      problems.push({ code: 'bad-time', path: ['times', at], message: `A time is ${time}.` });
    const entry = data.entries?.[at];
    if (entry !== undefined && !(entry < time))
      problems.push({
        code: 'bad-entry',
        path: ['entries', at],
        message: `Observation begins at ${entry} and ends at ${time}.`,
      });
  });
  if (problems.length > 0) throw new InputError(problems);
}

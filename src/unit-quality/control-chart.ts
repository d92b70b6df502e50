import type { MadeFor } from '../shared/audience.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';

/** A point of a control chart with its own limits; `null` where there is no figure. */
export interface ControlPoint {
  readonly value: number | null;
  readonly center: number;
  readonly lower: number;
  readonly upper: number;
  /** Whether the point lies outside its limits; a point on a limit is not outside. */
  readonly outside: boolean;
}

/** A series with control limits from a named baseline. */
export interface ControlChart extends MadeFor {
  readonly kind: 'control-chart';
  readonly chart: string;
  readonly points: readonly ControlPoint[];
  readonly baseline: { readonly from: number; readonly to: number; readonly excluded: readonly number[] };
  readonly details: Readonly<Record<string, number>>;
  /** Whether the baseline is long enough for limits to mean what they say. */
  readonly enough: boolean;
  readonly notes: readonly Note[];
}

export interface BaselineOptions {
  /** Indices of the first and last period of the frozen baseline. Default: the whole series. */
  readonly baseline?: { readonly from: number; readonly to: number };
  /** Periods left out of the baseline, each with its reason in the notes of the study. Indices from 0. */
  readonly exclude?: readonly number[];
}

/** Baseline periods from which control limits are shown without reserve (simulation: below, the limits are mostly noise). */
const ENOUGH_PERIODS = 24;

/** The periods the limits are computed from; refuses a baseline outside the series. */
export function baselineOf(
  length: number,
  options: BaselineOptions,
): { from: number; to: number; excluded: readonly number[]; at: number[] } {
  const { from, to } = options.baseline ?? { from: 0, to: length - 1 };
  const excluded = options.exclude ?? [];
  const problems: Problem[] = [];
  if (!(Number.isInteger(from) && Number.isInteger(to) && from >= 0 && from <= to && to < length))
    problems.push({
      code: 'bad-option',
      path: ['options', 'baseline'],
      message: `The baseline runs from ${from} to ${to}.`,
      expected: `periods from 0 to ${length - 1}`,
    });
  for (const at of excluded)
    if (!Number.isInteger(at) || at < 0 || at >= length)
      problems.push({
        code: 'bad-option',
        path: ['options', 'exclude'],
        message: `${at} is no period of the series.`,
        expected: `0 to ${length - 1}`,
      });
  if (problems.length > 0) throw new InputError(problems);
  const at: number[] = [];
  for (let period = from; period <= to; period++) if (!excluded.includes(period)) at.push(period);
  return { from, to, excluded, at };
}

/** Puts points, baseline and notes together; limits below the least possible value are drawn in to it. */
export function controlChartOf(
  chart: string,
  points: readonly Omit<ControlPoint, 'outside'>[],
  baseline: { from: number; to: number; excluded: readonly number[]; at: number[] },
  details: Readonly<Record<string, number>>,
  notes: readonly Note[] = [],
): ControlChart {
  const enough = baseline.at.length >= ENOUGH_PERIODS;
  return {
    kind: 'control-chart',
    chart,
    points: points.map((point) => ({
      ...point,
      outside: point.value !== null && (point.value > point.upper || point.value < point.lower),
    })),
    baseline: { from: baseline.from, to: baseline.to, excluded: baseline.excluded },
    details,
    enough,
    notes: [
      ...notes,
      ...(enough
        ? []
        : [
            information(
              'too-soon-for-limits',
              `The baseline has ${baseline.at.length} periods; below ${ENOUGH_PERIODS} it is too soon for limits. Read the run chart.`,
            ),
          ]),
    ],
  };
}

/** Refuses counts that are not whole, negative, or above their denominator: all at once. */
export function checkSeries(counts: readonly number[], sizes: readonly number[] | undefined, whole: boolean): void {
  const problems: Problem[] = [];
  if (sizes !== undefined && sizes.length !== counts.length)
    problems.push({
      code: 'bad-length',
      path: ['sizes'],
      message: `There are ${sizes.length} denominators for ${counts.length} counts.`,
    });
  counts.forEach((count, at) => {
    const size = sizes?.[at];
    if (!Number.isFinite(count) || count < 0 || (whole && !Number.isInteger(count)))
      problems.push({
        code: 'bad-count',
        path: ['counts', at],
        message: `The count is ${count}.`,
        expected: whole ? 'a whole number, 0 or more' : 'a number, 0 or more',
      });
    if (size !== undefined && !(size >= 0 && Number.isFinite(size)))
      problems.push({
        code: 'bad-size',
        path: ['sizes', at],
        message: `The denominator is ${size}.`,
        expected: 'a number, 0 or more',
      });
  });
  if (problems.length > 0) throw new InputError(problems);
}

import { formatCount } from '../shared/table.js';
import { TEXT_SIZES, type Theme } from './theme.js';

/** A stretch of periods in which one scale was used. */
export interface PeriodSegment<Period> {
  readonly scaleLabel: string;
  readonly periods: readonly Period[];
}

interface Due {
  readonly count: number | null;
  /** How many were assessed. */
  readonly assessed: number;
  /** How many should have been. */
  readonly due: number;
}

export interface PlacedPeriod<Period> {
  readonly period: Period;
  readonly segment: number;
  /** Middle of the period on the axis; a change of scale leaves a gap. */
  readonly at: number;
}

const NARROWEST_STEP = 27;
/** Below this there is no room for the word "of". */
const ROOM_FOR_WORDS = 34;
const WIDEST_STEP = 78;
const WIDTH = 664;
/** Pixels of the gap where the scale changes: room for its words. */
const GAP = 74;

/** Periods side by side with a gap wherever the scale changes, and the pixels each one takes. */
export function placePeriods<Period>(segments: readonly PeriodSegment<Period>[]): {
  readonly placed: readonly PlacedPeriod<Period>[];
  readonly gaps: readonly number[];
  readonly end: number;
  readonly step: number;
} {
  const periods = segments.reduce((total, segment) => total + segment.periods.length, 0);
  const breaks = Math.max(0, segments.length - 1);
  const step = Math.max(NARROWEST_STEP, Math.min(WIDEST_STEP, (WIDTH - breaks * GAP) / Math.max(1, periods)));
  const gap = GAP / step;
  const placed: PlacedPeriod<Period>[] = [];
  const gaps: number[] = [];
  let next = 0;
  segments.forEach((segment, at) => {
    if (at > 0) {
      gaps.push(next + gap / 2);
      next += gap;
    }
    for (const period of segment.periods) {
      placed.push({ period, segment: at, at: next + 0.5 });
      next += 1;
    }
  });
  return { placed, gaps, end: next, step };
}

/** "of 20", or "/20" where many periods leave less room. */
export function outOfWords(outOf: number, step: number): string {
  return step < ROOM_FOR_WORDS ? `/${formatCount(outOf)}` : `of ${formatCount(outOf)}`;
}

/** The quantitative horizontal encoding that all layers of a period chart share; the labels are drawn as text. */
export function periodScale(end: number): object {
  return { type: 'quantitative', scale: { domain: [0, end], nice: false }, axis: null };
}

/** Rows of text under the plot: the period's label, then a pair of counts ("16" over "of 20"). */
export function periodLabels<Period extends { readonly label: string }>(
  placed: readonly PlacedPeriod<Period>[],
  { end, step }: { readonly end: number; readonly step: number },
  height: number,
  theme: Theme,
  counts: {
    readonly words: string;
    readonly of: (period: Period) => readonly [count: number, outOf: number] | null;
  },
): readonly object[] {
  const x = { field: 'at', ...periodScale(end) };
  const row = (field: string, y: number, mark: object = {}) => ({
    data: {
      values: placed.map(({ period, at }) => {
        const pair = counts.of(period);
        return {
          at,
          label: period.label,
          count: pair === null ? 'not' : formatCount(pair[0]),
          outOf: pair === null ? 'shown' : outOfWords(pair[1], step),
        };
      }),
    },
    mark: { type: 'text', baseline: 'top', ...mark },
    encoding: { x, y: { value: y }, text: { field } },
  });
  return [
    row('label', height + 8),
    row('count', height + 30, { fontWeight: 600 }),
    row('outOf', height + 47, { fontSize: TEXT_SIZES.small, color: theme.muted }),
    {
      data: { values: [{}] },
      mark: { type: 'text', align: 'right', baseline: 'top', color: theme.muted, fontSize: TEXT_SIZES.small },
      encoding: { x: { value: -8 }, y: { value: height + 31 }, text: { value: counts.words } },
    },
  ];
}

/** A broken line and words in each gap where the scale changes. */
export function scaleBreaks(gaps: readonly number[], end: number, height: number, theme: Theme): readonly object[] {
  if (gaps.length === 0) return [];
  const data = { values: gaps.map((at) => ({ at })) };
  const x = { field: 'at', ...periodScale(end) };
  return [
    {
      data,
      mark: { type: 'rule', color: theme.muted, strokeDash: [3, 4] },
      encoding: { x, y: { value: 0 }, y2: { value: height } },
    },
    {
      data,
      mark: {
        type: 'text',
        text: ['scale', 'changed'],
        baseline: 'top',
        align: 'center',
        lineHeight: 15,
        fontSize: TEXT_SIZES.small,
        color: theme.muted,
      },
      encoding: { x, y: { value: height + 8 } },
    },
  ];
}

/** Sum of assessed and due over the periods that are shown, so that a hidden one cannot be had by subtraction. */
export function completeness(placed: readonly PlacedPeriod<Due>[]): {
  readonly assessed: number;
  readonly due: number;
} {
  return placed
    .filter(({ period }) => period.count !== null)
    .reduce((total, { period }) => ({ assessed: total.assessed + period.assessed, due: total.due + period.due }), {
      assessed: 0,
      due: 0,
    });
}

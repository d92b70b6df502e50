import { CAUTIONS } from '../shared/cautions.js';
import { refuse } from '../shared/input-error.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { ControlChart } from '../unit-quality/control-chart.js';
import type { ShareByPeriod } from '../unit-quality/share-by-period.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { outOfWords } from './period-axis.js';
import { type ChartOptions, PERCENT_LABELS, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, listOf, sentenceCase } from './words.js';

export interface ControlLimitsOptions extends ChartOptions {
  /** What is on the chart, for the subtitle: "Pitting edema of grade 2 or more, share of stays". */
  readonly what: string;
  /** Labels of the periods, one a point. */
  readonly labels: readonly string[];
  /** The numbers under each dot, one pair a point: 9 of 16. */
  readonly counts?: readonly (readonly [count: number, outOf: number])[];
  /** Default `'number'`. */
  readonly scale?: 'percent' | 'number';
  readonly decimals?: number;
  /** The share whose shown periods the points are, from `forAudience`: the chart is then for the same eyes. */
  readonly share?: ShareByPeriod;
  readonly actions?: readonly { readonly label: string; readonly words: string }[];
}

/** Limits are not data: their line is broken, in gray as well. */
const DASH = [4, 3];
const HEIGHT = 230;
const WIDTH = 664;

/**
 * A series with its control limits as steps, since each period has its own size: dots, center, limits,
 * points outside marked by shape and color. The baseline is named; where it is too short for limits
 * the chart says so and draws none.
 *
 * Throws `InputError` `other-figures` where the points are not those of `share`, `bad-length` where labels or counts are not one a point.
 */
export function controlLimitsChart(control: ControlChart, options: ControlLimitsOptions): Chart {
  const theme = themeOf(options);
  const { points, baseline, enough } = control;
  const { labels, counts, what } = options;
  for (const [name, list] of [
    ['labels', labels],
    ['counts', counts ?? labels],
  ] as const)
    if (list.length !== points.length)
      throw refuse(
        'bad-length',
        ['options', name],
        `There are ${list.length} ${name} for ${countOf(points.length, 'point')}.`,
        'give one for each point.',
      );
  const step = Math.max(26, Math.min(70, WIDTH / Math.max(1, points.length)));
  const pairs = counts ?? [];
  const percent = options.scale === 'percent';
  const printed = (value: number): string =>
    percent ? `${formatNumber(100 * value, 0)} %` : formatNumber(value, options.decimals ?? 1);
  // A period without a figure breaks the line.
  let run = 0;
  const runs = points.map((point) => (point.value === null ? ++run : run));
  const values = points.map((point, at) => ({
    run: runs[at]!,
    x: (at + 0.5) * step,
    left: at * step,
    right: (at + 1) * step,
    label: labels[at]!,
    count: pairs[at] === undefined ? '' : [formatCount(pairs[at][0]), outOfWords(pairs[at][1], step)],
    value: point.value,
    center: point.center,
    lower: enough ? point.lower : null,
    upper: enough ? point.upper : null,
    outside: enough && point.outside ? 'yes' : 'no',
    words: `${labels[at]}: ${point.value === null ? 'no figure' : printed(point.value)}${pairs[at] === undefined ? '' : ` (${formatCount(pairs[at][0])} of ${formatCount(pairs[at][1])})`}; ${
      enough ? `limits ${printed(point.lower)} to ${printed(point.upper)}, ` : ''
    }center ${printed(point.center)}.`,
  }));
  const drawn = values.filter((row) => row.value !== null);
  const outside = values.filter((row) => row.outside === 'yes').map((row) => row.label);
  const ends = values.flatMap((row) => [row.value, row.center, row.lower, row.upper].filter((end) => end !== null));
  const low = Math.min(percent ? 0 : Number.POSITIVE_INFINITY, ...ends);
  const high = Math.max(...ends);
  const room = 0.06 * (high - low || 1);
  const y = {
    type: 'quantitative',
    scale: {
      domain: [percent ? 0 : low - room, percent ? Math.min(1, high + room) : high + room],
      nice: false,
      zero: percent,
    },
    axis: {
      title: null,
      grid: true,
      tickCount: 5,
      labelPadding: 8,
      ...(percent ? { labelExpr: PERCENT_LABELS } : {}),
    },
  };
  const x = (field: string) => ({ field, type: 'quantitative', scale: null });
  const stepLine = (field: string, mark: object) => ({
    mark: { type: 'rule', ...mark },
    encoding: { x: x('left'), x2: { field: 'right' }, y: { field, ...y } },
  });
  const color = { condition: { test: "datum.outside === 'yes'", value: theme.signal }, value: theme.ink };
  const under = (field: string, at: number, mark: object = {}) => ({
    mark: { type: 'text', baseline: 'top', ...mark },
    encoding: { x: x('x'), y: { value: HEIGHT + at }, text: { field } },
  });
  const actions = (options.actions ?? []).flatMap(({ label, words }, row) => {
    const at = labels.indexOf(label);
    return at < 0
      ? []
      : [{ x: (at + 0.5) * step, y: HEIGHT + 74 + 18 * row, text: words, left: at * 2 < labels.length }];
  });
  const from = `${labels[baseline.from]} to ${labels[baseline.to]}`;
  const title = titleOf();
  return chartOf(
    {
      from: options.share === undefined ? control : sameFigures(control, options.share),
      title,
      subtitle: [
        `${what}; ${control.chart}, ${countOf(points.length, 'period')}`,
        enough
          ? `Center and limits from the baseline ${from}`
          : `Too soon for limits: the baseline ${from} is short, so only its center is drawn`,
      ],
      details: [
        `${sentenceCase(what)}, ${countOf(points.length, 'period')}.`,
        enough ? `Limits from the baseline ${from}.` : 'It is too soon for limits.',
        ...drawn.slice(-1).map((row) => `Last: ${row.words}`),
      ].join(' '),
      caution: CAUTIONS.ratesAreNotPersons,
      view: {
        width: Math.round(step * points.length),
        height: HEIGHT,
        data: { values },
        layer: [
          stepLine('center', { color: theme.categories[1], strokeWidth: 1.5 }),
          ...(enough
            ? ['lower', 'upper'].map((field) =>
                stepLine(field, { color: theme.muted, strokeWidth: 1.25, strokeDash: DASH }),
              )
            : []),
          {
            mark: { type: 'line', color: theme.muted, strokeWidth: 1 },
            encoding: { x: x('x'), y: { field: 'value', ...y }, detail: { field: 'run' } },
          },
          {
            transform: [{ filter: 'datum.value !== null' }],
            mark: { type: 'point', filled: true, opacity: 1, stroke: theme.paper, strokeWidth: 1.5 },
            encoding: {
              x: x('x'),
              y: { field: 'value', ...y },
              color,
              shape: { condition: { test: "datum.outside === 'yes'", value: 'diamond' }, value: 'circle' },
              size: { condition: { test: "datum.outside === 'yes'", value: 190 }, value: 100 },
              tooltip: { field: 'words' },
            },
          },
          under('label', 8),
          under('count', 28, { fontSize: TEXT_SIZES.small, color: theme.muted, lineHeight: 15 }),
          ...(actions.length === 0
            ? []
            : [
                {
                  data: { values: actions },
                  mark: { type: 'point', shape: 'square', filled: true, opacity: 1, size: 45, color: theme.muted },
                  encoding: { x: x('x'), y: x('y') },
                },
                ...[true, false].map((left) => ({
                  data: { values: actions.filter((action) => action.left === left) },
                  mark: { type: 'text', align: left ? 'left' : 'right', dx: left ? 9 : -9, fontSize: TEXT_SIZES.small },
                  encoding: { x: x('x'), y: x('y'), text: { field: 'text' } },
                })),
              ]),
          ...legendLayers(
            [
              [
                { text: 'center', mark: 'line', color: theme.categories[1]! },
                ...(enough ? [{ text: 'control limits', mark: 'line', color: theme.muted, dash: DASH } as const] : []),
                ...(outside.length > 0
                  ? [{ text: 'outside its limits', mark: 'diamond', color: theme.signal } as const]
                  : []),
              ],
            ],
            theme,
            WIDTH,
          ),
        ],
      },
    },
    theme,
  );

  function titleOf(): string {
    if (!enough) return `${what}: too soon for limits`;
    if (outside.length === 0) return 'No period lies outside its limits';
    return `${outside.length} of ${countOf(points.length, 'period')} ${outside.length === 1 ? 'lies outside its' : 'lie outside their'} limits (${listOf(outside)})`;
  }
}

/** The share, where each point of the chart is the share of one of its periods, a hidden one none. */
function sameFigures(control: ControlChart, share: ShareByPeriod): ShareByPeriod {
  const values = share.segments.flatMap(({ periods }) =>
    periods.map(({ count, assessed }) => (count === null || assessed === 0 ? null : count / assessed)),
  );
  const isSame =
    values.length === control.points.length && control.points.every(({ value }, at) => value === values[at]);
  if (isSame) return share;
  throw refuse(
    'other-figures',
    ['options', 'share'],
    'The points are not the shares of these periods.',
    'make the control chart from the counts and sizes of the same share, with 0 of 0 for a hidden period.',
  );
}

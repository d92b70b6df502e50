import type { SurvivalCurve } from '../progression/kaplan-meier.js';
import { narrowestOf } from '../shared/audience.js';
import { CAUTIONS } from '../shared/cautions.js';
import { refuse } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { niceTicks } from './nice-ticks.js';
import { type ChartOptions, PERCENT_LABELS, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, listOf } from './words.js';

/** One curve with the words for its group. */
export interface NamedCurve {
  readonly name: string;
  readonly curve: SurvivalCurve;
}

export interface SurvivalChartOptions extends ChartOptions {
  /** What the event is, as it ends the sentence "free of …": "worsening that lasted". */
  readonly event: string;
  /** What was followed, in the plural: "limb-sites". Default. */
  readonly followed?: string;
  /** Unit of time. Default "days". */
  readonly timeUnit?: string;
}

/** What tells the curves apart in gray. */
const DASHES = [
  [1, 0],
  [7, 3],
  [2, 2],
];
const WIDTH = 560;
const HEIGHT = 260;
/** Pixels a row of numbers at risk takes. */
const ROW = 18;
const MOST_CURVES = 3;

/**
 * Share still free of an event over time: steps with their bands, and under them how many were still followed, because a curve that rests on
 * three limbs looks like one that rests on three hundred.
 *
 * The title names the medians where they are reached, else the shares at the end; it claims no difference between groups.
 *
 * Throws `InputError` `too-many-curves` above three.
 */
export function survivalChart(curves: readonly NamedCurve[], options: SurvivalChartOptions): Chart {
  if (curves.length === 0 || curves.length > MOST_CURVES)
    throw refuse(
      'too-many-curves',
      ['curves'],
      `There are ${curves.length} curves.`,
      `draw one to ${MOST_CURVES}, or small multiples.`,
    );
  const theme = themeOf(options);
  const { followed = 'limb-sites', timeUnit = 'days' } = options;
  const end = Math.max(...curves.map(({ curve }) => curve.lastTime));
  const ticks = niceTicks(end);
  const colorOf = (at: number): string => theme.categories[at]!;
  const points = curves.flatMap(({ name, curve }) => {
    const steps = curve.steps.map((step) => ({
      name,
      time: step.time,
      survival: step.survival,
      lower: Number.isNaN(step.interval.lower) ? step.survival : step.interval.lower,
      upper: Number.isNaN(step.interval.upper) ? step.survival : step.interval.upper,
      words: `${name === '' ? '' : `${name}: `}day ${step.time}: ${formatNumber(100 * step.survival, 0)} % still free (${formatNumber(100 * step.interval.lower, 0)} to ${formatNumber(100 * step.interval.upper, 0)} %), ${step.atRisk} followed.`,
    }));
    const last = steps.at(-1) ?? { survival: 1, lower: 1, upper: 1 };
    return [
      {
        name,
        time: 0,
        survival: 1,
        lower: 1,
        upper: 1,
        words: `${name === '' ? 'All' : `${name}: all`} ${curve.counts.entries} followed from 0 ${timeUnit}.`,
      },
      ...steps,
      {
        ...last,
        name,
        time: curve.lastTime,
        words: `${name === '' ? 'Longest' : `${name}: longest`} time followed, ${curve.lastTime} ${timeUnit}.`,
      },
    ];
  });
  const x = {
    type: 'quantitative',
    scale: { domain: [0, end], nice: false },
    axis: { title: null, grid: false, values: ticks, domain: true, ticks: true },
  };
  const y = {
    type: 'quantitative',
    scale: { domain: [0, 1], nice: false, range: [HEIGHT, 0] },
    axis: {
      title: null,
      values: [0, 0.25, 0.5, 0.75, 1],
      labelExpr: PERCENT_LABELS,
      grid: true,
    },
  };
  const color = {
    field: 'name',
    type: 'nominal',
    scale: { domain: curves.map(({ name }) => name), range: curves.map((_, at) => colorOf(at)) },
    legend: null,
  };
  const risk = curves.flatMap(({ name, curve }, at) =>
    ticks.map((time) => ({ time, y: HEIGHT + 44 + at * ROW, count: String(curve.atRisk(time)), name })),
  );
  const pixelY = { field: 'y', type: 'quantitative', scale: null, axis: null };
  const single = curves.length === 1;
  const title = titleOf(curves, options.event, timeUnit);
  return chartOf(
    {
      from: narrowestOf(curves.map(({ curve }) => curve)),
      title,
      subtitle: [
        `${listOf(curves.map(({ name, curve }) => `${name === '' ? '' : `${name}: `}${countOf(curve.counts.entries, followed.replace(/s$/, ''), followed)} of ${countOf(curve.counts.patients, 'person', 'people')}, ${countOf(curve.counts.events, 'event')}`))}`,
        `Kaplan–Meier, bands are pointwise ${formatNumber(100 * (curves[0]!.curve.options.confidenceLevel as number), 0)} % intervals; horizontally ${timeUnit}`,
      ],
      details: `${listOf(curves.map(({ name, curve }) => `${name === '' ? 'In all' : name} ${countOf(curve.counts.events, 'event')} among ${curve.counts.entries} followed`))}.`,
      caution: CAUTIONS.notForCare,
      view: {
        width: WIDTH,
        height: HEIGHT + 44 + curves.length * ROW,
        layer: [
          {
            data: { values: points },
            mark: { type: 'area', interpolate: 'step-after', opacity: 0.14 },
            encoding: { x: { field: 'time', ...x }, y: { field: 'lower', ...y }, y2: { field: 'upper' }, color },
          },
          {
            data: { values: points },
            mark: { type: 'line', interpolate: 'step-after', strokeWidth: 2.2 },
            encoding: {
              x: { field: 'time', ...x },
              y: { field: 'survival', ...y },
              color,
              strokeDash: {
                field: 'name',
                type: 'nominal',
                scale: {
                  domain: curves.map(({ name }) => name),
                  range: DASHES,
                },
                legend: null,
              },
            },
          },
          {
            data: { values: points },
            mark: { type: 'point', opacity: 0, size: 120 },
            encoding: { x: { field: 'time', ...x }, y: { field: 'survival', ...y }, tooltip: { field: 'words' } },
          },
          {
            data: { values: risk },
            mark: { type: 'text', fontSize: TEXT_SIZES.small, baseline: 'middle' },
            encoding: { x: { field: 'time', ...x }, y: pixelY, text: { field: 'count' } },
          },
          {
            data: {
              values: curves.map(({ name }, at) => ({
                text: single ? 'still followed' : name,
                y: HEIGHT + 44 + at * ROW,
              })),
            },
            mark: { type: 'text', align: 'right', fontSize: TEXT_SIZES.small, color: theme.muted, baseline: 'middle' },
            encoding: { x: { value: -22 }, y: pixelY, text: { field: 'text' } },
          },
          ...legendLayers(
            [
              [
                ...curves.map(({ name }, at) => ({
                  text: single ? `free of ${options.event}` : name,
                  mark: 'line' as const,
                  color: colorOf(at),
                  ...(at === 0 ? {} : { dash: DASHES[at % DASHES.length]! }),
                })),
                {
                  text: `${formatNumber(100 * (curves[0]!.curve.options.confidenceLevel as number), 0)} % interval`,
                  mark: 'band' as const,
                },
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
}

function titleOf(curves: readonly NamedCurve[], event: string, timeUnit: string): string {
  const words = curves.map(({ name, curve }) => `${endWords(curve, timeUnit)}${name === '' ? '' : ` (${name})`}`);
  return `Free of ${event}: ${listOf(words)}`;
}

function endWords(curve: SurvivalCurve, timeUnit: string): string {
  if (!Number.isNaN(curve.median.value)) return `half no longer after ${curve.median.value} ${timeUnit}`;
  const last = curve.steps.at(-1);
  return last === undefined
    ? `all through ${curve.lastTime} ${timeUnit}`
    : `${formatNumber(100 * last.survival, 0)} % still after ${last.time} ${timeUnit}`;
}

import type { IntervalCensoredCurve } from '../progression/interval-censored.js';
import { CAUTIONS } from '../shared/cautions.js';
import { refuse } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { niceTicks } from './nice-ticks.js';
import { type ChartOptions, PERCENT_LABELS, themeOf } from './theme.js';
import { countOf } from './words.js';

export interface IntervalCensoredChartOptions extends ChartOptions {
  /** What the event is, as it ends the sentence "free of …": "a weaker pulse". */
  readonly event: string;
  /** What was followed, in the plural. Default "limb-sites". */
  readonly followed?: string;
  /** Unit of time. Default "days". */
  readonly timeUnit?: string;
}

const WIDTH = 560;
const HEIGHT = 260;

/**
 * Share still free of an event that is seen only at visits: between the highest and the lowest share that the visits allow lies a band, and where they agree a line. A curve
 * with one step a visit would date every event at the visit that found it.
 *
 * The title gives both ends halfway through the time followed.
 *
 * @throws InputError `no-events` where no event was seen.
 */
export function intervalCensoredChart(curve: IntervalCensoredCurve, options: IntervalCensoredChartOptions): Chart {
  const theme = themeOf(options);
  const { followed = 'limb-sites', timeUnit = 'days' } = options;
  const { entries, events } = curve.counts;
  if (events === 0) throw refuse('no-events', ['curve'], 'No event was seen, so there is no curve to draw.');
  const ends = curve.stretches.flatMap(({ left, right }) => (Number.isFinite(right) ? [left, right] : [left]));
  const end = Math.max(...ends);
  const times = [...new Set([0, ...ends])].sort((a, b) => a - b);
  const percent = (share: number): string => formatNumber(100 * share, 0);
  const between = (lowest: number, highest: number): string =>
    percent(lowest) === percent(highest) ? `${percent(lowest)} %` : `${percent(lowest)} to ${percent(highest)} %`;
  // From a time to the next the curve does not move; at the last one it ends, since nobody was seen after it.
  const steps = times.map((time, at) => {
    const next = times[at + 1];
    const inside = next === undefined ? (times.at(-2)! + time) / 2 : (time + next) / 2;
    const { lowest, highest } = curve.survival(inside);
    return {
      time,
      lowest,
      highest,
      words: `From day ${formatNumber(time, 0)}: ${between(lowest, highest)} still free.`,
    };
  });
  const half = Math.round(end / 2);
  const middle = curve.survival(half);
  const title = `Free of ${options.event}: ${between(middle.lowest, middle.highest)} after ${half} ${timeUnit}`;
  const x = {
    field: 'time',
    type: 'quantitative',
    scale: { domain: [0, end], nice: false },
    axis: { title: null, grid: false, values: niceTicks(end), domain: true, ticks: true },
  };
  const y = (field: string) => ({
    field,
    type: 'quantitative',
    scale: { domain: [0, 1], nice: false },
    axis: {
      title: null,
      values: [0, 0.25, 0.5, 0.75, 1],
      labelExpr: PERCENT_LABELS,
      grid: true,
    },
  });
  const edge = (field: string) => ({
    mark: { type: 'line', interpolate: 'step-after', strokeWidth: 1.6, color: theme.ink },
    encoding: { x, y: y(field) },
  });
  return chartOf(
    {
      title,
      subtitle: [
        `${countOf(entries, followed.replace(/s$/, ''), followed)}, ${countOf(events, 'event')}, each between two visits; horizontally ${timeUnit}`,
        'Turnbull estimate: the band is what the visits leave open, not an interval for chance',
      ],
      details: `${countOf(events, 'event')} among ${entries} followed, each known only to lie between two visits; ${steps
        .slice(0, -1)
        .map(({ words }) => words)
        .join(' ')}`,
      caution: CAUTIONS.notForCare,
      view: {
        width: WIDTH,
        height: HEIGHT,
        data: { values: steps },
        layer: [
          {
            mark: { type: 'area', interpolate: 'step-after', color: theme.categories[4], opacity: 0.3 },
            encoding: { x, y: y('lowest'), y2: { field: 'highest' } },
          },
          edge('highest'),
          edge('lowest'),
          {
            mark: { type: 'point', opacity: 0, size: 120 },
            encoding: { x, y: y('highest'), tooltip: { field: 'words' } },
          },
          ...legendLayers(
            [
              [
                { text: 'highest and lowest share that the visits allow', mark: 'line' as const },
                { text: 'left open between visits', mark: 'band' as const },
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

import { CAUTIONS } from '../shared/cautions.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { ArrivalAndStay, CountedShare } from '../unit-quality/arrival-and-stay.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { outOfWords, periodScale, placePeriods, scaleBreaks } from './period-axis.js';
import { type ChartOptions, PERCENT_LABELS, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, sentenceCase } from './words.js';

const HEIGHT = 220;
const SERIES = [
  { key: 'onArrival', name: 'on arrival', shift: -0.12, shape: 'circle' },
  { key: 'newDuringStay', name: 'new during stay', shift: 0.12, shape: 'diamond' },
] as const;

/**
 * The share of stays with a finding on arrival, and the share in which it was new during the stay,
 * period by period: did people bring it, or did it come on the unit? Each dot has its interval and
 * its counts beneath. The two lines are of different stays and are not added up.
 */
export function arrivalAndStayChart(result: ArrivalAndStay, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const { segments } = result;
  const { placed, gaps, end, step } = placePeriods(segments);
  const x = periodScale(end);
  const colors = { onArrival: theme.ink, newDuringStay: theme.categories[1]! };
  let run = 0;
  const dots = SERIES.flatMap(({ key, name, shift, shape }) => {
    let lastSegment = -1;
    return placed.flatMap(({ period, segment, at }) => {
      const { count, outOf, interval } = period[key];
      // Nobody there, or hidden: the line breaks.
      if (!(outOf > 0) || segment !== lastSegment) run++;
      lastSegment = segment;
      if (!(outOf > 0)) return [];
      return [
        {
          at: at + shift,
          run,
          shape,
          color: colors[key],
          value: count / outOf,
          lower: interval.lower,
          upper: interval.upper,
          words: `${period.label}, ${name}: ${formatCount(count)} of ${countOf(outOf, 'stay')} (${percent(count / outOf)}, ${formatNumber(100 * interval.level, 0)} % interval ${percent(interval.lower)} to ${percent(interval.upper)}).`,
        },
      ];
    });
  });
  const top = Math.min(1, Math.ceil(Math.max(0.2, ...dots.map((dot) => dot.upper)) * 10) / 10);
  const y = {
    type: 'quantitative',
    scale: { domain: [0, top], nice: false },
    axis: {
      title: null,
      tickCount: 5,
      grid: true,
      labelExpr: PERCENT_LABELS,
      labelPadding: 8,
    },
  };
  const color = { field: 'color', type: 'nominal', scale: null };
  const small = { fontSize: TEXT_SIZES.small, lineHeight: 15 };
  const pair = ({ count, outOf }: CountedShare): string[] =>
    Number.isNaN(count) ? ['not', 'shown'] : [formatCount(count), outOfWords(outOf, step)];
  const under = (field: string, at: number, mark: object) => ({
    data: {
      values: placed.map(({ period, at: place }) => ({
        at: place,
        label: period.label,
        onArrival: pair(period.onArrival),
        newDuringStay: pair(period.newDuringStay),
      })),
    },
    mark: { type: 'text', baseline: 'top', ...mark },
    encoding: { x: { field: 'at', ...x }, y: { value: HEIGHT + at }, text: { field } },
  });
  const rowName = (text: string, at: number) => ({
    data: { values: [{}] },
    mark: { type: 'text', align: 'right', baseline: 'top', color: theme.muted, fontSize: TEXT_SIZES.small },
    encoding: { x: { value: -8 }, y: { value: HEIGHT + at }, text: { value: text } },
  });
  const shown = placed.filter(({ period }) => !Number.isNaN(period.onArrival.count));
  const sums = SERIES.map(({ key, name }) => {
    const shares = shown.map(({ period }) => period[key]);
    return `${sentenceCase(name)} ${formatCount(sum(shares.map((share) => share.count)))} of ${formatCount(sum(shares.map((share) => share.outOf)))} stays`;
  });
  const unknown = sum(shown.map(({ period }) => period.unknownOnArrival));
  const findings = [...new Set(segments.map((segment) => segment.finding))].join(', then ');
  const title = `${result.signLabel}: was ${findings} there on arrival, or new during the stay?`;
  const level = dots[0] === undefined ? 95 : 100 * (placed[0]!.period.onArrival.interval.level ?? 0.95);
  return chartOf(
    {
      from: result,
      title,
      subtitle: [
        `Scale: ${segments.map((segment) => segment.scaleLabel).join(', then ')}; ${countOf(placed.length, 'period')}; bars are ${formatNumber(level, 0)} % intervals`,
        `${sums.join('. ')}. ${sentenceCase(countOf(unknown, 'stay'))} without a reading on arrival ${unknown === 1 ? 'is' : 'are'} in neither`,
      ],
      details: `${sums.join('; ')}. ${countOf(unknown, 'stay')} without a reading on arrival. ${dots
        .slice(-1)
        .map((dot) => `Last: ${dot.words}`)
        .join('')}`,
      caution: `${CAUTIONS.ratesAreNotPersons} ${CAUTIONS.edemaHasManyCauses}`,
      view: {
        width: Math.round(end * step),
        height: HEIGHT,
        layer: [
          ...SERIES.map(({ shape }) => ({
            data: { values: dots.filter((dot) => dot.shape === shape) },
            layer: [
              {
                mark: { type: 'rule', strokeWidth: 4, opacity: 0.25, strokeCap: 'round' },
                encoding: {
                  x: { field: 'at', ...x },
                  y: { field: 'lower', ...y },
                  y2: { field: 'upper' },
                  color,
                  tooltip: { field: 'words' },
                },
              },
              {
                mark: { type: 'line', strokeWidth: 1.25 },
                encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y }, color, detail: { field: 'run' } },
              },
              {
                mark: {
                  type: 'point',
                  shape,
                  filled: true,
                  opacity: 1,
                  size: shape === 'circle' ? 90 : 130,
                  stroke: theme.paper,
                  strokeWidth: 1.5,
                },
                encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y }, color, tooltip: { field: 'words' } },
              },
            ],
          })),
          ...scaleBreaks(gaps, end, HEIGHT, theme),
          under('label', 8, {}),
          under('onArrival', 30, small),
          under('newDuringStay', 66, small),
          rowName('arrival', 31),
          rowName('new', 67),
          ...legendLayers(
            [SERIES.map(({ key, name, shape }) => ({ text: name, mark: shape, color: colors[key] }) as const)],
            theme,
            600,
          ),
        ],
      },
    },
    theme,
  );
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

function percent(share: number): string {
  return `${formatNumber(100 * share, 0)} %`;
}

import { CAUTIONS } from '../shared/cautions.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { ArrivalAndStay, CountedShare } from '../unit-quality/arrival-and-stay.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { periodScale, placePeriods, scaleBreaks } from './period-axis.js';
import { type ChartOptions, TEXT_SIZES, themeOf } from './theme.js';
import { countOf } from './words.js';

const HEIGHT = 220;

/**
 * On arrival against new during stay: two lines over the periods with their counts beneath, a gap where the scale changes. The two have different
 * denominators, so their heights are not added or subtracted.
 */
export function arrivalAndStayChart(result: ArrivalAndStay, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const { placed, gaps, end, step } = placePeriods(result.segments);
  const x = periodScale(end);
  const series = [
    {
      name: 'on arrival',
      of: (period: (typeof placed)[number]['period']) => period.onArrival,
      color: theme.categories[1]!,
      shape: 'circle',
      filled: false,
    },
    {
      name: 'new during stay',
      of: (period: (typeof placed)[number]['period']) => period.newDuringStay,
      color: theme.ink,
      shape: 'circle',
      filled: true,
    },
  ] as const;
  const shares = placed.flatMap(({ period }) =>
    [period.onArrival, period.newDuringStay].filter(({ outOf }) => outOf > 0),
  );
  const top = Math.min(1, Math.ceil(10 * Math.max(0.2, ...shares.map(({ count, outOf }) => count / outOf))) / 10);
  const y = {
    type: 'quantitative',
    scale: { domain: [0, top], nice: false },
    axis: {
      title: null,
      labelExpr: "format(100 * datum.value, '.0f') + ' %'",
      labelPadding: 8,
      tickCount: 5,
      grid: true,
    },
  };
  const pointsOf = (of: (typeof series)[number]['of'], name: string) => {
    let run = 0;
    let last = 0;
    return placed.flatMap(({ period, segment, at }) => {
      const share = of(period);
      if (share.outOf === 0 || segment !== last) run++;
      last = segment;
      return share.outOf === 0
        ? []
        : [{ at, run, value: share.count / share.outOf, words: `${period.label}, ${name}: ${wordsOf(share)}.` }];
    });
  };
  const total = (of: (typeof series)[number]['of']) =>
    placed.reduce((sum, { period }) => ({ count: sum.count + of(period).count, outOf: sum.outOf + of(period).outOf }), {
      count: 0,
      outOf: 0,
    });
  const [arrived, fresh] = series.map(({ of }) => total(of)) as [
    { count: number; outOf: number },
    { count: number; outOf: number },
  ];
  const finding = result.segments[0]?.finding ?? '';
  const title = `${result.signLabel}, ${finding}: ${formatCount(arrived.count)} of ${formatCount(arrived.outOf)} stays had it on arrival, in ${formatCount(fresh.count)} it was new`;
  const rows = series.flatMap(({ name, of, color }, row) => {
    const top1 = HEIGHT + 30 + 40 * row;
    const text = (field: string, dy: number, mark: object) => ({
      data: {
        values: placed.map(({ period, at }) => ({
          at,
          count: formatCount(of(period).count),
          outOf: `of ${formatCount(of(period).outOf)}`,
        })),
      },
      mark: { type: 'text', baseline: 'top', fontSize: TEXT_SIZES.small, ...mark },
      encoding: { x: { field: 'at', ...x }, y: { value: top1 + dy }, text: { field } },
    });
    return [
      text('count', 0, { fontWeight: 600, color }),
      text('outOf', 15, { color: theme.muted }),
      {
        data: { values: [{}] },
        mark: { type: 'text', align: 'right', baseline: 'top', fontSize: TEXT_SIZES.small, color, lineHeight: 14 },
        encoding: {
          x: { value: -6 },
          y: { value: top1 },
          text: { value: name === 'on arrival' ? ['on arrival'] : ['new'] },
        },
      },
    ];
  });
  return chartOf(
    {
      title,
      subtitle: [
        `Scale: ${result.segments.map(({ scaleLabel }) => scaleLabel).join(', then ')}; ${countOf(placed.length, 'period')}; each stay once`,
        'On arrival: of stays read on arrival. New: of stays free on arrival and read again; what was there on arrival never counts as new',
      ],
      description: `${title}. ${placed.map(({ period }) => `${period.label}: on arrival ${wordsOf(period.onArrival)}, new ${wordsOf(period.newDuringStay)}.`).join(' ')}`,
      caution: `${CAUTIONS.ratesAreNotPersons} ${CAUTIONS.edemaHasManyCauses}`,
      view: {
        width: Math.round(end * step),
        height: HEIGHT,
        layer: [
          ...series.flatMap(({ name, of, color, shape, filled }) => {
            const values = pointsOf(of, name);
            return [
              {
                data: { values },
                mark: { type: 'line', color, strokeWidth: 1.5, ...(filled ? {} : { strokeDash: [5, 4] }) },
                encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y }, detail: { field: 'run' } },
              },
              {
                data: { values },
                mark: {
                  type: 'point',
                  shape,
                  filled: true,
                  opacity: 1,
                  size: 80,
                  fill: filled ? color : theme.paper,
                  stroke: color,
                  strokeWidth: 2,
                },
                encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y }, tooltip: { field: 'words' } },
              },
            ];
          }),
          {
            data: { values: placed.map(({ period, at }) => ({ at, text: period.label })) },
            mark: { type: 'text', baseline: 'top' },
            encoding: { x: { field: 'at', ...x }, y: { value: HEIGHT + 8 }, text: { field: 'text' } },
          },
          ...rows,
          ...scaleBreaks(gaps, end, HEIGHT, theme),
          ...legendLayers(
            [
              [
                { text: 'on arrival', mark: 'ring', color: theme.categories[1]! },
                { text: 'new during stay', mark: 'circle', color: theme.ink },
              ],
            ],
            theme,
            600,
          ),
        ],
      },
    },
    theme,
  );
}

function wordsOf({ count, outOf }: CountedShare): string {
  return outOf === 0
    ? 'nobody'
    : `${formatCount(count)} of ${formatCount(outOf)} (${formatNumber((100 * count) / outOf, 0)} %)`;
}

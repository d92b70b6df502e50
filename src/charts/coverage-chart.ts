import { INTERVAL_WORDS, type IntervalCoverage, type IntervalCoverageRow } from '../planning/interval-coverage.js';
import { ABOUT_NOBODY } from '../shared/audience.js';
import { refuse } from '../shared/input-error.js';
import { type Chart, chartOf } from './chart.js';
import { type ChartOptions, PERCENT_LABELS, type Theme, themeOf } from './theme.js';
import { countOf, listOf } from './words.js';

const WIDTH = 560;
const ROW = 22;
/** Coverage that is as good as asked for. */
const BAND = { from: 0.935, to: 0.965 };

/**
 * How often 95 % intervals held the value they are about: one stroke for each coefficient in each design, one row for each kind of interval, one panel for each number of
 * people. The band is .935 to .965.
 *
 * The title gives the range of the default intervals beside that of intervals which take limbs as independent.
 *
 * @throws InputError `no-studies` where there is no design, or a simulation was stopped before its first study.
 */
export function coverageChart(coverages: readonly IntervalCoverage[], options: ChartOptions = {}): Chart {
  if (coverages.length === 0 || coverages.some(({ studies }) => studies === 0))
    throw refuse('no-studies', ['coverages'], 'There is no design with simulated studies.');
  const theme = themeOf(options);
  const people = [...new Set(coverages.map(({ design }) => design.patients))].sort((a, b) => a - b);
  const rows = coverages.flatMap(({ rows }) => rows).filter(({ coverage }) => !Number.isNaN(coverage));
  const least = Math.min(...rows.filter(({ interval }) => interval in INTERVAL_WORDS).map(({ coverage }) => coverage));
  const axisFrom = Math.min(0.8, Math.floor(least * 10) / 10);
  const studies = [...new Set(coverages.map((one) => one.studies))].sort((a, b) => a - b);
  const ranges = Object.entries(INTERVAL_WORDS).flatMap(([interval, words]) => {
    const own = rows.filter((row) => row.interval === interval);
    return own.length === 0 ? [] : [`${words} ${rangeOf(own)}`];
  });
  return chartOf(
    {
      from: ABOUT_NOBODY,
      title: titleOf(rows),
      subtitle: [
        `Each stroke: one coefficient in one design, its share of ${listOf(studies.map((count) => countOf(count, 'simulated study', 'simulated studies')))} whose interval held the value`,
        'Gray band: 93.5 to 96.5 %, as good as asked for',
      ],
      details: `${ranges.join('; ')}.`,
      caution:
        'Invented studies: elsewhere intervals hold as often as here if limbs and readings there are as assumed.',
      view: {
        spacing: 38,
        bounds: 'flush',
        vconcat: people.map((patients, at) =>
          panelOf(
            coverages.filter(({ design }) => design.patients === patients),
            theme,
            axisFrom,
            at === people.length - 1,
          ),
        ),
      },
    },
    theme,
  );
}

function titleOf(rows: readonly IntervalCoverageRow[]): string {
  const range = (interval: string): string => rangeOf(rows.filter((row) => row.interval === interval));
  const ours = `95 % intervals as given here hold the value in ${range('default')} of studies`;
  return rows.some(({ interval }) => interval === 'targets independent')
    ? `${ours}, with limbs as independent in ${range('targets independent')}`
    : ours;
}

function rangeOf(rows: readonly IntervalCoverageRow[]): string {
  const shares = rows.map(({ coverage }) => coverage);
  const [least, most] = [Math.min(...shares), Math.max(...shares)].map((share) => Math.round(100 * share));
  return least === most ? `${least} %` : `${least} to ${most} %`;
}

function panelOf(coverages: readonly IntervalCoverage[], theme: Theme, from: number, last: boolean): object {
  const values = coverages.flatMap(({ design, rows }) =>
    rows.flatMap(({ statistic, interval, coverage, longRunValue }) => {
      const kind = INTERVAL_WORDS[interval];
      if (kind === undefined || Number.isNaN(coverage)) return [];
      return [
        {
          kind,
          coverage,
          words: `${statistic} of ${longRunValue.toFixed(2)}, ${design.patients} people, ${countOf(design.limbs * design.sites, 'finding')} each, ${design.assessors} assessors; ${kind}: ${(100 * coverage).toFixed(1)} % hold it.`,
        },
      ];
    }),
  );
  const scale = { domain: [from, 1], nice: false, zero: false };
  const x = {
    type: 'quantitative',
    scale,
    axis: last ? { title: null, format: '.0%', labelExpr: PERCENT_LABELS, values: ticksFrom(from), grid: false } : null,
  };
  const y = {
    field: 'kind',
    type: 'ordinal',
    sort: Object.values(INTERVAL_WORDS),
    axis: { title: null, domain: false, ticks: false, labelLimit: 0, minExtent: 150, maxExtent: 150 },
  };
  return {
    width: WIDTH,
    height: ROW * Object.keys(INTERVAL_WORDS).length,
    title: {
      text: countOf(coverages[0]!.design.patients, 'person', 'people'),
      anchor: 'start',
      fontSize: 13,
      fontWeight: 600,
      offset: 6,
    },
    layer: [
      {
        data: { values: [BAND] },
        mark: { type: 'rect', color: theme.hairline, opacity: 0.55 },
        encoding: { x: { ...x, field: 'from' }, x2: { field: 'to' } },
      },
      {
        data: { values: [{ at: 0.95 }] },
        mark: { type: 'rule', color: theme.muted, strokeDash: [5, 4] },
        encoding: { x: { ...x, field: 'at' } },
      },
      {
        data: { values },
        mark: { type: 'tick', thickness: 2, size: ROW - 8, opacity: 0.6 },
        encoding: {
          x: { ...x, field: 'coverage' },
          y,
          color: {
            condition: { test: `datum.kind === '${INTERVAL_WORDS.default}'`, value: theme.ink },
            value: theme.signal,
          },
          tooltip: { field: 'words' },
        },
      },
    ],
  };
}

function ticksFrom(from: number): readonly number[] {
  const step = from < 0.75 ? 0.1 : 0.05;
  return Array.from({ length: Math.round((1 - from) / step) + 1 }, (_, at) => from + at * step);
}

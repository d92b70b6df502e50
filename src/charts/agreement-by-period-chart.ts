import type { Estimate } from '../shared/estimate.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { AgreementByGroup } from '../study/agreement-study.js';
import { type Chart, chartOf } from './chart.js';
import { type ChartOptions, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, countsWords, intervalWords, listOf, sentenceCase, valueWithInterval } from './words.js';

const HEIGHT = 240;
const WIDTH = 620;
const WIDEST_STEP = 90;

/**
 * Agreement over periods or rounds: an interval and a dot each, the number of people under it, and the
 * band of all periods together. No line joins the dots: the periods are other people, not one course.
 *
 * The title names the periods whose interval lies wholly below or above that of all together; where
 * none does, it says that none can be told from the whole.
 */
export function agreementByPeriodChart(agreement: AgreementByGroup, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const { pooled, rows } = agreement;
  const step = Math.min(WIDEST_STEP, WIDTH / Math.max(1, rows.length));
  const values = rows.map((row, at) => valuesOf(row.label, row.estimate, (at + 0.5) * step));
  const width = Math.round(step * rows.length);
  const lowest = Math.min(0, ...values.flatMap((row) => [row.lower ?? 0, row.value ?? 0]));
  const from = Math.floor(lowest * 5) / 5;
  const zero = agreement.chanceCorrected ? 'as by chance' : 'never the same';
  const x = { field: 'x', type: 'quantitative', scale: null };
  const y = {
    type: 'quantitative',
    scale: { domain: [from, 1], nice: false },
    axis: {
      title: null,
      grid: false,
      tickMinStep: 0.2,
      labelExpr: `datum.value === 0 ? '${zero}  0' : datum.value === 1 ? 'always the same  1' : format(datum.value, '.1f')`,
      labelLimit: 0,
    },
  };
  const under = (field: string, at: number, mark: object = {}) => ({
    mark: { type: 'text', baseline: 'top', ...mark },
    encoding: { x, y: { value: HEIGHT + at }, text: { field } },
  });
  const small = { fontSize: TEXT_SIZES.small, color: theme.muted };
  const title = titleOf(agreement);
  return chartOf(
    {
      from: agreement,
      title,
      subtitle: [
        `${agreement.signLabel}, ${agreement.scaleLabel}: ${countsWords(pooled.counts)}`,
        `${sentenceCase(pooled.statistic)} with ${intervalWords(pooled.interval)}; band: all together ${valueWithInterval(pooled.value, pooled.interval)}`,
      ],
      details: [
        `${sentenceCase(pooled.statistic)} of ${agreement.signLabel.toLowerCase()} in ${countOf(rows.length, 'group')}, each with its ${formatNumber(100 * pooled.interval.level, 0)} % interval.`,
        ...rows.map(
          (row) => `${sentenceCase(row.label)}: ${valueWithInterval(row.estimate.value, row.estimate.interval)}.`,
        ),
        `All together ${valueWithInterval(pooled.value, pooled.interval)}.`,
      ].join(' '),
      view: {
        width,
        height: HEIGHT,
        data: { values },
        layer: [
          {
            data: { values: [{ lower: pooled.interval.lower, upper: pooled.interval.upper }] },
            mark: { type: 'rect', color: theme.categories[1], opacity: 0.12 },
            encoding: { y: { field: 'lower', ...y }, y2: { field: 'upper' } },
          },
          {
            data: { values: [{ at: 0 }, { at: 1 }] },
            mark: { type: 'rule', color: theme.muted },
            encoding: { y: { field: 'at', ...y } },
          },
          {
            mark: { type: 'rule', strokeWidth: 3, strokeCap: 'round' },
            encoding: { x, y: { field: 'lower', ...y }, y2: { field: 'upper' }, tooltip: { field: 'words' } },
          },
          {
            mark: {
              type: 'point',
              filled: true,
              opacity: 1,
              size: 120,
              color: theme.ink,
              stroke: theme.paper,
              strokeWidth: 1.5,
            },
            encoding: { x, y: { field: 'value', ...y }, tooltip: { field: 'words' } },
          },
          under('label', 8),
          under('text', 29, { fontWeight: 600 }),
          under('people', 48, small),
        ],
      },
    },
    theme,
  );
}

function valuesOf(label: string, estimate: Estimate, x: number) {
  const { value, interval, counts, notes } = estimate;
  const number = (figure: number): number | null => (Number.isFinite(figure) ? figure : null);
  return {
    label,
    x,
    value: number(value),
    lower: number(interval.lower),
    upper: number(interval.upper),
    text: Number.isNaN(value) ? 'not defined' : formatNumber(value),
    people: countOf(counts.clusters, 'person', 'people'),
    words: [
      `${sentenceCase(label)}: ${estimate.statistic} ${valueWithInterval(value, interval)}, ${formatNumber(100 * interval.level, 0)} % interval; ${countsWords(counts)} (${formatCount(counts.ratings)} readings).`,
      ...notes.map((note) => note.message),
    ].join(' '),
  };
}

function titleOf({ rows, pooled }: AgreementByGroup): string {
  const below = rows.filter((row) => row.estimate.interval.upper < pooled.interval.lower).map((row) => row.label);
  const above = rows.filter((row) => row.estimate.interval.lower > pooled.interval.upper).map((row) => row.label);
  const parts = [
    ...(below.length === 0 ? [] : [`less in ${listOf(below)}`]),
    ...(above.length === 0 ? [] : [`more in ${listOf(above)}`]),
  ];
  if (parts.length === 0) return 'Agreement in none of these can be told from that of all together';
  return `Assessors agreed ${listOf(parts)} than in all together`;
}

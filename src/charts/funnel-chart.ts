import { CAUTIONS } from '../shared/cautions.js';
import { refuse } from '../shared/input-error.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { Funnel } from '../unit-quality/funnel.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { type ChartOptions, PERCENT_LABELS, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, listOf, sentenceCase } from './words.js';

export interface FunnelChartOptions extends ChartOptions {
  /** Codes of the units, in the order of the funnel. */
  readonly units: readonly string[];
  /** What is held against the limits: "Pitting edema of grade 2 or more". */
  readonly what: string;
  /** What is counted, in the plural. */
  readonly counted: string;
}

const WIDTH = 560;
const HEIGHT = 300;

/**
 * Several units against the share of all of them: each unit at its size, over the range in which chance
 * alone would put it (95 % and 99.8 %). No order and no ranks: small units swing.
 *
 * Throws `InputError` `bad-length` where there is not one code a unit.
 */
export function funnelChart(funnel: Funnel, options: FunnelChartOptions): Chart {
  const theme = themeOf(options);
  const { what, counted } = options;
  if (options.units.length !== funnel.units.length)
    throw refuse(
      'bad-length',
      ['options', 'units'],
      `There are ${countOf(options.units.length, 'code')} for ${countOf(funnel.units.length, 'unit')}.`,
      'give one for each unit.',
    );
  const values = funnel.units.flatMap((unit, at) =>
    unit === undefined
      ? []
      : [
          {
            unit: options.units[at]!,
            size: unit.size,
            share: unit.share,
            innerLower: unit.inner.lower,
            innerUpper: unit.inner.upper,
            outerLower: unit.outer.lower,
            outerUpper: unit.outer.upper,
            outside: unit.outside ? 'yes' : 'no',
            words: `${options.units[at]}: ${percent(unit.share)} of ${formatCount(unit.size)} ${counted}; by chance 95 of 100 such units lie between ${percent(unit.inner.lower)} and ${percent(unit.inner.upper)}, 998 of 1,000 between ${percent(unit.outer.lower)} and ${percent(unit.outer.upper)}.`,
          },
        ],
  );
  const outside = values.filter((row) => row.outside === 'yes').map((row) => row.unit);
  const largest = Math.max(...values.map((row) => row.size));
  const top = Math.min(1, Math.max(...values.flatMap((row) => [row.share, row.outerUpper])) * 1.08);
  const x = {
    type: 'quantitative',
    scale: { domain: [0, largest * 1.06], nice: false },
    axis: { title: `${counted} assessed`, grid: false, tickCount: 6, domain: true },
  };
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
  const range = (from: string, to: string, mark: object) => ({
    mark: { type: 'rule', ...mark },
    encoding: { x: { field: 'size', ...x }, y: { field: from, ...y }, y2: { field: to }, tooltip: { field: 'words' } },
  });
  const color = { condition: { test: "datum.outside === 'yes'", value: theme.signal }, value: theme.ink };
  const title =
    outside.length === 0
      ? 'No unit lies further from the others than chance explains for its size'
      : `${listOf(outside)} ${outside.length === 1 ? 'lies' : 'lie'} further from all units together than chance explains`;
  const spread = Math.sqrt(funnel.overdispersion.winsorized);
  return chartOf(
    {
      from: funnel,
      title,
      subtitle: [
        `${what}: ${countOf(values.length, 'unit')}, all together ${percent(funnel.target)}`,
        `Bars: where chance alone puts a unit of that size, 95 % thick and 99.8 % thin; units spread ${formatNumber(spread, 1)} times as widely as that`,
      ],
      details: `${sentenceCase(what)} in ${countOf(values.length, 'unit')}: ${values.map((row) => `${row.unit} ${percent(row.share)} of ${formatCount(row.size)}`).join(', ')}.`,
      caution: `${CAUTIONS.ratesAreNotPersons} Units are not ranked: their patients differ, and small units swing.`,
      view: {
        width: WIDTH,
        height: HEIGHT,
        data: { values },
        layer: [
          {
            data: { values: [{ at: funnel.target }] },
            mark: { type: 'rule', color: theme.categories[1], strokeWidth: 1.5 },
            encoding: { y: { field: 'at', ...y } },
          },
          range('outerLower', 'outerUpper', { color: theme.categories[4], strokeWidth: 1.5 }),
          range('innerLower', 'innerUpper', { color: theme.categories[4], strokeWidth: 6, opacity: 0.5 }),
          {
            mark: { type: 'point', filled: true, opacity: 1, stroke: theme.paper, strokeWidth: 1.5 },
            encoding: {
              x: { field: 'size', ...x },
              y: { field: 'share', ...y },
              color,
              shape: { condition: { test: "datum.outside === 'yes'", value: 'diamond' }, value: 'circle' },
              size: { condition: { test: "datum.outside === 'yes'", value: 190 }, value: 110 },
              tooltip: { field: 'words' },
            },
          },
          {
            mark: { type: 'text', align: 'left', dx: 9, fontSize: TEXT_SIZES.small },
            encoding: { x: { field: 'size', ...x }, y: { field: 'share', ...y }, text: { field: 'unit' } },
          },
          ...legendLayers(
            [
              [
                { text: 'a unit', mark: 'circle', color: theme.ink },
                { text: 'all units together', mark: 'line', color: theme.categories[1]! },
                { text: 'where chance puts it', mark: 'bar', color: theme.categories[4]! },
                ...(outside.length > 0 ? [{ text: 'outside', mark: 'diamond', color: theme.signal } as const] : []),
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

function percent(share: number): string {
  return `${formatNumber(100 * share, 0)} %`;
}

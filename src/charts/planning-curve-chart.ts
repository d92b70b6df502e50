import type { PrecisionByPeople } from '../planning/precision-by-people.js';
import { ABOUT_NOBODY } from '../shared/audience.js';
import { refuse } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import { type Chart, chartOf } from './chart.js';
import { type ChartOptions, PLOT_WIDTH, themeOf } from './theme.js';
import { countOf } from './words.js';

export interface PlanningCurveOptions extends ChartOptions {
  /** The number of people to mark: those who are planned, or those who may come. */
  readonly marked?: number;
}

const HEIGHT = 260;
const WIDTH = PLOT_WIDTH - 110;

/**
 * What if only 22 come: half the width of the interval against people, the middle study as a line and 8 of 10 studies as a band, the width that is wanted as a rule,
 * and one number of people marked.
 *
 * Throws `InputError` `not-simulated` where the marked number of people was not simulated.
 */
export function planningCurveChart(precision: PrecisionByPeople, options: PlanningCurveOptions = {}): Chart {
  const theme = themeOf(options);
  const rows = precision.rows.filter((row) => !Number.isNaN(row.halfWidth));
  if (rows.length === 0)
    throw refuse('not-defined', ['precision'], 'No simulated study has an interval, so there is nothing to draw.');
  const wanted = precision.wantedHalfWidth;
  const marked = options.marked === undefined ? undefined : precision.with(options.marked);
  const plusMinus = (value: number): string => `± ${formatNumber(value)}`;
  const values = rows.map((row) => ({
    people: row.people,
    half: row.halfWidth,
    from: row.halfWidthLower,
    to: row.halfWidthUpper,
    words: `${countOf(row.people, 'person', 'people')}, ${countOf(row.findings, 'finding')}: ${plusMinus(row.halfWidth)} in the middle study, ${formatNumber(row.halfWidthLower)} to ${formatNumber(row.halfWidthUpper)} in 8 of 10; ${formatNumber(100 * row.preciseEnough, 0)} % of studies reach ${plusMinus(wanted)}.`,
  }));
  const enough = precision.rows.find((row) => row.halfWidth <= wanted);
  const title =
    marked === undefined
      ? enough === undefined
        ? `No number of people tried gives an interval of ${plusMinus(wanted)}`
        : `${enough.people} people give an interval of ${plusMinus(wanted)} or less in half of all studies`
      : `With ${marked.people} people the interval is ${plusMinus(marked.halfWidth)} in the middle study${marked.halfWidth <= wanted ? '' : `, wider than the ${plusMinus(wanted)} wanted`}`;
  const { limbs, sites, assessors } = precision.design;
  const axis = { labelPadding: 8, titlePadding: 10 };
  const x = {
    field: 'people',
    type: 'quantitative',
    scale: { zero: false, nice: false, padding: 12 },
    axis: { ...axis, title: 'people', values: rows.map((row) => row.people), grid: false },
  };
  const y = (field: string) => ({
    field,
    type: 'quantitative',
    scale: { domain: [0, Math.max(...rows.map((row) => row.halfWidthUpper), wanted) * 1.08], nice: false },
    axis: { ...axis, title: 'value to either limit of its interval', grid: true, tickCount: 6 },
  });
  const mark = marked === undefined ? [] : values.filter((row) => row.people === marked.people);
  return chartOf(
    {
      from: ABOUT_NOBODY,
      title,
      subtitle: [
        `${precision.statistic}: ${formatNumber(precision.longRunValue)} in the long run; ${countOf(limbs, 'limb')} with ${countOf(sites, 'site')} a person, ${countOf(assessors, 'assessor')}`,
        `${formatNumber(100 * precision.level, 0)} % intervals (${precision.method}); ${precision.studies} simulated studies of each size, seed ${precision.seed}; line: the middle study, band: 8 of 10`,
      ],
      details: `${values.map((row) => row.words).join(' ')}`,
      caution:
        'The curve rests on what was assumed of grades, scatter and likeness of limbs; a pilot tells how far off that is.',
      view: {
        width: WIDTH,
        height: HEIGHT,
        data: { values },
        layer: [
          {
            mark: { type: 'area', color: theme.categories[4], opacity: 0.3 },
            encoding: { x, y: y('from'), y2: { field: 'to' } },
          },
          {
            data: { values: [{ wanted, label: `${plusMinus(wanted)} wanted` }] },
            layer: [
              {
                mark: { type: 'rule', color: theme.muted, strokeDash: [5, 4] },
                encoding: { y: y('wanted') },
              },
              {
                mark: { type: 'text', align: 'right', baseline: 'bottom', dy: -4, color: theme.muted },
                encoding: { y: y('wanted'), x: { value: WIDTH - 4 }, text: { field: 'label' } },
              },
            ],
          },
          { mark: { type: 'line', color: theme.ink, strokeWidth: 1.75 }, encoding: { x, y: y('half') } },
          {
            mark: { type: 'point', filled: true, color: theme.ink, size: 46, opacity: 1 },
            encoding: { x, y: y('half'), tooltip: { field: 'words' } },
          },
          ...(mark.length === 0
            ? []
            : [
                {
                  data: {
                    values: mark.map((row) => ({ ...row, label: `${row.people} people: ${plusMinus(row.half)}` })),
                  },
                  layer: [
                    {
                      mark: { type: 'rule', color: theme.signal, strokeWidth: 1.5 },
                      encoding: { x, y: y('from'), y2: { field: 'to' } },
                    },
                    {
                      mark: {
                        type: 'point',
                        shape: 'diamond',
                        filled: true,
                        color: theme.signal,
                        size: 150,
                        opacity: 1,
                      },
                      encoding: { x, y: y('half'), tooltip: { field: 'words' } },
                    },
                    {
                      mark: { type: 'text', align: 'left', baseline: 'bottom', dx: 10, dy: -8, fontWeight: 600 },
                      encoding: { x, y: y('half'), text: { field: 'label' } },
                    },
                  ],
                },
              ]),
        ],
      },
    },
    theme,
  );
}

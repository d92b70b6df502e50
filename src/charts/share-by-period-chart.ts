import { CAUTIONS } from '../shared/cautions.js';
import { refuse } from '../shared/input-error.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { RunChart } from '../unit-quality/run-chart.js';
import type { PeriodShare, ShareByPeriod } from '../unit-quality/share-by-period.js';
import { type Chart, chartOf } from './chart.js';
import { hatchLines } from './hatch.js';
import { legendLayers } from './legend.js';
import { completeness, outOfWords, periodLabels, periodScale, placePeriods, scaleBreaks } from './period-axis.js';
import { type ChartOptions, PERCENT_LABELS, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, sentenceCase } from './words.js';

export interface ShareByPeriodChartOptions extends ChartOptions {
  /** What the run rules say, one for each segment in its order, over that segment's periods. */
  readonly runs?: readonly RunChart[];
}

const HEIGHT = 220;
const STRIP = 54;
const BAR = 0.62;

/**
 * The share of people with a finding by period: dots with intervals, the middle line, the counts
 * under each dot, a gap where the scale changes, and beneath it on the same axis how many of those
 * due were assessed at all. No trend line and no colors of praise or blame.
 *
 * With `runs` the points of a run that is longer than chance makes it are marked by shape and color,
 * and the title is the sentence of the last segment in which a rule is broken; else it is the question.
 *
 * Throws `InputError`: `bad-length` where there is not one run chart a segment.
 */
export function shareByPeriodChart(result: ShareByPeriod, options: ShareByPeriodChartOptions = {}): Chart {
  const theme = themeOf(options);
  const share = options.runs === undefined ? result : withRules(result, options.runs);
  const { segments, counted } = share;
  const { placed, gaps, end, step } = placePeriods(segments);
  const width = Math.round(end * step);
  const x = periodScale(end);
  const highest = Math.max(
    0.2,
    ...placed.map(({ period }) => Math.max(finite(period.interval?.upper) ?? 0, shareOf(period) ?? 0)),
  );
  const top = Math.min(1, Math.ceil(highest * 10) / 10);
  const percentAxis = { title: null, labelExpr: PERCENT_LABELS, labelPadding: 8 };
  const y = {
    type: 'quantitative',
    scale: { domain: [0, top], nice: false },
    axis: { ...percentAxis, tickCount: 5, grid: true },
  };
  let run = 0;
  let lastSegment = 0;
  const dots = placed.flatMap(({ period, segment, at }) => {
    const value = shareOf(period);
    if (value === null || segment !== lastSegment) run++;
    lastSegment = segment;
    if (value === null) return [];
    const finding = segments[segment]!.finding;
    return [
      {
        at,
        run,
        value,
        lower: finite(period.interval?.lower),
        upper: finite(period.interval?.upper),
        signal: period.signal === undefined ? 'no' : 'yes',
        words: [
          `${period.label}: ${finding} in ${formatCount(period.count ?? 0)} of ${formatCount(period.assessed)} ${counted} assessed (${percent(value)}${
            period.interval === undefined
              ? ''
              : `, ${formatNumber(100 * period.interval.level, 0)} % interval ${percent(period.interval.lower)} to ${percent(period.interval.upper)}`
          }).`,
          ...(period.signal === undefined ? [] : [period.signal]),
        ].join(' '),
      },
    ];
  });
  const middles = segments.flatMap((segment, at) => {
    const own = placed.filter((each) => each.segment === at);
    if (segment.middle === undefined || own.length === 0) return [];
    return [
      {
        left: own[0]!.at - 0.5,
        right: own[own.length - 1]!.at + 0.5,
        middle: segment.middle,
        text: percent(segment.middle),
      },
    ];
  });
  const strip = placed.filter(({ period }) => period.due > 0 && period.count !== null);
  const bar = (at: number) => ({ left: at - BAR / 2, right: at + BAR / 2 });
  const findings = [...new Set(segments.map((segment) => segment.finding))];
  const findingWords =
    findings.length === 1
      ? findings[0]!
      : `${findings[0]} (after the change of scale: ${findings.slice(1).join(', then ')})`;
  const question = `${share.signLabel}: what share of ${counted} had ${findingWords}?`;
  const title = share.sentence ?? question;
  const { assessed, due } = completeness(placed);
  const intervals = placed.find(({ period }) => period.interval !== undefined)?.period.interval;
  const color = { condition: { test: "datum.signal === 'yes'", value: theme.signal }, value: theme.ink };
  return chartOf(
    {
      from: share,
      title,
      subtitle: [
        `${share.signLabel}, share of those assessed; scale: ${segments.map((segment) => segment.scaleLabel).join(', then ')}`,
        `${sentenceCase(share.rule)}; ${countOf(placed.length, 'period')}, ${formatCount(assessed)} of ${formatCount(due)} ${counted} assessed${
          intervals === undefined
            ? ''
            : `; bars are ${formatNumber(100 * intervals.level, 0)} % intervals (${intervals.method})`
        }`,
      ],
      details: detailsOf(),
      caution: `${CAUTIONS.ratesAreNotPersons} ${CAUTIONS.notAssessedIsNotNormal}`,
      view: {
        spacing: 84,
        bounds: 'flush',
        vconcat: [
          {
            width,
            height: HEIGHT,
            layer: [
              {
                data: { values: middles },
                mark: { type: 'rule', color: theme.categories[1], strokeWidth: 1.5 },
                encoding: { x: { field: 'left', ...x }, x2: { field: 'right' }, y: { field: 'middle', ...y } },
              },
              {
                data: { values: middles },
                mark: {
                  type: 'text',
                  align: 'left',
                  dx: 4,
                  fontSize: TEXT_SIZES.small,
                },
                encoding: { x: { field: 'right', ...x }, y: { field: 'middle', ...y }, text: { field: 'text' } },
              },
              {
                data: { values: dots },
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
                data: { values: dots },
                mark: { type: 'line', color: theme.muted, strokeWidth: 1.25 },
                encoding: { x: { field: 'at', ...x }, y: { field: 'value', ...y }, detail: { field: 'run' } },
              },
              {
                data: { values: dots },
                mark: { type: 'point', filled: true, opacity: 1, size: 100, stroke: theme.paper, strokeWidth: 1.5 },
                encoding: {
                  x: { field: 'at', ...x },
                  y: { field: 'value', ...y },
                  color,
                  shape: { condition: { test: "datum.signal === 'yes'", value: 'diamond' }, value: 'circle' },
                  tooltip: { field: 'words' },
                },
              },
              ...legendLayers(
                [
                  [
                    { text: 'share of those assessed', mark: 'circle', color: theme.ink },
                    ...(intervals === undefined
                      ? []
                      : [{ text: `${formatNumber(100 * intervals.level, 0)} % interval`, mark: 'bar' } as const]),
                    ...(middles.length === 0
                      ? []
                      : [{ text: 'middle of the periods', mark: 'line', color: theme.categories[1]! } as const]),
                    ...(dots.some((dot) => dot.signal === 'yes')
                      ? [{ text: 'a rule says: unlikely by chance', mark: 'diamond', color: theme.signal } as const]
                      : []),
                  ],
                ],
                theme,
                width,
              ),
              ...scaleBreaks(gaps, end, HEIGHT, theme),
              ...periodLabels(placed, { end, step }, HEIGHT, theme, {
                words: counted,
                of: ({ count, assessed: of }) => (count === null ? null : [count, of]),
              }),
            ],
          },
          {
            width,
            height: STRIP,
            layer: [
              {
                data: {
                  values: strip.map(({ period, at }) => ({
                    ...bar(at),
                    done: period.assessed / period.due,
                    words: `${period.label}: ${formatCount(period.assessed)} of ${formatCount(period.due)} ${counted} assessed (${percent(period.assessed / period.due)}).`,
                  })),
                },
                mark: { type: 'rect', color: theme.categories[4] },
                encoding: {
                  x: { field: 'left', ...x },
                  x2: { field: 'right' },
                  y: {
                    field: 'done',
                    type: 'quantitative',
                    scale: { domain: [0, 1] },
                    axis: { ...percentAxis, values: [0, 1], grid: true },
                  },
                  y2: { datum: 0 },
                  tooltip: { field: 'words' },
                },
              },
              {
                data: {
                  values: strip
                    .filter(({ period }) => period.assessed < period.due)
                    .map(({ period, at }) => ({ ...bar(at), done: period.assessed / period.due })),
                },
                mark: { type: 'rect', fill: theme.paper, stroke: theme.muted, strokeWidth: 0.75 },
                encoding: {
                  x: { field: 'left', ...x },
                  x2: { field: 'right' },
                  y: { field: 'done', type: 'quantitative' },
                  y2: { datum: 1 },
                },
              },
              {
                data: {
                  values: strip.flatMap(({ period, at }) =>
                    hatchLines({ ...bar(at), bottom: period.assessed / period.due, top: 1 }, step, STRIP, 5),
                  ),
                },
                mark: { type: 'rule', color: theme.muted, strokeWidth: 0.75 },
                encoding: {
                  x: { field: 'x', ...x },
                  x2: { field: 'x2' },
                  y: { field: 'y', type: 'quantitative' },
                  y2: { field: 'y2' },
                },
              },
              {
                data: {
                  values: strip.map(({ period, at }) => ({
                    at,
                    text: [formatCount(period.assessed), outOfWords(period.due, step)],
                  })),
                },
                mark: {
                  type: 'text',
                  baseline: 'top',
                  lineHeight: 15,
                  fontSize: TEXT_SIZES.small,
                  color: theme.muted,
                },
                encoding: { x: { field: 'at', ...x }, y: { value: STRIP + 6 }, text: { field: 'text' } },
              },
              {
                data: { values: [{}] },
                mark: {
                  type: 'text',
                  align: 'left',
                  baseline: 'bottom',
                  fontSize: TEXT_SIZES.small,
                  color: theme.muted,
                },
                encoding: {
                  x: { value: 0 },
                  y: { value: -6 },
                  text: { value: 'Assessed, of those due (hatched: not assessed)' },
                },
              },
              ...actionLayers(),
            ],
          },
        ],
      },
    },
    theme,
  );

  function actionLayers(): object[] {
    const actions = (share.actions ?? []).flatMap(({ label, words }, row) => {
      const place = placed.find(({ period }) => period.label === label);
      return place === undefined
        ? []
        : [{ at: place.at, text: words, y: STRIP + 56 + 18 * row, side: place.at > end / 2 ? 'left' : 'right' }];
    });
    if (actions.length === 0) return [];
    return [
      ...(['left', 'right'] as const).map((side) => ({
        data: { values: actions.filter((action) => action.side === side) },
        mark: {
          type: 'text',
          align: side === 'left' ? 'right' : 'left',
          dx: side === 'left' ? -9 : 9,
          fontSize: TEXT_SIZES.small,
        },
        encoding: {
          x: { field: 'at', ...x },
          y: { field: 'y', type: 'quantitative', scale: null },
          text: { field: 'text' },
        },
      })),
      {
        data: { values: actions },
        mark: { type: 'point', shape: 'square', filled: true, opacity: 1, size: 45, color: theme.muted },
        encoding: { x: { field: 'at', ...x }, y: { field: 'y', type: 'quantitative', scale: null } },
      },
    ];
  }

  function detailsOf(): string {
    const last = placed[placed.length - 1];
    const value = last === undefined ? null : shareOf(last.period);
    return [
      `Share of ${counted} with ${findingWords} in ${countOf(placed.length, 'period')}.`,
      ...(last === undefined || value === null
        ? []
        : [
            `In the last period, ${last.period.label}, it was ${formatCount(last.period.count ?? 0)} of ${formatCount(last.period.assessed)} (${percent(value)}).`,
          ]),
      ...middles.map(({ text }) => `The middle of the periods is ${text}.`),
      `${formatCount(assessed)} of ${formatCount(due)} ${counted} were assessed.`,
      ...(gaps.length === 0 ? [] : ['The scale changes; what lies before and after cannot be compared.']),
    ].join(' ');
  }
}

/** The share with what the rules say: points of a long run carry the sentence, and so does the title. */
function withRules(share: ShareByPeriod, runs: readonly RunChart[]): ShareByPeriod {
  if (runs.length !== share.segments.length)
    throw refuse(
      'bad-length',
      ['options', 'runs'],
      `There are ${countOf(runs.length, 'run chart')} for ${countOf(share.segments.length, 'segment')}.`,
      'give one for each stretch of one scale: share.segments.map(…).',
    );
  const sentence = share.sentence ?? runs.filter((run) => run.signal).at(-1)?.sentence;
  return {
    ...share,
    ...(sentence === undefined ? {} : { sentence: sentence.replace(/\.$/, '') }),
    segments: share.segments.map((segment, at) => {
      const { longestRun, sentence: signal } = runs[at]!;
      const long = longestRun.length > longestRun.limit && runs[at]!.signal;
      return {
        ...segment,
        periods: segment.periods.map((period, place) =>
          long && place >= longestRun.from && place <= longestRun.to ? { ...period, signal } : period,
        ),
      };
    }),
  };
}

function shareOf(period: PeriodShare): number | null {
  return period.count === null || period.assessed === 0 ? null : period.count / period.assessed;
}

function percent(share: number): string {
  return `${formatNumber(100 * share, 0)} %`;
}

function finite(value: number | undefined): number | null {
  return value === undefined || Number.isNaN(value) ? null : value;
}

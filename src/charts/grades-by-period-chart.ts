import { CAUTIONS } from '../shared/cautions.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { GradesByPeriod, GradesSegment } from '../unit-quality/grades-by-period.js';
import { type Chart, chartOf } from './chart.js';
import { hatchLines } from './hatch.js';
import { type LegendEntry, legendLayers } from './legend.js';
import { periodLabels, periodScale, placePeriods, scaleBreaks } from './period-axis.js';
import { type ChartOptions, gradeColors, PERCENT_LABELS, TEXT_SIZES, textOn, themeOf } from './theme.js';
import { countOf, sentenceCase } from './words.js';

const HEIGHT = 260;
const BAR = 0.78;

/**
 * Shares of all grades by period up to 100 % of those who should have been assessed, "not assessed"
 * as a hatched band of its own, the number assessed under each bar, and a gap where the scale
 * changes. There is no average grade on it: grades are not lengths.
 */
export function gradesByPeriodChart(grades: GradesByPeriod, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const { segments, counted } = grades;
  const { placed, gaps, end, step } = placePeriods(segments);
  const x = periodScale(end);
  const y = {
    type: 'quantitative',
    scale: { domain: [0, 1], nice: false },
    axis: {
      title: null,
      values: [0, 0.25, 0.5, 0.75, 1],
      labelExpr: PERCENT_LABELS,
      grid: true,
      labelPadding: 8,
    },
  };
  const bars: object[] = [];
  const hatched: object[] = [];
  const hatch: object[] = [];
  const hidden: object[] = [];
  for (const { period, segment, at } of placed) {
    const [left, right] = [at - BAR / 2, at + BAR / 2];
    const { counts } = period;
    if (counts === null) {
      hidden.push({ at });
      continue;
    }
    const assessed = sum(counts);
    const due = assessed + period.notAssessed;
    if (due === 0) continue;
    const names = segments[segment]!.grades;
    const colors = gradeColors(theme, names.length);
    let above = assessed;
    for (let grade = 0; grade < names.length; grade++) {
      const count = counts[grade] ?? 0;
      const [bottom, top] = [(above - count) / due, above / due];
      above -= count;
      if (count === 0) continue;
      bars.push({
        left,
        right,
        bottom,
        top,
        at,
        middle: (bottom + top) / 2,
        color: colors[grade]!,
        text: textOn(theme, colors[grade]!),
        count: (top - bottom) * HEIGHT >= 16 ? formatCount(count) : '',
        words: `${period.label}: ${names[grade]} in ${formatCount(count)} of ${formatCount(due)} ${counted} (${percent(count, due)}).`,
      });
    }
    if (period.notAssessed > 0) {
      const area = { left, right, bottom: assessed / due, top: 1 };
      hatched.push({
        ...area,
        words: `${period.label}: ${formatCount(period.notAssessed)} of ${formatCount(due)} ${counted} not assessed (${percent(period.notAssessed, due)}).`,
      });
      hatch.push(...hatchLines(area, step, HEIGHT));
    }
  }
  const { assessed, due } = totalsOf(segments);
  const title = `${grades.signLabel} by period: ${formatCount(assessed)} of ${formatCount(due)} ${counted} were assessed`;
  const area = {
    x: { field: 'left', ...x },
    x2: { field: 'right' },
    y: { field: 'bottom', ...y },
    y2: { field: 'top' },
    tooltip: { field: 'words' },
  };
  return chartOf(
    {
      from: grades,
      title,
      subtitle: [
        `Scale: ${segments.map((segment) => segment.scaleLabel).join(', then ')}; ${countOf(placed.length, 'period')}; ${grades.rule}`,
        `Each bar is all ${counted} who should have been assessed; numbers are ${counted}`,
      ],
      details: detailsOf(grades),
      caution: `${CAUTIONS.notAssessedIsNotNormal} ${CAUTIONS.ratesAreNotPersons}`,
      view: {
        width: Math.round(end * step),
        height: HEIGHT,
        layer: [
          {
            data: { values: bars },
            mark: { type: 'rect', stroke: theme.paper, strokeWidth: 1 },
            encoding: { ...area, color: { field: 'color', type: 'nominal', scale: null } },
          },
          {
            data: { values: hatched },
            mark: { type: 'rect', fill: theme.paper, stroke: theme.muted, strokeWidth: 0.75 },
            encoding: area,
          },
          {
            data: { values: hatch },
            mark: { type: 'rule', color: theme.muted, strokeWidth: 0.75 },
            encoding: { x: { field: 'x', ...x }, x2: { field: 'x2' }, y: { field: 'y', ...y }, y2: { field: 'y2' } },
          },
          {
            data: { values: bars },
            mark: { type: 'text', fontSize: TEXT_SIZES.small },
            encoding: {
              x: { field: 'at', ...x },
              y: { field: 'middle', ...y },
              text: { field: 'count' },
              color: { field: 'text', type: 'nominal', scale: null },
              tooltip: { field: 'words' },
            },
          },
          {
            data: { values: hidden },
            mark: { type: 'text', text: ['too few', 'to show'], fontSize: TEXT_SIZES.small, color: theme.muted },
            encoding: { x: { field: 'at', ...x }, y: { value: HEIGHT / 2 } },
          },
          ...scaleBreaks(gaps, end, HEIGHT, theme),
          ...periodLabels(placed, { end, step }, HEIGHT, theme, {
            words: 'assessed',
            of: ({ counts, notAssessed }) => (counts === null ? null : [sum(counts), sum(counts) + notAssessed]),
          }),
          ...legendLayers(legendRows(), theme, 740),
        ],
      },
    },
    theme,
  );

  function legendRows(): LegendEntry[][] {
    return segments.map((segment, at) => {
      const colors = gradeColors(theme, segment.grades.length);
      return [
        ...(segments.length > 1
          ? [{ text: at === 0 ? 'Before the change:' : 'After the change:', mark: 'words' } as const]
          : []),
        ...segment.grades.map((text, grade) => ({ text, mark: 'square', color: colors[grade]! }) as const),
        ...(at === segments.length - 1 ? [{ text: 'not assessed', mark: 'hatch' } as const] : []),
      ];
    });
  }
}

function detailsOf(grades: GradesByPeriod): string {
  const { segments, counted } = grades;
  const last = segments[segments.length - 1];
  const period = last?.periods[last.periods.length - 1];
  const lastWords =
    last === undefined || period === undefined || period.counts === null
      ? []
      : [
          `In the last period, ${period.label}: ${last.grades
            .map((name, at) => `${name} ${formatCount(period.counts?.[at] ?? 0)}`)
            .join(', ')}, not assessed ${formatCount(period.notAssessed)}.`,
        ];
  return [
    `Grades in ${countOf(sum(segments.map((segment) => segment.periods.length)), 'period')}.`,
    ...lastWords,
    ...(segments.length > 1
      ? [
          `The scale changes ${segments.length === 2 ? 'once' : `${segments.length - 1} times`}; bars before and after cannot be compared.`,
        ]
      : []),
    `Counted: ${counted}, ${grades.rule}.`,
  ]
    .map(sentenceCase)
    .join(' ');
}

function totalsOf(segments: readonly GradesSegment[]): { assessed: number; due: number } {
  let [assessed, due] = [0, 0];
  for (const { periods } of segments)
    for (const { counts, notAssessed } of periods) {
      if (counts === null) continue;
      assessed += sum(counts);
      due += sum(counts) + notAssessed;
    }
  return { assessed, due };
}

function percent(count: number, of: number): string {
  return `${formatNumber((100 * count) / of, 0)} %`;
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

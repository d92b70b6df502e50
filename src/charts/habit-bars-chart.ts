import type { Ratings } from '../ratings/ratings.js';
import { CAUTIONS } from '../shared/cautions.js';
import { gradeLabel } from '../shared/grade-label.js';
import { refuse } from '../shared/input-error.js';
import { formatCount, formatNumber } from '../shared/table.js';
import type { TestResult } from '../shared/test-result.js';
import { type Chart, chartOf } from './chart.js';
import { countsInCommon, isOrdered, requireGradesByAssessor } from './graded-ratings.js';
import { legendLayers } from './legend.js';
import { type ChartOptions, gradeColors, PERCENT_LABELS, textOn, themeOf } from './theme.js';
import { countOf, subjectWords } from './words.js';

export interface HabitBarsOptions extends ChartOptions {
  /** A test of equal spread (Stuart–Maxwell, Bhapkar) on these ratings; only with it does the title make a statement. */
  readonly marginalTest?: TestResult;
}

const WIDTH = 580;

/**
 * How each assessor spreads over the grades, on the findings that all of them read: one bar an
 * assessor, in the order of the codes, with the number of readings in every part. Not a ranking:
 * nobody knows from it who is right.
 *
 * Throws `InputError`: `not-graded` for measured values, `assessors-unknown`, `too-many-categories`
 * above five without an order, and `nothing-in-common` where no finding was read by all.
 */
export function habitBarsChart(ratings: Ratings, options: HabitBarsOptions = {}): Chart {
  const theme = themeOf(options);
  const { categories, assessors } = ratings;
  requireGradesByAssessor(ratings);
  const ordered = isOrdered(ratings);
  if (!ordered && categories.length > theme.categories.length)
    throw refuse(
      'too-many-categories',
      ['ratings', 'categories'],
      `The scale has ${categories.length} kinds without an order; more than ${theme.categories.length} cannot be told apart by color.`,
    );
  const { counts, targets, patients } = countsInCommon(ratings);
  if (targets === 0)
    throw refuse(
      'nothing-in-common',
      ['ratings'],
      'No finding was read by all assessors, so their spreads cannot be compared.',
      'choose fewer assessors with ratings.ofAssessors(…).',
    );
  const colors = ordered ? gradeColors(theme, categories.length) : theme.categories;
  const names = categories.map(gradeLabel);
  const order = assessors.map((code, column) => ({ code, column })).sort((a, b) => compareCodes(a.code, b.code));
  const values = order.flatMap(({ code, column }) => {
    let from = 0;
    return names.map((name, at) => {
      const count = counts[column]![at]!;
      const start = from;
      from += count;
      const share = count / targets;
      return {
        assessor: code,
        grade: name,
        color: colors[at]!,
        from: start / targets,
        to: from / targets,
        middle: (start + from) / 2 / targets,
        label: share * WIDTH >= 9 * formatCount(count).length + 4 ? formatCount(count) : '',
        text: textOn(theme, colors[at]!),
        words: `${code} read ${name} on ${formatCount(count)} of ${countOf(targets, 'finding')} (${formatNumber(100 * share, 0)} %).`,
      };
    });
  });
  const y = {
    field: 'assessor',
    type: 'ordinal',
    scale: { domain: order.map(({ code }) => code), paddingInner: 0.28, paddingOuter: 0.1 },
    axis: { title: null, labelExpr: "'assessor ' + datum.value" },
  };
  const x = {
    type: 'quantitative',
    scale: { domain: [0, 1] },
    axis: {
      title: null,
      labelExpr: PERCENT_LABELS,
      values: [0, 0.25, 0.5, 0.75, 1],
      grid: false,
      labelFlush: false,
    },
  };
  const differ = options.marginalTest !== undefined && options.marginalTest.pValue < 0.05;
  const subject = ratings.subject?.signLabel.toLowerCase() ?? 'grades';
  const title = differ
    ? `On the same findings, assessors spread over the grades differently (${subject})`
    : `How do assessors spread over the grades on the same ${countOf(targets, 'finding')}?`;
  return chartOf(
    {
      title,
      subtitle: [
        `${subjectWords(ratings)}: ${countOf(targets, 'finding')}${ratings.clustersKnown ? ` of ${countOf(patients, 'patient')}` : ''}, each read by all ${countOf(assessors.length, 'assessor')}`,
        ...(options.marginalTest === undefined ? [] : [testWords(options.marginalTest)]),
      ],
      details: [
        `One bar an assessor, by code, on the same ${countOf(targets, 'finding')}.`,
        ...order.map(
          ({ code, column }) =>
            `${code}: ${names.map((name, at) => `${name} ${formatCount(counts[column]![at]!)}`).join('; ')}.`,
        ),
      ].join(' '),
      caution: CAUTIONS.habitsAreNotSkill,
      view: {
        width: WIDTH,
        height: 40 * order.length,
        data: { values },
        layer: [
          {
            mark: { type: 'bar', stroke: theme.paper, strokeWidth: 1 },
            encoding: {
              y,
              x: { field: 'from', ...x },
              x2: { field: 'to' },
              color: { field: 'color', type: 'nominal', scale: null },
              tooltip: { field: 'words' },
            },
          },
          {
            mark: { type: 'text' },
            encoding: {
              y,
              x: { field: 'middle', ...x },
              text: { field: 'label' },
              color: { field: 'text', type: 'nominal', scale: null },
              tooltip: { field: 'words' },
            },
          },
          ...legendLayers(
            [names.map((text, at) => ({ text, mark: 'square', color: colors[at]! }) as const)],
            theme,
            WIDTH,
          ),
        ],
      },
    },
    theme,
  );
}

/** Codes as people count them: A2 before A10. */
function compareCodes(first: string, second: string): number {
  return first.localeCompare(second, 'en', { numeric: true });
}

function testWords(test: TestResult): string {
  const p = test.pValue < 0.001 ? 'below 0.001' : formatNumber(test.pValue, 3);
  return `${test.test}: ${test.effect.name} ${formatNumber(test.effect.value)} (${formatNumber(test.effect.interval.lower)} to ${formatNumber(test.effect.interval.upper)}), p ${p}`;
}

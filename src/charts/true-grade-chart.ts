import type { TrueGradeCourse } from '../progression/true-grade-courses.js';
import { isMadeFor } from '../shared/audience.js';
import { CAUTIONS } from '../shared/cautions.js';
import { formatNumber } from '../shared/table.js';
import { siteOf } from '../signs/site.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { type ChartOptions, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, linesOf, listOf, sentenceCase } from './words.js';

export interface TrueGradeChartOptions extends ChartOptions {
  readonly signLabel: string;
  readonly scaleLabel: string;
  /** Words of the grades, lowest first. */
  readonly grades: readonly string[];
}

const WIDTH = 560;
const ROW = 48;

/**
 * One limb's course with what its readings say about the true grade: at each visit the chance of every grade as a bar across its row, and on it what was written and by whom. A smooth line
 * through grades would claim what nobody knows. Codes of readers are for one's own eyes: a course that was made for others is drawn without them.
 */
export function trueGradeChart(course: TrueGradeCourse, options: TrueGradeChartOptions): Chart {
  const theme = themeOf(options);
  const { grades } = options;
  const namesReaders = !isMadeFor(course, 'inside');
  const days = course.visits.map((visit) => visit.day);
  const first = Math.min(...days);
  const span = Math.max(1, Math.max(...days) - first);
  const halfBar = Math.max(3, Math.min(12, (0.4 * WIDTH) / course.visits.length / 2));
  const unit = span / WIDTH;
  const bars = course.visits.flatMap((visit) =>
    visit.chances.flatMap((chance, grade) =>
      chance < 0.005
        ? []
        : [
            {
              left: visit.day - halfBar * unit,
              right: visit.day + halfBar * unit,
              lower: grade - 0.42 * chance,
              upper: grade + 0.42 * chance,
              words: `Day ${visit.day}: ${grades[grade]}, chance ${formatNumber(100 * chance, 0)} %.`,
            },
          ],
    ),
  );
  const dots = course.visits.flatMap((visit) => {
    const by = new Map<number, string[]>();
    for (const reading of visit.readings)
      if (reading.grade >= 0) by.set(reading.grade, [...(by.get(reading.grade) ?? []), reading.assessor]);
    return [...by].map(([grade, assessors]) => ({
      day: visit.day,
      grade,
      codes: namesReaders ? assessors.join(', ') : '',
      words: `Day ${visit.day}: ${namesReaders ? `${listOf(assessors)} wrote ${grades[grade]}` : `${grades[grade]} was written by ${countOf(assessors.length, 'reader')}`}.`,
    }));
  });
  const last = course.visits.at(-1)!;
  const best = last.chances.indexOf(Math.max(...last.chances));
  const title = `On the last day the readings speak for “${grades[best]}” with a chance of ${formatNumber(100 * last.chances[best]!, 0)} %`;
  const x = {
    type: 'quantitative',
    scale: { domain: [first - 0.04 * span, first + 1.04 * span], nice: false },
    axis: { title: 'day', grid: false, tickMinStep: 1, tickCount: 8, domain: true, ticks: true },
  };
  const y = {
    type: 'quantitative',
    scale: { domain: [-0.5, grades.length - 0.5], nice: false, zero: false },
    axis: {
      title: null,
      values: grades.map((_, at) => at),
      labelExpr: `${JSON.stringify(grades.map((grade) => linesOf(grade, 175, TEXT_SIZES.label)))}[datum.value]`,
      labelLimit: 0,
      labelLineHeight: 16,
      grid: true,
      labelPadding: 10,
    },
  };
  const where = [course.limb.replace('-', ' '), ...(course.site === '' ? [] : [siteOf(course.site).label])].join(', ');
  return chartOf(
    {
      from: course,
      title,
      subtitle: [
        `${sentenceCase(where)}: ${options.signLabel.toLowerCase()}, ${options.scaleLabel}; ${course.visits.length} visits`,
        'Height of a bar: chance of that true grade, from all visits and who read them; 100 % fills the row',
      ],
      details: `${course.visits.map((visit) => `Day ${visit.day}: ${visit.chances.map((chance, grade) => `${grades[grade]} ${formatNumber(100 * chance, 0)} %`).join(', ')}`).join('; ')}.`,
      caution: `${CAUTIONS.onePerson} ${CAUTIONS.notForCare}`,
      view: {
        width: WIDTH,
        height: ROW * grades.length,
        layer: [
          {
            data: { values: bars },
            mark: { type: 'rect', color: theme.categories[1], opacity: 0.45 },
            encoding: {
              x: { field: 'left', ...x },
              x2: { field: 'right' },
              y: { field: 'lower', ...y },
              y2: { field: 'upper' },
              tooltip: { field: 'words' },
            },
          },
          {
            data: { values: dots },
            mark: { type: 'point', filled: true, opacity: 1, size: 90, stroke: theme.ink, strokeWidth: 2 },
            encoding: {
              x: { field: 'day', ...x },
              y: { field: 'grade', ...y },
              fill: { value: theme.paper },
              tooltip: { field: 'words' },
            },
          },
          {
            data: { values: dots },
            mark: { type: 'text', dy: -15, fontWeight: 600, fontSize: TEXT_SIZES.small },
            encoding: { x: { field: 'day', ...x }, y: { field: 'grade', ...y }, text: { field: 'codes' } },
          },
          ...legendLayers(
            [
              [
                {
                  text: namesReaders ? 'written, with the code of the reader' : 'written',
                  mark: 'ring',
                  color: theme.ink,
                },
                { text: 'chance of the true grade', mark: 'square', color: theme.categories[1]! },
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

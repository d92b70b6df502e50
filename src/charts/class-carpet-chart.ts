import { CAUTIONS } from '../shared/cautions.js';
import type { CarpetMark, ClassCarpet } from '../teaching/class-carpet.js';
import { type Chart, chartOf } from './chart.js';
import { markLegend, markStyles, pointEncoding } from './class-marks.js';
import { type ChartOptions, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, linesOf } from './words.js';

const WIDTH = 700;
const ROW = 20;
/** Columns between the limbs of two sites. */
const GAP = 0.7;

/**
 * The class carpet: limbs across in groups of one site, learners down without codes in the order the carpet was drawn in, three marks.
 * No totals at the end of a row or column: the picture is for talking about limbs.
 */
export function classCarpetChart(carpet: ClassCarpet, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const styles = markStyles(theme);
  const sites = [...new Set(carpet.limbs.map(({ siteLabel }) => siteLabel))];
  const order = sites.flatMap((site, group) =>
    carpet.limbs.flatMap((limb, column) => (limb.siteLabel === site ? [{ limb, column, group }] : [])),
  );
  const places = order.map(({ group }, at) => at + 0.5 + GAP * group);
  const end = order.length + GAP * Math.max(0, sites.length - 1);
  const step = Math.min(34, WIDTH / Math.max(1, end));
  const height = ROW * carpet.rows.length;
  const x = { type: 'quantitative', scale: { domain: [0, end], nice: false }, axis: null };
  const y = { type: 'quantitative', scale: { domain: [carpet.rows.length, 0], nice: false }, axis: null };
  const cells = carpet.rows.flatMap((row, down) =>
    order.map(({ limb, column }, at) => {
      const mark = row[column]!;
      return {
        at: places[at]!,
        down: down + 0.5,
        ...styles[mark],
        words: `${limb.label}: ${mark}; of ${countOf(carpet.rows.length, 'learner')} ${countsOf(column)}.`,
      };
    }),
  );
  function countsOf(column: number): string {
    const count = (mark: CarpetMark): number => carpet.rows.filter((row) => row[column] === mark).length;
    return `${count('lower')} lower, ${count('same')} the same, ${count('higher')} higher than the experts`;
  }
  const groups = sites.map((site, group) => {
    const own = order.flatMap((one, at) => (one.group === group ? [places[at]!] : []));
    const [left, right] = [own[0]! - 0.5, own.at(-1)! + 0.5];
    return { left, right, text: linesOf(site, Math.max(90, (right - left) * step), TEXT_SIZES.small) };
  });
  const lowest = carpet.rows.flat().filter((mark) => mark === 'lower').length;
  const highest = carpet.rows.flat().filter((mark) => mark === 'higher').length;
  const missing = carpet.rows.flat().filter((mark) => mark === 'not read').length;
  const title = 'On which limbs does the class read lower or higher than the experts?';
  return chartOf(
    {
      from: carpet,
      title,
      subtitle: [
        `${carpet.signLabel}, ${carpet.scaleLabel}: ${countOf(carpet.rows.length, 'learner')}, ${countOf(order.length, 'limb')}, ${missing} of ${carpet.rows.length * order.length} readings not there`,
        carpet.of === 'learners'
          ? 'A column is a limb (L left, R right), a row a learner without a code; the order of rows is drawn anew each time and says nothing'
          : 'A column is a limb (L left, R right); the marks of each limb are shuffled by themselves, so a row is nobody',
      ],
      details: `${countOf(carpet.rows.length, 'learner')} by ${countOf(order.length, 'limb')}: ${lowest} readings lower and ${highest} higher than the experts', ${missing} not there. Read it by columns.`,
      caution: `${CAUTIONS.habitsAreNotSkill} Experts err too; where they differ, any grade between theirs counts as the same.`,
      view: {
        width: Math.round(end * step),
        height,
        layer: [
          {
            data: { values: groups },
            mark: { type: 'rect', fill: theme.wash },
            encoding: {
              x: { field: 'left', ...x },
              x2: { field: 'right' },
              y: { datum: 0, ...y },
              y2: { datum: carpet.rows.length },
            },
          },
          {
            data: { values: cells },
            mark: { type: 'point', filled: true, opacity: 1 },
            encoding: {
              x: { field: 'at', ...x },
              y: { field: 'down', ...y },
              ...pointEncoding,
              tooltip: { field: 'words' },
            },
          },
          {
            data: {
              values: order.map(({ limb }, at) => ({
                at: places[at]!,
                text: [limb.volunteer, limb.limb.startsWith('left') ? 'L' : limb.limb.startsWith('right') ? 'R' : ''],
              })),
            },
            mark: { type: 'text', baseline: 'top', lineHeight: 14, fontSize: step < 20 ? 10 : TEXT_SIZES.small },
            encoding: { x: { field: 'at', ...x }, y: { value: height + 5 }, text: { field: 'text' } },
          },
          {
            data: { values: groups },
            mark: {
              type: 'text',
              align: 'left',
              baseline: 'top',
              lineHeight: 15,
              fontSize: TEXT_SIZES.small,
              color: theme.muted,
            },
            encoding: { x: { field: 'left', ...x }, y: { value: height + 38 }, text: { field: 'text' } },
          },
          ...markLegend(
            [
              ['lower', 'lower than the experts'],
              ['same', 'the same'],
              ['higher', 'higher'],
              ['not read', 'not read'],
            ],
            theme,
          ),
        ],
      },
    },
    theme,
  );
}

import type { LearnerCard } from '../teaching/learner-card.js';
import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { type ChartOptions, TEXT_SIZES, themeOf } from './theme.js';

const ROW = 24;
const WIDTH = 380;

/**
 * A learner's own readings: one row a limb in the order of the sheet; the range of most others as a gray band, what the experts wrote as a bar, the own reading as
 * a dot. For a private page; no total, rank, pass or fail.
 */
export function learnerCardChart(card: LearnerCard, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const grades = card.grades.length;
  const x = {
    type: 'quantitative',
    scale: { domain: [-0.5, grades - 0.5], nice: false },
    axis: {
      title: null,
      values: card.grades.map((_, at) => at),
      labelExpr: `${JSON.stringify(card.grades.map((words) => words.split(':')[0]))}[datum.value]`,
      grid: true,
      orient: 'top',
    },
  };
  const y = {
    field: 'limb',
    type: 'ordinal',
    sort: null,
    scale: { domain: card.limbs.map(({ label }) => label), paddingInner: 0.25, paddingOuter: 0.1 },
    axis: { title: null, labelLimit: 340, labelFontSize: TEXT_SIZES.small },
  };
  const span = (
    of: (limb: LearnerCard['limbs'][number]) => { lower: number; upper: number } | undefined,
    half: number,
  ) =>
    card.limbs.flatMap((limb) => {
      const range = of(limb);
      return range === undefined ? [] : [{ limb: limb.label, left: range.lower - half, right: range.upper + half }];
    });
  const own = card.limbs.flatMap(({ label, own: reading, experts }) =>
    reading === undefined
      ? []
      : [
          {
            limb: label,
            at: reading,
            words: `${label}: you read ${card.grades[reading]}${experts === undefined ? '' : `; the experts ${rangeWords(card, experts)}`}.`,
          },
        ],
  );
  const title = `Your readings, limb by limb: ${card.signLabel.toLowerCase()}`;
  return chartOf(
    {
      from: card,
      title,
      subtitle: [
        `${card.scaleLabel}${card.round === undefined ? '' : `; round ${card.round}`}`,
        ...(card.grades.length <= 6 ? [card.grades.join('; ')] : []),
      ],
      details: own.map(({ words }) => words).join(' '),
      caution: 'For you alone. Experts err too, and the class is only this class. Nothing here is a mark.',
      view: {
        width: WIDTH,
        height: ROW * card.limbs.length,
        layer: [
          {
            data: { values: span((limb) => limb.others, 0.36) },
            mark: { type: 'rect', fill: theme.hairline, cornerRadius: 4 },
            encoding: { y, x: { field: 'left', ...x }, x2: { field: 'right' } },
          },
          {
            data: { values: span((limb) => limb.experts, 0.2) },
            mark: { type: 'bar', height: 6, color: theme.categories[1], cornerRadius: 3 },
            encoding: { y, x: { field: 'left', ...x }, x2: { field: 'right' } },
          },
          {
            data: { values: own },
            mark: {
              type: 'point',
              filled: true,
              opacity: 1,
              size: 95,
              color: theme.ink,
              stroke: theme.paper,
              strokeWidth: 1.5,
            },
            encoding: { y, x: { field: 'at', ...x }, tooltip: { field: 'words' } },
          },
          ...legendLayers(
            [
              [
                { text: 'you', mark: 'circle', color: theme.ink },
                { text: 'experts, lowest to highest', mark: 'line', color: theme.categories[1]! },
                { text: 'most of the others', mark: 'square', color: theme.hairline },
              ],
            ],
            theme,
            WIDTH + 200,
            34,
          ),
        ],
      },
    },
    theme,
  );
}

function rangeWords(card: LearnerCard, { lower, upper }: { lower: number; upper: number }): string {
  return lower === upper ? card.grades[lower]! : `${card.grades[lower]} to ${card.grades[upper]}`;
}

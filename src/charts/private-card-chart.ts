import { type Chart, chartOf } from './chart.js';
import { legendLayers } from './legend.js';
import { type ChartOptions, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, linesOf } from './words.js';

/** One limb on a learner's own card; readings are places on the scale (0 first). */
export interface CardLimb {
  readonly label: string;
  readonly mine: number | null;
  /** The reference with its own width: from the lowest to the highest expert reading. */
  readonly reference: { readonly lower: number; readonly upper: number };
  /** The middle half of the class. */
  readonly classRange?: { readonly lower: number; readonly upper: number };
}

/** One learner's own card. It carries no code; who it belongs to is the file it is in. */
export interface PrivateCard {
  readonly signLabel: string;
  readonly scaleLabel: string;
  /** Words of the grades, lowest first. */
  readonly grades: readonly string[];
  readonly limbs: readonly CardLimb[];
  /** Said only where an interval leaves no doubt: "You tend to read one step higher at the top of the foot". */
  readonly tendency?: string;
}

const COLUMN = 62;
const ROW = 40;

/**
 * A private card: my readings as dots on each limb, the reference as a bar with its own width, the class
 * as a pale range. No rank, no percentile, no pass or fail.
 */
export function privateCardChart(card: PrivateCard, options: ChartOptions = {}): Chart {
  const theme = themeOf(options);
  const { grades, limbs } = card;
  const height = ROW * grades.length;
  const place = (grade: number): number => height - (grade + 0.5) * ROW;
  const middle = (at: number): number => (at + 0.5) * COLUMN;
  const word = (grade: number): string => grades[Math.max(0, Math.min(grades.length - 1, Math.round(grade)))]!;
  const within = limbs.filter(
    ({ mine, reference }) => mine !== null && mine >= reference.lower && mine <= reference.upper,
  ).length;
  const read = limbs.filter(({ mine }) => mine !== null).length;
  const title = card.tendency ?? `You read what the reference read on ${within} of ${countOf(read, 'limb')}`;
  const range = (at: number, { lower, upper }: { readonly lower: number; readonly upper: number }, half: number) => ({
    left: middle(at) - half,
    right: middle(at) + half,
    bottom: place(lower) + ROW / 2 - 5,
    top: place(upper) - ROW / 2 + 5,
  });
  const area = {
    x: { field: 'left', type: 'quantitative', scale: null },
    x2: { field: 'right' },
    y: { field: 'bottom', type: 'quantitative', scale: null },
    y2: { field: 'top' },
    tooltip: { field: 'words' },
  };
  return chartOf(
    {
      title,
      subtitle: [
        `${card.signLabel}, ${card.scaleLabel}: ${countOf(limbs.length, 'limb')}, ${read} read by you`,
        'For you alone. The reference has an error of its own; one session says little about a habit',
      ],
      description: `${title}. ${limbs
        .map(
          ({ label, mine, reference }) =>
            `${label}: you ${mine === null ? 'did not read' : word(mine)}, reference ${
              reference.lower === reference.upper
                ? word(reference.lower)
                : `${word(reference.lower)} to ${word(reference.upper)}`
            }.`,
        )
        .join(' ')}`,
      view: {
        width: COLUMN * limbs.length,
        height,
        layer: [
          {
            data: { values: grades.map((_, grade) => ({ y: place(grade) })) },
            mark: { type: 'rule', color: theme.hairline },
            encoding: {
              y: { field: 'y', type: 'quantitative', scale: null },
              x: { value: 0 },
              x2: { value: COLUMN * limbs.length },
            },
          },
          {
            data: {
              values: limbs.flatMap(({ label, classRange }, at) =>
                classRange === undefined
                  ? []
                  : [
                      {
                        ...range(at, classRange, 22),
                        words: `${label}: half of the class read from ${word(classRange.lower)} to ${word(classRange.upper)} (grades 0 to ${grades.length - 1}).`,
                      },
                    ],
              ),
            },
            mark: { type: 'rect', color: theme.categories[4], opacity: 0.28, cornerRadius: 4 },
            encoding: area,
          },
          {
            data: {
              values: limbs.map(({ label, reference }, at) => ({
                ...range(at, reference, 9),
                words: `${label}: reference ${word(reference.lower)} to ${word(reference.upper)} (grades 0 to ${grades.length - 1}).`,
              })),
            },
            mark: { type: 'rect', fill: null, stroke: theme.ink, strokeWidth: 2, cornerRadius: 4 },
            encoding: area,
          },
          {
            data: {
              values: limbs.flatMap(({ label, mine }, at) =>
                mine === null
                  ? []
                  : [{ x: middle(at), y: place(mine), words: `${label}: you read ${word(mine)} (limb ${at + 1}).` }],
              ),
            },
            mark: { type: 'point', filled: true, opacity: 1, size: 110, color: theme.categories[1] },
            encoding: {
              x: { field: 'x', type: 'quantitative', scale: null },
              y: { field: 'y', type: 'quantitative', scale: null },
              tooltip: { field: 'words' },
            },
          },
          {
            data: {
              values: limbs.map(({ label }, at) => ({
                x: middle(at),
                text: linesOf(label, COLUMN - 4, TEXT_SIZES.small),
              })),
            },
            mark: { type: 'text', baseline: 'top', lineHeight: 15, fontSize: TEXT_SIZES.small },
            encoding: {
              x: { field: 'x', type: 'quantitative', scale: null },
              y: { value: height + 8 },
              text: { field: 'text' },
            },
          },
          {
            data: {
              values: grades.map((text, grade) => ({ y: place(grade), text: linesOf(text, 165, TEXT_SIZES.label) })),
            },
            mark: { type: 'text', align: 'right', lineHeight: 16 },
            encoding: {
              x: { value: -12 },
              y: { field: 'y', type: 'quantitative', scale: null },
              text: { field: 'text' },
            },
          },
          ...legendLayers(
            [
              [
                { text: 'your reading', mark: 'circle', color: theme.categories[1]! },
                { text: 'reference, with its width', mark: 'frame' },
                { text: 'half of the class', mark: 'band' },
              ],
            ],
            theme,
            600,
          ),
        ],
      },
    },
    theme,
  );
}

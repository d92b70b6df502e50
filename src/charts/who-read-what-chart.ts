import { crossTable } from '../agreement/cross-table.js';
import { releasedCrossTable } from '../agreement/released-cross-table.js';
import type { Ratings } from '../ratings/ratings.js';
import type { Audience, FullRelease } from '../shared/audience.js';
import { gradeLabel } from '../shared/grade-label.js';
import { refuse } from '../shared/input-error.js';
import { formatCount } from '../shared/table.js';
import { type Chart, chartOf } from './chart.js';
import { isOrdered, requireGradesByAssessor } from './graded-ratings.js';
import { type ChartOptions, countColor, TEXT_SIZES, textOn, themeOf } from './theme.js';
import { countOf, linesOf, listOf, subjectWords } from './words.js';

export interface WhoReadWhatOptions extends ChartOptions {
  /** The two codes to compare, down and across. Needed where there are more than two. */
  readonly assessors?: readonly [string, string];
  /** Who will see it: small counts are joined or hidden as in `releasedCrossTable`. Default: one's own eyes. */
  readonly audience?: Audience;
  /** Shows every count in spite of the audience; the reason stands under the picture. */
  readonly release?: FullRelease;
}

/** Above this many categories the squares get too small for their numbers. */
const MOST_CATEGORIES = 12;

/**
 * Who read what: a square of counts for two assessors, what the first read down the side, what the
 * second read across, on the findings both read. The same readings lie down the diagonal, framed;
 * on an ordered scale the readings one step apart have a paler ring; a square on the diagonal that
 * stays empty is marked, because no statement can be made about that reading.
 *
 * Throws `InputError`: `not-graded` for measured values, `assessors-unknown`, `unknown-assessor`, `two-assessors-needed`,
 * `too-many-categories` above twelve.
 */
export function whoReadWhatChart(ratings: Ratings, options: WhoReadWhatOptions = {}): Chart {
  const theme = themeOf(options);
  const { categories } = ratings;
  requireGradesByAssessor(ratings);
  if (categories.length > MOST_CATEGORIES)
    throw refuse(
      'too-many-categories',
      ['ratings', 'categories'],
      `The scale has ${categories.length} categories; a square of more than ${MOST_CATEGORIES} cannot be read.`,
    );
  const table = crossTable(ratings, options.assessors === undefined ? {} : { assessors: options.assessors });
  const { targets: total, clusters: patients } = table;
  const [first, second] = table.assessors;
  const ordered = isOrdered(ratings);
  const released = releasedCrossTable(table, {
    audience: options.audience ?? 'own',
    joinsGrades: ordered,
    ...(options.release === undefined ? {} : { release: options.release }),
  });
  // Hidden counts are NaN: whatever is summed over them is not defined, and is not said.
  const counts = released.counts.map((row) => row.map((count) => count ?? Number.NaN));
  const someHidden = counts.flat().some(Number.isNaN);
  const keys = released.grades;
  const labelOf = new Map(categories.map((category) => [String(category.value), gradeLabel(category)]));
  const names = keys.map((key) => labelOf.get(key) ?? key);
  const n = keys.length;
  const most = Math.max(0, ...counts.flat().filter((count) => !Number.isNaN(count)));
  const same = sum(counts.map((row, at) => row[at]!));
  const near = ordered ? sum(counts.flatMap((row, i) => row.filter((_, j) => Math.abs(i - j) === 1))) : 0;

  const cells = counts.flatMap((row, i) =>
    row.map((count, j) => {
      const isHidden = Number.isNaN(count);
      const fill = isHidden ? theme.paper : countColor(theme, count, most);
      const gap = Math.abs(i - j);
      return {
        first: keys[i]!,
        second: keys[j]!,
        count: isHidden ? 'hidden' : formatCount(count),
        fill: count === 0 ? theme.paper : fill,
        text: count === 0 || isHidden ? theme.muted : textOn(theme, fill),
        ring: gap === 0 ? (count === 0 ? 'empty' : 'same') : ordered && gap === 1 ? 'near' : 'far',
        words: `${first} read ${names[i]} and ${second} read ${names[j]}: ${isHidden ? 'hidden, too few to show' : `${formatCount(count)} of ${countOf(total, 'finding')}`}.`,
      };
    }),
  );
  const side = n <= 6 ? 62 : 46;
  // Across there is room for a digit; grades written as words are broken into lines.
  const across = names.map((name, at) =>
    name.startsWith(`${keys[at]}: `) ? [keys[at]!] : linesOf(name, side - 4, TEXT_SIZES.label),
  );
  const down = names.map((name) => linesOf(name, 175, TEXT_SIZES.label));
  const deepest = Math.max(...across.map((lines) => lines.length));
  const labelExpr = (lines: readonly (readonly string[])[]): string =>
    `${JSON.stringify(Object.fromEntries(keys.map((key, at) => [key, lines[at]])))}[datum.value]`;
  const square = (field: 'first' | 'second', axis: object) => ({
    field,
    type: 'ordinal',
    scale: { domain: keys, paddingInner: 0.08, paddingOuter: 0.04 },
    axis,
  });
  const x = square('second', {
    title: `${second} read`,
    orient: 'top',
    labelAngle: 0,
    labelLimit: 0,
    labelLineHeight: 16,
    labelPadding: 6 + 16 * (deepest - 1),
    labelExpr: labelExpr(across),
  });
  const y = square('first', {
    title: `${first} read`,
    labelLimit: 0,
    labelLineHeight: 16,
    labelExpr: labelExpr(down),
    titleAngle: 0,
    titleAlign: 'right',
    titleX: -8,
    titleY: -14,
  });
  const inset = (ring: string, mark: object) => ({
    transform: [{ filter: `datum.ring === '${ring}'` }],
    mark: { type: 'rect', fill: null, cornerRadius: 3, ...mark },
    encoding: { x, y },
  });
  const totals = (field: 'first' | 'second') => ({
    data: {
      values: keys.map((key, at) => ({
        [field]: key,
        total: formatCount(field === 'first' ? sum(counts[at]!) : sum(counts.map((row) => row[at]!))),
      })),
    },
    mark: { type: 'text', color: theme.muted, fontSize: TEXT_SIZES.small },
    encoding: {
      ...(field === 'first' ? { y, x: { value: n * side + 24 } } : { x, y: { value: n * side + 16 } }),
      text: { field: 'total' },
    },
  });

  const title =
    total === 0 || someHidden
      ? `What do ${first} and ${second} read on the same finding?`
      : `${first} and ${second} read the same on ${formatCount(same)} of ${countOf(total, 'finding')}${
          near > 0 ? `, one step apart on ${formatCount(near)}` : ''
        }`;
  const neverBoth = names.filter((_, at) => counts[at]![at] === 0);
  const notes =
    neverBoth.length === 0 ? [] : [`Broken frame: not once read by both on the same finding (${listOf(neverBoth)})`];
  return chartOf(
    {
      from: options.audience === undefined ? {} : released,
      title,
      subtitle: [
        `${subjectWords(ratings)}: ${countOf(total, 'finding')}${ratings.clustersKnown ? ` of ${countOf(patients, 'patient')}` : ''}, 2 assessors; numbers are findings${someHidden ? ', some hidden' : ', totals in gray'}`,
        `Dark frame: the same reading${ordered ? `. Pale frame: one step apart${someHidden ? '' : `. ${directionWords(counts, first, second)}`}` : ''}`,
        ...notes,
      ],
      details: [
        `Square of ${n} by ${n} counts, what ${first} read against what ${second} read.`,
        ...(ordered && !someHidden ? [directionWords(counts, first, second)] : []),
        ...notes.map((note) => `${note}.`),
      ].join(' '),
      view: {
        width: n * side,
        height: n * side,
        data: { values: cells },
        layer: [
          {
            mark: { type: 'rect', cornerRadius: 3, stroke: theme.hairline, strokeWidth: 1 },
            encoding: { x, y, fill: { field: 'fill', type: 'nominal', scale: null }, tooltip: { field: 'words' } },
          },
          inset('near', { stroke: theme.categories[4], strokeWidth: 2 }),
          inset('same', { stroke: theme.ink, strokeWidth: 2.5 }),
          inset('empty', { stroke: theme.signal, strokeWidth: 2, strokeDash: [4, 3] }),
          {
            mark: { type: 'text', fontSize: someHidden ? TEXT_SIZES.small : 15, fontWeight: 600 },
            encoding: {
              x,
              y,
              text: { field: 'count' },
              color: { field: 'text', type: 'nominal', scale: null },
              tooltip: { field: 'words' },
            },
          },
          ...(someHidden ? [] : [totals('first'), totals('second')]),
        ],
      },
    },
    theme,
  );
}

function directionWords(counts: readonly (readonly number[])[], first: string, second: string): string {
  const higher = sum(counts.flatMap((row, i) => row.filter((_, j) => j > i)));
  const lower = sum(counts.flatMap((row, i) => row.filter((_, j) => j < i)));
  return `${second} read higher than ${first} on ${formatCount(higher)}, lower on ${formatCount(lower)}.`;
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

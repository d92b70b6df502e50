import type { MeasurementError } from '../measurement-error/measurement-error-of.js';
import type { TransitionCounts } from '../progression/transition-counts.js';
import { CAUTIONS } from '../shared/cautions.js';
import { gradeLabel } from '../shared/grade-label.js';
import { refuse } from '../shared/input-error.js';
import { formatCount, formatNumber } from '../shared/table.js';
import { signOf } from '../signs/codebook.js';
import { type Chart, chartOf } from './chart.js';
import { type ChartOptions, countColor, TEXT_SIZES, textOn, themeOf } from './theme.js';
import { countOf, linesOf } from './words.js';

export interface TransitionsChartOptions extends ChartOptions {
  /** The error of the same sign on the same scale: every square then also has the pairs that unchanged limbs would give. */
  readonly error?: MeasurementError;
}

/** Above this many grades the squares get too small for two numbers. */
const MOST_GRADES = 10;

/**
 * From which grade to which: a square of counts, the grade read first down the side and the grade read then across, the
 * same grade framed down the diagonal.
 *
 * With an error of measurement a second number stands in parentheses, nᵢ · P(another reads j | one reads i) with nᵢ the pairs
 * that begin with i: the pairs to be expected from two assessors if no limb had changed and the limbs were the study's mix.
 * Where the study read no such grade there is none. Where one assessor reads both visits, fewer differences than these are to
 * be expected.
 *
 * @throws InputError `too-many-grades` (more than ten), `different-scale` (the error is that of another scale or of a measured value).
 */
export function transitionsChart(transitions: TransitionCounts, options: TransitionsChartOptions = {}): Chart {
  const theme = themeOf(options);
  const { categories, counts, scale, transitions: total } = transitions;
  const n = categories.length;
  if (n > MOST_GRADES)
    throw refuse(
      'too-many-grades',
      ['transitions', 'categories'],
      `The scale has ${n} grades; a square of more than ${MOST_GRADES} cannot be read.`,
    );
  const chances = chancesOf(transitions, options.error);
  const successive = transitions.pairs === 'successive';
  const keys = categories.map((category) => category.value);
  const names = categories.map(gradeLabel);
  const [before, after] = successive ? ['read first', 'read next'] : ['at the first visit', 'at the last visit'];
  const begun = counts.map(sum);
  const someHidden = counts.flat().some(Number.isNaN);
  const most = Math.max(...counts.flat().filter((count) => !Number.isNaN(count)), 0);
  const ordered = scale.level !== 'nominal';
  const same = sum(counts.map((row, at) => row[at]!));
  const higher = sum(counts.flatMap((row, i) => row.filter((_, j) => j > i)));
  const expectedOf = (i: number, j: number): number =>
    begun[i] === 0 ? 0 : begun[i]! * (chances?.[i]?.[j] ?? Number.NaN);
  const expectedSame = sum(counts.map((_, at) => expectedOf(at, at)));

  const cells = counts.flatMap((row, i) =>
    row.map((count, j) => {
      const isHidden = Number.isNaN(count);
      const fill = isHidden ? theme.paper : countColor(theme, count, most);
      const expected = expectedOf(i, j);
      const known = chances !== undefined && Number.isFinite(expected) && begun[i]! > 0;
      return {
        from: keys[i]!,
        to: keys[j]!,
        count: isHidden ? 'hidden' : formatCount(count),
        // Nothing read and nothing expected needs no second number.
        expected: known && (count > 0 || expected >= 0.05) ? `(${numberOf(expected)})` : '',
        fill: count === 0 ? theme.paper : fill,
        text: count === 0 || isHidden ? theme.muted : textOn(theme, fill),
        same: i === j,
        words: `${names[i]} ${before}, ${names[j]} ${after}: ${isHidden ? 'hidden, too few to show' : `${formatCount(count)} of ${countOf(total, 'pair')}`}${
          known ? `; ${numberOf(expected)} would be expected from assessors alone` : ''
        }.`,
      };
    }),
  );
  const side = n <= 6 ? 68 : 50;
  const across = names.map((name, at) =>
    name.startsWith(`${keys[at]}: `) ? [keys[at]!] : linesOf(name, side - 4, TEXT_SIZES.label),
  );
  const deepest = Math.max(...across.map((lines) => lines.length));
  const labelExpr = (lines: readonly (readonly string[])[]): string =>
    `${JSON.stringify(Object.fromEntries(keys.map((key, at) => [key, lines[at]])))}[datum.value]`;
  const square = (field: 'from' | 'to', axis: object) => ({
    field,
    type: 'ordinal',
    scale: { domain: keys, paddingInner: 0.08, paddingOuter: 0.04 },
    axis: { labelLimit: 0, labelLineHeight: 16, ...axis },
  });
  const x = square('to', {
    title: after,
    orient: 'top',
    labelAngle: 0,
    labelPadding: 6 + 16 * (deepest - 1),
    labelExpr: labelExpr(across),
  });
  const y = square('from', {
    title: before,
    labelExpr: labelExpr(names.map((name) => linesOf(name, 175, TEXT_SIZES.label))),
    titleAngle: 0,
    titleAlign: 'right',
    titleX: -8,
    titleY: -14,
  });
  const number = (field: 'count' | 'expected', mark: object) => ({
    mark: { type: 'text', ...mark },
    encoding: {
      x,
      y,
      text: { field },
      color: { field: 'text', type: 'nominal', scale: null },
      tooltip: { field: 'words' },
    },
  });
  const totals = (field: 'from' | 'to') => ({
    data: {
      values: keys.map((key, at) => ({
        [field]: key,
        total: formatCount(field === 'from' ? begun[at]! : sum(counts.map((row) => row[at]!))),
      })),
    },
    mark: { type: 'text', color: theme.muted, fontSize: TEXT_SIZES.small },
    encoding: {
      ...(field === 'from' ? { y, x: { value: n * side + 26 } } : { x, y: { value: n * side + 16 } }),
      text: { field: 'total' },
    },
  });
  const title =
    total === 0 || someHidden
      ? 'From which grade to which?'
      : `The same grade again in ${formatCount(same)} of ${countOf(total, 'pair')}${
          ordered ? `, higher in ${formatCount(higher)}, lower in ${formatCount(total - same - higher)}` : ''
        }${
          chances === undefined || Number.isNaN(expectedSame)
            ? ''
            : `; assessors alone would give about ${formatCount(Math.round(expectedSame))} the same`
        }`;
  const counted = `${signOf(scale.sign).label}, ${scale.label}: ${countOf(total, 'pair')} of ${
    successive ? 'readings that follow each other' : 'a first and a last reading'
  } of ${countOf(transitions.patients, 'patient')}${someHidden ? '; some are hidden' : '; totals in gray'}`;
  const second =
    chances === undefined
      ? []
      : [
          `In parentheses: pairs to be expected from two assessors had no limb changed, for limbs as in the agreement study (${countOf(options.error?.kind === 'grades' ? options.error.matrix.clusters : 0, 'patient')}); none in a row that it did not read`,
        ];
  return chartOf(
    {
      from: transitions,
      title,
      subtitle: [
        counted,
        `Thick frame: the same grade${ordered ? '; right of it higher, left of it lower' : ''}`,
        ...second,
      ],
      details: [
        `Square of ${n} by ${n} counts, the grade ${before} against the grade ${after}.`,
        `${counted}.`,
        ...names.flatMap((name, i) =>
          begun[i] === 0 || someHidden
            ? []
            : [
                `From ${name}, ${countOf(begun[i]!, 'pair')}: ${names
                  .flatMap((to, j) => (counts[i]![j] === 0 ? [] : [`${formatCount(counts[i]![j]!)} to ${to}`]))
                  .join(', ')}.`,
              ],
        ),
        ...second.map((line) => `${line}.`),
      ].join(' '),
      caution: `Pairs, not patients: one patient gives several. ${CAUTIONS.oneLimbWithinError}`,
      view: {
        width: n * side,
        height: n * side,
        data: { values: cells },
        layer: [
          {
            mark: { type: 'rect', cornerRadius: 3, stroke: theme.hairline, strokeWidth: 1 },
            encoding: { x, y, fill: { field: 'fill', type: 'nominal', scale: null }, tooltip: { field: 'words' } },
          },
          {
            transform: [{ filter: 'datum.same' }],
            mark: { type: 'rect', fill: null, cornerRadius: 3, stroke: theme.ink, strokeWidth: 2.5 },
            encoding: { x, y },
          },
          number('count', {
            fontSize: someHidden ? TEXT_SIZES.small : 15,
            fontWeight: 600,
            dy: chances === undefined ? 0 : -8,
          }),
          ...(chances === undefined ? [] : [number('expected', { fontSize: TEXT_SIZES.small, dy: 11 })]),
          ...(someHidden ? [] : [totals('from'), totals('to')]),
        ],
      },
    },
    theme,
  );
}

/** P(another reads j | one reads i) on the scale of the counts. */
function chancesOf(
  transitions: TransitionCounts,
  error: MeasurementError | undefined,
): readonly (readonly number[])[] | undefined {
  if (error === undefined) return undefined;
  if (error.kind !== 'grades' || error.subject?.scale !== transitions.scale.id)
    throw refuse(
      'different-scale',
      ['options', 'error'],
      `The counts are on ${transitions.scale.label}; the error is not that of a sign graded on this scale.`,
      'measure the error on the scale in use.',
    );
  const { categories, shares } = error.matrix;
  const at = transitions.categories.map(({ value }) =>
    categories.findIndex((category) => String(category.value) === value),
  );
  return at.map((i) => at.map((j) => (i < 0 || j < 0 ? Number.NaN : shares[i]![j]!)));
}

function numberOf(expected: number): string {
  if (expected === 0) return '0';
  return expected < 10 ? formatNumber(expected, 1) : formatCount(Math.round(expected));
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

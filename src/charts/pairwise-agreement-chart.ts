import type { PairwiseAgreement } from '../agreement/pairwise-agreement.js';
import type { Ratings } from '../ratings/ratings.js';
import { CAUTIONS } from '../shared/cautions.js';
import type { Estimate } from '../shared/estimate.js';
import { formatNumber } from '../shared/table.js';
import { type Chart, chartOf } from './chart.js';
import { type ChartOptions, TEXT_SIZES, textOn, themeOf } from './theme.js';
import { countOf, countsWords, intervalWords, sentenceCase, subjectWords, valueWithInterval } from './words.js';

const CELL = { width: 92, height: 58 };

/**
 * Agreement of every pair of assessors, by code: half a square, each cell with the value, its interval
 * and the number of people. It ranks nobody: the pairs stand in the order of the codes.
 *
 * The title says that no pair can be told from the others when all intervals share a value; otherwise
 * it gives the range of the values.
 */
export function pairwiseAgreementChart(
  ratings: Ratings,
  agreement: PairwiseAgreement,
  options: ChartOptions = {},
): Chart {
  const theme = themeOf(options);
  const codes = [...agreement.assessors].sort((first, second) => first.localeCompare(second, 'en', { numeric: true }));
  const [first] = agreement.pairs;
  const rated = agreement.pairs.map(({ estimate }) => estimate).filter((estimate) => Number.isFinite(estimate.value));
  const cells = agreement.pairs.map(({ assessors, estimate }) => {
    const [across, down] = [...assessors].sort((one, two) => codes.indexOf(one) - codes.indexOf(two)) as [
      string,
      string,
    ];
    const { value, interval, counts, notes } = estimate;
    const defined = Number.isFinite(value);
    const steps = theme.counts.length - 1;
    const fill = defined ? theme.counts[Math.round(Math.max(0, Math.min(1, value)) * steps)]! : theme.paper;
    return {
      across,
      down,
      assessors: [across, down],
      fill,
      color: textOn(theme, fill),
      value: defined ? formatNumber(value) : 'not defined',
      interval: Number.isFinite(interval.lower)
        ? `${formatNumber(interval.lower)} to ${formatNumber(interval.upper)}`
        : '',
      people: countOf(counts.clusters, 'person', 'people'),
      words: [
        `${across} and ${down}: ${estimate.statistic} ${valueWithInterval(value, interval)}, ${formatNumber(100 * interval.level, 0)} % interval; ${countsWords(counts)}.`,
        ...notes.map((note) => note.message),
      ].join(' '),
    };
  });
  const x = {
    field: 'across',
    type: 'ordinal',
    scale: { domain: codes.slice(0, -1), paddingInner: 0.06 },
    axis: { title: null, orient: 'bottom', labelAngle: 0 },
  };
  const y = {
    field: 'down',
    type: 'ordinal',
    scale: { domain: codes.slice(1), paddingInner: 0.08 },
    axis: { title: null },
  };
  const text = (field: string, dy: number, mark: object = {}) => ({
    mark: { type: 'text', dy, ...mark },
    encoding: {
      x,
      y,
      text: { field },
      color: { field: 'color', type: 'nominal', scale: null },
      tooltip: { field: 'words' },
    },
  });
  const title = titleOf(rated);
  return chartOf(
    {
      from: agreement,
      title,
      subtitle: [
        `${subjectWords(ratings)}: ${countOf(agreement.pairs.length, 'pair')} of ${countOf(codes.length, 'assessor')}, by code; ${theme.name === 'dark' ? 'lighter' : 'darker'} is higher, from 0 to 1`,
        ...(first === undefined
          ? []
          : [`${sentenceCase(first.estimate.statistic)} with ${intervalWords(first.estimate.interval)}`]),
      ],
      details: [
        `Agreement of every pair of ${countOf(codes.length, 'assessor')}.`,
        ...cells.map(
          (cell) =>
            `${cell.across} and ${cell.down} ${cell.value}${cell.interval === '' ? '' : ` (${cell.interval})`}.`,
        ),
      ].join(' '),
      caution: CAUTIONS.noRanking,
      view: {
        width: CELL.width * (codes.length - 1),
        height: CELL.height * (codes.length - 1),
        data: { values: cells },
        layer: [
          {
            mark: { type: 'rect', cornerRadius: 3, stroke: theme.hairline },
            encoding: { x, y, fill: { field: 'fill', type: 'nominal', scale: null }, tooltip: { field: 'words' } },
          },
          text('value', -15, { fontWeight: 600, fontSize: 15 }),
          text('interval', 2, { fontSize: TEXT_SIZES.small }),
          text('people', 17, { fontSize: TEXT_SIZES.small }),
        ],
      },
    },
    theme,
  );
}

function titleOf(rated: readonly Estimate[]): string {
  if (rated.length < 2) return 'Agreement of the pair of assessors';
  const highestLower = Math.max(...rated.map((estimate) => estimate.interval.lower));
  const lowestUpper = Math.min(...rated.map((estimate) => estimate.interval.upper));
  const values = rated.map((estimate) => estimate.value);
  if (highestLower <= lowestUpper) return 'No pair of assessors can be told from the others';
  return `Agreement of pairs of assessors lies between ${formatNumber(Math.min(...values))} and ${formatNumber(Math.max(...values))}`;
}

import type { LimitsOfAgreement } from '../agreement/limits-of-agreement.js';
import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { formatNumber } from '../shared/table.js';
import { type Chart, chartOf } from './chart.js';
import { type ChartOptions, TEXT_SIZES, themeOf } from './theme.js';
import { countOf, countsWords, sentenceCase, subjectWords, valueWithInterval } from './words.js';

/** The limits of agreement of one pair. */
export interface PairLimits {
  /** The difference is first minus second, as `limitsOfAgreement` takes it. */
  readonly assessors: readonly [string, string];
  readonly limits: LimitsOfAgreement;
}

export interface DifferencesOptions extends ChartOptions {
  /** Decimals of the printed values. Default 1. */
  readonly decimals?: number;
}

/**
 * Measured values read by two assessors: the difference against the mean of the two, one panel a pair,
 * with the mean difference and the limits of agreement as lines, each in the band of its interval.
 * Findings at the same place are one dot, larger for more. There is no correlation on it: two
 * assessors can rise together and never agree.
 *
 * The title says who reads more only for one pair, and only when the interval of the mean difference
 * leaves out 0.
 *
 * Throws `InputError`: `not-measured` for grades, `unknown-assessor`, `no-pairs`.
 */
export function differencesChart(
  ratings: Ratings,
  limits: readonly PairLimits[],
  options: DifferencesOptions = {},
): Chart {
  const theme = themeOf(options);
  const decimals = options.decimals ?? 1;
  const unit = ratings.subject?.unit ?? '';
  if (ratings.level === 'nominal' || ratings.level === 'ordinal')
    throw refuse('not-measured', ['ratings'], 'These are grades; the difference of two grades is no length.');
  if (limits.length === 0) throw refuse('no-pairs', ['limits'], 'No pair of assessors is given.');
  const panels = limits.map((pair) => ({ pair, dots: dotsOf(ratings, pair.assessors) }));
  const allDots = panels.flatMap(({ dots }) => dots);
  const lines = panels.flatMap(({ pair }) => linesOf(pair));
  const reach = Math.max(
    ...allDots.map((dot) => Math.abs(dot.difference)),
    ...lines.flatMap((line) =>
      [line.lower, line.upper, line.value].map((end) => (Number.isNaN(end) ? 0 : Math.abs(end))),
    ),
  );
  const means = allDots.map((dot) => dot.mean);
  const room = 0.05 * (Math.max(...means) - Math.min(...means) || 1);
  const width = limits.length === 1 ? 440 : limits.length === 2 ? 215 : 145;
  const x = {
    type: 'quantitative',
    scale: { domain: [Math.min(...means) - room, Math.max(...means) + room], nice: false, zero: false },
    axis: {
      title: null,
      grid: false,
      tickCount: 5,
      domain: true,
      labelExpr: `datum.label + ' ${unit}'`,
      labelOverlap: true,
    },
  };
  const y = {
    type: 'quantitative',
    scale: { domain: [-1.08 * reach, 1.08 * reach], nice: false },
    axis: {
      title: null,
      grid: false,
      tickCount: 7,
      labelExpr: `(datum.value > 0 ? '+' : '') + datum.label + ' ${unit}'`,
    },
  };
  const title = titleOf();
  const { level, method } = limits[0]!.limits.lower.interval;
  return chartOf(
    {
      title,
      subtitle: [
        `${subjectWords(ratings)}: difference of two readings (up) against their mean (across); larger dot: more findings`,
        `Lines: mean difference and limits of agreement; bands: ${formatNumber(100 * level, 0)} % intervals (${method})`,
      ],
      details: [
        `Differences of two assessors against their mean, ${countOf(limits.length, 'pair')}.`,
        ...limits.map(
          ({ assessors: [first, second], limits: { bias, lower, upper, counts } }) =>
            `${first} minus ${second}: mean ${printed(bias)}; limits ${printed(lower)} and ${printed(upper)}; ${countsWords(counts)}.`,
        ),
      ].join(' '),
      view: {
        spacing: 22,
        hconcat: panels.map(({ pair, dots }, at) => ({
          width,
          height: 280,
          title: {
            text: `${pair.assessors[0]} minus ${pair.assessors[1]}`,
            subtitle: countsOf(pair),
            fontSize: TEXT_SIZES.label,
            anchor: 'start',
            frame: 'group',
            offset: 8,
          },
          layer: [
            {
              data: { values: linesOf(pair).filter((line) => !Number.isNaN(line.lower)) },
              mark: { type: 'rect', color: theme.categories[4], opacity: 0.28 },
              encoding: {
                y: { field: 'lower', ...y, axis: axisOf(at) },
                y2: { field: 'upper' },
                tooltip: { field: 'words' },
              },
            },
            {
              data: { values: [{ at: 0 }] },
              mark: { type: 'rule', color: theme.muted, strokeDash: [2, 3] },
              encoding: { y: { field: 'at', ...y, axis: axisOf(at) } },
            },
            {
              data: { values: linesOf(pair) },
              mark: { type: 'rule', color: theme.ink, strokeWidth: 1.5 },
              encoding: { y: { field: 'value', ...y, axis: axisOf(at) }, tooltip: { field: 'words' } },
            },
            {
              data: { values: dots },
              mark: {
                type: 'point',
                filled: true,
                opacity: 0.75,
                color: theme.categories[1],
                stroke: theme.paper,
                strokeWidth: 0.75,
              },
              encoding: {
                x: { field: 'mean', ...x },
                y: { field: 'difference', ...y, axis: axisOf(at) },
                size: {
                  field: 'findings',
                  type: 'quantitative',
                  scale: { domain: [0, 12], range: [0, 420] },
                  legend: null,
                },
                tooltip: { field: 'words' },
              },
            },
            {
              data: { values: linesOf(pair) },
              mark: {
                type: 'text',
                align: 'left',
                dx: 6,
                fontSize: TEXT_SIZES.small,
                fontWeight: 600,
              },
              encoding: { x: { value: width }, y: { field: 'value', ...y, axis: axisOf(at) }, text: { field: 'text' } },
            },
          ],
        })),
      },
    },
    theme,
  );

  /** Only the first panel carries the scale of differences; all have the same. */
  function axisOf(at: number): object {
    return at === 0 ? y.axis : { ...y.axis, labels: false };
  }

  function printed(estimate: Estimate): string {
    return `${valueWithInterval(estimate.value, estimate.interval, decimals)}${unit === '' ? '' : ` ${unit}`}`;
  }

  function countsOf({ limits: { counts } }: PairLimits): string {
    return `${countOf(counts.targets, 'finding')}, ${countOf(counts.clusters, 'person', 'people')}`;
  }

  function linesOf({ assessors: [first, second], limits: { bias, lower, upper } }: PairLimits) {
    return [
      { name: 'upper limit', estimate: upper },
      { name: 'mean', estimate: bias },
      { name: 'lower limit', estimate: lower },
    ].map(({ name, estimate }) => ({
      assessors: [first, second],
      value: estimate.value,
      lower: estimate.interval.lower,
      upper: estimate.interval.upper,
      text: limits.length < 3 ? `${name} ${signed(estimate.value)}` : signed(estimate.value),
      words: `${first} minus ${second}, ${name}: ${printed(estimate)}.`,
    }));
  }

  function signed(value: number): string {
    return `${value > 0 ? '+' : ''}${formatNumber(value, decimals)}`;
  }

  function titleOf(): string {
    const [only, ...others] = limits;
    const sign = (ratings.subject?.signLabel ?? 'the readings').toLowerCase();
    if (others.length > 0) return `Between which limits do two assessors differ on ${sign}?`;
    const [first, second] = only!.assessors;
    const { bias, lower, upper } = only!.limits;
    const within = `most differences lie between ${signed(lower.value)} and ${signed(upper.value)} ${unit}`.trim();
    if (bias.interval.lower > 0) return `${first} reads more than ${second} on average; ${within}`;
    if (bias.interval.upper < 0) return `${first} reads less than ${second} on average; ${within}`;
    return `${sentenceCase(within)} (${first} minus ${second})`;
  }
}

/** Pairs of readings at the same place count as one dot. */
function dotsOf(ratings: Ratings, assessors: readonly [string, string]) {
  const [first, second] = assessors;
  const pair = ratings.ofAssessors(first, second);
  const dots = new Map<string, { mean: number; difference: number; findings: number }>();
  for (let target = 0; target < pair.targets; target++) {
    const [one, two] = [pair.numbers[2 * target]!, pair.numbers[2 * target + 1]!];
    if (Number.isNaN(one) || Number.isNaN(two)) continue;
    const dot = { mean: rounded((one + two) / 2), difference: rounded(one - two), findings: 1 };
    const key = `${dot.mean}/${dot.difference}`;
    const known = dots.get(key);
    if (known === undefined) dots.set(key, dot);
    else known.findings++;
  }
  return [...dots.values()].map((dot) => ({
    ...dot,
    assessors,
    words: `Mean ${formatNumber(dot.mean, 2)}, ${first} minus ${second} ${formatNumber(dot.difference, 2)}: ${countOf(dot.findings, 'finding')}.`,
  }));
}

/** Without the last binary digits, so that equal readings fall on one dot. */
function rounded(value: number): number {
  return Number(value.toPrecision(10));
}

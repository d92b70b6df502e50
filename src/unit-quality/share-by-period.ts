import { wilson } from '../agreement/percent-agreement.js';
import type { Assessments } from '../assessments/assessments.js';
import { type MadeFor, madeForOf } from '../shared/audience.js';
import type { Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions } from '../shared/options.js';
import { Table } from '../shared/table.js';
import { autocorrelation, RESEMBLANCE } from './autocorrelation.js';
import { type RunChart, runChart } from './run-chart.js';
import type { UnitCounts } from './unit-counts.js';
import { scaleSegments, type UnitPeriodOptions, unitPeriods, WORST_IN_PERIOD } from './unit-periods.js';

/** One period: how many of those assessed had the finding. */
export interface PeriodShare {
  readonly label: string;
  /** People with the finding; `null` where numbers are too small to show. */
  readonly count: number | null;
  /** `NaN` where hidden. */
  readonly assessed: number;
  /** People who should have been assessed; `NaN` where hidden. */
  readonly due: number;
  readonly interval?: Interval;
  /** What a run or control rule says about this period, in words. */
  readonly signal?: string;
}

/** A stretch of periods on one scale, with its middle line. */
export interface ShareSegment {
  readonly scaleLabel: string;
  /** The finding on this scale: "grade 2 or more". */
  readonly finding: string;
  /** Median share; absent where there are too few periods. */
  readonly middle?: number;
  /** How many of its first periods are a frozen baseline. */
  readonly baselinePeriods?: number;
  readonly periods: readonly PeriodShare[];
}

/** The share of people with a finding on a unit, period by period. */
export interface ShareByPeriod extends MadeFor {
  readonly signLabel: string;
  readonly counted: string;
  readonly rule: string;
  /** The lowest grade that counts, as it is written on the scale; absent where the finding is no grade. */
  readonly atLeast?: string;
  readonly segments: readonly ShareSegment[];
  /** A sentence that a rule supports; without it the title asks. */
  readonly sentence?: string;
  /** What was begun, when: a strip of words, no arrows. */
  readonly actions?: readonly { readonly label: string; readonly words: string }[];
}

/** What the chart draws, with the rules applied to each scale's periods, its table and notes. */
export interface ShareByPeriodResult extends ShareByPeriod {
  /** The run chart of each segment. */
  readonly runCharts: readonly RunChart[];
  readonly table: Table;
  readonly notes: readonly Note[];
}

export interface ShareByPeriodOptions extends UnitPeriodOptions {
  /** The lowest grade that counts, as it is written on the scale: "2". */
  readonly atLeast: string;
  readonly confidenceLevel?: number;
  readonly actions?: ShareByPeriod['actions'];
  /**
   * The last period of a baseline that stays frozen: the middle line of its scale is the median of the periods up to it, whatever comes
   * after. Name it once and keep it. Default: the median of all periods on the scale.
   */
  readonly baselineTo?: number;
}

/** Periods on one scale from which a middle line is drawn (common practice, no source). */
const PERIODS_FOR_MIDDLE = 8;

/**
 * The share of stays whose worst grade in the period reaches a grade, with counts, Wilson intervals and, from eight periods on one
 * scale, the median as the middle line. A changed scale begins a new segment with its own middle line, and the rules of `runChart` are
 * applied to each segment by itself: the periods of a run that is too long are marked, and the newest segment's signal is the sentence.
 *
 * Undefined (`NaN`) for a period in which nobody was assessed. The interval counts each stay once and takes stays as independent.
 *
 * @throws InputError `unknown-category` (the grade is not on each scale in use), `bad-option` (no period of the series ends the baseline), and what `unitPeriods` throws.
 */
export function shareByPeriod(
  assessments: Assessments | UnitCounts,
  options: ShareByPeriodOptions,
): ShareByPeriodResult {
  const { confidenceLevel } = checkIntervalOptions({
    ...(options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel }),
  });
  const unit = unitPeriods(assessments, options);
  const { baselineTo } = options;
  if (baselineTo !== undefined && !unit.periods.some(({ period }) => period === baselineTo))
    throw refuse(
      'bad-option',
      ['options', 'baselineTo'],
      `No period of the series has the number ${baselineTo}.`,
      `choose one of ${unit.periods.map(({ period }) => period).join(', ')}.`,
    );
  const segments = scaleSegments(unit.periods).map(({ scale, periods }): ShareSegment => {
    const from = scale.categories!.findIndex((category) => category.value === options.atLeast);
    if (from < 0)
      throw refuse(
        'unknown-category',
        ['options', 'atLeast'],
        `The scale ${scale.id} has no grade "${options.atLeast}".`,
        `choose one of ${scale.categories!.map((category) => category.value).join(', ')}.`,
      );
    const frozen = periods.findIndex(({ period }) => period === baselineTo) + 1;
    return {
      scaleLabel: scale.label,
      finding: `grade ${options.atLeast} or more`,
      ...(frozen === 0 ? {} : { baselinePeriods: frozen }),
      periods: periods.map((period) => {
        const count = period.worst.slice(from).reduce((sum, people) => sum + people, 0);
        return periodShare(period.label, count, period.assessed, period.present, confidenceLevel);
      }),
    };
  });
  return shareResultOf(
    {
      signLabel: unit.signLabel,
      counted: unit.counted,
      rule: WORST_IN_PERIOD,
      atLeast: options.atLeast,
      segments,
      ...(options.actions === undefined ? {} : { actions: options.actions }),
    },
    unit.notes,
  );
}

/** One period with Wilson's interval, each counted once. */
export function periodShare(
  label: string,
  count: number,
  assessed: number,
  due: number,
  confidenceLevel: number,
): PeriodShare {
  return {
    label,
    count,
    assessed,
    due,
    interval: {
      ...(assessed === 0 ? { lower: Number.NaN, upper: Number.NaN } : wilson(count, assessed, confidenceLevel)),
      level: confidenceLevel,
      method: 'Wilson, each counted once',
    },
  };
}

/** The share with what follows from its counts: middle lines, rules, sentence, table and notes. */
export function shareResultOf(share: ShareByPeriod, firstNotes: readonly Note[]): ShareByPeriodResult {
  const sharesOf = ({ periods }: ShareSegment): (number | null)[] =>
    periods.map(({ count, assessed }) => (count === null || assessed === 0 ? null : count / assessed));
  const runCharts = share.segments.map((segment) => {
    const { baselinePeriods } = segment;
    return runChart(sharesOf(segment), baselinePeriods === undefined ? {} : { baseline: baselinePeriods });
  });
  const segments = share.segments.map((segment, place): ShareSegment => {
    const chart = runCharts[place]!;
    const values = sharesOf(segment);
    const { middle: _middle, ...rest } = segment;
    const inRun = chart.longestRun.length > chart.longestRun.limit && chart.signal;
    return {
      ...rest,
      ...(values.filter((value) => value !== null).length >= PERIODS_FOR_MIDDLE ? { middle: chart.middle } : {}),
      periods: segment.periods.map((period, at) =>
        inRun && at >= chart.longestRun.from && at <= chart.longestRun.to && values[at] !== chart.middle
          ? { ...period, signal: chart.sentence }
          : period,
      ),
    };
  });
  const newest = runCharts.at(-1);
  const sentence = newest?.signal === true ? `${share.signLabel}: ${titleOf(newest)}` : undefined;
  const notes = [
    ...firstNotes,
    ...segments
      .filter((segment) => segment.middle === undefined)
      .map((segment) =>
        information(
          'too-soon',
          `With ${segment.periods.length} periods on one scale it is too soon for a middle line.`,
        ),
      ),
    ...runCharts.flatMap((chart, at) =>
      chart.useful >= RESEMBLANCE.fewest && autocorrelation(sharesOf(segments[at]!)).resemble
        ? [caution('neighbors-resemble', RESEMBLANCE.words)]
        : [],
    ),
  ];
  const { signLabel, counted, rule, atLeast, actions } = share;
  return {
    signLabel,
    counted,
    rule,
    ...(atLeast === undefined ? {} : { atLeast }),
    segments,
    runCharts,
    ...(sentence === undefined ? {} : { sentence }),
    ...(actions === undefined ? {} : { actions }),
    ...madeForOf(share),
    table: tableOf(share, segments, notes),
    notes,
  };
}

/** The signal without the chance of a false one, which stands beside the chart. */
function titleOf(chart: RunChart): string {
  const sentence = chart.sentence.split('. ')[0]!;
  return sentence.charAt(0).toLowerCase() + sentence.slice(1);
}

function tableOf(share: ShareByPeriod, segments: readonly ShareSegment[], notes: readonly Note[]): Table {
  const { signLabel, counted } = share;
  return new Table(
    `${signLabel}: what share of the assessed ${counted} reached the grade, period by period?`,
    [
      { key: 'period', label: 'period', kind: 'text' },
      { key: 'finding', label: 'what counts', kind: 'text' },
      { key: 'count', label: 'with it', kind: 'count' },
      { key: 'assessed', label: 'assessed', kind: 'count' },
      { key: 'due', label: 'in all', kind: 'count' },
      { key: 'share', label: 'share', kind: 'percent' },
      { key: 'lower', label: 'from', kind: 'percent' },
      { key: 'upper', label: 'to', kind: 'percent' },
    ],
    segments.flatMap((segment) =>
      segment.periods.map((period) => ({
        period: period.label,
        finding: segment.finding,
        ...(period.count === null
          ? Object.fromEntries(['count', 'assessed', 'due', 'share', 'lower', 'upper'].map((key) => [key, 'hidden']))
          : {
              count: period.count,
              assessed: period.assessed,
              due: period.due,
              share: period.assessed === 0 ? Number.NaN : period.count / period.assessed,
              lower: period.interval?.lower ?? Number.NaN,
              upper: period.interval?.upper ?? Number.NaN,
            }),
      })),
    ),
    notes,
    share,
  );
}

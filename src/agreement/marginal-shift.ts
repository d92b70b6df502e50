import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import { information, type Note } from '../shared/note.js';
import type { IntervalOptions } from '../shared/options.js';
import { Table } from '../shared/table.js';
import { CategoryEstimates } from './category-estimates.js';
import type { Coefficient } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { twoAssessorsOf } from './two-assessors.js';

export interface MarginalShiftOptions extends IntervalOptions {
  /** The two assessors to compare; needed when the ratings hold more than two. */
  readonly assessors?: readonly [string, string];
}

/** How far the second of two assessors reads above the first: on average, and grade by grade. */
export class MarginalShift {
  readonly kind = 'marginal-shift';

  constructor(
    readonly assessors: readonly [string, string],
    /** Mean difference of scores, second minus first; `undefined` where categories have no order. */
    readonly difference: Estimate | undefined,
    /** Share of the second minus share of the first, grade by grade; empty for measured numbers. */
    readonly shares: CategoryEstimates,
  ) {
    Object.freeze(this);
  }

  get table(): Table {
    const shares = this.shares.table;
    return new Table(
      'Does one of the two read higher than the other? (second minus first)',
      shares.columns,
      shares.rows,
      this.difference === undefined ? [] : [information('mean-difference', this.difference.toString())],
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

/**
 * The marginal shift between two assessors: how much higher the second reads than the first on the same targets, on average and
 * as the change in the share of each grade.
 *
 * difference = Σ (s₂ₜ − s₁ₜ) / n, s the scores of the two readings of target t, n targets both have read; shift of category k
 * = p₊ₖ − pₖ₊, the share of readings in k by the second minus by the first.
 *
 * Undefined (`NaN` with a note) when no target has both readings; an interval is not defined where all patients give the same
 * difference. Missing values: a target enters when both have read it; the others are counted as `excluded`. For measured numbers and for
 * scales of more than twelve grades the shares are left out; for categories without order the difference is.
 *
 * With patients the intervals are patient-clustered (studentized bootstrap by default); without, the delta method (for a share: Wald's).
 * A shift is bias between these two, not error of either.
 *
 * @param ratings two assessors (or name two in `assessors`).
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `bad-option`.
 * @example marginalShift(ratingsOf([[1, 2], [2, 2], [0, 1], [3, 3]])).difference.value // 0.5
 * Source: common practice; interval of a share: Agresti A. Categorical Data Analysis, 2002, ch. 10 (from memory).
 */
export function marginalShift(ratings: Ratings, options: MarginalShiftOptions = {}): MarginalShift {
  const pair = twoAssessorsOf(ratings, options.assessors, 'marginalShift');
  const measured = pair.level === 'interval' || pair.level === 'ratio' || pair.categories.length > 12;
  return new MarginalShift(
    [pair.assessors[0]!, pair.assessors[1]!],
    pair.level === 'nominal' ? undefined : shiftEstimate(pair, meanDifference(pair), options),
    new CategoryEstimates(
      'share-shift',
      'How much more often does the second read this grade than the first?',
      'shift of the share',
      measured
        ? []
        : pair.categories.map((category, code) => ({
            category,
            estimate: shiftEstimate(pair, shareShift(pair, code), options, { readings: readingsOf(pair, code) }),
          })),
    ),
  );
}

/** An estimate of a difference between two assessors by the common mechanism. */
export function shiftEstimate(
  pair: Ratings,
  coefficient: Coefficient,
  options: IntervalOptions,
  details: Readonly<Record<string, number>> = {},
): Estimate {
  const { confidenceLevel, interval, replicates, seed } = options;
  const intervalOptions = {
    ...(confidenceLevel === undefined ? {} : { confidenceLevel }),
    ...(interval === undefined ? {} : { interval }),
    ...(replicates === undefined ? {} : { replicates }),
    ...(seed === undefined ? {} : { seed }),
  };
  return coefficientEstimate(pair, coefficient, intervalOptions, {
    options: { assessors: pair.assessors },
    details: () => details,
    ratingsPerTarget: 2,
    notes: nothingInCommon,
  });
}

/** Mean of a function of the two readings of a target. Sums: its total, targets. */
function meanOfPairs(
  pair: Ratings,
  name: string,
  of: (first: number, second: number, target: number) => number,
): Coefficient {
  return {
    name: `${name}, ${pair.assessors[1]} minus ${pair.assessors[0]}`,
    cells: 2,
    scale: 'plain',
    bootstrapForm: 'symmetric',
    asymptotic: 'normal, divisor n',
    asymptoticSource: 'delta method',
    add(target, sums, at) {
      const first = pair.codes[2 * target]!;
      const second = pair.codes[2 * target + 1]!;
      if (first < 0 || second < 0) return false;
      sums[at]! += of(first, second, target);
      sums[at + 1]!++;
      return true;
    },
    value: (sums) => sums[0]! / sums[1]!,
    gradient: (sums) => Float64Array.of(1 / sums[1]!, -sums[0]! / (sums[1]! * sums[1]!)),
  };
}

/** Mean difference of scores. */
export function meanDifference(pair: Ratings): Coefficient {
  const { numbers } = pair;
  return meanOfPairs(pair, 'mean difference', (_first, _second, at) => numbers[2 * at + 1]! - numbers[2 * at]!);
}

/** Difference of the shares of one category. */
export function shareShift(pair: Ratings, code: number): Coefficient {
  const words = pair.categories[code]!.words;
  return meanOfPairs(pair, `share of "${words}"`, (first, second) => Number(second === code) - Number(first === code));
}

/** Share of targets that the second reads higher, less the share that he or she reads lower. */
export function netShareHigher(pair: Ratings): Coefficient {
  const scores = pair.categories.map((category) => category.score);
  return meanOfPairs(pair, 'share read higher less share read lower', (first, second) =>
    Math.sign(scores[second]! - scores[first]!),
  );
}

/** The category whose share shifts most between the two; the first of several. */
export function largestShift(pair: Ratings): number {
  const shift = new Float64Array(pair.categories.length);
  for (let target = 0; target < pair.targets; target++) {
    const first = pair.codes[2 * target]!;
    const second = pair.codes[2 * target + 1]!;
    if (first < 0 || second < 0) continue;
    shift[first]!--;
    shift[second]!++;
  }
  let most = 0;
  shift.forEach((value, code) => {
    if (Math.abs(value) > Math.abs(shift[most]!)) most = code;
  });
  return most;
}

function readingsOf(pair: Ratings, code: number): number {
  let count = 0;
  for (let target = 0; target < pair.targets; target++) {
    const first = pair.codes[2 * target]!;
    const second = pair.codes[2 * target + 1]!;
    if (first < 0 || second < 0) continue;
    count += Number(first === code) + Number(second === code);
  }
  return count;
}

function nothingInCommon(value: number): Note[] {
  return Number.isNaN(value) ? [information('not-defined', 'No target has readings by both assessors.')] : [];
}

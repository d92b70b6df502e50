import type { Coefficient } from '../agreement/coefficient.js';
import { coefficientEstimate } from '../agreement/coefficient-estimate.js';
import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import { checkIntervalOptions, type IntervalOptions } from '../shared/options.js';

/** How far apart two readings of one unchanged finding are, in grades. */
export interface GradeShifts {
  /** For 1, 2, … grades: the share of pairs that differ by at least as many. */
  readonly atLeast: readonly { readonly grades: number; readonly share: Estimate }[];
  /**
   * The smallest number of grades by which at most 1 − confidence level of pairs differ: a smaller difference is within
   * the error. One more than the scale has steps where even its whole length is within.
   */
  readonly smallestDetectableShift: number;
}

/**
 * Shares of pairs of readings of the same finding that are at least 1, 2, … grades apart, each the mean over targets
 * of the target's own share, and from them the smallest shift beyond the error.
 *
 * @throws InputError `bad-option`.
 */
export function gradeShifts(ratings: Ratings, options: IntervalOptions): GradeShifts {
  const { confidenceLevel } = checkIntervalOptions(options);
  const steps = ratings.categories.length;
  const atLeast = Array.from({ length: steps - 1 }, (_, at) => ({
    grades: at + 1,
    share: coefficientEstimate(ratings, shareApart(ratings, at + 1), options, { options: { grades: at + 1 } }),
  }));
  const beyond = atLeast.find(({ share }) => share.value <= 1 - confidenceLevel + 1e-12);
  return { atLeast, smallestDetectableShift: beyond?.grades ?? steps };
}

/** The share of pairs of an unchanged finding that differ by at least so many grades; 0 beyond the length of the scale. */
export function shareAtLeast(shifts: GradeShifts, grades: number): number {
  return shifts.atLeast.find((entry) => entry.grades === grades)?.share.value ?? 0;
}

function shareApart(ratings: Ratings, shift: number): Coefficient {
  return {
    name: `share of pairs at least ${shift} grade${shift === 1 ? '' : 's'} apart`,
    cells: 2,
    scale: 'logit',
    bootstrapForm: 'symmetric',
    asymptotic: 't, divisor n − 1',
    asymptoticSource: 'share of targets',
    add(target, sums, at) {
      let pairs = 0;
      let apart = 0;
      const from = target * ratings.columns;
      for (let i = 0; i < ratings.columns; i++) {
        const a = ratings.codes[from + i]!;
        if (a < 0) continue;
        for (let j = 0; j < i; j++) {
          const b = ratings.codes[from + j]!;
          if (b < 0) continue;
          pairs++;
          if (Math.abs(a - b) >= shift) apart++;
        }
      }
      if (pairs === 0) return false;
      sums[at]! += apart / pairs;
      sums[at + 1]!++;
      return true;
    },
    value: (sums) => sums[0]! / sums[1]!,
    gradient: (sums) => Float64Array.of(1 / sums[1]!, -sums[0]! / (sums[1]! * sums[1]!)),
  };
}

import type { Ratings } from '../ratings/ratings.js';
import { chiSquare } from '../shared/distributions.js';
import { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { information } from '../shared/note.js';
import { checkIntervalOptions } from '../shared/options.js';
import { leaveOneOutInterval, patientNotes } from './leave-one-out-interval.js';
import { assessorsWhoRead, readingsOfTarget } from './measured-numbers.js';

export interface KendallWOptions {
  /** Coverage asked for, a fraction between 0 and 1. Default 0.95. */
  readonly confidenceLevel?: number;
}

/**
 * Kendall's W: how alike any number of assessors rank the same targets, 0 to 1.
 *
 * W = 12S/(m²(n³ − n) − m·ΣT), m assessors, n targets, S = Σᵢ (Rᵢ − R̄)² of the sums Rᵢ of target i's ranks, ties given mid-ranks, T = t³ − t for every
 * group of t tied targets of an assessor. It looks at order alone: assessors who differ by a steady amount agree completely.
 *
 * Undefined (`NaN` with a note) with fewer than two targets, or where every assessor ties all of them. Missing values: a target enters when
 * all assessors have read it; the others are counted as `excluded`.
 *
 * Interval: patient jackknife on the logit scale, all targets ranked anew without each patient; where patients are not known, targets stand in.
 * `details`: sumOfSquares S, tieSum ΣT, uncorrected (W without the term for ties), and the test of no common order, chiSquare = m(n − 1)W,
 * degreesOfFreedom n − 1 and pValue, which takes targets as independent and is `NaN` where patients have several.
 *
 * @param given numbers or ordered grades, two assessors or more.
 * @throws InputError `level-not-suited` (no order), `assessors-needed`, `two-assessors-needed`, `bad-option`.
 * @example kendallW(ratingsOf([[9, 2, 5], [6, 1, 3], [8, 4, 6], [7, 1, 2]])).value // 0.8391
 * Source: Kendall MG, Babington Smith B. Ann Math Stat 1939;10:275–287, doi:10.1214/aoms/1177732186.
 */
export function kendallW(given: Ratings, options: KendallWOptions = {}): Estimate {
  const ratings = assessorsWhoRead(given);
  if (ratings.level === 'nominal')
    throw refuse(
      'level-not-suited',
      ['ratings'],
      `The categories of ${ratings.subject?.signLabel ?? 'this sign'} have no order, so they cannot be ranked.`,
      'use fleissKappa.',
    );
  if (ratings.assessors.length === 0)
    throw refuse(
      'assessors-needed',
      ['ratings'],
      'kendallW ranks the readings of each assessor, but who read is not known here.',
    );
  if (ratings.columns < 2) throw refuse('two-assessors-needed', ['ratings'], 'kendallW needs at least two assessors.');
  const { confidenceLevel } = checkIntervalOptions(options);
  const m = ratings.columns;
  const targets: number[] = [];
  for (let target = 0; target < ratings.targets; target++)
    if (readingsOfTarget(ratings, target) === m) targets.push(target);
  const columns = rankedColumns(ratings, targets);
  const all = concordance(columns, targets.length, []);
  const patients = new Map<number, number[]>();
  targets.forEach((target, at) => {
    const own = patients.get(ratings.clusterOf[target]!);
    if (own === undefined) patients.set(ratings.clusterOf[target]!, [at]);
    else own.push(at);
  });
  const leftOut = Float64Array.from(patients.values(), (own) => concordance(columns, targets.length, own).w);
  const n = targets.length;
  const chi = m * (n - 1) * all.w;
  const independent = patients.size === n;
  const { standardError, interval, notes } = leaveOneOutInterval(all.w, leftOut, 'logit', confidenceLevel);
  return new Estimate({
    statistic: 'Kendall W',
    value: all.w,
    standardError,
    interval,
    counts: { targets: n, clusters: patients.size, assessors: m, ratings: n * m, excluded: ratings.targets - n },
    options: { confidenceLevel },
    details: {
      sumOfSquares: all.squares,
      tieSum: all.ties,
      uncorrected: all.uncorrected,
      chiSquare: chi,
      degreesOfFreedom: n - 1,
      pValue: independent ? chiSquare.upper(chi, n - 1) : Number.NaN,
    },
    notes: [
      ...(Number.isNaN(all.w)
        ? [
            information(
              'not-defined',
              'Kendall W is not defined: fewer than two targets, or all of them tied by every assessor.',
            ),
          ]
        : []),
      information(
        'order-alone',
        'Kendall W looks at order alone: a steady difference between assessors does not lower it.',
      ),
      ...patientNotes(ratings.clustersKnown, patients.size),
      ...notes,
    ],
  });
}

/** Which distinct number of its assessor each reading is, ascending: ranks follow from counts, so leaving targets out needs no new sorting. */
interface Ranked {
  readonly place: Int32Array;
  readonly counts: Int32Array;
}

function rankedColumns(ratings: Ratings, targets: readonly number[]): Ranked[] {
  return Array.from({ length: ratings.columns }, (_, column) => {
    const numbers = Float64Array.from(targets, (target) => ratings.numbers[target * ratings.columns + column]!);
    const distinct = [...new Set(numbers)].sort((a, b) => a - b);
    const placeOf = new Map(distinct.map((number, place) => [number, place]));
    const place = Int32Array.from(numbers, (number) => placeOf.get(number)!);
    const counts = new Int32Array(distinct.length);
    for (const at of place) counts[at]!++;
    return { place, counts };
  });
}

/** W of all targets except those at `without`. */
function concordance(
  columns: readonly Ranked[],
  all: number,
  without: readonly number[],
): { w: number; squares: number; ties: number; uncorrected: number } {
  const n = all - without.length;
  const m = columns.length;
  const sums = new Float64Array(all);
  let ties = 0;
  for (const { place, counts } of columns) {
    const left = counts.slice();
    for (const at of without) left[place[at]!]!--;
    const ranks = new Float64Array(left.length);
    let below = 0;
    for (let at = 0; at < left.length; at++) {
      const tied = left[at]!;
      ranks[at] = below + (tied + 1) / 2;
      below += tied;
      ties += tied ** 3 - tied;
    }
    for (let at = 0; at < all; at++) sums[at]! += ranks[place[at]!]!;
  }
  const mean = (m * (n + 1)) / 2;
  for (const at of without) sums[at] = mean;
  let squares = 0;
  for (const sum of sums) squares += (sum - mean) ** 2;
  const whole = m * m * (n ** 3 - n);
  return {
    squares,
    ties,
    w: whole - m * ties > 0 ? (12 * squares) / (whole - m * ties) : Number.NaN,
    uncorrected: (12 * squares) / whole,
  };
}

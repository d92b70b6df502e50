import type { Ratings } from '../ratings/ratings.js';
import { refuse } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';

/** What a statistic on numbers takes besides its own options. */
export interface NumberOptions {
  /** Computes on grades as if they were lengths: equal steps between grades. Never done unless asked by name. Default false. */
  readonly gradesAsNumbers?: boolean;
}

/**
 * Lets measured numbers pass, and grades only when they were asked for as numbers; returns the caution that goes with them.
 * Readings without a sign pass as the numbers they are; words without a sign are grades.
 * @throws InputError `level-not-suited` (no order), `grades-not-numbers`.
 */
export function measuredNumbers(ratings: Ratings, options: NumberOptions, caller: string): Note[] {
  const what = ratings.subject?.signLabel ?? 'this sign';
  if (ratings.level === 'nominal')
    throw refuse(
      'level-not-suited',
      ['ratings'],
      `The categories of ${what} have no order, so ${caller} has no meaning for them.`,
      'use cohenKappa or krippendorffAlpha with the metric "nominal".',
    );
  const words = ratings.level === 'unstated' && ratings.categories.some(({ value }) => typeof value === 'string');
  if (ratings.level !== 'ordinal' && !words) return [];
  if (options.gradesAsNumbers !== true)
    throw refuse(
      'grades-not-numbers',
      ['ratings'],
      `${caller} computes on measured numbers; ${ratings.subject === undefined ? 'these readings' : what} are grades.`,
      'use cohenKappa with weights or krippendorffAlpha, or say gradesAsNumbers: true to take the steps between grades as equal.',
    );
  return [
    caution('grades-as-numbers', 'Grades were computed on as numbers: the steps between grades are taken as equal.'),
  ];
}

/** The mean of the numbers of the targets that `enters` accepts: taken off first, it keeps large offsets from swallowing digits. */
export function centerOfNumbers(ratings: Ratings, enters: (target: number) => boolean): number {
  let count = 0;
  let mean = 0;
  for (let target = 0; target < ratings.targets; target++) {
    if (!enters(target)) continue;
    for (let column = 0; column < ratings.columns; column++) {
      const x = ratings.numbers[target * ratings.columns + column]!;
      if (Number.isNaN(x)) continue;
      count++;
      mean += (x - mean) / count;
    }
  }
  return mean;
}

/** How many assessors read a target. */
export function readingsOfTarget(ratings: Ratings, target: number): number {
  let count = 0;
  for (let column = 0; column < ratings.columns; column++)
    if (!Number.isNaN(ratings.numbers[target * ratings.columns + column]!)) count++;
  return count;
}

/** Without the assessors who read none of these targets, who would otherwise make every target look incomplete. */
export function assessorsWhoRead(ratings: Ratings): Ratings {
  const read = ratings.assessors.filter((_, column) => {
    for (let target = 0; target < ratings.targets; target++)
      if (!Number.isNaN(ratings.numbers[target * ratings.columns + column]!)) return true;
    return false;
  });
  return read.length === ratings.assessors.length || read.length === 0 ? ratings : ratings.ofAssessors(...read);
}

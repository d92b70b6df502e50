import { InputError, type Problem } from '../shared/input-error.js';
import { type CategoryInput, categoriesOf } from './rating-categories.js';
import { Ratings, type RatingsLevel } from './ratings.js';
import { clustersOf } from './ratings-of.js';

export interface RatingsOfTableOptions {
  /** The scale's categories in order: rows (first assessor) and columns (second assessor) of the table. */
  readonly categories: readonly CategoryInput[];
  readonly assessors?: readonly [string, string];
  readonly level?: RatingsLevel;
}

/**
 * Ratings of two assessors from their cross-table: entry (i, j) counts the targets that the first
 * assessor read as category i and the second as j. Patients are not known from a table.
 *
 * @param counts q × q whole numbers, in the order of `categories`.
 * @throws InputError `bad-length` (not q × q), `bad-count` (negative or not whole), `too-many-readings` (more than 10 million), `double-category`: all at once.
 * @example ratingsOfTable([[40, 9], [6, 45]], { categories: ['no', 'yes'] }).targets // 100
 */
export function ratingsOfTable(counts: readonly (readonly number[])[], options: RatingsOfTableOptions): Ratings {
  const problems: Problem[] = [];
  const categories = categoriesOf(options.categories, problems);
  const size = categories.length;
  if (counts.length !== size || counts.some((row) => row.length !== size))
    problems.push({
      code: 'bad-length',
      path: ['counts'],
      message: 'The table is not square in the categories.',
      expected: `${size} rows of ${size} counts`,
    });
  checkCounts(counts, problems);
  if (problems.length > 0) throw new InputError(problems);
  const targets = counts.flat().reduce((sum, count) => sum + count, 0);
  const codes = new Int32Array(2 * targets);
  const numbers = new Float64Array(2 * targets);
  let at = 0;
  counts.forEach((row, first) => {
    row.forEach((count, second) => {
      for (let i = 0; i < count; i++, at += 2) {
        codes[at] = first;
        codes[at + 1] = second;
        numbers[at] = categories[first]!.score;
        numbers[at + 1] = categories[second]!.score;
      }
    });
  });
  return new Ratings({
    level: options.level ?? 'unstated',
    categories,
    assessors: options.assessors ?? ['1', '2'],
    codes,
    numbers,
    targets,
    columns: 2,
    ...clustersOf(undefined, targets),
    clustersKnown: false,
  });
}

/** Every reading that is counted is held in memory. */
const MOST_READINGS = 10_000_000;

/** Adds a problem for each count that is negative or not whole, and for counts of more readings than memory holds. */
export function checkCounts(counts: readonly (readonly number[])[], problems: Problem[]): void {
  counts.forEach((row, at) => {
    row.forEach((count, column) => {
      if (!Number.isInteger(count) || count < 0)
        problems.push({
          code: 'bad-count',
          path: ['counts', at, column],
          message: `A count is ${count}.`,
          expected: 'a whole number, 0 or more',
        });
    });
  });
  const totals = counts.map((row) => row.reduce((sum, count) => sum + Math.max(0, count), 0));
  const readings = Math.max(
    totals.reduce((sum, total) => sum + total, 0),
    totals.length * totals.reduce((most, total) => Math.max(most, total), 0),
  );
  if (readings > MOST_READINGS)
    problems.push({
      code: 'too-many-readings',
      path: ['counts'],
      message: `The counts are of ${readings} readings, or of as many places for them.`,
      expected: `at most ${MOST_READINGS}`,
    });
}

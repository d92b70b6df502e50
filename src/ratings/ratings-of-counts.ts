import { InputError, type Problem } from '../shared/input-error.js';
import { information } from '../shared/note.js';
import { type CategoryInput, categoriesOf } from './rating-categories.js';
import { Ratings, type RatingsLevel } from './ratings.js';
import { clustersOf } from './ratings-of.js';
import { checkCounts } from './ratings-of-table.js';

/** More than ever read one target; the time of a coefficient grows with the square. */
const MOST_ASSESSORS = 1000;

export interface RatingsOfCountsOptions {
  /** The scale's categories in order, one a column of the counts. */
  readonly categories: readonly CategoryInput[];
  /** The patient of each row. Default: not known. */
  readonly clusters?: readonly (string | number)[];
  readonly level?: RatingsLevel;
}

/**
 * Ratings from counts: entry (i, k) says how many assessors read target i as category k. Who read is
 * not known, so coefficients that need each assessor's own margin (Cohen, Conger, Light) refuse them.
 *
 * @param counts targets × categories, whole numbers; rows may have different totals.
 * @throws InputError `bad-length`, `bad-count`, `too-many-readings` (more than 1,000 of a target, 10 million in all), `double-category`: all at once.
 * @example ratingsOfCounts([[0, 3], [2, 1]], { categories: ['no', 'yes'] }).targets // 2
 */
export function ratingsOfCounts(counts: readonly (readonly number[])[], options: RatingsOfCountsOptions): Ratings {
  const problems: Problem[] = [];
  const categories = categoriesOf(options.categories, problems);
  counts.forEach((row, at) => {
    if (row.length !== categories.length)
      problems.push({
        code: 'bad-length',
        path: ['counts', at],
        message: `This row has ${row.length} counts.`,
        expected: `${categories.length}, one a category`,
      });
  });
  checkCounts(counts, problems);
  const columns = counts.reduce(
    (most, row) =>
      Math.max(
        most,
        row.reduce((sum, count) => sum + count, 0),
      ),
    0,
  );
  if (columns > MOST_ASSESSORS)
    problems.push({
      code: 'too-many-readings',
      path: ['counts'],
      message: `A target has ${columns} readings.`,
      expected: `at most ${MOST_ASSESSORS}`,
      mend: 'give the readings of each target, not of all targets together.',
    });
  if (options.clusters !== undefined && options.clusters.length !== counts.length)
    problems.push({
      code: 'bad-length',
      path: ['options', 'clusters'],
      message: `clusters has ${options.clusters.length} entries.`,
      expected: `${counts.length}, the patient of each row`,
    });
  if (problems.length > 0) throw new InputError(problems);
  const targets = counts.length;
  const codes = new Int32Array(targets * columns).fill(-1);
  const numbers = new Float64Array(targets * columns).fill(Number.NaN);
  counts.forEach((row, target) => {
    let at = target * columns;
    row.forEach((count, code) => {
      for (let i = 0; i < count; i++, at++) {
        codes[at] = code;
        numbers[at] = categories[code]!.score;
      }
    });
  });
  return new Ratings({
    level: options.level ?? 'unstated',
    categories,
    assessors: [],
    codes,
    numbers,
    targets,
    columns,
    ...clustersOf(options.clusters, targets),
    clustersKnown: options.clusters !== undefined,
    notes: [information('assessors-unknown', 'Who gave which reading is not known.')],
  });
}

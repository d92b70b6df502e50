import { InputError, type Problem } from '../shared/input-error.js';
import { information } from '../shared/note.js';
import { type CategoryInput, categoriesOf, observedCategories, shownReading } from './rating-categories.js';
import { Ratings, type RatingsLevel } from './ratings.js';

/** More categories than any scale has. */
const MOST_SHOWN = 20;

export interface RatingsOfOptions {
  /** The scale's categories in order, unused ones too. Default: the distinct values, with a note. */
  readonly categories?: readonly CategoryInput[];
  /** The patient of each row (any code). Default: not known, each target stands alone and intervals say so. */
  readonly clusters?: readonly (string | number)[];
  /** Codes of the assessors, one a column. Default: "1", "2", … */
  readonly assessors?: readonly string[];
  /** Level of measurement. Default `'unstated'`: every coefficient accepts the readings. */
  readonly level?: RatingsLevel;
}

/**
 * Ratings from rows: one row a target, one column an assessor, `null` = not rated.
 *
 * Missing values: only `null`. `undefined`, `NaN` and infinities are refused.
 *
 * @param rows targets × assessors, each a grade (number or word) or a measured number.
 * @throws InputError `no-rows`, `ragged-row`, `bad-reading`, `unknown-category`, `double-category`, `bad-length`: all at once.
 * @example ratingsOf([[2, 2], [1, 2], [null, 3]], { categories: [0, 1, 2, 3] }).targets // 3
 */
export function ratingsOf(
  rows: readonly (readonly (string | number | null)[])[],
  options: RatingsOfOptions = {},
): Ratings {
  const problems: Problem[] = [];
  const targets = rows.length;
  const columns = options.assessors?.length ?? rows[0]?.length ?? 0;
  if (targets === 0 || columns === 0)
    throw new InputError([
      { code: 'no-rows', path: ['rows'], message: 'There are no readings.', expected: 'rows of targets × assessors' },
    ]);
  rows.forEach((row, at) => {
    if (row.length !== columns)
      problems.push({
        code: 'ragged-row',
        path: ['rows', at],
        message: `This row has ${row.length} readings.`,
        expected: `${columns}, one an assessor, null where there is none`,
      });
  });
  if (options.clusters !== undefined && options.clusters.length !== targets)
    problems.push({
      code: 'bad-length',
      path: ['options', 'clusters'],
      message: `clusters has ${options.clusters.length} entries.`,
      expected: `${targets}, the patient of each row`,
    });
  const distinct = new Set<string | number>();
  rows.forEach((row, at) => {
    row.forEach((value, column) => {
      if (value === null) return;
      if (typeof value === 'string' || Number.isFinite(value)) distinct.add(value);
      else
        problems.push({
          code: 'bad-reading',
          path: ['rows', at, column],
          message: `A reading is ${typeof value === 'number' ? value : 'neither a number nor a word'}.`,
          expected: 'a number, a word, or null for not rated',
        });
    });
  });
  const categories =
    options.categories === undefined ? observedCategories(distinct) : categoriesOf(options.categories, problems);
  const codeOf = new Map(categories.map((category, code) => [category.value, code]));
  const codes = new Int32Array(targets * columns).fill(-1);
  const numbers = new Float64Array(targets * columns).fill(Number.NaN);
  rows.forEach((row, at) => {
    row.slice(0, columns).forEach((value, column) => {
      if (value === null || !distinct.has(value)) return;
      const code = codeOf.get(value);
      if (code === undefined) {
        problems.push({
          code: 'unknown-category',
          path: ['rows', at, column],
          message: `A reading is ${shownReading(value)}.`,
          expected: `one of ${categories
            .slice(0, MOST_SHOWN)
            .map((category) => shownReading(category.value))
            .join(', ')}`,
        });
        return;
      }
      codes[at * columns + column] = code;
      numbers[at * columns + column] = categories[code]!.score;
    });
  });
  if (problems.length > 0) throw new InputError(problems);
  const { clusterOf, clusters } = clustersOf(options.clusters, targets);
  return new Ratings({
    level: options.level ?? 'unstated',
    categories,
    assessors: options.assessors ?? Array.from({ length: columns }, (_, column) => String(column + 1)),
    codes,
    numbers,
    targets,
    columns,
    clusterOf,
    clusters,
    clustersKnown: options.clusters !== undefined,
    notes:
      options.categories === undefined
        ? [
            information(
              'observed-categories',
              'The categories are those that occur; a grade that nobody used is not known.',
            ),
          ]
        : [],
  });
}

/** Patients numbered in order of appearance; without patients each target is its own cluster. */
export function clustersOf(
  given: readonly (string | number)[] | undefined,
  targets: number,
): { clusterOf: Int32Array; clusters: number } {
  const clusterOf = new Int32Array(targets);
  if (given === undefined) {
    for (let target = 0; target < targets; target++) clusterOf[target] = target;
    return { clusterOf, clusters: targets };
  }
  const numberOf = new Map<string | number, number>();
  given.forEach((patient, target) => {
    if (!numberOf.has(patient)) numberOf.set(patient, numberOf.size);
    clusterOf[target] = numberOf.get(patient)!;
  });
  return { clusterOf, clusters: numberOf.size };
}

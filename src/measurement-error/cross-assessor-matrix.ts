import type { RatingCategory, Ratings } from '../ratings/ratings.js';
import { Table } from '../shared/table.js';

/**
 * "How often a 2 is read as a 1": for each grade that one assessor read, how often another assessor read each grade of
 * the same finding.
 */
export class CrossAssessorMatrix {
  readonly kind = 'cross-assessor-matrix';

  constructor(
    readonly categories: readonly RatingCategory[],
    /** Ordered pairs of readings: counts[i][j] pairs where one read i and another j; symmetric. */
    readonly counts: readonly (readonly number[])[],
    /** Shares within a row: P(another reads j | one reads i); `NaN` in the row of a grade nobody read. */
    readonly shares: readonly (readonly number[])[],
    readonly targets: number,
    readonly clusters: number,
  ) {
    Object.freeze(this);
  }

  get table(): Table {
    return new Table(
      'When one assessor read the grade on the left, how often did another read each grade of the same finding?',
      [
        { key: 'read', label: 'one read', kind: 'text' },
        ...this.categories.map((category, at) => ({
          key: `to${at}`,
          label: `another read ${category.words}`,
          kind: 'percent' as const,
        })),
        { key: 'pairs', label: 'pairs of readings', kind: 'count' },
      ],
      this.categories.map((category, from) => ({
        read: category.words,
        ...Object.fromEntries(this.shares[from]!.map((share, at) => [`to${at}`, share])),
        pairs: this.counts[from]!.reduce((sum, count) => sum + count, 0),
      })),
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

/**
 * What another assessor reads, given what one read, over all ordered pairs of assessors and all targets read by both.
 *
 * Undefined: a grade that nobody read has a row of `NaN`. Missing values: a target gives the pairs it has.
 *
 * @example crossAssessorMatrix(ratingsOf([[1, 2], [1, 1]])).shares // [[2/3, 1/3], [1, 0]]
 */
export function crossAssessorMatrix(ratings: Ratings): CrossAssessorMatrix {
  const size = ratings.categories.length;
  const counts = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  const patients = new Set<number>();
  let targets = 0;
  for (let target = 0; target < ratings.targets; target++) {
    const readings = ratings.codes
      .subarray(target * ratings.columns, (target + 1) * ratings.columns)
      .filter((code) => code >= 0);
    if (readings.length < 2) continue;
    targets++;
    patients.add(ratings.clusterOf[target]!);
    readings.forEach((one, at) => {
      readings.forEach((another, other) => {
        if (at !== other) counts[one]![another]!++;
      });
    });
  }
  const shares = counts.map((row) => {
    const pairs = row.reduce((sum, count) => sum + count, 0);
    return row.map((count) => (pairs === 0 ? Number.NaN : count / pairs));
  });
  return new CrossAssessorMatrix(ratings.categories, counts, shares, targets, patients.size);
}

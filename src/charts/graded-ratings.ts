import type { Ratings } from '../ratings/ratings.js';
import { refuse } from '../shared/input-error.js';

/** Refuses ratings that are measured values or whose assessors are not known. */
export function requireGradesByAssessor(ratings: Ratings): void {
  if (ratings.categories.length === 0)
    throw refuse('not-graded', ['ratings'], 'These are measured values; this picture is of grades.');
  if (ratings.assessors.length === 0)
    throw refuse('assessors-unknown', ['ratings'], 'Who read what is not known in these ratings.');
}

/** Whether the categories have an order. Readings typed in without a level have one when all are numbers. */
export function isOrdered(ratings: Ratings): boolean {
  if (ratings.level === 'unstated') return ratings.categories.every((category) => typeof category.value === 'number');
  return ratings.level !== 'nominal';
}

/** Readings per assessor and category over the targets that every assessor read. */
export function countsInCommon(ratings: Ratings): {
  readonly counts: readonly (readonly number[])[];
  readonly targets: number;
  readonly patients: number;
} {
  const counts = ratings.assessors.map(() => new Array<number>(ratings.categories.length).fill(0));
  const patients = new Set<number>();
  let targets = 0;
  for (let target = 0; target < ratings.targets; target++) {
    const codes = ratings.codes.subarray(target * ratings.columns, (target + 1) * ratings.columns);
    if (codes.some((code) => code < 0)) continue;
    codes.forEach((code, column) => {
      counts[column]![code]!++;
    });
    patients.add(ratings.clusterOf[target]!);
    targets++;
  }
  return { counts, targets, patients: patients.size };
}

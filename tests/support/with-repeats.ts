import { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';

/**
 * Ratings in which each assessor's cell holds several readings: `cells[target][assessor]` is a list, the first of which
 * stands in the matrix and the others beside it as repeats.
 */
export function withRepeats(
  cells: readonly (readonly (readonly number[])[])[],
  clusters?: readonly (string | number)[],
): Ratings {
  const rows = cells.map((row) => row.map((list) => list[0] ?? null));
  const ratings = ratingsOf(rows, clusters === undefined ? {} : { clusters });
  const repeats = cells.flatMap((row, target) =>
    row.flatMap((list, assessor) =>
      list.slice(1).map((number, at) => ({ target, assessor, replicate: at + 2, code: 0, number })),
    ),
  );
  const { subject: _none, ...rest } = ratings;
  return new Ratings({ ...rest, repeats });
}

import { FEWEST_SHOWN, hideSmallCounts } from './hide-small-counts.js';
import { information, type Note } from './note.js';

/** A square of counts: what was read first down, what was read second across. */
export interface Square {
  /** The grades, joined ones as "0–1", in the scale's order. */
  readonly grades: readonly string[];
  /** `null` where a count is hidden. */
  readonly counts: readonly (readonly (number | null)[])[];
}

/**
 * A square of counts with small ones joined or hidden.
 *
 * While a cell or a total is from 1 to 4, the two neighboring grades whose joining leaves the fewest small counts are joined, down to two grades. What is still small is hidden
 * by `hideSmallCounts`, and with it a second count on the diagonal or off it where a small one would stand alone there: how many are on the diagonal is the percent
 * agreement, which is known. Totals must not be printed beside a square with hidden counts.
 *
 * @param joinsGrades `false` for kinds without an order.
 * @example releaseSquare(['0', '1', '2'], [[9, 1, 0], [2, 9, 0], [0, 0, 20]], true).grades // ['0–1', '2']
 */
export function releaseSquare(
  grades: readonly string[],
  counts: readonly (readonly number[])[],
  joinsGrades: boolean,
): Square {
  const joined = joinsGrades ? joinSmall({ grades, counts }) : { grades, counts };
  return { grades: joined.grades, counts: hiddenOffDiagonal(joined.counts, hideSmallCounts(joined.counts)) };
}

/** What was done to a square, in words. */
export function squareNotes(gradesBefore: number, square: Square): readonly Note[] {
  const hidden = square.counts.flat().filter((count) => count === null).length;
  return [
    ...(square.grades.length < gradesBefore
      ? [
          information(
            'grades-joined',
            `Grades were joined because counts under ${FEWEST_SHOWN} could point at somebody.`,
          ),
        ]
      : []),
    ...(hidden > 0
      ? [
          information(
            'counts-hidden',
            `${hidden} counts are hidden: those under ${FEWEST_SHOWN}, and others from which they could be had by subtraction.`,
          ),
        ]
      : []),
  ];
}

interface FullSquare {
  readonly grades: readonly string[];
  readonly counts: readonly (readonly number[])[];
}

function joinSmall(square: FullSquare): FullSquare {
  let best = square;
  while (smallCounts(best) > 0 && best.grades.length > 2) {
    const current = best;
    const candidates = current.grades.slice(1).map((_, first) => joinAt(current, first));
    best = candidates.reduce((least, candidate) => (smallCounts(candidate) < smallCounts(least) ? candidate : least));
  }
  return best;
}

/** Small counts in the cells and in the totals of rows and columns. */
function smallCounts({ counts }: FullSquare): number {
  const rows = counts.map((row) => row.reduce((sum, count) => sum + count, 0));
  const columns = counts.map((_, j) => counts.reduce((sum, row) => sum + (row[j] ?? 0), 0));
  return [...counts.flat(), ...rows, ...columns].filter((count) => count > 0 && count < FEWEST_SHOWN).length;
}

function joinAt({ grades, counts }: FullSquare, first: number): FullSquare {
  const from = grades[first]?.split('–')[0] ?? '';
  const to = grades[first + 1]?.split('–').at(-1) ?? '';
  const joinLine = (line: readonly number[]): number[] =>
    line.flatMap((count, at) => (at === first + 1 ? [] : [at === first ? count + (line[at + 1] ?? 0) : count]));
  const below = counts[first + 1] ?? [];
  const rows = counts.flatMap((row, at) =>
    at === first + 1 ? [] : [at === first ? row.map((count, j) => count + (below[j] ?? 0)) : row],
  );
  return {
    grades: grades.flatMap((grade, at) => (at === first + 1 ? [] : [at === first ? `${from}–${to}` : grade])),
    counts: rows.map(joinLine),
  };
}

/** Hides the smallest shown count as well where one hidden count stands alone on the diagonal, or alone off it. */
function hiddenOffDiagonal(
  counts: readonly (readonly number[])[],
  shown: readonly (readonly (number | null)[])[],
): readonly (readonly (number | null)[])[] {
  const result = shown.map((row) => [...row]);
  for (const onDiagonal of [true, false]) {
    const cells = counts.flatMap((row, i) =>
      row.flatMap((count, j) => ((i === j) === onDiagonal ? [{ i, j, count }] : [])),
    );
    const hidden = cells.filter(({ i, j }) => result[i]![j] === null);
    if (hidden.length !== 1) continue;
    // A zero hides nothing: with it the sum of the two is still the one.
    const helper = cells
      .filter(({ i, j, count }) => result[i]![j] !== null && count > 0)
      .sort((a, b) => a.count - b.count)[0];
    if (helper !== undefined) result[helper.i]![helper.j] = null;
    else if (hidden[0]!.count < FEWEST_SHOWN) return counts.map((row) => row.map(() => null));
  }
  return result;
}

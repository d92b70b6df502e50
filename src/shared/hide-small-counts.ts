/** Counts below this can point at somebody (common practice, no source). */
export const FEWEST_SHOWN = 5;

/**
 * A two-way table of counts whose totals are known, with small counts hidden so that none can be worked out.
 *
 * Hidden (`null`) are the counts from 1 to `fewest` − 1, and others as needed so that no hidden count follows from
 * the rest: for each of them at least two whole numbers fit the shown counts and all totals. Others are chosen to
 * hide few readings; a zero is shown unless it must help.
 *
 * Undefined: a small count that nothing can hide (a table of one row or column) takes the whole table with it.
 *
 * @param counts whole numbers, rows × columns
 * @example hideSmallCounts([[20, 2], [9, 30]]) // [[null, null], [null, null]]
 * Source: the idea of complementary suppression, Cox LH. J Am Stat Assoc 1980;75:377–385 (from memory).
 */
export function hideSmallCounts(
  counts: readonly (readonly number[])[],
  fewest = FEWEST_SHOWN,
): readonly (readonly (number | null)[])[] {
  const hidden = counts.map((row) => row.map((count) => isSmall(count, fewest)));
  const cells = counts.flatMap((row, i) => row.map((_, j): Place => [i, j]));
  for (const cell of cells) {
    if (at(hidden, cell) !== true) continue;
    const way = cheapestWay(counts, hidden, cell);
    if (way === undefined) return counts.map((row) => row.map(() => null));
    for (const helper of way) mark(hidden, helper, true);
  }
  // A way found later can make one found earlier needless: what is not needed is shown again, the largest first.
  const helpers = cells.filter((cell) => at(hidden, cell) === true && !isSmall(at(counts, cell) ?? 0, fewest));
  for (const helper of helpers.sort((a, b) => (at(counts, b) ?? 0) - (at(counts, a) ?? 0))) {
    mark(hidden, helper, false);
    const isSafe = cells.every((cell) => at(hidden, cell) !== true || cheapestWay(counts, hidden, cell)?.length === 0);
    if (!isSafe) mark(hidden, helper, true);
  }
  return counts.map((row, i) => row.map((count, j) => (hidden[i]?.[j] === true ? null : count)));
}

type Place = readonly [row: number, column: number];

function isSmall(count: number, fewest: number): boolean {
  return count > 0 && count < fewest;
}

function at<T>(table: readonly (readonly T[])[], [row, column]: Place): T | undefined {
  return table[row]?.[column];
}

function mark(hidden: readonly boolean[][], [row, column]: Place, isHidden: boolean): void {
  const line = hidden[row];
  if (line !== undefined) line[column] = isHidden;
}

/** A way to a row or column, and the shown cells it would hide. */
interface Way {
  readonly cost: number;
  readonly cells: readonly Place[];
}

/** A zero says nobody is there; hiding one costs more than hiding any count. */
const ZERO_COST = 1e9;

/**
 * The shown cells to hide so that a hidden cell can hold another number, fewest readings first; none where it can
 * already, `undefined` where nothing helps. Another table with the same totals exists if, and only if, the cell lies
 * on a closed way along which counts are raised and lowered by one in turn, lowered only where they are not 0.
 */
function cheapestWay(
  counts: readonly (readonly number[])[],
  hidden: readonly (readonly boolean[])[],
  cell: Place,
): readonly Place[] | undefined {
  const rows = counts.length;
  const columns = counts[0]?.length ?? 0;
  const [i, j] = cell;
  // Rows are numbered first, then columns. From a row to a column a count is raised, back it is lowered.
  const step = (from: number, to: number): Place | undefined => {
    const isRaised = from < rows;
    if (isRaised === to < rows) return undefined;
    const place: Place = isRaised ? [from, to - rows] : [to, from - rows];
    if (place[0] === i && place[1] === j) return undefined;
    return isRaised || (at(counts, place) ?? 0) > 0 ? place : undefined;
  };
  const walk = (from: number, to: number): Way | undefined => {
    const best = new Map<number, Way>([[from, { cost: 0, cells: [] }]]);
    // Bellman and Ford: as many rounds as there are lines; the tables are small.
    for (let round = 0; round < rows + columns; round++) {
      for (const [line, way] of [...best]) {
        for (let next = 0; next < rows + columns; next++) {
          const place = step(line, next);
          if (place === undefined) continue;
          const isShown = at(hidden, place) !== true;
          const cost = way.cost + (isShown ? at(counts, place) || ZERO_COST : 0);
          if (cost < (best.get(next)?.cost ?? Number.POSITIVE_INFINITY))
            best.set(next, { cost, cells: isShown ? [...way.cells, place] : way.cells });
        }
      }
    }
    return best.get(to);
  };
  const raised = walk(rows + j, i);
  const lowered = (at(counts, cell) ?? 0) > 0 ? walk(i, rows + j) : undefined;
  if (raised === undefined || lowered === undefined) return (raised ?? lowered)?.cells;
  return (raised.cost <= lowered.cost ? raised : lowered).cells;
}

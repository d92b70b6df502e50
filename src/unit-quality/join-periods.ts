import { FEWEST_SHOWN } from '../shared/hide-small-counts.js';

/** Periods joined into one, or kept apart: indices from `from` up to and without `to`. */
export interface PeriodBlock {
  readonly from: number;
  readonly to: number;
  /** Nothing to join it with: its figures are hidden. */
  readonly hidden: boolean;
}

/**
 * Joins periods by twos, fours, eights …, counted from the first period on a scale, until no joined period is small; what has nothing to be
 * joined with is hidden, and the periods before it stay.
 *
 * A block is always one of the same nested blocks, whatever is counted. So tables of the same periods (a share, completeness, grades) never cut a block across, and what
 * is joined in one cannot be had from another by subtraction. An earlier report that showed a month by itself, before a small one joined it, still can: give out whole years.
 *
 * @param periods how many. @param isSmall whether the periods `from` up to `to` taken together could point at somebody.
 * @example joinPeriods(4, (from, to) => to - from < 2).map(({ from, to }) => [from, to]) // [[0, 2], [2, 4]]
 */
export function joinPeriods(periods: number, isSmall: (from: number, to: number) => boolean): readonly PeriodBlock[] {
  const blocksOf = (from: number, width: number): PeriodBlock[] => {
    if (width === 1) return [{ from, to: from + 1, hidden: isSmall(from, from + 1) }];
    const half = width / 2;
    const first = blocksOf(from, half);
    const second = from + half < periods ? blocksOf(from + half, half) : [];
    const parts = [...first, ...second];
    // A block whose last periods are still to come is not joined: with each new month it would be cut elsewhere.
    const isWhole = from + width <= periods;
    return isWhole && parts.some(({ hidden }) => hidden)
      ? [{ from, to: from + width, hidden: isSmall(from, from + width) }]
      : parts;
  };
  if (periods === 0) return [];
  return blocksOf(0, 2 ** Math.ceil(Math.log2(periods)));
}

/** Whether a number of people could point at somebody. */
export function isFew(people: number): boolean {
  return people > 0 && people < FEWEST_SHOWN;
}

/** The label of joined periods: "3–6". */
export function joinedLabel(labels: readonly string[]): string {
  return labels.length === 1 ? labels[0]! : `${labels[0]}–${labels.at(-1)}`;
}

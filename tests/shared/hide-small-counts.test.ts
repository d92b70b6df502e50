import fc from 'fast-check';
import { expect, test } from 'vitest';
import { hideSmallCounts } from '../../src/shared/hide-small-counts.ts';

/** Every table of whole numbers with the totals of `counts` and its shown cells, by trying them all. */
function consistentTables(
  counts: readonly (readonly number[])[],
  shown: readonly (readonly (number | null)[])[],
): number[][][] {
  const columns = counts[0]?.length ?? 0;
  const rowTotals = counts.map((row) => row.reduce((sum, count) => sum + count, 0));
  const columnTotals = Array.from({ length: columns }, (_, j) => counts.reduce((sum, row) => sum + (row[j] ?? 0), 0));
  const found: number[][][] = [];
  const table = counts.map((row) => row.map(() => 0));
  const fill = (at: number, rowLeft: number, columnsLeft: number[]): void => {
    const i = Math.floor(at / columns);
    const j = at % columns;
    if (i === counts.length) {
      if (columnsLeft.every((left) => left === 0)) found.push(table.map((row) => [...row]));
      return;
    }
    const fixed = shown[i]?.[j] ?? null;
    const highest = Math.min(rowLeft, columnsLeft[j] ?? 0);
    for (let value = fixed ?? 0; value <= (fixed ?? highest); value++) {
      if (value > highest || (j === columns - 1 && value !== rowLeft)) continue;
      table[i]![j] = value;
      const left = columnsLeft.map((total, column) => (column === j ? total - value : total));
      fill(at + 1, j === columns - 1 ? (rowTotals[i + 1] ?? 0) : rowLeft - value, left);
    }
  };
  fill(0, rowTotals[0] ?? 0, columnTotals);
  return found;
}

const tables = fc.tuple(fc.integer({ min: 2, max: 3 }), fc.integer({ min: 2, max: 3 })).chain(([rows, columns]) =>
  fc.array(
    fc.array(fc.oneof(fc.integer({ min: 0, max: 4 }), fc.integer({ min: 0, max: 9 })), {
      minLength: columns,
      maxLength: columns,
    }),
    {
      minLength: rows,
      maxLength: rows,
    },
  ),
);

test('no hidden count can be worked out from what is shown and the totals, and no small one is shown', () => {
  fc.assert(
    fc.property(tables, (counts) => {
      const shown = hideSmallCounts(counts);
      const possible = consistentTables(counts, shown);
      const isAllHidden = shown.every((row) => row.every((cell) => cell === null));
      shown.forEach((row, i) => {
        row.forEach((cell, j) => {
          if (cell !== null) {
            expect(cell === 0 || cell >= 5).toBe(true);
            expect(cell).toBe(counts[i]?.[j]);
          } else if (!isAllHidden) expect(new Set(possible.map((table) => table[i]?.[j])).size).toBeGreaterThan(1);
        });
      });
    }),
    { numRuns: 150 },
  );
});

test.each([
  [
    'nothing small: all shown',
    [
      [20, 6],
      [9, 30],
    ],
    [
      [20, 6],
      [9, 30],
    ],
  ],
  [
    'a zero is not small',
    [
      [20, 0],
      [0, 30],
    ],
    [
      [20, 0],
      [0, 30],
    ],
  ],
  [
    'one small count in a two by two takes all',
    [
      [20, 2],
      [9, 30],
    ],
    [
      [null, null],
      [null, null],
    ],
  ],
  [
    'the smallest neighbors help to hide',
    [
      [20, 2, 30],
      [9, 40, 50],
      [60, 70, 80],
    ],
    [
      [null, null, 30],
      [null, null, 50],
      [60, 70, 80],
    ],
  ],
  ['a single row cannot hide one count', [[20, 2, 30]], [[null, null, null]]],
])('%s', (_, counts, expected) => {
  expect(hideSmallCounts(counts)).toEqual(expected);
});

test('two hidden counts that their totals fix are seen through', () => {
  // Hiding only the two ones of the first row would not do: each column total gives them away.
  const shown = hideSmallCounts([
    [1, 1, 50],
    [40, 60, 70],
    [80, 90, 99],
  ]);
  expect(shown[0]).toEqual([null, null, 50]);
  expect(shown[1]?.slice(0, 2)).toEqual([null, null]);
});

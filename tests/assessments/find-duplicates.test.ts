import fc from 'fast-check';
import { expect, test } from 'vitest';
import { findDuplicates } from '../../src/assessments/find-duplicates.ts';

const cell = fc.oneof(fc.integer({ min: -1, max: 3 }), fc.constant(Number.NaN), fc.constant(0.5));

test('finds what a plain search finds', () => {
  fc.assert(
    fc.property(fc.array(fc.tuple(cell, cell, fc.integer({ min: -1, max: 2 })), { maxLength: 60 }), (rows) => {
      const expected: { row: number; first: number }[] = [];
      const seen = new Map<string, number>();
      rows.forEach((key, row) => {
        const first = seen.get(key.join());
        if (first === undefined) seen.set(key.join(), row);
        else expected.push({ row, first });
      });
      const columns = [
        Float64Array.from(rows, ([a]) => a),
        Float64Array.from(rows, ([, b]) => b),
        Int32Array.from(rows, ([, , c]) => c),
      ];
      expect(findDuplicates(columns, rows.length)).toEqual(expected);
    }),
  );
});

test('rows left out neither repeat nor are repeated', () => {
  const column = Int32Array.of(7, 7, 7);
  expect(findDuplicates([column], 3, Uint8Array.of(1, 0, 0))).toEqual([{ row: 2, first: 1 }]);
});

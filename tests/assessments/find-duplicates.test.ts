import fc from 'fast-check';
import { expect, test } from 'vitest';
import { codesOfNumbers, findDuplicates } from '../../src/assessments/find-duplicates.ts';

const number = fc.oneof(fc.integer({ min: -1, max: 3 }), fc.constant(Number.NaN), fc.constant(0.5));

test('finds what a plain search finds', () => {
  const key = fc.tuple(number, number, fc.integer({ min: -1, max: 2 }), fc.constant(7));
  fc.assert(
    fc.property(fc.array(key, { maxLength: 60 }), (rows) => {
      const expected: { row: number; first: number }[] = [];
      const seen = new Map<string, number>();
      rows.forEach((cells, row) => {
        const first = seen.get(cells.join());
        if (first === undefined) seen.set(cells.join(), row);
        else expected.push({ row, first });
      });
      const columns = [
        codesOfNumbers(Float64Array.from(rows, ([a]) => a)),
        codesOfNumbers(Float64Array.from(rows, ([, b]) => b)),
        Int32Array.from(rows, ([, , c]) => c),
        Int32Array.from(rows, ([, , , same]) => same),
      ];
      expect(findDuplicates(columns, rows.length)).toEqual(expected);
    }),
  );
});

test('equal numbers have equal codes, and only they', () => {
  fc.assert(
    fc.property(fc.array(number, { maxLength: 30 }), (numbers) => {
      const codes = codesOfNumbers(Float64Array.from(numbers));
      numbers.forEach((a, i) => {
        numbers.forEach((b, j) => {
          expect(codes[i] === codes[j]).toBe(a === b || (Number.isNaN(a) && Number.isNaN(b)));
        });
      });
    }),
  );
});

test('rows left out neither repeat nor are repeated', () => {
  const column = Int32Array.of(7, 7, 7, 8);
  expect(findDuplicates([column], 4, Uint8Array.of(1, 0, 0, 0))).toEqual([{ row: 2, first: 1 }]);
});

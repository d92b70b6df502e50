import fc from 'fast-check';
import { expect, test } from 'vitest';
import { combineCodes } from '../../src/assessments/combine-codes.ts';

test('every row gets back the codes it came with, and equal rows the same number', () => {
  const row = fc.tuple(
    fc.integer({ min: -1, max: 4 }),
    fc.integer({ min: -1, max: 2 }),
    fc.integer({ min: -1, max: 5_000_000 }),
  );
  fc.assert(
    fc.property(fc.array(row, { maxLength: 40 }), (rows) => {
      const combined = combineCodes(
        [
          { codes: Int32Array.from(rows, ([a]) => a), size: 5 },
          { only: 3, size: 4 },
          { codes: Int32Array.from(rows, ([, b]) => b), size: 3 },
          { codes: Int32Array.from(rows, ([, , c]) => c), size: 5_000_001 },
        ],
        rows.length,
      );
      rows.forEach(([a, b, c], at) => {
        expect(combined.parts[combined.codes?.[at] ?? -1]).toEqual([a, 3, b, c]);
      });
      expect(new Set(combined.parts.map(String)).size).toBe(combined.count);
    }),
  );
});

import { expect, test } from 'vitest';
import { csvCell, withoutMark } from '../../src/shared/csv-cell.ts';

test.each(['=1+1', '+a', '-1+1', '@x', '\tx', "'=1", "''-x", '-'])('%j is no formula, and comes back', (text) => {
  const cell = csvCell(text);
  expect(cell).toBe(`'${text}`);
  expect(withoutMark(cell)).toBe(text);
});

test.each(['-5', '+3', '-0.5', '-.5', '-1e-7', "it's", "'tis", 'a=b', '−5'])('%j is written as it is', (text) => {
  expect(csvCell(text)).toBe(text);
  expect(withoutMark(text)).toBe(text);
});

test('numbers, nothing, and what needs quotation marks', () => {
  expect([-5, Number.NEGATIVE_INFINITY, Number.NaN, null, true, 'a,b', '=a,"b"'].map(csvCell)).toEqual([
    '-5',
    '-Infinity',
    '',
    '',
    'true',
    '"a,b"',
    '"\'=a,""b"""',
  ]);
});

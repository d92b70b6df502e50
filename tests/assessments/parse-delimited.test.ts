import { expect, test } from 'vitest';
import { firstRecord, parseRecords } from '../../src/assessments/parse-delimited.ts';
import type { InputError } from '../../src/shared/input-error.ts';

test('quotation marks: doubled inside a cell, letters where they do not start one', () => {
  expect(parseRecords('a,"b ""c"", d"\n5",\r\n"",x', ',')).toEqual([
    ['a', 'b "c", d'],
    ['5"', ''],
    ['', 'x'],
  ]);
});

test.each([
  ['not closed', 'a,b\n"1,2\n3,4', 2],
  ['something behind a closed one', 'a\nb\n"1"x', 3],
])('%s: refused with its row, nothing swallowed', (_, text, row) => {
  try {
    parseRecords(text, ',');
    throw new Error('was not refused');
  } catch (error) {
    expect((error as InputError).problems).toMatchObject([{ code: 'quotation-mark', row }]);
  }
});

test('the first record ends at the first line end that no quotation mark holds', () => {
  expect(firstRecord('a"b,c\n1')).toBe('a"b,c');
  expect(firstRecord('"a\nb",c\r\n1')).toBe('"a\nb",c');
});

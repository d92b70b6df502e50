import { expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { problemsOf, refusalsOf } from '../support/problems-of.ts';

const BASE =
  '"assessor":"A","limb":"left-leg","site":"great toe","sign":"capillary-refill","scale":"refill.seconds.toe"';
const record = (rest: string): string => `{${BASE},${rest}}`;
const text = (...rest: readonly string[]) => ({ text: rest.map(record).join('\n') });

test.each([
  ['2.5', 2.5],
  ['2.50', 2.5],
  ['1e-7', 1e-7],
  ['0.1e1', 1],
  ['"2,5"', 2.5],
  ['"\\u0032"', 2],
])('%s is read exactly', async (value, number) => {
  expect((await loadAssessments(text(`"patient":"P1","value":${value}`))).number[0]).toBe(number);
});

test('codes keep every digit and every letter', async () => {
  const odd = ['a b', 'q"r', "it's", '__proto__', 'ö', 'tab\tin', '{"a":1}', 'null', 'true'];
  const loaded = await loadAssessments(
    text(
      ...odd.map((patient) => `"patient":${JSON.stringify(patient)},"value":1`),
      '"patient":123456,"value":1',
      '"patient":1.0,"value":1',
    ),
  );
  expect(loaded.toRows().map(({ patient }) => patient)).toEqual([...odd, '123456', '1']);
});

test('a number too large for a double is not rounded before it is refused', async () => {
  const problems = await problemsOf(text('"patient":"P1","value":1,"extra":12345678901234567890123'));
  expect(problems.map(({ code }) => code)).toEqual(['identifier-value']);
});

test('null, an absent name and an empty text are empty cells', async () => {
  const loaded = await loadAssessments(
    text('"patient":"P1","value":null', '"patient":"P2"', '"patient":"P3","value":"","missing":"covered"'),
  );
  expect(loaded.toRows().map(({ value, missing }) => [value, missing])).toEqual([
    [null, null],
    [null, null],
    [null, 'covered'],
  ]);
});

test('what can be no cell is refused at its line', async () => {
  const lines = [
    record('"patient":"P1","value":1'),
    '',
    record('"patient":"P2","value":[1]'),
    record('"patient":"P3","value":{"a":1}'),
    record('"patient":"P4","value":NaN'),
    record('"patient":"P5","value":-Infinity'),
    record('"patient":"P6","value":1,"value":2'),
    '{"patient":"P7",',
    '[1, 2]',
    'P8',
    record('"patient":"P9","value":"nine"'),
  ];
  expect(await refusalsOf({ text: lines.join('\n') })).toEqual([
    '3 value cell-type',
    '4 value cell-type',
    '5 value cell-type',
    '6 value cell-type',
    '7 - key-twice',
    '8 - row-unreadable',
    '9 - row-unreadable',
    '10 - row-unreadable',
    '11 value not-a-number',
  ]);
});

test('in an array the first object is row 2', async () => {
  const objects = [record('"patient":"P1","value":1'), '7', record('"patient":"P2","value":[2]')];
  expect(await refusalsOf({ text: `[${objects.join(',\n')}]` })).toEqual(['3 - row-unreadable', '4 value cell-type']);
});

test('names that only capitals tell apart are two columns, as in a text file', async () => {
  expect(await refusalsOf(text('"patient":"P1","value":1,"Value":2'))).toEqual(['- Value column-twice']);
});

test('names with marks of their own are columns', async () => {
  const loaded = await loadAssessments(text('"my/patient~\\"code\\"":"P1","value":1'), {
    columns: { patient: 'my/patient~"code"' },
  });
  expect(loaded.patient.values).toEqual(['P1']);
});

test('thousands of names are no table', async () => {
  const wide = JSON.stringify(Object.fromEntries(Array.from({ length: 1001 }, (_, at) => [`n${at}`, at])));
  expect(await refusalsOf({ text: wide })).toContain('- - columns-too-many');
});

import { expect, test } from 'vitest';
import { loadUnitTable } from '../../src/assessments/load-unit-table.ts';
import type { InputError } from '../../src/shared/input-error.ts';

test('denominators and monthly counts, names mapped, unknown stays unknown', async () => {
  const rows = await loadUnitTable(
    {
      text: 'month no;label;pt days;present;due;done;none;1+;2+\n1;March 2026;410;16;40;31;9;4;3\n2;April 2026;;15;38;;8;;2\n',
    },
    { columns: { period: 'month no', patientDays: 'pt days' }, grades: { '0': 'none', '1': '1+', '2': '2+' } },
  );
  expect(rows).toEqual([
    {
      period: 1,
      label: 'March 2026',
      patientDays: 410,
      present: 16,
      due: 40,
      done: 31,
      grades: { '0': 9, '1': 4, '2': 3 },
    },
    { period: 2, label: 'April 2026', present: 15, due: 38, grades: { '0': 8, '2': 2 } },
  ]);
});

test('every problem at once, by row and column', async () => {
  let problems: InputError['problems'] = [];
  try {
    await loadUnitTable(
      { text: 'period,name,present,due,done,none\n1,,16,40,41,9\n1,,16,40,x,17\nfirst,,1,1,1,1\n,,2026-03-01,1,1,\n' },
      { grades: { '0': 'none', '1': 'nine' } },
    );
  } catch (error) {
    problems = (error as InputError).problems;
  }
  expect(problems.map(({ row, column, code }) => `${row ?? '-'} ${column ?? '-'} ${code}`)).toEqual([
    '- - column-not-found',
    '- name identifier-column',
    '2 done done-above-due',
    '3 done not-a-count',
    '3 present grades-above-present',
    '3 - period-twice',
    '4 period not-a-period',
    '5 period not-a-period',
    '5 present not-a-count',
    '5 present identifier-value',
  ]);
});

test('a table without periods is refused', async () => {
  await expect(loadUnitTable({ text: 'month,present\nMarch,3\n' })).rejects.toThrow(/number the periods/);
});

import { expect, it } from 'vitest';
import { reportingGuideline } from '../../src/reports/reporting-guideline.ts';
import { inventedStudy, plan } from './study.ts';

const row = (table: ReturnType<typeof reportingGuideline>, item: number) => table.rows[item - 1]!;

it('has fifteen items in the parts of a paper, each filled or left open and marked', async () => {
  const table = reportingGuideline(await inventedStudy(), { plan, sampleSize: '14 people, by simulation.' });
  expect(table.rows.map((one) => one.item)).toEqual(Array.from({ length: 15 }, (_, at) => at + 1));
  expect(table.rows.map((one) => one.part)).toEqual([
    'Title and abstract',
    ...new Array(4).fill('Introduction'),
    ...new Array(5).fill('Methods'),
    ...new Array(3).fill('Results'),
    'Discussion',
    'Auxiliary material',
  ]);
  for (const one of table.rows) {
    expect(one.state === 'filled').toBe(one.left === '');
    if (one.left !== '') expect(one.left).toMatch(/^\[to fill in\] [A-Z]/);
    expect(one.state === 'open').toBe(one.filled === '');
  }
});

it('fills from the study what only the study knows', async () => {
  const study = await inventedStudy();
  const table = reportingGuideline(study, { plan, sampleSize: '14 people, by simulation.' });
  expect(row(table, 2).filled).toMatch(/pulse\.0-4\.normal2\): 0 absent; 1 diminished; 2 normal/);
  expect(row(table, 6)).toMatchObject({
    state: 'filled',
    filled: expect.stringContaining('Planned: 14 people, 6 findings each, 3 assessors'),
  });
  expect(row(table, 8).filled).toMatch(/seed 8.*Girth is measured here/);
  expect(row(table, 10).filled).toContain(study.fingerprint);
  expect(row(table, 11).filled).toMatch(
    /14 people, 3 assessors, \d+ findings with two readings or more and \d+ without, \d+ readings \[R001\], no repeat readings by the same assessor\. Readings that are missing: covered.*Planned were 252 readings/,
  );
  expect(row(table, 12).filled).toMatch(/absent \(0\) \d+ % \[C001\]; diminished \(1\) \d+ %.*bounding \(4\) \d+ %/);
  expect(row(table, 13).filled).toContain('[R001 to R003]');
  expect(row(table, 14).filled).toMatch(
    /same grade in \d+ %.*\[R002, R003\].*lie within \d\.\d\d cm.*error of one reading \[R\d{3}\]/,
  );
  expect(row(table, 15).filled).toMatch(/^Results file of \d+ rows \(R001 to R\d{3}\); data fingerprint [0-9a-f]{64}/);
});

it('leaves to people what the plan would have said', async () => {
  const table = reportingGuideline(await inventedStudy());
  expect(row(table, 6).state).toBe('open');
  expect(row(table, 7).state).toBe('open');
  expect(row(table, 8).filled).not.toContain('Latin');
});

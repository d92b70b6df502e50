import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { utils, write } from '@e965/xlsx';
import { afterAll, describe, expect, it } from 'vitest';
import { loadStudyFile } from '../../src/command/load-study-file.ts';

const folder = mkdtempSync(join(tmpdir(), 'study-file-'));
afterAll(() => rmSync(folder, { recursive: true }));

const HEADER = ['patient', 'day', 'assessor', 'limb', 'site', 'sign', 'scale', 'value'];
const finding = (patient: string, value: number) => [
  patient,
  0,
  'A',
  'left-leg',
  'popliteal',
  'pulse-grade',
  'pulse.0-4.normal2',
  value,
];

/** A workbook with two rounds, a row a finding, a sheet a leg a row, and one named after somebody. */
const path = join(folder, 'rounds.xlsx');
const book = utils.book_new();
for (const [name, rows] of Object.entries({
  'Round 1': [HEADER, finding('P1', 2), finding('P2', 3)],
  'Round 2': [HEADER, finding('P1', 1)],
  Legs: [
    ['pt', 'leg', 'pt_A', 'pt_B'],
    ['P1', 'L', 2, 2],
    ['P2', 'R', 1, 0],
  ],
  'Smith, John 1951': [['a'], [1]],
}))
  utils.book_append_sheet(book, utils.aoa_to_sheet(rows), name);
writeFileSync(path, write(book, { type: 'buffer', bookType: 'xlsx' }));

const load = (settings: object, sheet?: string) => loadStudyFile(path, { notebooks: {}, ...settings }, () => {}, sheet);

describe('a workbook with several sheets', () => {
  it('is asked which one, with those that may be named', async () => {
    const refused = expect(load({})).rejects;
    await refused.toThrow(
      /4 sheets with something in them.*one of "Round 1", "Round 2", "Legs", 1 whose names have the form of an identifier.*"sheet": "its name"/s,
    );
    await expect(load({})).rejects.not.toThrow(/Smith/);
    await expect(load({}, 'Round 3')).rejects.toThrow(/no sheet of that name.*"Round 1"/s);
  });

  it('is read from the sheet that is named, a row a finding as well as a row a leg', async () => {
    expect((await load({}, 'Round 1')).length).toBe(2);
    expect((await load({}, 'Round 2')).length).toBe(1);
    const answers = { scales: { 'pulse-grade': 'pulse.0-4.normal2' } };
    expect((await load({ answers }, 'Legs')).length).toBe(4);
    expect((await load({ answers, layout: { sheet: 'Legs' } })).length).toBe(4);
  });

  it('is not read where settings and layout name two', async () => {
    await expect(load({ layout: { sheet: 'Legs' } }, 'Round 1')).rejects.toThrow(
      /one sheet, and the layout in them another/,
    );
  });
});

import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildLibrary, root } from '../../.config/set-up.mjs';
import { findPython } from '../../src/command/find-python.ts';
import { runStudy } from '../../src/command/run-study.ts';
import { startStudy } from '../../src/command/start-study.ts';
import { available } from '../support/optional.ts';

const MINUTES = 60_000;
const folder = mkdtempSync(join(tmpdir(), 'run study ü-'));
afterAll(() => rmSync(folder, { recursive: true }));

let place = '';
const said: string[] = [];
const run = (file?: string, into?: string) =>
  runStudy({
    from: place,
    ...(file === undefined ? {} : { file }),
    ...(into === undefined ? {} : { into }),
    say: (line) => said.push(line),
  });
const write = (name: string, text: string) => writeFileSync(join(place, name), text);
const settings = (value: object) => write('settings.json', JSON.stringify(value));

beforeAll(() => {
  buildLibrary();
  place = startStudy('my study', folder);
  symlinkSync(join(root, 'node_modules'), join(place, 'node_modules'), 'junction');
}, 5 * MINUTES);

/** Two assessors who read the ankle pulse of eight people, a row a leg, the scale not said. */
const sheet = [
  'pt,leg,pt_A,pt_B',
  ...['22', '21', '12', '33', '10', '23', '00', '11'].flatMap((pair, at) => [
    `P${at + 1},L,${[...pair].join()}`,
    `P${at + 1},R,${[...pair].reverse().join()}`,
  ]),
  '',
].join('\n');

describe('what cannot be run leaves nothing behind', () => {
  const before = () => readdirSync(place).sort();

  it.each([
    ['a file with faults, every one told', 'example/broken-file.csv', {}, /The input has 21 problems/],
    ['a file that is not there', 'none.csv', {}, /There is no such file/],
    [
      'a sheet that leaves a question open',
      'sheet.csv',
      {},
      /"answers": \{ "scales": \{ "pulse-grade": "pulse\.0-3\.normal2" \} \}/,
    ],
    ['settings with a slip', 'sheet.csv', { notebooks: { 'plan-a-study': { sead: 1 } } }, /you may mean seed/],
    [
      'a file for which there is no notebook',
      'data/template.csv',
      { notebooks: { 'agreement-of-pulse-grades': false } },
      /None of the notebooks has what it needs/,
    ],
  ])('%s', async (_what, file, given, words) => {
    write('sheet.csv', sheet);
    settings(given);
    const there = before();
    await expect(run(file)).rejects.toThrow(words);
    expect(before()).toEqual(there);
  });

  it.each([
    ['..', /within the study/],
    ['.', /within the study/],
    ['data', /holds files that were not made by a run/],
  ])('a place for the reports such as %s', async (into, words) => {
    settings({ answers: { scales: { 'pulse-grade': 'pulse.0-4.normal2' } } });
    await expect(run('sheet.csv', into)).rejects.toThrow(words);
    expect(existsSync(join(place, 'data/template.csv'))).toBe(true);
  });
});

const hasJupyter = available(
  'Jupyter',
  findPython(root) !== undefined,
  'Run npm test once; it installs it or says how.',
);

describe.runIf(hasJupyter)('a person’s own sheet', () => {
  it(
    'comes out as pages, with the copy the notebooks read and a record; the same again, in place of the first',
    async () => {
      process.env.LIMB_PERFUSION_PYTHON = findPython(root);
      settings({
        answers: { scales: { 'pulse-grade': 'pulse.0-4.normal2' } },
        layout: { corrections: [{ row: 2, column: 'pt_A', value: '2' }] },
        notebooks: { 'agreement-of-pulse-grades': { seed: 7 } },
      });
      const into = await run('sheet.csv');
      expect(into).toBe(join(place, 'reports', 'sheet'));
      expect(readdirSync(into).sort()).toEqual([
        'agreement-of-pulse-grades.html',
        'agreement-of-pulse-grades.ipynb',
        'agreement-report',
        'assessments.csv',
        'run.json',
      ]);
      const page = readFileSync(join(into, 'agreement-of-pulse-grades.html'), 'utf8');
      expect(page).toMatch(/32 findings of 8 patients by 2 assessors from sheet\.csv/);
      expect(page).not.toMatch(/invented/);
      expect(page).toMatch(/Cells read as corrected: row 2, pt_A/);
      const record = readFileSync(join(into, 'run.json'), 'utf8');
      expect(JSON.parse(record).notebooks[0]).toMatchObject({
        name: 'agreement-of-pulse-grades',
        settings: { file: 'assessments.csv', firstAssessor: 'A', secondAssessor: 'B', seed: 7 },
        result: expect.stringMatching(/^on 16 pulses of 8 people/),
      });
      expect(said.join('\n')).toMatch(/Left out, edema-trend-of-a-unit: .*pitting-edema/);
      expect(readdirSync(place).filter((name) => name.startsWith('.reports'))).toEqual([]);

      await run('sheet.csv');
      expect(readFileSync(join(into, 'run.json'), 'utf8')).toBe(record);
    },
    10 * MINUTES,
  );
});

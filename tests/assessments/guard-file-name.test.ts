import { mkdtemp, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { hasDate, ruleOfFileName } from '../../src/assessments/guard-file-name.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { loadUnitTable } from '../../src/assessments/load-unit-table.ts';
import { previewSheet } from '../../src/assessments/preview-sheet.ts';
import { readSheet } from '../../src/assessments/read-sheet.ts';
import { prepareCommand } from '../../src/command/prepare-command.ts';
import { identifyingFileNames, innocentFileNames } from './file-name-examples.ts';

describe('names of files', () => {
  it('more than 99 in 100 that identify somebody are caught, fewer than 1 in 100 others', () => {
    const missed = identifyingFileNames.filter((name) => ruleOfFileName(name) === undefined);
    const refused = innocentFileNames.filter((name) => ruleOfFileName(name) !== undefined);
    expect(identifyingFileNames.length).toBeGreaterThanOrEqual(300);
    expect(innocentFileNames.length).toBeGreaterThanOrEqual(300);
    expect(missed.length / identifyingFileNames.length, missed.slice(0, 20).join(' ')).toBeLessThan(0.01);
    expect(refused.length / innocentFileNames.length, refused.join(' ')).toBeLessThan(0.01);
  });

  it.each([
    ['smith_john_1961-04-03.xlsx', 'name'],
    ['Smith_pulses.csv', 'name'],
    ['mrn4417823.csv', 'record, plan or account number'],
    ['44178234.csv', 'long number'],
    ['dob-1961-04-03.csv', 'birth date'],
    ['000-12-3456.csv', 'social security number'],
  ])('%s: %s', (name, rule) => {
    expect(ruleOfFileName(name)).toBe(rule);
  });

  it('a date alone is that of an export; it passes and is not passed on', async () => {
    expect(ruleOfFileName('export-2026-03-01.csv')).toBeUndefined();
    expect(hasDate('export-2026-03-01.csv')).toBe(true);
    const folder = await mkdtemp(join(tmpdir(), 'names-'));
    const path = join(folder, 'export-2026-03-01.csv');
    await writeFile(path, READINGS);
    const assessments = await loadAssessments(path);
    expect(assessments.length).toBe(1);
    expect(assessments.notes.map(({ code }) => code)).toContain('date-in-file-name');
    expect(JSON.stringify(assessments)).not.toContain('2026-03-01');
  });

  it('every way in refuses the file before it is read, and none repeats its name', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'names-'));
    for (const name of identifyingFileNames.filter((one) => !one.includes('/')).slice(0, 60)) {
      const path = join(folder, name);
      await writeFile(path, READINGS);
      for (const read of [
        () => loadAssessments(path),
        () => loadAssessments(path, { layout: {} }),
        () => loadAssessments(join(folder, '*')),
        () => readSheet(path),
        () => previewSheet(path),
        () => loadUnitTable(path),
      ]) {
        const told = await read().then(
          () => 'was read',
          (error: Error) => `${error.message} ${JSON.stringify(error)}`,
        );
        expect(told, name).toContain('identifier-file-name');
        expect(told).not.toContain(name.replace(/\.\w+$/, ''));
      }
    }
  });

  it('preparing an export reads it whatever its name, says so, and writes nothing by such a name', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'names-'));
    const path = join(folder, 'smith_john_1961-04-03.csv');
    await writeFile(path, 'Patient,Grade\nJohn Smith,2\n');
    const lines: string[] = [];
    const run = (clean: string): Promise<void> =>
      prepareCommand([path, '--clean', join(folder, 'study', clean), '--key', join(folder, 'key', 'key.json')], {
        print: (line) => lines.push(line),
        ask: async (question) => (question.includes('Patient') ? 'patient' : 'keep'),
      });
    await run('clean.csv');
    expect(lines.join('\n')).toContain('rename the file');
    expect(lines.join('\n')).not.toMatch(/smith|1961/i);
    await expect(run('smith_john.csv')).rejects.toThrow(/name of a file has the form of an identifier/);
  });
});

const READINGS = `patient,assessor,limb,site,sign,scale,value
P1,A,left-leg,DP,pulse-grade,pulse.0-3.normal2,2
`;

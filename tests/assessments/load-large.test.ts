import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { writeReadings } from '../benchmark/write-readings.mjs';

const ROWS = 400_000;
const folder = mkdtempSync(join(tmpdir(), 'large-'));
const path = join(folder, 'readings.csv');
const before = process.env.TMPDIR;

beforeAll(async () => {
  await writeReadings(path, ROWS);
  // What loading leaves behind would stand here.
  process.env.TMPDIR = mkdtempSync(join(folder, 'scratch-'));
});
afterAll(() => {
  if (before === undefined) delete process.env.TMPDIR;
  else process.env.TMPDIR = before;
  rmSync(folder, { recursive: true });
});

it('says how far it is, ever further, and keeps the order of the rows', async () => {
  const shares: number[] = [];
  const assessments = await loadAssessments(path, { progress: (share) => shares.push(share) });
  expect(assessments.length).toBe(ROWS);
  expect(shares).toEqual([...shares].sort((a, b) => a - b));
  expect(shares.length).toBeGreaterThan(50);
  expect(shares.at(-1)).toBe(1);
  const patients = assessments.patient.codes;
  expect(patients.every((code, row) => row === 0 || code >= patients[row - 1]!)).toBe(true);
  expect(assessments.patient.values.length).toBe(ROWS / 80);
  expect(readdirSync(process.env.TMPDIR!)).toEqual([]);
});

it.each([
  ['the first reading', 0],
  ['the second reading', 0.45],
  ['the checks', 0.85],
])('stops in %s, with the reason given, and leaves nothing behind', async (_, from) => {
  const controller = new AbortController();
  if (from === 0) setTimeout(() => controller.abort('enough'), 30);
  let last = 0;
  const stopped = loadAssessments(path, {
    signal: controller.signal,
    progress: (share) => {
      last = share;
      if (from > 0 && share >= from) controller.abort('enough');
    },
  });
  await expect(stopped).rejects.toBe('enough');
  // The engine stops between two of its portions, of which a file of this size has only a few.
  expect(last).toBeLessThan(from === 0 ? 0.41 : from + 0.1);
  expect(readdirSync(process.env.TMPDIR!)).toEqual([]);
});

it('what a report throws ends the loading', async () => {
  await expect(
    loadAssessments(path, {
      progress: () => {
        throw new RangeError('not now');
      },
    }),
  ).rejects.toThrow('not now');
});

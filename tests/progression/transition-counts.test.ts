import { join } from 'node:path';
import { expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { transitionCounts } from '../../src/progression/transition-counts.ts';
import { ownScale } from '../../src/signs/own-scale.ts';
import { referenceData } from '../support/optional.ts';

const row = (patient: string, day: number | null, value: number | null, limb = 'L') => ({
  patient,
  day,
  value,
  limb,
  site: 'pretibial-shin',
  sign: 'pitting-edema',
  scale: 'oed.0-3.words',
  assessor: 'A',
});

test('counts successive recorded grades of each limb, whatever the order of the rows', async () => {
  const assessments = await loadAssessments({
    rows: [
      row('P1', 20, 2),
      row('P1', 0, 0),
      row('P1', 10, null), // passed over: 0 is followed by 2
      row('P1', 30, 2),
      row('P1', 0, 3, 'R'),
      row('P1', 7, 1, 'R'),
      row('P2', 0, 1), // one reading: no pair
    ],
  });
  const result = transitionCounts(assessments);
  expect(result.counts).toEqual([
    [0, 0, 1, 0],
    [0, 0, 0, 0],
    [0, 0, 1, 0],
    [0, 1, 0, 0],
  ]);
  expect(result.gapDays).toEqual({ median: 10, lowest: 7, highest: 20 });
  expect([result.transitions, result.courses, result.patients]).toEqual([3, 3, 2]);
  expect(result.table.toText()).toContain('0 (none)');
});

test('counts the first grade with the last, one pair a course, when asked', async () => {
  const assessments = await loadAssessments({
    rows: [row('P1', 0, 0), row('P1', 10, 2), row('P1', 30, 1), row('P2', 5, 3), row('P2', 9, null), row('P3', 0, 1)],
  });
  const result = transitionCounts(assessments, { pairs: 'first and last' });
  expect(result.counts).toEqual([
    [0, 1, 0, 0],
    [0, 0, 0, 0],
    [0, 0, 0, 0],
    [0, 0, 0, 0],
  ]);
  expect(result.gapDays.median).toBe(30);
  expect([result.pairs, result.transitions, result.courses]).toEqual(['first and last', 1, 3]);
  expect(result.notes[0]?.message).toContain('a first and a last reading');
});

test('is undefined without pairs, and says so', async () => {
  const result = transitionCounts(await loadAssessments({ rows: [row('P1', 0, 1)] }));
  expect(result.gapDays.median).toBeNaN();
  expect(result.notes[0]?.message).toContain('nothing to count');
});

test('takes the reading that stands first in the file when asked, and says how many it left out', async () => {
  const assessments = await loadAssessments({
    rows: [
      row('P1', 9, 2),
      { ...row('P1', 9, 3), assessor: 'B' },
      row('P1', 0, 1),
      { ...row('P1', 0, 0), assessor: 'B' },
    ],
  });
  const result = transitionCounts(assessments, { severalReadings: 'first in file' });
  expect(result.counts[1]).toEqual([0, 0, 1, 0]);
  expect(result.transitions).toBe(1);
  expect(result.notes[1]?.message).toContain('2 further readings');
});

test('refuses several readings a day, grades without a day, two scales and measured values', async () => {
  const twice = await loadAssessments({ rows: [row('P1', 0, 1), { ...row('P1', 0, 2), assessor: 'B' }] });
  expect(() => transitionCounts(twice)).toThrow(/read more than once on a day/);
  expect(transitionCounts(twice.where({ assessor: 'A' })).transitions).toBe(0);
  expect(() => transitionCounts(twice.where({ assessor: 'Z' }))).toThrow(/no readings/);
  const undated = await loadAssessments({ rows: [row('P1', null, 1)] });
  expect(() => transitionCounts(undated)).toThrow(/have no day/);
  const two = await loadAssessments({ rows: [row('P1', 0, 1), { ...row('P2', 0, 1), scale: 'oed.present' }] });
  expect(() => transitionCounts(two)).toThrow(/2 scales/);
  const seconds = await loadAssessments({
    rows: [{ ...row('P1', 0, 2), site: 'great-toe', sign: 'capillary-refill', scale: 'refill.seconds.toe' }],
  });
  expect(() => transitionCounts(seconds)).toThrow(/has no grades/);
});

// Data: survival::pbcseq (312 patients of a liver-disease trial, edema in three levels); counts by R 4.2.2.
const folder = referenceData();
test.runIf(folder)('edema at 1,945 irregular visits: the counts of R', async () => {
  const scale = ownScale({
    id: 'trial.edema.0-2',
    sign: 'edema-overall',
    label: 'none, with or without treatment and gone, despite treatment',
    level: 'ordinal',
    categories: [
      { value: '0', words: 'no edema' },
      { value: '1', words: 'edema untreated, or gone with treatment' },
      { value: '2', words: 'edema despite treatment' },
    ],
  });
  const assessments = await loadAssessments(join(folder ?? '', 'data', 'pbcseq_edema.csv'), {
    columns: { patient: 'id', value: 'oed' },
    constants: { sign: 'edema-overall' },
    scales: { 'edema-overall': scale },
  });
  expect(assessments.length).toBe(1945);
  const result = transitionCounts(assessments);
  expect(result.counts).toEqual([
    [1097, 116, 23],
    [55, 195, 50],
    [2, 24, 71],
  ]);
  expect(result.gapDays).toEqual({ median: 356, lowest: 48, highest: 2107 });
  expect(result.patients).toBe(312);
});

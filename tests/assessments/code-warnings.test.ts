import { expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';

const row = (patient: string, period: number) => ({
  patient,
  period,
  sign: 'edema-overall',
  scale: 'oed.overall.present',
  value: 1,
});
const codesOf = async (rows: readonly Record<string, unknown>[]): Promise<string[]> =>
  (await loadAssessments({ rows })).notes.map(({ code }) => code);
const patients = Array.from({ length: 12 }, (_, at) => at);

test('patients numbered as they came are warned about, others are not', async () => {
  expect(await codesOf(patients.map((at) => row(`P${at + 1}`, Math.floor(at / 4))))).toEqual(['codes-in-order']);
  expect(await codesOf(patients.map((at) => row(`P${at + 1}`, (at * 7) % 5)))).toEqual([]);
  expect(await codesOf(patients.map((at) => row(`P${at + 1}`, at < 6 ? 1 : 2)))).toEqual([]);
});

test('a date hidden in a code is warned about without showing it', async () => {
  const loaded = await loadAssessments({ rows: [row('visit_20260301_b', 1)] });
  expect(loaded.notes.map(({ code }) => code)).toEqual(['date-in-code']);
  expect(loaded.notes[0]?.message).not.toContain('2026');
});

import { expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { countsFile, gradeCounts, studyFigures } from '../../src/reports/study-figures.ts';
import { agreementStudy } from '../../src/study/agreement-study.ts';
import { studyForAudience } from '../../src/study/study-for-audience.ts';
import { inventedStudy } from './study.ts';

/** Twelve people, two limbs, two assessors; those named read everything a second time. */
async function repeatedBy(...assessors: string[]) {
  const rows = Array.from({ length: 24 }, (_, at) =>
    ['A', 'B'].flatMap((assessor, shift) =>
      (assessors.includes(assessor) ? [1, 2] : [1]).map((replicate) => ({
        patient: `p${at >> 1}`,
        day: 0,
        assessor,
        replicate,
        limb: at % 2 === 0 ? 'left-leg' : 'right-leg',
        site: 'femoral',
        sign: 'pulse-grade',
        scale: 'pulse.0-4.normal2',
        value: String((at + (at % 5 === 0 ? shift : 0) + (at % 7 === 0 ? replicate : 0)) % 4),
      })),
    ),
  ).flat();
  return agreementStudy(await loadAssessments({ rows }), { signs: ['pulse-grade'], interval: 'cluster-robust' });
}

it('keeps how one assessor repeats to the makers where only one read twice', async () => {
  const wheres = (study: Parameters<typeof studyFigures>[0]) =>
    new Set(studyFigures(study).flatMap(({ further }) => further.map(({ where }) => where)));
  const one = await repeatedBy('A');
  expect(wheres(one)).toContain('one assessor twice');
  expect(wheres(studyForAudience(one, 'outside'))).toEqual(new Set(['two assessors']));
  expect(wheres(studyForAudience(await repeatedBy('A', 'B'), 'outside'))).toContain('one assessor twice');
});

it('counts the grades of all readings, joined and hidden for others so that a total gives nothing away', async () => {
  const study = await inventedStudy();
  const own = gradeCounts(study);
  const { ratings } = study.results[0]!.primary.counts;
  expect(own.map(({ grade }) => grade)).toEqual(['0', '1', '2', '3', '4']);
  expect(own.reduce((sum, { count }) => sum + count!, 0)).toBe(ratings);
  const shown = gradeCounts(studyForAudience(study, 'outside'));
  const hidden = shown.filter(({ count }) => count === null).length;
  expect(hidden).not.toBe(1);
  for (const { count } of shown) expect(count === null || count === 0 || count >= 5).toBe(true);
});

it('numbers its rows in one order, who read what after the grades', async () => {
  const study = await inventedStudy();
  const { rows } = countsFile(study, studyFigures(study, ['A', 'B']));
  expect(rows.map(({ id }) => id)).toEqual(rows.map((_, at) => `C${String(at + 1).padStart(3, '0')}`));
  expect([...new Set(rows.map(({ what }) => what))]).toEqual([
    'all readings',
    'pairs of readings, both ways',
    'findings that A (one) and B (another) read',
    ...['A', 'B', 'C'].map((code) => `findings that all have read, by ${code}`),
  ]);
  const pairs = rows.filter(({ what }) => String(what).startsWith('findings that A'));
  expect(pairs.reduce((sum, { count }) => sum + Number(count), 0)).toBe(51);
});

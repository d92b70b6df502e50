import { expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { rescale } from '../../src/assessments/rescale.ts';

const row = (patient: string, scale: string, value: number | null) => ({
  patient,
  limb: 'L',
  site: 'DP',
  sign: 'pulse-grade',
  scale,
  value,
});

test('readings on two scales meet on the scale to which both can safely go', async () => {
  const assessments = await loadAssessments({
    rows: [
      row('P1', 'pulse.0-4.normal2', 2),
      row('P2', 'pulse.0-4.normal2', 3),
      row('P3', 'pulse.0-4.normal3', 3),
      row('P4', 'pulse.0-4.normal3', null),
      row('P5', 'pulse.below-normal-above', null),
    ],
  });
  const mapped = rescale(assessments, 'pulse.below-normal-above');
  expect(mapped.scales.map(({ id }) => id)).toEqual(['pulse.below-normal-above']);
  expect(mapped.toRows().map(({ value }) => value)).toEqual(['normal', 'above', 'normal', null, null]);
  expect([...mapped.number]).toEqual([1, 2, 1, Number.NaN, Number.NaN]);
  expect(mapped.notes.map(({ code }) => code)).toEqual(['scale-mapped']);
  expect([...assessments.category]).toEqual([2, 3, 3, -1, -1]);
});

test('what does not line up is refused, for every scale at once', async () => {
  const assessments = await loadAssessments({
    rows: [
      row('P1', 'pulse.0-3.normal2', 2),
      row('P2', 'pulse.0-4.normal3', 3),
      { ...row('P3', 'refill.seconds.toe', 2), site: 'great-toe', sign: 'capillary-refill' },
    ],
  });
  let problems: readonly unknown[] = [];
  try {
    rescale(assessments, 'pulse.0-4.normal2');
  } catch (error) {
    problems = (error as { problems: readonly { code: string }[] }).problems.map(({ code }) => code);
  }
  expect(problems).toEqual(['unsafe-mapping', 'unsafe-mapping', 'unsafe-mapping']);
  expect(() => rescale(assessments, 'pulse')).toThrow(/no scale of that id/);
});

import { expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { classSession } from '../../src/teaching/class-session.ts';
import { techniqueComparison } from '../../src/teaching/technique-comparison.ts';
import { demoClass } from './class-file.ts';

const both = 'both sides at once';
const single = 'one at a time';

it('counts readings by how they were made, and compares within learners', async () => {
  // The expert reads 2 everywhere. Each learner reads the first volunteer with both sides at once, the second one at a time.
  const right = [
    [4, 2],
    [3, 3],
    [4, 1],
  ];
  const row = (patient: string, at: number, assessor: string, value: number, method: string) => ({
    patient,
    day: 0,
    assessor,
    reference: assessor === 'X1' ? 'yes' : 'no',
    limb: at % 2 === 0 ? 'left-leg' : 'right-leg',
    site: at < 2 ? 'dorsalis-pedis' : 'posterior-tibial',
    sign: 'pulse-grade',
    scale: 'pulse.0-4.normal2',
    value: String(value),
    method,
  });
  const rows = ['V1', 'V2'].flatMap((volunteer, which) =>
    [0, 1, 2, 3].flatMap((at) => [
      row(volunteer, at, 'X1', 2, both),
      ...right.map((counts, learner) =>
        row(volunteer, at, `L${learner}`, at < counts[which]! ? 2 : 3, which === 0 ? both : single),
      ),
    ]),
  );
  const assessments = await loadAssessments({ rows });
  const session = classSession(assessments, { sign: 'pulse-grade' });
  const result = techniqueComparison(session, assessments, [both, single]);
  expect(result.methods).toEqual([
    { method: both, readings: 12, same: 11 },
    { method: single, readings: 12, same: 6 },
  ]);
  // Differences of shares 2/4, 0, 3/4: mean 5/12, standard error √(Σ(d − 5/12)²/6).
  expect(result.difference.value).toBeCloseTo(5 / 12, 12);
  expect(result.difference.counts).toMatchObject({ targets: 4 * 2, clusters: 2, assessors: 3, ratings: 24 });
  expect(result.difference.standardError).toBeCloseTo(Math.sqrt((1 / 144 + 25 / 144 + 16 / 144) / 6), 12);
  expect(() => techniqueComparison(session, assessments, [both, 'with gloves'])).toThrow(/choose two of/);
});

it('finds no difference in the demo class, where the way of feeling was drawn by lot', async () => {
  const { assessments } = await demoClass();
  const session = classSession(assessments, { sign: 'pulse-grade', round: '1' });
  const { difference, methods } = techniqueComparison(session, assessments, [both, single]);
  expect(methods.reduce((sum, { readings }) => sum + readings, 0)).toBe(session.readings.there);
  expect(difference.interval.lower).toBeLessThan(0);
  expect(difference.interval.upper).toBeGreaterThan(0);
});

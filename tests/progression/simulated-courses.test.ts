import { beforeAll, describe, expect, it } from 'vitest';
import { type MeasurementError, measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { type TrueGradeCourses, trueGradeCourses } from '../../src/progression/true-grade-courses.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { simulatedLimbs } from '../support/simulated-limbs.ts';

let error: MeasurementError;
let courses: TrueGradeCourses;
let changed: ReadonlyMap<string, number>;

beforeAll(async () => {
  const made = await simulatedLimbs(11, { patients: 60, serial: 120, readingsPerVisit: 2 });
  error = measurementErrorOf(ratingsFrom(made.study, { sign: 'pulse-grade' }));
  changed = made.changed;
  courses = await trueGradeCourses(made.serial, error);
});

describe('the true grade over time', () => {
  it('has chances that add up to one at every visit, and a fit that says how it knows', () => {
    for (const { visits } of courses.courses)
      for (const visit of visits) expect(visit.chances.reduce((sum, chance) => sum + chance, 0)).toBeCloseTo(1, 9);
    expect(courses.fit.converged).toBe(true);
    expect(courses.fit.how.length).toBeGreaterThan(20);
  });

  it('moves the right way in most limbs that truly changed by a grade, and stays in most that did not', () => {
    const meanGrade = (chances: readonly number[]): number =>
      chances.reduce((sum, chance, grade) => sum + chance * grade, 0);
    const moved = courses.courses.map(({ patient, visits }) => ({
      truth: changed.get(patient)!,
      shift: meanGrade(visits.at(-1)!.chances) - meanGrade(visits[0]!.chances),
    }));
    const up = moved.filter(({ truth }) => truth !== 0);
    expect(up.filter(({ truth, shift }) => Math.sign(truth) === Math.sign(shift)).length / up.length).toBeGreaterThan(
      0.8,
    );
    const stable = moved.filter(({ truth }) => truth === 0);
    expect(stable.filter(({ shift }) => Math.abs(shift) < 0.5).length / stable.length).toBeGreaterThan(0.7);
  });

  it('lies about what was written: the likeliest grade is one that a reader wrote in most visits', () => {
    const visits = courses.courses.flatMap((course) => course.visits);
    const written = visits.filter(({ chances, readings }) =>
      readings.some(({ grade }) => grade === chances.indexOf(Math.max(...chances))),
    );
    expect(written.length / visits.length).toBeGreaterThan(0.8);
  });

  it('gives days in each grade with limits', () => {
    for (const row of courses.table.rows) expect(row.stayLower as number).toBeLessThanOrEqual(row.stay as number);
  });
});

it('leaves out and counts readings by assessors and of grades that the study did not see, and tells how far it is', async () => {
  const made = await simulatedLimbs(11, { patients: 60, serial: 60, readingsPerVisit: 2 });
  expect(courses.notes.map(({ code }) => code)).not.toContain('readings-left-out');
  if (error.kind !== 'grades') throw new Error('grades expected');
  const reading = error.reading!;
  const without = { ...error, reading: Object.create(reading, { assessors: { value: ['A', 'B', 'elsewhere'] } }) };
  const heard: number[] = [];
  const found = await trueGradeCourses(made.serial, without, { progress: (share) => heard.push(share) });
  const byC = made.serial.where({ assessor: ['C'] }).length;
  const note = found.notes.find(({ code }) => code === 'readings-left-out');
  expect(note?.message).toMatch(new RegExp(`^${byC} readings`));
  expect(heard.length).toBeGreaterThan(0);
});

it('needs ten limbs, the scale of the error, and a graded sign', async () => {
  const few = await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', [
    ['p1', 0, 'A', 'left-leg', 'popliteal', 1],
    ['p1', 30, 'B', 'left-leg', 'popliteal', 2],
  ]);
  await expect(trueGradeCourses(few, error)).rejects.toThrow(/at least 10/);
  const other = await assessmentsOf('pulse-grade', 'pulse.0-3.normal2', [['p1', 0, 'A', 'left-leg', 'popliteal', 1]]);
  await expect(trueGradeCourses(other, error)).rejects.toThrow(/on the scale/);
});

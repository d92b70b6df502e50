import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { patientsOrAssessors } from '../../src/unit-quality/patients-or-assessors.ts';
import { madeDemoData, textOf } from '../data-demo/demo-data.ts';
import { type UnitLine, unitFile } from './unit-file.ts';

const options = { sign: 'pitting-edema' } as const;

/** Twelve periods, patients read three times; from period 7 on other assessors read, `shift` deeper, and patients are `worse`. */
function unit(seed: number, staying: number, shift: number, worse: number) {
  const random = seededRandom(seed);
  const lines: UnitLine[] = [];
  for (let period = 1; period <= 12; period++) {
    const late = period > 6;
    for (let stay = 0; stay < 14; stay++) {
      const depth = 1.2 + 1.1 * random.normal() + (late ? worse : 0);
      for (let day = 0; day < 3; day++) {
        const person = random.below(4);
        const fresh = late && person >= staying;
        const read = depth + (fresh ? shift : 0.1 * (person - 1.5)) + 0.45 * random.normal();
        const grade = String([0.5, 1.5, 2.5, 3.5].filter((cut) => read > cut).length);
        lines.push([`${period}-${stay}`, period, day, 'left', grade, { assessor: `${fresh ? 'N' : 'K'}${person}` }]);
      }
    }
  }
  return unitFile(lines);
}

describe('patients or assessors?', () => {
  it('blames the readers when only they changed', async () => {
    const result = await patientsOrAssessors(await unit(11, 2, 1.2, 0), options);
    expect(result.from).toBe(7);
    expect(result.assessors).toEqual({ before: 4, after: 4, bridging: 2 });
    expect(result.asRead!.interval.lower).toBeGreaterThan(1);
    expect(result.sameAssessors!.interval.lower).toBeLessThan(1);
    expect(result.sameAssessors!.interval.upper).toBeGreaterThan(1);
    expect(result.sentence).toContain('coincides with a change in who assesses');
    const { patients, assessors, periods, readings } = result.shares!;
    expect(patients + assessors + periods + readings).toBeCloseTo(1, 12);
    expect(patients).toBeGreaterThan(assessors);
  });

  it('finds a change of the patients between readings of the same assessors', async () => {
    const result = await patientsOrAssessors(await unit(12, 3, 0, 1.3), options);
    expect(result.sameAssessors!.interval.lower).toBeGreaterThan(1);
    expect(result.sentence).toContain('rose too');
  });

  it('with nobody who read before and after says that they cannot be told apart, and gives no figure', async () => {
    const result = await patientsOrAssessors(await unit(13, 0, 1, 0), options);
    expect(result.assessors.bridging).toBe(0);
    expect(result.sameAssessors).toBeUndefined();
    expect(result.sentence).toContain('cannot be told apart');
  });

  it('says so where no assessor began, and refuses a first period as the turn', async () => {
    const steady = await unit(14, 4, 0, 0);
    expect((await patientsOrAssessors(steady, options)).sentence).toContain('No assessor began');
    expect((await patientsOrAssessors(steady, { ...options, from: 7 })).asRead).toBeDefined();
    await expect(patientsOrAssessors(steady, { ...options, from: 1 })).rejects.toThrow(/later period/);
  });

  it('tells in the demo ward what its truth tells: the legs are alike, the readers are not', async () => {
    const assessments = await loadAssessments({ text: textOf(madeDemoData(), 'unit-edema.csv') });
    const result = await patientsOrAssessors(assessments, options);
    expect(result.from).toBe(15);
    expect(result.assessors).toEqual({ before: 5, after: 5, bridging: 2 });
    expect(result.sentence).toContain('coincides with a change in who assesses');
    expect(result.table.notes.map((note) => note.code)).toContain('few-bridge');
    // No code of an assessor is in anything it prints.
    expect(`${result.sentence}${result.table.toText()}`).not.toMatch(/K0\d/);
  });
});

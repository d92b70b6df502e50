import { describe, expect, it } from 'vitest';
import { measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { changeCalls } from '../../src/progression/change-calls.ts';
import { limbCourse } from '../../src/progression/limb-course.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { assessmentsOf } from '../support/assessments-of.ts';

const GRADE = ['pulse-grade', 'pulse.0-4.normal2'] as const;
type Line = Parameters<typeof assessmentsOf>[2][number];

/** Forty unchanged findings read by A and B: one grade apart on eight, two apart on one. Shift 2 is beyond the error. */
async function studyError() {
  const lines = Array.from({ length: 40 }, (_, at): Line[] => [
    [`s${at}`, 0, 'A', 'left-leg', 'popliteal', 2],
    [`s${at}`, 0, 'B', 'left-leg', 'popliteal', at < 8 ? 3 : at === 8 ? 4 : 2],
  ]).flat();
  return measurementErrorOf(ratingsFrom(await assessmentsOf(...GRADE, lines), { sign: 'pulse-grade' }));
}

describe('grades', () => {
  it('calls a change of one grade within and of two beyond the error', async () => {
    const serial = await assessmentsOf(...GRADE, [
      ['p1', 0, 'A', 'left-leg', 'popliteal', 2],
      ['p1', 30, 'B', 'left-leg', 'popliteal', 1],
      ['p2', 0, 'A', 'left-leg', 'popliteal', 3],
      ['p2', 30, 'B', 'left-leg', 'popliteal', 1],
      ['p3', 0, 'A', 'left-leg', 'popliteal', 0],
      ['p3', 10, 'A', 'left-leg', 'popliteal', 0],
      ['p3', 30, 'A', 'left-leg', 'popliteal', 3],
      ['p4', 0, 'A', 'left-leg', 'popliteal', 2],
      ['p5', 0, 'A', 'left-leg', 'popliteal', 2],
      ['p5', 30, 'B', 'left-leg', 'popliteal', 2],
    ]);
    const calls = changeCalls(serial, await studyError());
    expect(calls.limbs.map((limb) => limb.call)).toEqual([
      'within error',
      'beyond error, lower',
      'beyond error, higher',
      'same reading',
    ]);
    expect(calls.limbs[2]!.later.map((step) => step.call)).toEqual(['same reading', 'beyond error, higher']);
    expect(calls.withoutSecondVisit).toBe(1);
    // Each of four limbs would show at least two grades by error in 1 of 40 pairs.
    expect(calls.expectedFromErrorAlone).toBeCloseTo(4 / 40, 12);
    expect(calls.table.rows.at(-1)).toMatchObject({ site: 'all', limbs: 4, same: 1, within: 1, higher: 1, lower: 1 });
  });

  it('compares an assessor with himself where he read both', async () => {
    const serial = await assessmentsOf(...GRADE, [
      ['p1', 0, 'A', 'left-leg', 'popliteal', 1],
      ['p1', 0, 'B', 'left-leg', 'popliteal', 3],
      ['p1', 30, 'B', 'left-leg', 'popliteal', 3],
      ['p1', 30, 'C', 'left-leg', 'popliteal', 1],
    ]);
    const [limb] = changeCalls(serial, await studyError()).limbs;
    expect(limb!.later[0]!.sameAssessor).toBe(true);
    expect(limb!.call).toBe('same reading');
  });

  it('a visit lies beyond the error only with all its readings', async () => {
    const visit = (second: number): Promise<Awaited<ReturnType<typeof assessmentsOf>>> =>
      assessmentsOf(...GRADE, [
        ['p1', 0, 'A', 'left-leg', 'popliteal', 2],
        ['p1', 30, 'B', 'left-leg', 'popliteal', 0],
        ['p1', 30, 'C', 'left-leg', 'popliteal', second],
      ]);
    expect(changeCalls(await visit(1), await studyError()).limbs[0]!.call).toBe('within error');
    expect(changeCalls(await visit(0), await studyError()).limbs[0]!.call).toBe('beyond error, lower');
  });

  it('refuses another sign and another scale', async () => {
    const error = await studyError();
    const other = await assessmentsOf('pulse-grade', 'pulse.0-3.normal2', [['p1', 0, 'A', 'left-leg', 'popliteal', 1]]);
    expect(() => changeCalls(other, error)).toThrow(/measured on the scale/);
    const refill = await assessmentsOf('capillary-refill', 'refill.seconds.toe', [
      ['p1', 0, 'A', 'left-leg', 'great-toe', 2],
    ]);
    expect(() => changeCalls(refill, error)).toThrow(/hold none/);
  });

  it('says when the limbs are another mix of grades than the study, and not otherwise', async () => {
    const codes = async (limbs: number, elsewhere: number): Promise<readonly [string[], string]> => {
      const lines = Array.from({ length: limbs }, (_, at): Line[] => [
        [`m${at}`, 0, 'A', 'left-leg', 'popliteal', at < elsewhere ? 0 : 2],
        [`m${at}`, 30, 'B', 'left-leg', 'popliteal', 2],
      ]).flat();
      const { notes } = changeCalls(await assessmentsOf(...GRADE, lines), await studyError());
      const found = notes.find((note) => note.code === 'other-case-mix');
      return [notes.map((note) => note.code), found?.message ?? ''];
    };
    // The study's 80 readings in pairs: 71 of 2, 8 of 3, 1 of 4, so shares .8875, .1, .0125. All 40 limbs at 2: distance .1125.
    expect((await codes(40, 0))[0]).not.toContain('other-case-mix');
    // Of 40, 3 at 0: distance ½(.075 + .0375 + .1 + .0125)= .1125; 8 at 0: ½(.2 + .0875 + .1 + .0125) = .2.
    expect((await codes(40, 3))[0]).not.toContain('other-case-mix');
    expect((await codes(40, 7))[0]).not.toContain('other-case-mix');
    expect((await codes(40, 8))[0]).toContain('other-case-mix');
    expect((await codes(40, 40))[1]).toContain('100 % were read "absent", in the study 0 %');
    // Nineteen limbs are too few to say.
    expect((await codes(19, 19))[0]).not.toContain('other-case-mix');
  });

  it('says when nobody of the study read the limbs, and not when somebody did', async () => {
    const read = async (assessor: string): Promise<string[]> => {
      const lines = Array.from({ length: 6 }, (_, at): Line[] => [
        [`u${at}`, 0, assessor, 'left-leg', 'popliteal', 2],
        [`u${at}`, 30, assessor, 'left-leg', 'popliteal', 2],
      ]).flat();
      return changeCalls(await assessmentsOf(...GRADE, lines), await studyError()).notes.map((note) => note.code);
    };
    expect(await read('Z')).toContain('assessors-not-in-study');
    expect(await read('B')).not.toContain('assessors-not-in-study');
  });

  it('always says that it is not for the person in front of you', async () => {
    const serial = await assessmentsOf(...GRADE, [
      ['p1', 0, 'A', 'left-leg', 'popliteal', 1],
      ['p1', 9, 'A', 'left-leg', 'popliteal', 4],
    ]);
    expect(changeCalls(serial, await studyError()).notes.map((note) => note.code)).toContain('not-for-one-person');
  });
});

describe('seconds', () => {
  it('holds a difference against the smallest detectable change', async () => {
    const study = await assessmentsOf(
      'capillary-refill',
      'refill.seconds.toe',
      Array.from({ length: 6 }, (_, at): Line[] => [
        [`s${at}`, 0, 'A', 'left-leg', 'great-toe', 2],
        [`s${at}`, 0, 'B', 'left-leg', 'great-toe', at % 2 === 0 ? 3 : 1],
      ]).flat(),
    );
    const error = measurementErrorOf(ratingsFrom(study, { sign: 'capillary-refill' }));
    if (error.kind !== 'lengths') return expect.unreachable();
    // Each pair differs by 1: SEM = √(½), SDC = 1.959964 · √2 · √(½) = 1.959964.
    expect(error.smallestDetectableChange.differentAssessor.value).toBeCloseTo(1.959963984540054, 12);
    const serial = await assessmentsOf('capillary-refill', 'refill.seconds.toe', [
      ['p1', 0, 'A', 'left-leg', 'great-toe', 2],
      ['p1', 9, 'B', 'left-leg', 'great-toe', '3.9'],
      ['p2', 0, 'A', 'left-leg', 'great-toe', 2],
      ['p2', 9, 'B', 'left-leg', 'great-toe', '4.1'],
    ]);
    expect(changeCalls(serial, error).limbs.map((limb) => limb.call)).toEqual(['within error', 'beyond error, higher']);
  });
});

it('gives one limb its course, with what error alone would explain and no code of the patient', async () => {
  const serial = await assessmentsOf(...GRADE, [
    ['p1', 0, 'A', 'left-leg', 'popliteal', 3],
    ['p1', 30, 'B', 'left-leg', 'popliteal', 1],
  ]);
  const course = limbCourse(serial, await studyError(), { patient: 'p1', limb: 'left-leg', site: 'popliteal' });
  expect(course.changes).toEqual([
    { fromDay: 0, toDay: 30, from: 3, to: 1, call: 'beyond error', explained: { lower: 2, upper: 4 } },
  ]);
  expect(JSON.stringify(course)).not.toContain('p1');
  const error = await studyError();
  expect(() => limbCourse(serial, error, { patient: 'p9', limb: 'left-leg' })).toThrow(/Nothing is recorded/);
});

import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { CrossAssessorMatrix } from '../../src/measurement-error/cross-assessor-matrix.ts';
import {
  type GradeError,
  type LengthError,
  measurementErrorOf,
} from '../../src/measurement-error/measurement-error-of.ts';
import { ChangeCalls, changeCalls, type LimbChange } from '../../src/progression/change-calls.ts';
import { limbCourse } from '../../src/progression/limb-course.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import type { Estimate } from '../../src/shared/estimate.ts';
import { caution, information } from '../../src/shared/note.ts';
import { scaleOf } from '../../src/signs/codebook.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { problemsIn } from '../support/problems-in.ts';

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
    // One lower by two, one higher by one: the nearer stands for the visit.
    const [apart] = changeCalls(await visit(3), await studyError()).limbs;
    expect(apart!.later[0]!.difference).toBe(1);
    expect(apart!.call).toBe('within error');
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

/** An error of grades as stated: how many pairs of 20 findings are apart, between assessors and within one. */
function statedError(more: Partial<GradeError> = {}): GradeError {
  const shifts = (shares: readonly number[], smallestDetectableShift: number) => ({
    atLeast: shares.map((value, at) => ({ grades: at + 1, share: { value } as Estimate })),
    smallestDetectableShift,
  });
  const counts = [0, 1, 2, 3, 4].map((from) => [0, 1, 2, 3, 4].map((to) => (from === 2 && to === 2 ? 40 : 0)));
  return {
    kind: 'grades',
    audience: 'own',
    subject: { sign: 'pulse-grade', signLabel: 'Pulse', scale: GRADE[1], scaleLabel: 'pulse, 0 to 4' },
    assessors: ['A', 'B'],
    matrix: new CrossAssessorMatrix(scaleOf(GRADE[1]).categories!, counts, counts, 20, 20),
    differentAssessor: shifts([0.3, 0.04, 0.01, 0], 2),
    sameAssessor: shifts([0.02, 0, 0, 0], 1),
    reading: undefined,
    confidenceLevel: 0.95,
    notes: [],
    ...more,
  } as GradeError;
}
const pulse = (patient: string, day: number, assessor: string, grade: number, site = 'popliteal'): Line => [
  patient,
  day,
  assessor,
  'left-leg',
  site,
  grade,
];

describe('which readings are compared', () => {
  const compared = async (lines: readonly Line[], error = statedError()) => {
    const [limb] = changeCalls(await assessmentsOf(...GRADE, lines), error).limbs;
    return limb!.later.map(({ reading, baseline, difference, sameAssessor, threshold, call }) => [
      `${baseline.assessor}${baseline.step}`,
      `${reading.assessor}${reading.step} day ${reading.day}`,
      difference,
      sameAssessor,
      threshold,
      call,
    ]);
  };

  it('each later day with the first, one assessor with himself where he read both', async () => {
    expect(
      await compared([
        pulse('p', 3, 'A', 2),
        pulse('p', 9, 'B', 1),
        pulse('p', 12, 'A', 1),
        pulse('p', 20, 'A', 2),
        pulse('p', 20, 'B', 4),
        pulse('p', 30, 'B', 4),
      ]),
    ).toEqual([
      ['A2', 'B1 day 9', -1, false, 2, 'within error'],
      ['A2', 'A1 day 12', -1, true, 1, 'beyond error, lower'],
      ['A2', 'A2 day 20', 0, true, 1, 'same reading'],
      ['A2', 'B4 day 30', 2, false, 2, 'beyond error, higher'],
    ]);
  });

  it('one assessor with himself, though the reading of another would be nearer', async () => {
    expect(await compared([pulse('p', 0, 'A', 1), pulse('p', 0, 'B', 3), pulse('p', 9, 'A', 3)])).toEqual([
      ['A1', 'A3 day 9', 2, true, 1, 'beyond error, higher'],
    ]);
  });

  it('the pair nearest to each other, the first of two as near', async () => {
    // Baselines 1 and 3; 4 is nearest to 3. Then 0 and 4 about 2, both two off.
    expect(await compared([pulse('p', 0, 'A', 1), pulse('p', 0, 'B', 3), pulse('p', 9, 'C', 4)])).toEqual([
      ['B3', 'C4 day 9', 1, false, 2, 'within error'],
    ]);
    expect(await compared([pulse('p', 0, 'A', 2), pulse('p', 9, 'C', 0), pulse('p', 9, 'D', 4)])).toEqual([
      ['A2', 'C0 day 9', -2, false, 2, 'beyond error, lower'],
    ]);
  });

  it('with the error between assessors where the study does not know that of one', async () => {
    const lines = [pulse('p', 0, 'A', 2), pulse('p', 9, 'A', 3)];
    expect(await compared(lines)).toEqual([['A2', 'A3 day 9', 1, true, 1, 'beyond error, higher']]);
    expect(await compared(lines, statedError({ sameAssessor: undefined }))).toEqual([
      ['A2', 'A3 day 9', 1, true, 2, 'within error'],
    ]);
  });

  it('expects the share of unchanged pairs that differ as much, limb by limb', async () => {
    const lines = [
      ...[pulse('p1', 0, 'A', 2), pulse('p1', 9, 'A', 2)],
      ...[pulse('p2', 0, 'A', 2), pulse('p2', 5, 'A', 4), pulse('p2', 9, 'B', 4)],
      ...[pulse('p3', 0, 'B', 2), pulse('p3', 9, 'A', 3)],
      pulse('p4', 0, 'A', 2),
    ];
    const calls = changeCalls(await assessmentsOf(...GRADE, lines), statedError());
    // One assessor at a shift of 1: .02; two limbs by two assessors at a shift of 2: .04 each.
    expect(calls.expectedFromErrorAlone).toBeCloseTo(0.02 + 2 * 0.04, 12);
    expect([calls.patients, calls.limbs.length, calls.withoutSecondVisit]).toEqual([3, 3, 1]);
    expect(calls.limbs.map(({ chance }) => chance)).toEqual([undefined, undefined, undefined]);
    expect(calls.fit).toBeUndefined();
  });
});

describe('its notes', () => {
  const notesOf = async (lines: readonly Line[], error = statedError()) =>
    changeCalls(await assessmentsOf(...GRADE, lines), error).notes.map(({ code, message }) => [code, message]);
  const many = (patients: number, of: (at: number) => Line[]) =>
    Array.from({ length: patients }, (_, at) => of(at)).flat();

  it('count limbs read differently, beyond the error, and expected beyond it', async () => {
    const notes = await notesOf([
      ...many(30, (at) => [pulse(`a${at}`, 0, 'A', 2), pulse(`a${at}`, 9, 'B', at < 5 ? 3 : 2)]),
      ...many(20, (at) => [pulse(`b${at}`, 0, 'A', 2), pulse(`b${at}`, 9, 'B', at < 4 ? 0 : 2)]),
      ...many(3, (at) => [pulse(`c${at}`, 0, 'A', 2)]),
    ]);
    expect(notes.map(([code]) => code)).toEqual(['expected-from-error', 'single-visit', 'not-for-one-person']);
    expect(notes[0]![1]).toBe(
      'Of 50 limb-sites, 9 were read differently at the last visit and 4 of these differ by more than the error; about 2 such calls would be expected from assessors alone if nothing had changed.',
    );
    expect(notes[1]![1]).toBe('3 limb-sites have a reading on one day only.');
    const hidden = statedError({
      differentAssessor: {
        atLeast: [{ grades: 2, share: { value: Number.NaN } as Estimate }],
        smallestDetectableShift: 2,
      },
    });
    expect((await notesOf([pulse('a', 0, 'A', 2), pulse('a', 9, 'B', 2)], hidden))[0]![1]).toContain(
      'is not in this copy of the error',
    );
  });

  it('carry over the cautions of the error, not what only informs', async () => {
    const error = statedError({ notes: [information('for-information', 'x'), caution('mind-this', 'y')] });
    const notes = await notesOf([pulse('a', 0, 'A', 2), pulse('a', 9, 'B', 2)], error);
    expect(notes.map(([code]) => code)).toEqual(['expected-from-error', 'not-for-one-person', 'mind-this']);
  });

  it('count readings and people that the study did not see', async () => {
    const notes = await notesOf([
      pulse('a', 0, 'A', 2),
      pulse('a', 9, 'Z', 2),
      pulse('a', 19, 'Y', 2),
      pulse('b', 0, 'Z', 2),
      pulse('b', 9, '', 2),
    ]);
    expect(notes.find(([code]) => code === 'assessors-not-in-study')![1]).toMatch(
      /^3 of 5 readings are by assessors who were not in the agreement study \(2 of 4 assessors\)/,
    );
    const unknown = await notesOf(
      [pulse('a', 0, 'Z', 2), pulse('a', 9, 'Z', 2)],
      statedError({ assessors: undefined as never }),
    );
    expect(unknown.map(([code]) => code)).not.toContain('assessors-not-in-study');
  });

  it('tell another mix by the first readings of each limb, several of a day sharing its weight', async () => {
    // Twenty limbs, on ten of them two readings at first, one of them "absent": 5 of 20 absent, in the study none: distance .25.
    const mixed = many(20, (at) => [
      pulse(`a${at}`, 0, 'A', 2),
      ...(at < 10 ? [pulse(`a${at}`, 0, 'B', 0)] : []),
      pulse(`a${at}`, 9, 'A', 0),
    ]);
    const found = (await notesOf(mixed)).find(([code]) => code === 'other-case-mix')!;
    expect(found[1]).toMatch(
      /at their first visit 25 % were read "absent", in the study 0 %; 25 % of the readings would have to be/,
    );
    // All absent here, all normal in the study: of two grades that differ as much the lower is named.
    const absent = (await notesOf(many(20, (at) => [pulse(`a${at}`, 0, 'A', 0)]))).find(
      ([code]) => code === 'other-case-mix',
    )!;
    expect(absent[1]).toMatch(/ 100 % were read "absent", in the study 0 %; 100 % of the readings/);
    const few = statedError();
    const small = new CrossAssessorMatrix(few.matrix.categories, few.matrix.counts, few.matrix.shares, 19, 19);
    const empty = new CrossAssessorMatrix(
      few.matrix.categories,
      few.matrix.counts.map((row) => row.map(() => 0)),
      few.matrix.shares,
      20,
      20,
    );
    for (const matrix of [small, empty])
      expect((await notesOf(mixed, statedError({ matrix }))).map(([code]) => code)).not.toContain('other-case-mix');
  });

  it('count readings on another scale', async () => {
    const row = (day: number, scale: string) => ({
      patient: 'p',
      day,
      assessor: 'A',
      sign: 'pulse-grade',
      limb: 'left-leg',
      site: 'popliteal',
      scale,
      value: '2',
    });
    const serial = await loadAssessments({
      rows: [row(0, GRADE[1]), row(9, GRADE[1]), row(3, 'pulse.0-3.normal2'), row(5, 'pulse.0-3.normal2')],
    });
    const note = changeCalls(serial, statedError()).notes.find(({ code }) => code === 'other-scales-left-out');
    expect(note!.message).toBe('2 readings are on another scale than the error and were left out.');
  });
});

describe('the table', () => {
  const limbs = (
    [
      ['p1', 'dorsalis-pedis', 'same reading', 0.1, 0.1],
      ['p1', 'popliteal', 'beyond error, lower', 0.1, 0.8],
      ['p2', 'popliteal', 'within error', 0.79, 0.2],
      ['p2', 'dorsalis-pedis', 'beyond error, higher', 0.9, 0.1],
      ['p3', 'popliteal', 'within error', 0.8, 0.2],
      ['p4', '', 'same reading', undefined, undefined],
    ] as const
  ).map(
    ([patient, site, call, rose, fell]): LimbChange => ({
      series: { patient, limb: 'left-leg', site, readings: [] },
      later: [],
      call,
      chance: rose === undefined ? undefined : ({ rose, fell } as LimbChange['chance']),
    }),
  );
  const of = (kept: readonly LimbChange[], fit: object | undefined) =>
    new ChangeCalls('Pulse', scaleOf(GRADE[1]), kept, 0, 0, fit as never, []);

  it('counts calls and likely changes by site, from the knee down, and all together', () => {
    const { table } = of(limbs, {});
    const row = (site: unknown, counts: readonly number[]) => ({
      site,
      ...Object.fromEntries(
        ['limbs', 'same', 'within', 'higher', 'lower', 'rose', 'fell'].map((key, at) => [key, counts[at]]),
      ),
    });
    expect(table.rows).toEqual([
      row('no site', [1, 1, 0, 0, 0, 0, 0]),
      row(expect.stringContaining('behind the knee'), [3, 0, 2, 0, 1, 1, 1]),
      row(expect.stringContaining('top of the foot'), [2, 1, 0, 1, 0, 1, 0]),
      row('all', [6, 2, 2, 1, 1, 2, 1]),
    ]);
    expect(table.columns.map(({ key }) => key)).toEqual([
      'site',
      'limbs',
      'same',
      'within',
      'higher',
      'lower',
      'rose',
      'fell',
    ]);
    expect(of(limbs, undefined).table.columns.map(({ key }) => key)).toEqual([
      'site',
      'limbs',
      'same',
      'within',
      'higher',
      'lower',
    ]);
    expect(of(limbs, undefined).patients).toBe(4);
  });

  it('has one row where there is one site', () => {
    expect(of(limbs.slice(1, 3), {}).table.rows.map(({ site, limbs: number }) => [site, number])).toEqual([['all', 2]]);
  });
});

it('of a measured sign: a difference of the smallest detectable change itself is within it', async () => {
  const detectable = (value: number) => ({ value }) as Estimate;
  const error = {
    kind: 'lengths',
    audience: 'own',
    subject: { sign: 'capillary-refill', signLabel: 'Refill', scale: 'refill.seconds.toe', scaleLabel: 's' },
    assessors: ['A', 'B'],
    standardError: { differentAssessor: detectable(1), sameAssessor: undefined },
    smallestDetectableChange: { differentAssessor: detectable(1.5), sameAssessor: detectable(1) },
    confidenceLevel: 0.9,
    notes: [],
  } as LengthError;
  const toe = (patient: string, assessor: string, last: string): Line[] => [
    [patient, 0, 'A', 'left-leg', 'great-toe', '2.5'],
    [patient, 9, assessor, 'left-leg', 'great-toe', last],
  ];
  const serial = await assessmentsOf('capillary-refill', 'refill.seconds.toe', [
    ...toe('p1', 'B', '4'),
    ...toe('p2', 'B', '4.25'),
    ...toe('p3', 'A', '1.5'),
    ...toe('p4', 'A', '1.25'),
  ]);
  const calls = changeCalls(serial, error);
  expect(calls.limbs.map(({ later, call }) => [later[0]!.difference, later[0]!.threshold, call])).toEqual([
    [1.5, 1.5, 'within error'],
    [1.75, 1.5, 'beyond error, higher'],
    [-1, 1, 'within error'],
    [-1.25, 1, 'beyond error, lower'],
  ]);
  expect(calls.expectedFromErrorAlone).toBeCloseTo(0.4, 12);
  const { sameAssessor: _, ...between } = error.smallestDetectableChange;
  const without = { ...error, smallestDetectableChange: { ...between, sameAssessor: undefined } };
  expect(changeCalls(serial, without).limbs.map(({ later }) => later[0]!.threshold)).toEqual([1.5, 1.5, 1.5, 1.5]);
});

it('names what it refuses', async () => {
  const serial = await assessmentsOf(...GRADE, [pulse('p', 0, 'A', 2)]);
  const subject = statedError().subject!;
  expect(problemsIn(() => changeCalls(serial, statedError({ subject: undefined })))).toEqual(['subject-needed error']);
  expect(
    problemsIn(() => changeCalls(serial, statedError({ subject: { ...subject, sign: 'capillary-refill' } }))),
  ).toEqual(['different-sign assessments']);
  expect(
    problemsIn(() => changeCalls(serial, statedError({ subject: { ...subject, scale: 'pulse.0-3.normal2' } }))),
  ).toEqual(['different-scale assessments']);
});

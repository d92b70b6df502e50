import { describe, expect, it } from 'vitest';
import type { GradeError } from '../../src/measurement-error/measurement-error-of.ts';
import { hiddenPositionFit } from '../../src/models/hidden-position-fit.ts';
import { hiddenStates } from '../../src/models/hidden-states.ts';
import { type TrueGradeOptions, trueGradeCourses } from '../../src/progression/true-grade-courses.ts';
import { caution } from '../../src/shared/note.ts';
import { assessmentsOf } from '../support/assessments-of.ts';

type Line = Parameters<typeof assessmentsOf>[2][number];
const MONTH = 365.25 / 12;
const READING = { cuts: [-0.5, 0.7], tendencies: [-0.2, 0.2], spreads: [0.4, 0.5], slip: 0.02 };
/** How A and B read three grades of a scale of five whose highest two were one and never read apart: stated, not estimated. */
const ERROR = {
  kind: 'grades',
  audience: 'own',
  subject: { sign: 'pulse-grade', signLabel: 'Pulse', scale: 'pulse.0-4.normal2', scaleLabel: 'pulse, 0 to 4' },
  reading: {
    assessors: ['A', 'B'],
    grades: [{ words: 'none' }, { words: 'weak' }, { words: 'strong' }],
    gradeOf: [0, 1, 2, 2, -1],
    continuum: { reading: READING },
  },
  notes: [],
} as unknown as GradeError;

/** Twenty limbs at irregular visits: grades as read by A and B in turn. */
const COURSES: readonly (readonly (readonly [day: number, grade: number])[])[] = Array.from({ length: 20 }, (_, at) =>
  Array.from({ length: 3 + (at % 2) }, (__, visit) => [
    visit * (20 + at) + ((at * 7) % 5),
    [
      [0, 0, 1, 1],
      [1, 1, 1, 2],
      [3, 2, 2, 1],
      [1, 0, 0, 0],
      [2, 2, 3, 3],
    ][at % 5]![visit]!,
  ]),
);
const lines = COURSES.flatMap((visits, at) =>
  visits.map(([day, grade], visit): Line => [`p${at}`, day, 'AB'[visit % 2]!, 'left-leg', 'popliteal', grade]),
);
const file = (more: readonly Line[] = []) => assessmentsOf('pulse-grade', 'pulse.0-4.normal2', [...lines, ...more]);
/** Columns of the fit as they should be: limb by limb, months, grades of the model, places of the readers. */
function columnsOf(rows: readonly (readonly [subject: number, day: number, grade: number, reader: number])[]) {
  return {
    subject: rows.map(([subject]) => subject),
    time: rows.map(([, day]) => day / MONTH),
    category: rows.map(([, , grade]) => grade),
    reader: rows.map(([, , , reader]) => reader),
  };
}
const plainRows = COURSES.flatMap((visits, at) =>
  visits.map(([day, grade], visit) => [at, day, Math.min(grade, 2), visit % 2] as const),
);

describe('with readings that the study did not see', () => {
  const special: readonly Line[] = [
    // Left with one day: not followed.
    ['one', 0, 'A', 'left-leg', 'popliteal', 1],
    ['one', 30, 'Z', 'left-leg', 'popliteal', 1],
    // A grade never seen at the middle visit: that visit has no chances.
    ['new', 0, 'A', 'right-leg', 'femoral', 1],
    ['new', 10, 'A', 'right-leg', 'femoral', 4],
    ['new', 30, 'B', 'right-leg', 'femoral', 2],
    // Two readers and a stranger at one visit, and a grade never seen beside another.
    ['both', 5, 'A', 'left-leg', 'popliteal', 0],
    ['both', 5, 'B', 'left-leg', 'popliteal', 1],
    ['both', 5, 'Z', 'left-leg', 'popliteal', 3],
    ['both', 45, 'A', 'left-leg', 'popliteal', 1],
    ['both', 45, 'B', 'left-leg', 'popliteal', 4],
  ];

  it('every visit of every limb has the chances of the model fitted to what is left', async () => {
    const found = await trueGradeCourses(await file(special), { ...ERROR, notes: [caution('of-the-study', 'x')] });
    const columns = columnsOf([
      ...plainRows,
      [20, 0, 1, 0],
      [20, 30, 2, 1],
      [21, 5, 0, 0],
      [21, 5, 1, 1],
      [21, 45, 1, 0],
    ]);
    const fit = await hiddenPositionFit(columns, { grades: 3, reading: READING, changes: 'both' });
    expect(found.fit.logLikelihood).toBe(fit.logLikelihood);
    const states = hiddenStates(columns, fit.model);
    const chancesOf = (subject: number, day: number): number[] => {
      const at = Array.from(states.time).findIndex(
        (time, visit) => states.subject[visit] === subject && Math.abs(time * MONTH - day) < 0.5,
      );
      return [0, 1, 2].map((grade) =>
        fit.stateGrades.reduce(
          (sum, own, state) => sum + (own === grade ? states.smoothed[at * states.states + state]! : 0),
          0,
        ),
      );
    };
    const near = (chances: readonly number[]) => chances.map((chance) => expect.closeTo(chance, 12));
    expect(found.courses.map(({ patient, limb, site }) => [patient, limb, site])).toEqual([
      ...COURSES.map((_, at) => [`p${at}`, 'left-leg', 'popliteal']),
      ['new', 'right-leg', 'femoral'],
      ['both', 'left-leg', 'popliteal'],
    ]);
    COURSES.forEach((visits, at) => {
      expect(found.courses[at]!.visits.map(({ day, chances }) => [day, chances])).toEqual(
        visits.map(([day]) => [day, near(chancesOf(at, day))]),
      );
    });
    expect(found.courses[20]!.visits.map(({ day, chances }) => [day, chances])).toEqual([
      [0, near(chancesOf(20, 0))],
      [30, near(chancesOf(20, 30))],
    ]);
    expect(found.courses[21]!.visits.map(({ day, chances }) => [day, chances])).toEqual([
      [5, near(chancesOf(21, 5))],
      [45, near(chancesOf(21, 45))],
    ]);
    const read = ({ readings }: { readings: readonly { assessor: string; grade: number }[] }): string[] =>
      readings.map(({ assessor, grade }) => `${assessor} ${grade}`);
    expect(found.courses[21]!.visits.map(read)).toEqual([
      ['A 0', 'B 1', 'Z 2'],
      ['A 1', 'B -1'],
    ]);
    expect(found.courses[21]!.visits[0]!.readings[0]!.words).toMatch(/absent|none|0/i);
    expect([found.signLabel, found.scaleLabel, found.grades]).toEqual([
      'Pulse',
      'pulse, 0 to 4',
      ['none', 'weak', 'strong'],
    ]);
    expect(found.daysPerUnit).toBeCloseTo(MONTH, 12);
    // Z twice and twice a grade never seen.
    expect(found.notes.map(({ code }) => code)).toEqual([
      ...fit.notes.map(({ code }) => code),
      'readings-left-out',
      'not-for-one-person',
    ]);
    expect(found.notes.find(({ code }) => code === 'readings-left-out')!.message).toMatch(/^4 readings/);
  });
});

describe('asked for otherwise', () => {
  const of = async (options: TrueGradeOptions) => trueGradeCourses(await file(), ERROR, options);

  it('lets limbs move one way only', async () => {
    // Limbs that were read to rise or to stay.
    const rising = COURSES.flatMap((_, at) => ([0, 1, 4].includes(at % 5) ? [at] : []));
    const some = (await file()).where({ patient: rising.map((at) => `p${at}`) });
    const up = await trueGradeCourses(some, ERROR, { changes: 'up', seed: 3 });
    const rows = plainRows
      .filter(([at]) => rising.includes(at))
      .map(([at, ...rest]) => [rising.indexOf(at), ...rest] as const);
    const fit = await hiddenPositionFit(columnsOf(rows), { grades: 3, reading: READING, changes: 'up', seed: 3 });
    expect(up.fit.logLikelihood).toBe(fit.logLikelihood);
    const both = await trueGradeCourses(some, ERROR);
    expect(both.fit.logLikelihood).not.toBe(fit.logLikelihood);
    expect(up.notes.map(({ code }) => code)).not.toContain('readings-left-out');
  });

  it('hands on the progress and the wish to stop', async () => {
    const heard: number[] = [];
    await of({ progress: (share) => heard.push(share) });
    expect(heard.at(-1)).toBe(1);
    const stop = new AbortController();
    stop.abort();
    const stopped = await of({ signal: stop.signal }).then(
      ({ fit }) => fit.how,
      (error: Error) => error.message,
    );
    const usual = await of({});
    expect(stopped).not.toBe(usual.fit.how);
  });
});

it('shows days in each grade and shares at first with their limits, in days', async () => {
  const { table, fit } = await trueGradeCourses(await file(), ERROR);
  expect(table.rows).toEqual(
    ['none', 'weak', 'strong'].map((grade, at) => ({
      grade,
      stay: expect.closeTo(MONTH * fit.meanTimesInGrade[at]!.value, 9),
      stayLower: expect.closeTo(MONTH * fit.meanTimesInGrade[at]!.lower, 9),
      stayUpper: expect.closeTo(MONTH * fit.meanTimesInGrade[at]!.upper, 6),
      first: fit.initialGrades[at]!.value,
      firstLower: fit.initialGrades[at]!.lower,
      firstUpper: fit.initialGrades[at]!.upper,
    })),
  );
  // Days are shown whole: the table says so in its columns.
  expect(table.columns.map(({ key, decimals }) => [key, decimals]).slice(1, 4)).toEqual([
    ['stay', 0],
    ['stayLower', 0],
    ['stayUpper', 0],
  ]);
});

it('needs ten limbs read on two days', async () => {
  const codeOf = async (patients: number): Promise<string> => {
    const all = await file();
    const kept = all.where({ patient: Array.from({ length: patients }, (_, at) => `p${at}`) });
    return trueGradeCourses(kept, ERROR).then(
      () => 'fitted',
      (error) => error.problems[0].code,
    );
  };
  expect(await codeOf(9)).toBe('too-few-series');
  expect(await codeOf(10)).toBe('fitted');
  for (const without of [{ reading: undefined }, { subject: undefined }, { kind: 'lengths' }])
    await expect(trueGradeCourses(await file(), { ...ERROR, ...without } as GradeError)).rejects.toMatchObject({
      problems: [{ code: 'grades-needed' }],
    });
});

import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { limbCourse } from '../../src/progression/limb-course.ts';
import { limbCourses } from '../../src/progression/limb-courses.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { scaleOf } from '../../src/signs/codebook.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { problemsIn } from '../support/problems-in.ts';

type Line = Parameters<typeof assessmentsOf>[2][number];
const GRADE = ['pulse-grade', 'pulse.0-4.normal2'] as const;

it('gives every limb-site of one patient, head to toe, left before right, without the code', async () => {
  const study = Array.from({ length: 30 }, (_, at): Line[] => [
    [`s${at}`, 0, 'A', 'left-leg', 'popliteal', 2],
    [`s${at}`, 0, 'B', 'left-leg', 'popliteal', at < 6 ? 3 : 2],
  ]).flat();
  const error = measurementErrorOf(ratingsFrom(await assessmentsOf(...GRADE, study), { sign: 'pulse-grade' }));
  const serial = await assessmentsOf(...GRADE, [
    ['patient-7', 0, 'A', 'right-leg', 'dorsalis-pedis', 2],
    ['patient-7', 9, 'A', 'right-leg', 'dorsalis-pedis', 0],
    ['patient-7', 0, 'A', 'right-leg', 'popliteal', 1],
    ['patient-7', 0, 'A', 'left-leg', 'popliteal', 2],
    ['patient-7', 0, 'A', 'left-arm', 'radial', 2],
    ['patient-8', 0, 'A', 'left-arm', 'ulnar', 2],
  ]);
  const courses = limbCourses(serial, error, { patient: 'patient-7' });
  expect(courses.map((course) => course.limbLabel.split(' (')[0])).toEqual([
    'left arm, wrist, thumb side',
    'left leg, behind the knee',
    'right leg, behind the knee',
    'right leg, top of the foot',
  ]);
  expect(courses[3]).toEqual(
    limbCourse(serial, error, { patient: 'patient-7', limb: 'right-leg', site: 'dorsalis-pedis' }),
  );
  expect(JSON.stringify(courses)).not.toContain('patient-7');
  expect(() => limbCourses(serial, error, { patient: 'patient-9' })).toThrow(/Nothing is recorded of this sign/);
});

it('keeps the midline apart from the limbs', async () => {
  const row = (day: number, value: number, site: string, limb?: string) => ({
    patient: 'q',
    day,
    assessor: day === 0 ? 'A' : 'B',
    sign: 'pitting-edema',
    scale: 'oed.0-3.words',
    site,
    value: String(value),
    ...(limb === undefined ? {} : { limb }),
  });
  const study = Array.from({ length: 30 }, (_, at) =>
    ['A', 'B'].map((assessor) => ({ ...row(0, at % 4, 'pretibial-shin', 'left-leg'), patient: `s${at}`, assessor })),
  ).flat();
  const error = measurementErrorOf(ratingsFrom(await loadAssessments({ rows: study }), { sign: 'pitting-edema' }));
  const rows = [row(0, 1, 'pretibial-shin', 'left-leg'), row(0, 2, 'sacrum'), row(9, 3, 'sacrum')];
  const serial = await loadAssessments({ rows });
  const courses = limbCourses(serial, error, { patient: 'q' });
  expect(courses.map((course) => [course.limbLabel, course.readings.map((reading) => reading.value)])).toEqual([
    ['sacrum', [2, 3]],
    ['left leg, shin', [1]],
  ]);
  // A site of a leg is not taken for one of the midline because the leg was not named.
  expect(() => limbCourse(serial, error, { patient: 'q', site: 'pretibial-shin' })).toThrow(/Nothing is recorded/);
});

it('puts arms before legs, left before right, where the sign takes no site', async () => {
  const rows = ['right-leg', 'left-leg', 'right-arm', 'left-arm'].map((limb) => ({
    patient: 'q',
    day: 0,
    assessor: 'A',
    sign: 'acute-ischemia-class',
    limb,
    value: 'I',
  }));
  const study = rows.flatMap((row) => ['A', 'B'].map((assessor) => ({ ...row, patient: 's', assessor })));
  const error = measurementErrorOf(
    ratingsFrom(await loadAssessments({ rows: study }), { sign: 'acute-ischemia-class' }),
  );
  const courses = limbCourses(await loadAssessments({ rows }), error, { patient: 'q' });
  expect(courses.map(({ limbLabel }) => limbLabel)).toEqual(['left arm', 'right arm', 'left leg', 'right leg']);
});

describe('one course', () => {
  const grade = (patient: string, day: number | null, value: string, more: object = {}) => ({
    patient,
    day,
    assessor: 'A',
    sign: 'pulse-grade',
    scale: 'pulse.0-4.normal2',
    limb: 'left-leg',
    site: 'popliteal',
    value,
    ...more,
  });
  /** Forty findings read by A and B: 32 alike, 8 one grade apart. A shift of 2 is beyond the error. */
  const gradeError = async () =>
    measurementErrorOf(
      ratingsFrom(
        await loadAssessments({
          rows: Array.from({ length: 40 }, (_, at) => [
            grade(`s${at}`, 0, '2'),
            grade(`s${at}`, 0, at < 8 ? '3' : '2', { assessor: 'B' }),
          ]).flat(),
        }),
        { sign: 'pulse-grade' },
      ),
    );

  it('of grades: every field, in order of days, gaps with their reasons, references and other scales left out', async () => {
    const rows = [
      grade('p', 30, '0', { assessor: 'B' }),
      grade('p', 10, '', { missing: 'covered' }),
      grade('p', 0, '1'),
      grade('p', 20, '', { assessor: 'C' }),
      grade('p', 40, '4'),
      grade('p', 5, '4', { reference: 'yes' }),
      grade('p', 6, '2', { scale: 'pulse.0-3.normal2' }),
      grade('p', 50, '3', { limb: 'right-leg' }),
      grade('q', 60, '3'),
    ];
    const course = limbCourse(await loadAssessments({ rows }), await gradeError(), {
      patient: 'p',
      limb: 'left-leg',
      site: 'popliteal',
    });
    const { grades, errorSentence, ...rest } = course;
    expect(rest).toStrictEqual({
      signLabel: expect.stringMatching(/pulse/i),
      scaleLabel: expect.any(String),
      limbLabel: expect.stringMatching(/^left leg, behind the knee/),
      readings: [
        { day: 0, value: 1, assessor: 'A' },
        { day: 10, value: null, assessor: 'A', missing: 'covered' },
        { day: 20, value: null, assessor: 'C', missing: expect.any(String) },
        { day: 30, value: 0, assessor: 'B' },
        { day: 40, value: 4, assessor: 'A' },
      ],
      // The threshold is 2: one grade off is within, so from 1 the error explains 0 to 2.
      changes: [
        { fromDay: 0, toDay: 30, from: 1, to: 0, call: 'within error', explained: { lower: 0, upper: 2 } },
        { fromDay: 0, toDay: 40, from: 1, to: 4, call: 'beyond error', explained: { lower: 0, upper: 2 } },
      ],
    });
    expect(grades).toHaveLength(5);
    expect(errorSentence).toBe(
      'Between different assessors a difference of 2 grades or more is beyond the error of measurement (40 people in the agreement study).',
    );
    const top = limbCourse(
      await loadAssessments({ rows: [grade('p', 0, '4'), grade('p', 9, '3')] }),
      await gradeError(),
      {
        patient: 'p',
        limb: 'left-leg',
      },
    );
    expect(top.changes[0]!.explained).toEqual({ lower: 3, upper: 4 });
    expect(top.limbLabel).toBe('left leg');
  });

  it('of a measured sign: unit, decimals, and a band of the smallest detectable change that ends at 0', async () => {
    const seconds = (patient: string, day: number, value: string, more: object = {}) =>
      grade(patient, day, value, { sign: 'capillary-refill', scale: 'refill.seconds.toe', site: 'great-toe', ...more });
    const study = Array.from({ length: 6 }, (_, at) => [
      seconds(`s${at}`, 0, '2'),
      seconds(`s${at}`, 0, at % 2 === 0 ? '3' : '1', { assessor: 'B' }),
    ]).flat();
    const error = measurementErrorOf(ratingsFrom(await loadAssessments({ rows: study }), { sign: 'capillary-refill' }));
    const rows = [
      seconds('p', 0, '1.5'),
      seconds('p', 5, '4', { assessor: 'B' }),
      seconds('p', 7, '', { assessor: 'B', missing: 'covered' }),
    ];
    const course = limbCourse(await loadAssessments({ rows }), error, {
      patient: 'p',
      limb: 'left-leg',
      site: 'great-toe',
    });
    expect('grades' in course).toBe(false);
    expect(course.readings).toEqual([
      { day: 0, value: 1.5, assessor: 'A' },
      { day: 5, value: 4, assessor: 'B' },
      { day: 7, value: null, assessor: 'B', missing: 'covered' },
    ]);
    // Pairs of the study differ by 1: SEM √½, smallest detectable change 1.96 · √2 · √½ = 1.959964.
    expect(course.changes).toEqual([
      {
        fromDay: 0,
        toDay: 5,
        from: 1.5,
        to: 4,
        call: 'beyond error',
        explained: { lower: 0, upper: expect.closeTo(3.459963984540054, 9) },
      },
    ]);
    expect(course.errorSentence).toBe(
      `Between different assessors only a difference of more than 2.0 ${course.unitLabel} is beyond the error of measurement (6 people in the agreement study).`,
    );
    const scale = scaleOf('refill.seconds.toe');
    expect(scale.decimals).toBeDefined();
    expect([course.unitLabel, course.decimals]).toEqual(['s', scale.decimals]);
  });

  it('refuses a place where nothing is recorded, and an error without a sign', async () => {
    const serial = await loadAssessments({ rows: [grade('p', 0, '1')] });
    const error = await gradeError();
    expect(problemsIn(() => limbCourse(serial, error, { patient: 'p', limb: 'right-leg' }))).toEqual([
      'no-readings place',
    ]);
    expect(problemsIn(() => limbCourses(serial, error, { patient: 'q' }))).toEqual(['no-readings of.patient']);
    expect(problemsIn(() => limbCourses(serial, { ...error, subject: undefined }, { patient: 'p' }))).toEqual([
      'subject-needed error',
    ]);
    expect(
      problemsIn(() => limbCourse(serial, { ...error, subject: undefined }, { patient: 'p', limb: 'left-leg' })),
    ).toEqual(['subject-needed error']);
  });
});

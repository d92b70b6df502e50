import { expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { limbCourse } from '../../src/progression/limb-course.ts';
import { limbCourses } from '../../src/progression/limb-courses.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { assessmentsOf } from '../support/assessments-of.ts';

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

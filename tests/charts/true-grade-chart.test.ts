import { describe, expect, it } from 'vitest';
import { limbCourseChart } from '../../src/charts/limb-course-chart.ts';
import { trueGradeChart } from '../../src/charts/true-grade-chart.ts';
import type { TrueGradeCourse } from '../../src/progression/true-grade-courses.ts';
import { forAudience } from '../../src/reports/for-audience.ts';
import { edemaCourse } from './examples.ts';

const options = { signLabel: 'Pulse strength', scaleLabel: '0 to 2', grades: ['absent', 'weak', 'normal'] };
const course: TrueGradeCourse = {
  patient: 'p1',
  limb: 'right-leg',
  site: 'popliteal',
  visits: [
    { day: 0, chances: [0, 0.1, 0.9], readings: [{ assessor: 'QX7', words: 'normal', grade: 2 }] },
    {
      day: 30,
      chances: [0.1, 0.8, 0.1],
      readings: [
        { assessor: 'QX7', words: 'weak', grade: 1 },
        { assessor: 'ZW4', words: 'weak', grade: 1 },
      ],
    },
  ],
};
const release = { reason: 'asked for by the second referee' };

describe('a course and the codes of those who read it', () => {
  it('has them for one’s own eyes', () => {
    const spec = JSON.stringify(trueGradeChart(course, options).spec);
    expect(spec).toContain('Day 30: QX7 and ZW4 wrote weak.');
    expect(spec).toContain('written, with the code of the reader');
    expect(spec).toContain('"codes":"QX7, ZW4"');
  });

  it.each(['inside', 'outside'] as const)('has none of them for people %s', (audience) => {
    const given = forAudience(course, audience, { release });
    const chart = trueGradeChart(given, options);
    const all = `${JSON.stringify(chart.spec)}${chart.title}${chart.description}`;
    expect(all).not.toMatch(/QX7|ZW4|code of/);
    expect(all).toContain('Day 30: weak was written by 2 readers.');
  });

  it('has none in the picture of its readings either', () => {
    const own = edemaCourse();
    const coded = {
      ...own,
      readings: own.readings.map((reading) => ({ ...reading, assessor: `QX${reading.assessor}` })),
    };
    const text = (which: typeof own) => JSON.stringify(limbCourseChart(which).spec);
    expect(text(coded)).toMatch(/QXA.*whose codes stand at the marks|whose codes stand at the marks.*QXA/);
    const outside = text(forAudience(coded, 'outside', { release }));
    expect(outside).not.toMatch(/QX[A-C]|whose codes/);
    expect(outside).toMatch(/read by 1 assessor\./);
  });
});

import { describe, expect, it } from 'vitest';
import { limbCourseChart } from '../../src/charts/limb-course-chart.ts';
import type { LimbCourse } from '../../src/progression/limb-course.ts';
import { edemaCourse, girthCourse } from './examples.ts';
import { rowsWith } from './spec-data.ts';

/** Changes held against the first reading, as the library calls them. */
function againstFirst(course: LimbCourse, error: number): LimbCourse {
  const written = course.readings.filter((reading) => reading.value !== null);
  const from = written[0]!.value!;
  return {
    ...course,
    changes: written.slice(1).map((reading) => ({
      fromDay: written[0]!.day,
      toDay: reading.day,
      from,
      to: reading.value!,
      call: Math.abs(reading.value! - from) > error ? 'beyond error' : 'within error',
      explained: { lower: Math.max(0, from - error), upper: from + error },
    })),
  };
}

describe('limbCourseChart', () => {
  const chart = limbCourseChart(edemaCourse());

  it('keeps every reading as written, with the code of who read it', () => {
    expect(
      rowsWith(chart, 'call')
        .slice(0, 7)
        .map((dot) => [dot.day, dot.value, dot.assessor]),
    ).toEqual([
      [0, 1, 'A'],
      [3, 2, 'C'],
      [7, 1, 'A'],
      [10, 1, 'B'],
      [18, 3, 'C'],
      [21, 3, 'A'],
      [28, 2, 'A'],
    ]);
  });

  it('draws the band over whole grades, from the reading before to the one it judges', () => {
    expect(rowsWith(chart, 'lower', 'upper')[0]).toMatchObject({ from: 0, to: 3, lower: -0.5, upper: 2.5 });
  });

  it('sets the bands side by side when all are held against the first reading', () => {
    const first = limbCourseChart(againstFirst(girthCourse(), 1.4));
    const bands = rowsWith(first, 'lower', 'upper');
    expect(bands.map((band) => [band.from, band.to])).toEqual([
      [0, 5],
      [5, 12],
      [12, 20],
      [20, 33],
      [33, 47],
    ]);
    for (const band of bands) expect([band.lower, band.upper]).toEqual([24.6 - 1.4, 24.6 + 1.4]);
    expect(first.title).toBe(
      'At 3 of 5 later visits the reading differs from the first by more than the error of measurement',
    );
    expect(JSON.stringify(first.spec)).toContain('within the error of the first reading');
  });

  it('says that nothing is beyond the error when nothing is', () => {
    expect(limbCourseChart(againstFirst(girthCourse(), 5)).title).toBe(
      'No later reading differs from the first by more than the error of measurement',
    );
  });

  it('keeps a visit without a reading, with its reason', () => {
    expect(rowsWith(chart, 'day', 'text').filter((row) => row.day === 14)[0]).toMatchObject({
      text: 'covered by a dressing',
    });
    expect(chart.description).toContain('Day 14: covered by a dressing.');
  });

  it('puts two who read the same on one mark', () => {
    const readings = [...edemaCourse().readings, { day: 28, value: 2, assessor: 'B' }];
    const dots = rowsWith(limbCourseChart({ ...edemaCourse(), readings }), 'call');
    expect(dots.filter((dot) => dot.day === 28)[0]).toMatchObject({ assessor: 'A, B' });
  });

  it('is not for the care of a person, and says so in the picture', () => {
    expect(chart.caution).toMatch(/not for the care of the person in front of you/);
    expect(JSON.stringify(chart.spec)).toContain('Not a medical device');
  });
});

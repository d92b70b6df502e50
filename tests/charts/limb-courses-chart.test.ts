import { describe, expect, it } from 'vitest';
import { limbCoursesChart } from '../../src/charts/limb-courses-chart.ts';
import { edemaCourse, edemaCourses, girthCourse } from './examples.ts';
import { rowsOf, rowsWith } from './spec-data.ts';

describe('limbCoursesChart', () => {
  const chart = limbCoursesChart(edemaCourses());
  const dots = rowsWith(chart, 'call');

  it('keeps every reading, each in its own panel', () => {
    expect(dots.filter((dot) => dot.panel === 1).map((dot) => [dot.day, dot.value])).toEqual([
      [0, 1],
      [7, 1],
      [14, 3],
      [28, 3],
    ]);
    // By hand: seven courses of four visits, five visits without a reading.
    expect(dots).toHaveLength(23);
    expect(rowsOf(chart).filter((row) => String(row.words).endsWith('not assessed.'))).toHaveLength(5);
  });

  it('draws the same day and grade at the same place of every panel', () => {
    const [first, below] = [0, 3].map((panel) => dots.filter((dot) => dot.panel === panel));
    expect(below![0]!.left).toBe(first![0]!.left);
    const step = (panel: number, day: number): number =>
      Number(dots.find((d) => d.panel === panel && d.day === day)!.top);
    // Panels 4 and 3 stand in one row: grade 1 lies one step below grade 2 in both columns.
    expect(step(4, 7) - step(4, 0)).toBeCloseTo(step(1, 0) - step(2, 7), 9);
    expect(step(4, 0)).toBe(step(3, 0));
    // Four panels stand two by two: of a row both at one height, of a column both at one place.
    const four = rowsWith(limbCoursesChart(edemaCourses().slice(0, 4)), 'call');
    const top = (panel: number, value: number): number =>
      Number(four.find((dot) => dot.panel === panel && dot.value === value)!.top);
    const left = (panel: number): number => Number(four.find((dot) => dot.panel === panel && dot.day === 0)!.left);
    expect(top(1, 1)).toBe(top(0, 1));
    expect(top(2, 1)).toBeGreaterThan(top(0, 0));
    expect([left(2), left(3)]).toEqual([left(0), left(1)]);
    expect(left(1)).toBeGreaterThan(left(0));
  });

  it('says on how many limbs a reading lies beyond the error, of those read twice', () => {
    expect(chart.title).toMatch(/^On 2 of 6 limbs and sites a later reading differs/);
    expect(limbCoursesChart(edemaCourses().slice(0, 1)).title).toMatch(/^On none of 1 limb and site/);
    expect(dots.filter((dot) => dot.call === 'beyond error').map((dot) => [dot.panel, dot.day])).toEqual([
      [1, 14],
      [3, 28],
    ]);
    expect(chart.description).toContain('Right leg, top of the foot: never read; 4 visits without a reading.');
  });

  it('keeps the order it is given', () => {
    const names = rowsWith(chart, 'text').map((row) => (Array.isArray(row.text) ? row.text.join(' ') : row.text));
    expect(names.slice(0, 2)).toEqual(['Sacrum', 'Left leg, shin']);
  });

  it('refuses none, more than twelve, and two scales', () => {
    expect(() => limbCoursesChart([])).toThrow(/no course with a reading/);
    expect(() => limbCoursesChart(edemaCourses().slice(6))).toThrow(/no course with a reading/);
    expect(() => limbCoursesChart(Array.from({ length: 13 }, edemaCourse))).toThrow(/more than 12/);
    expect(() => limbCoursesChart([edemaCourse(), girthCourse()])).toThrow(/share no axis/);
  });
});

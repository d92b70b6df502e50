import { describe, expect, it } from 'vitest';
import { gradesByPeriodChart } from '../../src/charts/grades-by-period-chart.ts';
import { edemaGrades } from './examples.ts';
import { rowsOf, rowsWith } from './spec-data.ts';

describe('gradesByPeriodChart', () => {
  const chart = gradesByPeriodChart(edemaGrades());

  it('stacks every bar with "not assessed" up to 100 %', () => {
    const areas = rowsWith(chart, 'left', 'right', 'bottom', 'top');
    for (const left of new Set(areas.map((area) => area.left))) {
      const own = areas.filter((area) => area.left === left);
      const height = own.reduce((sum, area) => sum + (area.top as number) - (area.bottom as number), 0);
      expect(height).toBeCloseTo(1, 10);
      expect(Math.max(...own.map((area) => area.top as number))).toBe(1);
    }
  });

  it('puts the worst grade at the foot, so that "this or worse" is read from the axis', () => {
    const january = rowsWith(chart, 'bottom', 'color').filter((area) => area.at === 0.5);
    expect(january.map((area) => [area.words, area.bottom]).at(-1)).toEqual([
      'Jan: severe in 2 of 18 patients (11 %).',
      0,
    ]);
  });

  it('keeps the hatching inside its band', () => {
    const hatched = rowsOf(chart).filter((row) => 'words' in row && !('color' in row));
    expect(hatched).toHaveLength(9);
    for (const line of rowsWith(chart, 'x', 'x2', 'y', 'y2')) {
      const inside = hatched.some(
        (area) =>
          (line.x as number) >= (area.left as number) - 1e-9 &&
          (line.x2 as number) <= (area.right as number) + 1e-9 &&
          (line.y as number) >= (area.bottom as number) - 1e-9 &&
          (line.y2 as number) <= (area.top as number) + 1e-9,
      );
      expect(inside).toBe(true);
    }
  });

  it('leaves a gap where the scale changes and says so', () => {
    const places = rowsWith(chart, 'at', 'label').map((row) => row.at as number);
    const steps = places.slice(1).map((place, at) => place - places[at]!);
    expect(steps.filter((step) => step > 1.1)).toHaveLength(1);
    expect(JSON.stringify(chart.spec)).toContain('["scale","changed"]');
    expect(chart.description).toContain('cannot be compared');
  });

  it('hides a small period and leaves it out of the sums', () => {
    expect(chart.title).toBe('Pitting edema by period: 154 of 178 patients were assessed');
    expect(rowsWith(chart, 'label').filter((row) => row.label === 'Apr')[0]).toMatchObject({
      count: 'not',
      outOf: 'shown',
    });
  });

  it('has no average grade', () => {
    expect(JSON.stringify(chart.spec)).not.toMatch(/mean|average/i);
  });
});

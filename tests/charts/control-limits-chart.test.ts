import { describe, expect, it } from 'vitest';
import { controlLimitsChart } from '../../src/charts/control-limits-chart.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { proportionChart } from '../../src/unit-quality/proportion-chart.ts';
import { edemaControl } from './examples.ts';
import { rowsWith } from './spec-data.ts';

const counts = Array.from({ length: 26 }, (_, at) => (at === 25 ? 16 : 4 + (at % 3)));
const sizes = counts.map(() => 20);
const options = {
  what: 'Edema, share of patients',
  labels: counts.map((_, at) => String(at + 1)),
  scale: 'percent' as const,
};

describe('controlLimitsChart', () => {
  it('draws the limits of each period and marks what lies outside', () => {
    const control = proportionChart(counts, sizes, { baseline: { from: 0, to: 24 } });
    const chart = controlLimitsChart(control, options);
    const rows = rowsWith(chart, 'center');
    expect(rows.map((row) => [row.lower, row.upper])).toEqual(
      control.points.map((point) => [point.lower, point.upper]),
    );
    expect(rows.filter((row) => row.outside === 'yes').map((row) => row.label)).toEqual(['26']);
    expect(chart.title).toBe('1 of 26 periods lies outside its limits (26)');
  });

  it('draws no limits while it is too soon for them, and says so', () => {
    const short = proportionChart(counts.slice(0, 9), sizes.slice(0, 9));
    const chart = controlLimitsChart(short, { ...options, labels: options.labels.slice(0, 9) });
    expect(chart.title).toBe('Edema, share of patients: too soon for limits');
    for (const row of rowsWith(chart, 'center'))
      expect([row.lower, row.upper, row.outside]).toEqual([null, null, 'no']);
  });

  it('leaves a gap where there is no figure', () => {
    const gap = proportionChart([...counts.slice(0, 24), 0, 5], [...sizes.slice(0, 24), 0, 20]);
    const chart = controlLimitsChart(gap, options);
    expect(rowsWith(chart, 'center')[24]).toMatchObject({ value: null });
    expect(JSON.stringify(chart.spec)).not.toContain('NaN');
  });

  it('has an action as words on a strip, without an arrow', () => {
    const json = JSON.stringify(controlLimitsChart(...edemaControl()).spec);
    expect(json).toContain('legs raised at rest');
    expect(json).not.toMatch(/arrow|trend/i);
  });

  it('refuses labels that are not one a point', () => {
    const control = proportionChart(counts, sizes);
    expect(() => controlLimitsChart(control, { ...options, labels: ['1'] })).toThrow(InputError);
  });
});

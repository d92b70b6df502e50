import { describe, expect, it } from 'vitest';
import { planningCurveChart } from '../../src/charts/planning-curve-chart.ts';
import { refuses } from '../support/refusals.ts';
import { precisionOf, precisionRow as row } from './planning-examples.ts';
import { rowsWith, subtitleOf } from './spec-data.ts';

const curve = precisionOf([row(12, 0.2), row(22, 0.14), row(40, 0.1), row(60, 0.08)]);

describe('planningCurveChart', () => {
  it('says what the marked number of people gives, and whether that is enough', () => {
    expect(planningCurveChart(curve, { marked: 22 }).title).toBe(
      'With 22 people the interval is ± 0.14 in the middle study, wider than the ± 0.10 wanted',
    );
    expect(planningCurveChart(curve, { marked: 60 }).title).toBe(
      'With 60 people the interval is ± 0.08 in the middle study',
    );
  });

  it('names the first number of people that is enough where none is marked, or says that none is', () => {
    expect(planningCurveChart(curve).title).toMatch(/^40 people give/);
    expect(planningCurveChart(precisionOf([row(12, 0.2), row(22, 0.14)])).title).toMatch(/^No number of people tried/);
  });

  it('draws every size with its band in words, and says what was simulated', () => {
    const chart = planningCurveChart(curve, { marked: 22 });
    expect(
      rowsWith(chart, 'people', 'from', 'to')
        .filter((one) => !('label' in one))
        .map((one) => one.people),
    ).toEqual([12, 22, 40, 60]);
    expect(rowsWith(chart, 'label', 'half').map((one) => one.label)).toEqual(['22 people: ± 0.14']);
    expect(subtitleOf(chart)).toMatch(
      /2 limbs with 3 sites a person, 3 assessors.*200 simulated studies of each size, seed 5/,
    );
    expect(chart.description).toContain('40 people, 240 findings: ± 0.10');
  });
});

refuses([
  ['a number of people that was not simulated', () => planningCurveChart(curve, { marked: 23 }), 'not-simulated'],
]);

import type { Chart } from '../../src/charts/chart.ts';
import { planningCurveChart } from '../../src/charts/planning-curve-chart.ts';
import type { ChartOptions } from '../../src/charts/theme.ts';
import { PrecisionByPeople, type PrecisionRow } from '../../src/planning/precision-by-people.ts';

export function precisionRow(people: number, halfWidth: number): PrecisionRow {
  return {
    people,
    findings: 6 * people,
    value: 0.6,
    spread: halfWidth / 2,
    halfWidth,
    halfWidthLower: halfWidth * 0.8,
    halfWidthUpper: halfWidth * 1.2,
    preciseEnough: halfWidth <= 0.1 ? 0.7 : 0.2,
    coverage: 0.94,
    notDefined: 0,
  };
}

export function precisionOf(rows: readonly PrecisionRow[]): PrecisionByPeople {
  const design = { limbs: 2, sites: 3, assessors: 3 };
  return new PrecisionByPeople(rows, 'Conger kappa', 'patient jackknife', 0.6, 0.5, 0.1, design, 0.95, 200, 5, []);
}

export const planningExamples: Readonly<Record<string, (options?: ChartOptions) => Chart>> = {
  'planning-curve': (options) =>
    planningCurveChart(
      precisionOf([12, 16, 22, 30, 40, 60].map((people) => precisionRow(people, 0.64 / Math.sqrt(people)))),
      { ...options, marked: 22 },
    ),
};

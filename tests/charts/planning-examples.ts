import { calibrationChart } from '../../src/charts/calibration-chart.ts';
import type { Chart } from '../../src/charts/chart.ts';
import { coverageChart } from '../../src/charts/coverage-chart.ts';
import { planningCurveChart } from '../../src/charts/planning-curve-chart.ts';
import type { ChartOptions } from '../../src/charts/theme.ts';
import { type ChanceKind, ChangeCalibration } from '../../src/planning/change-calibration.ts';
import { IntervalCoverage } from '../../src/planning/interval-coverage.ts';
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

/** Invented chances: off by a tenth of `tilt` at a stated chance of 1, and by ten times as much with classes alone. */
function calibrationOf(world: ChangeCalibration['world'], readingsEach: number, tilt: number): ChangeCalibration {
  const most = 0.3 + 0.15 * readingsEach;
  const chance = (off: number) => {
    const tenths = Array.from({ length: 10 }, (_, d) => {
      const stated = most * ((d + 0.5) / 10) ** 2;
      return { stated, changed: stated * (1 - off) };
    });
    return { tenths, worst: tenths[9]!.stated * off, worstError: 0.015, medianWorst: 0.07 };
  };
  const chances: Record<ChanceKind, ReturnType<typeof chance>> = {
    weighted: chance(tilt / 10),
    continuum: chance(-tilt / 10),
    classes: chance(tilt),
  };
  return new ChangeCalibration(
    world,
    readingsEach,
    'estimated',
    chances,
    [],
    0.19,
    0.8,
    { studies: 40, patients: 60, assessors: 3, serialPairs: 300, judgedPairs: 4000, notConverged: 0 },
    5,
    [],
  );
}

/** Invented coverage: the fewer people, the further the intervals that are less careful fall. */
function coverageOfDesign(patients: number, likeness: number): IntervalCoverage {
  const fall = (most: number) => 0.95 - (most * likeness * 12) / patients;
  const rows = ['Conger kappa, quadratic weights', 'percent agreement'].flatMap((statistic, at) =>
    Object.entries({
      default: fall(0.02),
      'patient jackknife': fall(0.03),
      'percentile bootstrap': fall(0.1),
      'targets independent': 0.95 - 0.4 * likeness,
    }).map(([interval, coverage]) => ({
      statistic,
      interval,
      longRunValue: 0.6,
      coverage: coverage + 0.004 * at,
      below: (1 - coverage - 0.004 * at) / 2,
      above: (1 - coverage - 0.004 * at) / 2,
      meanWidth: 0.2,
      intervals: 400,
      withoutInterval: 0,
    })),
  );
  const design = { patients, limbs: 2, sites: 7, assessors: 3 };
  const assumptions = { shares: [0.2, 0.3, 0.5], readingSpread: 0.5 };
  return new IntervalCoverage(rows, design, assumptions, 400, 0, 199, 5, []);
}

export const planningExamples: Readonly<Record<string, (options?: ChartOptions) => Chart>> = {
  coverage: (options) =>
    coverageChart(
      [12, 30, 60].flatMap((patients) => [0.1, 0.3, 0.6].map((likeness) => coverageOfDesign(patients, likeness))),
      options,
    ),
  'planning-curve': (options) =>
    planningCurveChart(
      precisionOf([12, 16, 22, 30, 40, 60].map((people) => precisionRow(people, 0.64 / Math.sqrt(people)))),
      { ...options, marked: 22 },
    ),
  calibration: (options) =>
    calibrationChart(
      (['continuum', 'classes'] as const).flatMap((world) =>
        [1, 2, 3].map((readings) => calibrationOf(world, readings, 0.2 * readings)),
      ),
      options,
    ),
};

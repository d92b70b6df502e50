import { describe, expect, it } from 'vitest';
import { chartConstants } from '../../src/unit-quality/chart-constants.ts';
import { cumulativeSumChart } from '../../src/unit-quality/cumulative-sum-chart.ts';
import { funnel } from '../../src/unit-quality/funnel.ts';
import { individualsChart } from '../../src/unit-quality/individuals-chart.ts';
import { meanSpreadChart } from '../../src/unit-quality/mean-spread-chart.ts';
import { movingAverageChart } from '../../src/unit-quality/moving-average-chart.ts';
import { proportionChart } from '../../src/unit-quality/proportion-chart.ts';
import { casesBetweenChart, timeBetweenChart } from '../../src/unit-quality/rare-event-chart.ts';
import { rateChart } from '../../src/unit-quality/rate-chart.ts';
import {
  averageRunLength,
  cumulativeSumRunLength,
  movingAverageRunLength,
  oneSidedRunLength,
} from '../../src/unit-quality/run-length.ts';
import { expectNear } from '../support/expect-near.ts';
import { type PublishedCase, publishedCases } from '../support/published-cases.ts';

const caseOf = (id: string): PublishedCase => publishedCases('progression', new RegExp(`^${id}$`))[0]!;
const outside = (chart: { points: readonly { outside: boolean }[] }): number[] =>
  chart.points.flatMap((point, at) => (point.outside ? [at] : []));

describe('constants for subgroups of 2 to 25', () => {
  const one = caseOf('shewhart-constants');
  for (const expected of one.expected)
    it(`n = ${expected.n}`, () => {
      const constants = chartConstants(expected.n);
      for (const key of ['c4', 'd2', 'A2', 'A3', 'B3', 'B4', 'E2'] as const)
        expectNear(constants[key], expected[key], 1e-10);
      for (const key of ['d3', 'D3', 'D4'] as const) expectNear(constants[key], expected[key], 1e-8);
    });

  it('d2 of two values is 2/√π', () => expectNear(chartConstants(2).d2, 2 / Math.sqrt(Math.PI), 1e-12));
});

describe('counts, rates and shares', () => {
  it('c chart: NIST/SEMATECH e-Handbook 6.3.3.1; a point on the limit is not outside', () => {
    const one = caseOf('c-nist-wafers');
    const chart = rateChart(one.data.counts);
    expectNear(chart.points[0]!.center, one.expected.cbar, 1e-10);
    expectNear(chart.points[0]!.upper, one.expected.ucl, 1e-10);
    expectNear(chart.points[0]!.lower, one.expected.lcl, 1e-10);
    expect(outside(chart)).toEqual(one.expected.signals);
  });

  it('p chart with and without two excluded periods: NIST/SEMATECH e-Handbook 6.3.3.2', () => {
    const one = caseOf('p-nist-30');
    const sizes = one.data.x.map(() => one.data.n);
    const chart = proportionChart(one.data.x, sizes, { limits: 'normal' });
    expectNear(chart.points[0]!.center, one.expected.pbar, 1e-10);
    expectNear(chart.points[0]!.upper, one.expected.ucl, 1e-10);
    expectNear(chart.points[0]!.lower, one.expected.lcl, 1e-10);
    expect(outside(chart)).toEqual(one.expected.signals);
    const revised = proportionChart(one.data.x, sizes, { limits: 'normal', exclude: one.parameters.exclude });
    expectNear(revised.points[0]!.center, one.expected.pbarRevised, 1e-10);
    expectNear(revised.points[0]!.upper, one.expected.uclRevised, 1e-10);
    expectNear(revised.points[0]!.lower, one.expected.lclRevised, 1e-10);
  });

  it('u chart with unequal exposure', () => {
    const one = caseOf('u-dyed-cloth');
    const chart = rateChart(one.data.events, one.data.exposure);
    chart.points.forEach((point, at) => {
      expectNear(point.value!, one.expected.u[at], 1e-10);
      expectNear(point.upper, one.expected.ucl[at], 1e-10);
      expectNear(point.lower, one.expected.lcl[at], 1e-10);
    });
  });

  it('p′ chart: limits from the variation between periods (Laney 2002)', () => {
    const one = caseOf('laney-p');
    const chart = proportionChart(one.data.x, one.data.n, { limits: 'spread' });
    expectNear(chart.details.spread!, one.expected.sigmaZ, 1e-10);
    chart.points.forEach((point, at) => {
      expectNear(point.upper, one.expected.ucl[at], 1e-10);
      expectNear(point.lower, one.expected.lcl[at], 1e-10);
    });
    expect(chart.notes.map((note) => note.code)).toContain('spread-is-noise');
  });

  it('exact limits hold all but .00135 in each tail, counted from the binomial law', () => {
    const chart = proportionChart([3, 4, 2, 5], [20, 20, 20, 20]);
    const p = 14 / 80;
    const mass = (k: number): number => {
      let ways = 1;
      for (let i = 0; i < k; i++) ways *= (20 - i) / (i + 1);
      return ways * p ** k * (1 - p) ** (20 - k);
    };
    const tail = (from: number): number =>
      Array.from({ length: 21 - from }, (_, i) => mass(from + i)).reduce((a, b) => a + b, 0);
    const upper = Math.round(chart.points[0]!.upper * 20);
    expect(tail(upper + 1)).toBeLessThan(0.00135);
    expect(tail(upper)).toBeGreaterThanOrEqual(0.00135);
    expect(chart.points[0]!.lower).toBe(0);
  });
});

describe('measured values', () => {
  it('single values: NIST/SEMATECH e-Handbook 6.3.2.2', () => {
    const one = caseOf('xmr-nist');
    const chart = individualsChart(one.data.x);
    expectNear(chart.details.center!, one.expected.mean, 1e-10);
    expectNear(chart.points[0]!.upper, one.expected.ucl, 1e-10);
    expectNear(chart.points[0]!.lower, one.expected.lcl, 1e-10);
    expectNear(chart.details.meanMovingRange!, one.expected.mrBar, 1e-10);
    expectNear(chart.details.movingRangeLimit!, one.expected.mrUcl, 1e-10);
  });

  it('means and spreads of subgroups', () => {
    const one = caseOf('xbar-s-pistonrings');
    const byS = meanSpreadChart(one.data.subgroups);
    const byRange = meanSpreadChart(one.data.subgroups, { spread: 'range' });
    expectNear(byS.means.points[0]!.center, one.expected.grandMean, 1e-10);
    expectNear(byS.means.points[0]!.upper, one.expected.xUclS, 1e-10);
    expectNear(byS.means.points[0]!.lower, one.expected.xLclS, 1e-10);
    expectNear(byS.spreads.points[0]!.upper, one.expected.sUcl, 1e-10);
    expectNear(byS.spreads.points[0]!.lower, one.expected.sLcl, 1e-10);
    expectNear(byRange.means.points[0]!.upper, one.expected.xUclR, 1e-10);
    expectNear(byRange.spreads.points[0]!.upper, one.expected.rUcl, 1e-8);
  });

  it('moving average: NIST/SEMATECH e-Handbook 6.3.2.4 (steady limits) and exact early limits', () => {
    const nist = caseOf('ewma-nist');
    const { lambda, target, sigma, L } = nist.parameters;
    const steady = movingAverageChart(nist.data.x, { lambda, target, sigma, width: L, limits: 'steady' });
    steady.points.forEach((point, at) => expectNear(point.value!, nist.expected.z[at + 1], 1e-10));
    expectNear(steady.points[0]!.upper, nist.expected.uclAsymptotic, 1e-10);
    const other = caseOf('ewma-montgomery');
    const exact = movingAverageChart(other.data.x, { ...other.parameters, width: other.parameters.L });
    exact.points.forEach((point, at) => {
      expectNear(point.value!, other.expected.z[at], 1e-10);
      expectNear(point.upper, other.expected.ucl[at], 1e-10);
    });
  });

  it('cumulative sums: NIST/SEMATECH e-Handbook 6.3.2.3; with a head start (Lucas & Crosier 1982)', () => {
    const nist = caseOf('cusum-nist');
    const chart = cumulativeSumChart(nist.data.x, {
      target: nist.parameters.target,
      allowance: nist.parameters.k,
      decision: nist.parameters.h,
    });
    chart.upward.forEach((sum, at) => expectNear(sum, nist.expected.sHi[at], 1e-10));
    chart.downward.forEach((sum, at) => expectNear(sum, nist.expected.sLo[at], 1e-10));
    expect(chart.signals).toEqual(nist.expected.signals);
    const other = caseOf('cusum-montgomery');
    const shifted = cumulativeSumChart(other.data.x, { target: 10, allowance: 0.5, decision: 5 });
    expect(shifted.signals).toEqual(other.expected.signals);
    // The source's estimate is the last period with a sum of 0 (index 21); the shift began in the one after it.
    expect(shifted.shiftBegan).toBe(other.expected.changePointEstimate + 1);
    const fir = caseOf('cusum-fir');
    const started = cumulativeSumChart(fir.data.x, {
      target: 100,
      allowance: fir.parameters.K,
      decision: fir.parameters.H,
      headStart: fir.parameters.headstart,
    });
    expect(started.upward).toEqual(fir.expected.cPlus);
    expect(started.downward).toEqual(fir.expected.cMinus);
  });
});

describe('run lengths', () => {
  it('fixed limits: 370.4 periods in control', () => {
    const one = caseOf('shewhart-arl');
    one.parameters.shift.forEach((shift: number, at: number) =>
      expectNear(averageRunLength(shift), one.expected.arl[at], 1e-9),
    );
  });

  it('cumulative sums: Lucas & Crosier 1982', () => {
    const one = caseOf('cusum-arl');
    one.parameters.shift.forEach((shift: number, at: number) => {
      expectNear(cumulativeSumRunLength(shift, 0.5, 4), one.expected.h4[at], 1e-6);
      expectNear(cumulativeSumRunLength(shift, 0.5, 5), one.expected.h5[at], 1e-6);
    });
    expectNear(oneSidedRunLength(0, 0.5, 4), one.expected.oneSidedH4, 1e-6);
  });

  it('moving averages: Lucas & Saccucci 1990', () => {
    const one = caseOf('ewma-arl');
    one.parameters.lambda.forEach((lambda: number, row: number) => {
      one.parameters.shift.forEach((shift: number, at: number) =>
        expectNear(movingAverageRunLength(shift, lambda, one.parameters.L[row]), one.expected.arl[row][at], 1e-6),
      );
    });
  });
});

describe('rare events', () => {
  it('cases between: limits are quantiles of the geometric law', () => {
    const chart = casesBetweenChart([10, 25, 3, 14, 8, 30, 22, 16]);
    const { lower, upper, center } = chart.points[0]!;
    const p = 1 / (16 + 1);
    const upTo = (x: number): number => 1 - (1 - p) ** (x + 1);
    expect(upTo(upper)).toBeGreaterThanOrEqual(0.99865);
    expect(upTo(upper - 1)).toBeLessThan(0.99865);
    expect(upTo(center)).toBeGreaterThanOrEqual(0.5);
    expect(upTo(center - 1)).toBeLessThan(0.5);
    expect(lower).toBe(0);
  });

  it('time between: on the 1/3.6 scale the limits are those of single values', () => {
    const times = [3, 9, 1.5, 22, 7, 4, 15];
    const chart = timeBetweenChart(times);
    const transformed = individualsChart(times.map((time) => time ** (1 / 3.6)));
    expect(chart.points[0]!.upper ** (1 / 3.6)).toBeCloseTo(transformed.points[0]!.upper, 12);
    expect(() => timeBetweenChart([0, 1])).toThrow(/above 0/);
  });
});

it('funnel with exact limits and overdispersion (Spiegelhalter 2005, doi:10.1002/sim.1970)', () => {
  const one = caseOf('funnel-twelve-units');
  const result = funnel(one.data.events, one.data.n);
  expectNear(result.target, one.expected.target, 1e-10);
  result.units.forEach((unit, at) => {
    expectNear(unit!.inner.upper, one.expected.upper95[at], 1e-10);
    expectNear(unit!.inner.lower, one.expected.lower95[at], 1e-10);
    expectNear(unit!.outer.upper, one.expected.upper998[at], 1e-10);
    expectNear(unit!.outer.lower, one.expected.lower998[at], 1e-10);
    expectNear(unit!.z, one.expected.z[at], 1e-10);
  });
  expectNear(result.overdispersion.plain, one.expected.phiRaw, 1e-10);
  expectNear(result.overdispersion.winsorized, one.expected.phiWinsor10, 1e-10);
  expect(result.units.flatMap((unit, at) => (unit!.outside ? [`unit ${at + 1}`] : []))).toEqual(
    one.expected.outside998,
  );
});

it('says that it is too soon for limits below 24 baseline periods, and refuses what is no count', () => {
  expect(rateChart([3, 4, 5]).enough).toBe(false);
  expect(rateChart([3, 4, 5], [10, 11, 12], { limits: 'spread' }).notes.map((note) => note.code)).toEqual([
    'spread-is-noise',
    'too-soon-for-limits',
  ]);
  expect(rateChart([3, 4, 5]).notes.map((note) => note.code)).toEqual(['too-soon-for-limits']);
  expect(() => rateChart([3, -1, 2.5])).toThrow(/2 problems/);
  expect(() => proportionChart([5], [4])).toThrow(/5 with the finding of 4/);
  expect(() => rateChart([1, 2], [1, 1], { baseline: { from: 0, to: 5 } })).toThrow(/baseline runs/);
});

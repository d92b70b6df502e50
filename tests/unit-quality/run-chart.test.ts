import fc from 'fast-check';
import { median } from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/shared/random.ts';
import { leastCrossings, longestRunLimit, runChart } from '../../src/unit-quality/run-chart.ts';
import { publishedCases } from '../support/published-cases.ts';

describe('limits that depend on the number of points (Anhøj & Olesen 2014, doi:10.1371/journal.pone.0113825)', () => {
  const [one] = publishedCases('progression', /^runs-critical$/);
  it('longest run and least crossings for 10 to 40 points', () => {
    for (const { n, longestRunLimit: limit, minCrossings } of one!.expected) {
      expect(longestRunLimit(n), `n = ${n}`).toBe(limit);
      expect(leastCrossings(n), `n = ${n}`).toBe(minCrossings);
    }
  });
});

it('a shift over 24 months', () => {
  const [one] = publishedCases('progression', /^runchart-shift$/);
  const chart = runChart(one!.data.x);
  expect(chart.middle).toBe(one!.expected.median);
  expect(chart.useful).toBe(one!.expected.nUseful);
  expect(chart.longestRun.length).toBe(one!.expected.longestRun);
  expect(chart.crossings.count).toBe(one!.expected.crossings);
  expect(chart.signal).toBe(one!.expected.anhoejSignal);
  expect(chart.longestRun).toMatchObject({ from: 14, to: 23 });
  expect(chart.sentence).toMatch(/^10 periods in a row lie above the middle line, more than the 8/);
});

/** All orders of `above` ups among n points, judged one by one. */
function enumerate(n: number, above: number | undefined, limit: number, least: number): [number, number, number] {
  let all = 0;
  let long = 0;
  let few = 0;
  let either = 0;
  for (let bits = 0; bits < 2 ** n; bits++) {
    const sides = Array.from({ length: n }, (_, at) => (bits >> at) & 1);
    if (above !== undefined && sides.reduce((sum, side) => sum + side, 0) !== above) continue;
    let longest = 0;
    let run = 0;
    let crossings = 0;
    sides.forEach((side, at) => {
      if (at > 0 && side !== sides[at - 1]) crossings++;
      run = at > 0 && side === sides[at - 1] ? run + 1 : 1;
      longest = Math.max(longest, run);
    });
    all++;
    if (longest > limit) long++;
    if (crossings < least) few++;
    if (longest > limit || crossings < least) either++;
  }
  return [long / all, few / all, either / all];
}

describe('chance of a false signal', () => {
  it('equals the share of all orders, with the own median and with a line known from outside', () => {
    const n = 14;
    const values = Array.from({ length: n }, (_, at) => at);
    const own = runChart(values).falseSignal;
    const frozen = runChart(
      Array.from({ length: n }, (_, at) => (at % 3 === 0 ? 1 : 0)),
      { middle: 0.5 },
    ).falseSignal;
    const limits = [longestRunLimit(n), leastCrossings(n)] as const;
    expect([own.longestRun, own.crossings, own.either]).toEqual(
      enumerate(n, n / 2, ...limits).map((share) => expect.closeTo(share, 12)),
    );
    expect([frozen.longestRun, frozen.crossings, frozen.either]).toEqual(
      enumerate(n, undefined, ...limits).map((share) => expect.closeTo(share, 12)),
    );
  });

  it('of the longest run alone at 24 points is 1 chart in 238 with the own median and 1 in 30 with a frozen line', () => {
    const values = Array.from({ length: 24 }, (_, at) => at % 2);
    // Recomputed by a recursion over sequences in another language: 237.8325417766 and 30.2392432807.
    expect(1 / runChart(values).falseSignal.longestRun).toBeCloseTo(237.8325417766, 8);
    expect(1 / runChart(values, { middle: 0.5 }).falseSignal.longestRun).toBeCloseTo(30.2392432807, 8);
  });
});

describe('a line from a short baseline lies off', () => {
  it('and says that repeated figures add false signals, which the own median has counted', () => {
    const values = Array.from({ length: 24 }, (_, at) => at % 5);
    expect(runChart(values, { baseline: 12 }).sentence).toMatch(/shows a signal, and more where figures repeat\.$/);
    expect(runChart(values).sentence).toMatch(/shows a signal\.$/);
  });

  it('and the chance of a false signal that is stated is that of simulated charts', () => {
    const random = seededRandom(31);
    for (const [baseline, periods] of [
      [12, 24],
      [9, 30],
    ] as const) {
      const charts = 4000;
      const draw = () => Array.from({ length: periods }, () => random.normal());
      const stated = runChart(draw(), { baseline }).falseSignal.either;
      let signals = 0;
      for (let chart = 0; chart < charts; chart++) {
        const values = draw();
        const line = median(values.slice(0, baseline));
        const sides = values.filter((value) => value !== line).map((value) => value > line);
        let run = 0;
        let longest = 0;
        let crossings = 0;
        sides.forEach((side, at) => {
          const same = at > 0 && side === sides[at - 1];
          run = same ? run + 1 : 1;
          longest = Math.max(longest, run);
          if (at > 0 && !same) crossings++;
        });
        if (longest > longestRunLimit(sides.length) || crossings < leastCrossings(sides.length)) signals++;
      }
      // Three standard errors of 4,000 charts: .015.
      expect(Math.abs(signals / charts - stated), `${signals / charts} and ${stated}`).toBeLessThan(0.015);
      expect(stated).toBeGreaterThan(
        runChart(
          Array.from({ length: periods }, (_, at) => at % 2),
          { middle: 0.5 },
        ).falseSignal.either,
      );
    }
  });

  it('as long as the chart is the own median, it is that of the own median', () => {
    const values = Array.from({ length: 20 }, (_, at) => (at % 3) - (at % 2) * 2 + at / 100);
    const own = runChart(values).falseSignal;
    const whole = runChart(values, { baseline: 20 }).falseSignal;
    expect([whole.longestRun, whole.crossings, whole.either]).toEqual(
      [own.longestRun, own.crossings, own.either].map((chance) => expect.closeTo(chance, 10)),
    );
    expect(() => runChart(values, { baseline: 5, middle: 0 })).toThrow(/a baseline, or neither/);
  });
});

describe('laws', () => {
  it('turning the chart upside down or moving and stretching it changes no count', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 9 }), { minLength: 10, maxLength: 40 }), (values) => {
        const { longestRun, crossings, signal, useful } = runChart(values);
        const other = runChart(values.map((value) => 7 - 3 * value));
        expect(other.longestRun).toEqual(longestRun);
        expect(other.crossings).toEqual(crossings);
        expect([other.signal, other.useful]).toEqual([signal, useful]);
      }),
    );
  });
});

it('is too soon below ten points, passes over empty periods, and refuses what is not a number', () => {
  const chart = runChart([1, null, 2, 3, 3, 3]);
  expect(chart.signal).toBe(false);
  expect(chart.notes.map((note) => note.code)).toEqual(['too-soon']);
  expect(chart.falseSignal.either).toBeNaN();
  expect(() => runChart([1, Number.NaN])).toThrow(/null for a period/);
  expect(() => runChart([1, 2], { baseline: 3 })).toThrow(/first points/);
});

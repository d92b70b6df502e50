import { describe, expect, it } from 'vitest';
import { cumulativeIncidence } from '../../src/progression/aalen-johansen.ts';
import type { EventTimes } from '../../src/progression/event-times.ts';
import { kaplanMeier } from '../../src/progression/kaplan-meier.ts';
import { nelsonAalen } from '../../src/progression/nelson-aalen.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { problemsIn } from '../support/problems-in.ts';

const Z = 1.959963984540054; // normal quantile of .975, any table

/** Sixty invented limbs of twenty patients, tied times, half of them entered late. */
function limbs(): EventTimes & { readonly entries: readonly number[]; readonly patients: readonly number[] } {
  const random = seededRandom(12);
  const entries = Array.from({ length: 60 }, () => random.below(2) * random.below(5));
  const times = entries.map((entry) => entry + 1 + random.below(15));
  return { times, entries, events: times.map(() => random.uniform() < 0.6), patients: times.map((_, at) => at % 20) };
}

/** Events and limbs at risk at each time with an event: in by then, not yet out. */
function riskOf({ times, events, entries }: EventTimes) {
  return [...new Set(times.filter((_, row) => events[row]))]
    .sort((a, b) => a - b)
    .map((time) => ({
      time,
      d: times.filter((own, row) => own === time && events[row]).length,
      n: times.filter((own, row) => own >= time && (entries === undefined || entries[row]! < time)).length,
    }));
}

describe('Kaplan–Meier', () => {
  it('every field of five limbs by hand: ties, one not seen to the end, one left over', () => {
    // Day 2: 1 of 5; day 4: 2 of 4 (one more is censored at 4 and still counts as at risk); day 9: the last, seen free.
    const curve = kaplanMeier({ times: [2, 4, 4, 4, 9], events: [true, true, true, false, false] });
    const step = (time: number, atRisk: number, events: number, survival: number, greenwood: number) => {
      const standardError = survival * Math.sqrt(greenwood);
      const reach = (Z * standardError) / (survival * -Math.log(survival));
      const limit = (sign: number): number => survival ** Math.exp(sign * reach);
      return {
        time,
        atRisk,
        events,
        survival: expect.closeTo(survival, 12),
        standardError: expect.closeTo(standardError, 12),
        interval: {
          lower: expect.closeTo(limit(1), 9),
          upper: expect.closeTo(limit(-1), 9),
          level: 0.95,
          method: 'log-log',
        },
      };
    };
    expect(curve).toEqual({
      kind: 'survival-curve',
      steps: [step(2, 5, 1, 4 / 5, 1 / (5 * 4)), step(4, 4, 2, 2 / 5, 1 / (5 * 4) + 2 / (4 * 2))],
      median: {
        value: 4,
        // The lower limits are .20 at day 2 and .05 at day 4; the upper ones .97 and .75: never one half.
        interval: { lower: 2, upper: Number.NaN, level: 0.95, method: 'where the log-log band crosses one half' },
      },
      counts: { entries: 5, patients: 5, events: 3 },
      options: { scale: 'log-log', confidenceLevel: 0.95 },
      notes: [],
      lastTime: 9,
      atRisk: expect.any(Function),
    });
    expect([0, 2, 3, 4, 5, 9, 10].map((time) => curve.atRisk(time))).toEqual([5, 5, 4, 4, 1, 1, 0]);
  });

  it.each(['log-log', 'log', 'plain'] as const)('%s limits at another level, with late entry', (scale) => {
    const { times, events, entries } = limbs();
    const curve = kaplanMeier({ times, events, entries }, { scale, confidenceLevel: 0.8 });
    let [survival, sum] = [1, 0];
    riskOf({ times, events, entries }).forEach(({ time, d, n }, at) => {
      survival *= (n - d) / n;
      sum += d / (n * (n - d));
      const error = survival * Math.sqrt(sum);
      const z = 1.2815515655446004; // normal quantile of .9, any table
      const [lower, upper] = {
        'log-log': [1, -1].map((sign) => survival ** Math.exp((sign * z * error) / (survival * -Math.log(survival)))),
        log: [survival / Math.exp((z * error) / survival), Math.min(1, survival * Math.exp((z * error) / survival))],
        plain: [Math.max(0, survival - z * error), Math.min(1, survival + z * error)],
      }[scale] as [number, number];
      const step = curve.steps[at]!;
      expect([step.time, step.atRisk, step.events]).toEqual([time, n, d]);
      expectNear(step.survival, survival, 1e-12);
      expectNear(step.standardError, error, 1e-12);
      expectNear(step.interval.lower, lower, 1e-9);
      expectNear(step.interval.upper, upper, 1e-9);
      expect([step.interval.level, step.interval.method]).toEqual([0.8, scale]);
    });
    // The first step of each that lies at or below one half.
    const first = (value: (at: (typeof curve.steps)[number]) => number): number =>
      curve.steps.filter((step) => value(step) <= 0.5)[0]?.time ?? Number.NaN;
    expect(curve.median.value).toBe(first(({ survival: share }) => share));
    expect(curve.median.interval.lower).toBe(first(({ interval }) => interval.lower));
    expect(curve.median.interval.upper).toBe(first(({ interval }) => interval.upper));
  });

  it('with patients as units: the influence of each limb on ln S, summed within patients', () => {
    const data = limbs();
    const curve = kaplanMeier(data);
    expect(curve.counts).toEqual({ entries: 60, patients: 20, events: data.events.filter(Boolean).length });
    expect(curve.notes.map(({ code }) => code)).toEqual(['patients-as-units']);
    const influence = new Map<number, number>();
    riskOf(data).forEach(({ time, d, n }, at) => {
      data.times.forEach((own, row) => {
        if (own < time || data.entries[row]! >= time) return;
        const event = own === time && data.events[row] ? 1 : 0;
        const patient = data.patients[row]!;
        // Derivative of ln(1 − d/n) when one limb weighs a little more: −(event − d/n)/(n − d).
        influence.set(patient, (influence.get(patient) ?? 0) - (event - d / n) / (n - d));
      });
      const error = Math.sqrt([...influence.values()].reduce((sum, one) => sum + one * one, 0));
      const step = curve.steps[at]!;
      expectNear(step.standardError, step.survival * error, 1e-12);
      expect(step.interval.method).toBe('log-log, patients as units');
    });
  });

  it('is not defined where nobody is left, and that brings no limit of the median', () => {
    const { steps, median } = kaplanMeier({ times: [1, 2], events: [true, true] });
    expect(steps[1]!.survival).toBe(0);
    expect([steps[1]!.standardError, steps[1]!.interval.lower, steps[1]!.interval.upper]).toEqual([
      Number.NaN,
      Number.NaN,
      Number.NaN,
    ]);
    expect(median.value).toBe(1);
    expect([median.interval.lower, median.interval.upper]).toEqual([1, Number.NaN]);
  });

  it('reaches the median where exactly half are left, rounding or not', () => {
    // Ten limbs, one event a day: after five, (9/10)(8/9)…(5/6), which is one half but for rounding.
    const times = Array.from({ length: 10 }, (_, at) => at + 1);
    expect(kaplanMeier({ times, events: times.map((time) => time <= 5) }).median.value).toBe(5);
    expect(kaplanMeier({ times, events: times.map((time) => time <= 4) }).median.value).toBeNaN();
  });

  it('says where the first events rest on fewer than five that entered late, and nowhere else', () => {
    const codes = (first: number, entries: boolean): string[] => {
      // `first` limbs from day 0, one of which has the event on day 2; eight more from day 3, one with the event on day 6 and one alone at the end.
      const rows = Array.from({ length: first + 8 }, (_, at) => at);
      return kaplanMeier({
        times: rows.map((at) => (at === 0 ? 2 : at === 1 ? 6 : 10 + at)),
        events: rows.map((at) => at < 2 || at === first + 7),
        ...(entries ? { entries: rows.map((at) => (at < first ? 0 : 3)) } : {}),
      }).notes.map(({ code }) => code);
    };
    expect(codes(4, true)).toEqual(['few-at-risk-early']);
    expect(codes(5, true)).toEqual([]);
    expect(codes(4, false)).toEqual([]);
    expect(kaplanMeier({ times: [3], events: [false], entries: [1] }).notes).toEqual([]);
  });

  it('nobody with the event: no steps, no median', () => {
    const curve = kaplanMeier({ times: [3, 5], events: [false, false] });
    expect(curve.steps).toEqual([]);
    expect([curve.median.value, curve.median.interval.lower, curve.lastTime]).toEqual([Number.NaN, Number.NaN, 5]);
  });
});

describe('Nelson–Aalen', () => {
  it('adds d/n, or 1/n + 1/(n − 1) + … one by one, with the squares for its error', () => {
    const { times, events, entries } = limbs();
    const together = nelsonAalen({ times, events, entries });
    const single = nelsonAalen({ times, events, entries }, { ties: 'one by one' });
    const sums = [0, 0, 0, 0];
    riskOf({ times, events, entries }).forEach(({ time, d, n }, at) => {
      sums[0]! += d / n;
      sums[1]! += d / n ** 2;
      for (let left = n; left > n - d; left--) {
        sums[2]! += 1 / left;
        sums[3]! += 1 / left ** 2;
      }
      expect([together[at]!.time, single[at]!.time]).toEqual([time, time]);
      expectNear(together[at]!.cumulativeHazard, sums[0]!, 1e-12);
      expectNear(together[at]!.standardError, Math.sqrt(sums[1]!), 1e-12);
      expectNear(single[at]!.cumulativeHazard, sums[2]!, 1e-12);
      expectNear(single[at]!.standardError, Math.sqrt(sums[3]!), 1e-12);
      expectNear(single[at]!.survival, Math.exp(-sums[2]!), 1e-12);
    });
    expect(nelsonAalen({ times, events, entries }, { ties: 'together' })).toEqual(together);
  });
});

describe('cumulative incidence', () => {
  it('with late entry: S(t−) d/n added up, and its variance from the moments of each step', () => {
    const { times, entries, events } = limbs();
    const random = seededRandom(3);
    const kinds = events.map((event) => (event ? ['worse', 'amputation', 'death'][random.below(3)]! : null));
    const steps = cumulativeIncidence({ times, kinds, entries }, { confidenceLevel: 0.8 });
    const risk = riskOf({ times, events, entries });
    expect(steps.map(({ time, atRisk }) => [time, atRisk])).toEqual(risk.map(({ time, n }) => [time, n]));
    for (const kind of ['amputation', 'death', 'worse']) {
      const count = (time: number): number => times.filter((own, row) => own === time && kinds[row] === kind).length;
      let survival = 1;
      let value = 0;
      const before: number[] = [];
      const after: number[] = [];
      risk.forEach(({ time, d, n }, at) => {
        before.push(survival);
        value += (survival * count(time)) / n;
        after.push(value);
        survival *= 1 - d / n;
        // Delta method: the hazard of this kind at step i moves F(t) by S(i−) less what it takes from later steps, any other kind only by the latter,
        // −(F(t) − F(i))/(1 − d/n); counts of a step are multinomial.
        let variance = 0;
        for (let i = 0; i <= at; i++) {
          const { time: own, d: all, n: size } = risk[i]!;
          const k = count(own);
          const rest = value - after[i]!;
          if (size === all) {
            variance += (before[i]! ** 2 * k * (size - k)) / size ** 3;
            continue;
          }
          const other = -rest / (1 - all / size);
          const same = before[i]! + other;
          const [p, q] = [k / size, (all - k) / size];
          const mean = p * same + q * other;
          variance += (p * same ** 2 + q * other ** 2 - mean ** 2) / size;
        }
        expectNear(steps[at]!.incidence[kind]!, value, 1e-12);
        expectNear(steps[at]!.standardError[kind]!, Math.sqrt(Math.max(0, variance)), 1e-9);
        const { lower, upper, level, method } = steps[at]!.interval[kind]!;
        expect([level, method]).toEqual([0.8, 'log–log, entries taken as independent']);
        const left = 1 - value;
        const reach = (1.2815515655446004 * steps[at]!.standardError[kind]!) / (left * -Math.log(left));
        if (value > 0 && value < 1) {
          expectNear(lower, 1 - left ** Math.exp(-reach), 1e-9);
          expectNear(upper, 1 - left ** Math.exp(reach), 1e-9);
        } else expect([lower, upper]).toEqual([Number.NaN, Number.NaN]);
      });
    }
  });

  it('ends at 1 without an interval where everybody had the one kind', () => {
    const steps = cumulativeIncidence({ times: [1, 2], kinds: ['worse', 'worse'] });
    expect(steps.map(({ incidence }) => incidence.worse)).toEqual([0.5, 1]);
    expect(steps[1]!.interval.worse!.lower).toBeNaN();
    expect(steps[1]!.interval.worse!.upper).toBeNaN();
    expect(cumulativeIncidence({ times: [1, 2], kinds: [null, null] })).toEqual([]);
  });

  it('refuses columns of other lengths, times and entries that are none', () => {
    expect(
      problemsIn(() =>
        cumulativeIncidence({ times: [1, -1, 2, 3], kinds: ['worse', null, null], entries: [1, -2, 0, 4] }),
      ),
    ).toEqual(['bad-length kinds', 'bad-entry entries.0', 'bad-time times.1', 'bad-entry entries.3']);
    expect(cumulativeIncidence({ times: [0], kinds: ['worse'] })).toHaveLength(1);
    expect(problemsIn(() => cumulativeIncidence({ times: [Number.POSITIVE_INFINITY], kinds: [null] }))).toEqual([
      'bad-time times.0',
    ]);
  });
});

it('refuses, all at once, columns of other lengths, times and entries that are none', () => {
  expect(problemsIn(() => kaplanMeier({ times: [], events: [] }))).toEqual(['no-rows times']);
  expect(
    problemsIn(() =>
      kaplanMeier({
        times: [1, -2, Number.NaN, 4],
        events: [true],
        entries: [1, -3, 0, Number.NEGATIVE_INFINITY, 5],
        patients: [1],
      }),
    ),
  ).toEqual([
    'bad-length events',
    'bad-length entries',
    'bad-length patients',
    'bad-entry entries.0',
    'bad-time times.1',
    'bad-time times.2',
    'bad-entry entries.2',
    'bad-entry entries.3',
  ]);
  expect(kaplanMeier({ times: [0], events: [true] }).steps).toHaveLength(1);
  expect(problemsIn(() => kaplanMeier({ times: [1], events: [true] }, { scale: 'square' as 'log' }))).toEqual([
    'unknown-choice options.scale',
  ]);
});

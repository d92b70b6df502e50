import { describe, expect, it } from 'vitest';
import { cumulativeIncidence } from '../../src/progression/aalen-johansen.ts';
import { coxRegression } from '../../src/progression/cox-regression.ts';
import { intervalCensoredCurve } from '../../src/progression/interval-censored.ts';
import { kaplanMeier } from '../../src/progression/kaplan-meier.ts';
import { logRankTest } from '../../src/progression/log-rank-test.ts';
import { nelsonAalen } from '../../src/progression/nelson-aalen.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { type PublishedCase, publishedCases } from '../support/published-cases.ts';

const caseOf = (id: string): PublishedCase => publishedCases('progression', new RegExp(`^${id}$`))[0]!;
const dataOf = (one: PublishedCase) => ({
  times: one.data.time as number[],
  events: (one.data.event as number[]).map((value) => value === 1),
});

// R 4.2.2, survival 3.5-3: tests/reference/survival.R
const small = {
  times: [5, 8, 12, 3, 9, 11, 6, 14, 2, 7, 10, 13],
  events: [1, 1, 0, 1, 1, 0, 1, 0, 1, 1, 0, 1].map((value) => value === 1),
  patients: [1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6],
};
const x = [0, 1, 0, 1, 1, 0, 0, 1, 1, 0, 1, 0];
const tied = { ...small, times: [5, 8, 12, 3, 8, 11, 5, 14, 3, 8, 10, 13] };
const entries = [0, 2, 4, 0, 1, 5, 0, 6, 1, 2, 3, 0];

describe('Kaplan–Meier', () => {
  // Freireich and others 1963, Blood 21:699–716; Gehan 1965, doi:10.1093/biomet/52.1-2.203.
  const scales = {
    'km-6mp-greenwood': 'plain',
    'km-6mp-loglog': 'log-log',
    'km-6mp-log': 'log',
    'km-placebo-loglog': 'log-log',
  } as const;
  for (const [id, scale] of Object.entries(scales))
    it(`${id}: curve, error, limits, median`, () => {
      const one = caseOf(id);
      const curve = kaplanMeier(dataOf(one), { scale });
      expect(curve.steps.map((step) => step.time)).toEqual(one.expected.time);
      expect(curve.steps.map((step) => step.atRisk)).toEqual(one.expected.nRisk);
      expect(curve.steps.map((step) => step.events)).toEqual(one.expected.nEvent);
      curve.steps.forEach((step, at) => {
        expectNear(step.survival, one.expected.surv[at], 1e-9);
        for (const [value, expected] of [
          [step.standardError, one.expected.se[at]],
          [step.interval.lower, one.expected.lower[at]],
          [step.interval.upper, one.expected.upper[at]],
        ] as const)
          if (expected === null) expect(value).toBeNaN();
          else expectNear(value, expected, 1e-9);
      });
      expect(curve.median.value).toBe(one.expected.median);
      expect(curve.median.interval.lower).toBe(one.expected.medianLower);
      expect(curve.median.interval.upper).toBe(one.expected.medianUpper ?? Number.NaN);
    });

  it('late entry', () => {
    const curve = kaplanMeier({ times: tied.times, events: tied.events, entries });
    expect(curve.steps.map((step) => step.survival)).toEqual([0.75, 0.5625, 0.3515625, 0.17578125]);
    [0.153093108923949, 0.162379763209582, 0.139890660777109, 0.142624938804353].forEach((error, at) =>
      expectNear(curve.steps[at]!.standardError, error, 1e-9),
    );
    // Ten entries last to day 4 or longer; of these three begin on day 4 or later.
    expect(curve.atRisk(4)).toBe(7);
  });

  it('patients as units, as a robust error of the curve', () => {
    const curve = kaplanMeier(tied);
    [0.0962250448649376, 0.0962250448649376, 0.140270901921696, 0.13393959390268].forEach((error, at) =>
      expectNear(curve.steps[at]!.standardError, error, 1e-9),
    );
  });

  it('two copies of every entry under one patient leave curve and error as they are (second formula for Greenwood)', () => {
    const one = dataOf(caseOf('km-6mp-log'));
    const patients = [...one.times.keys()];
    const copied = kaplanMeier({
      times: [...one.times, ...one.times],
      events: [...one.events, ...one.events],
      patients: [...patients, ...patients],
    });
    kaplanMeier(one).steps.forEach((step, at) => {
      expectNear(copied.steps[at]!.survival, step.survival, 1e-12);
      expectNear(copied.steps[at]!.standardError, step.standardError, 1e-12);
    });
  });
});

describe('Nelson–Aalen', () => {
  it('cumulative hazard with ties together and one by one', () => {
    const one = caseOf('na-6mp');
    nelsonAalen(dataOf(one)).forEach((step, at) => {
      expectNear(step.cumulativeHazard, one.expected.cumhaz[at], 1e-9);
      expectNear(step.standardError, one.expected.se[at], 1e-9);
      expectNear(step.survival, one.expected.survFH[at], 1e-9);
    });
    const other = caseOf('na-6mp-fh');
    nelsonAalen(dataOf(other), { ties: 'one by one' }).forEach((step, at) =>
      expectNear(step.cumulativeHazard, other.expected.cumhaz[at], 1e-9),
    );
  });
});

describe('log-rank', () => {
  it('two groups: Freireich 1963, Mantel 1966', () => {
    const one = caseOf('logrank-6mp');
    const test = logRankTest(dataOf(one), one.data.group);
    expectNear(test.statistic.value, one.expected.chi2, 1e-9);
    expectNear(test.pValue, one.expected.p, 1e-9);
    expect(test.degreesOfFreedom).toBe(one.expected.df);
    one.expected.groups.forEach((name: string, g: number) => {
      expectNear(test.details[`observed ${name}`]!, one.expected.observed[g], 1e-9);
      expectNear(test.details[`expected ${name}`]!, one.expected.expected[g], 1e-9);
    });
    expect(test.effect.value).toBeLessThan(1);
  });

  it('early events weighted (Peto and Peto)', () => {
    const one = caseOf('petopeto-6mp');
    const test = logRankTest(dataOf(one), one.data.group, { rho: 1 });
    expectNear(test.statistic.value, one.expected.chi2, 1e-9);
    expectNear(test.pValue, one.expected.p, 1e-9);
  });

  it('stratified', () => {
    const strata = [1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2];
    expectNear(
      logRankTest({ times: tied.times, events: tied.events }, x, { strata }).statistic.value,
      0.0220588235294118,
      1e-9,
    );
  });

  it('three groups: whichever is left out of the quadratic form, and two of them alone as the formula for two', () => {
    const kinds = ['a', 'b', 'c', 'a', 'b', 'c', 'a', 'b', 'c', 'a', 'b', 'c'];
    const of = (names: Record<string, string>): number =>
      logRankTest(
        { times: tied.times, events: tied.events },
        kinds.map((kind) => names[kind]!),
      ).statistic.value;
    const usual = of({ a: 'a', b: 'b', c: 'c' });
    expect(usual).toBeGreaterThan(0);
    expectNear(of({ a: 'c', b: 'a', c: 'b' }), usual, 1e-10);
    expectNear(of({ a: 'b', b: 'c', c: 'a' }), usual, 1e-10);
    // By its definition, first and second group against the third: uᵀV⁻¹u.
    const u = [0, 0];
    const v = [0, 0, 0];
    for (const time of new Set(tied.times.filter((_, at) => tied.events[at]))) {
      const risk = ['a', 'b', 'c'].map(
        (kind) => tied.times.filter((own, at) => own >= time && kinds[at] === kind).length,
      );
      const n = risk[0]! + risk[1]! + risk[2]!;
      const happened = tied.times.map((own, at) => (own === time && tied.events[at] ? kinds[at] : undefined));
      const d = happened.filter((kind) => kind !== undefined).length;
      const c = n > 1 ? (d * (n - d)) / (n - 1) : 0;
      [0, 1].forEach((g) => {
        u[g]! += happened.filter((kind) => kind === 'ab'[g]).length - (d * risk[g]!) / n;
      });
      v[0]! += (c * risk[0]! * (n - risk[0]!)) / n ** 2;
      v[1]! -= (c * risk[0]! * risk[1]!) / n ** 2;
      v[2]! += (c * risk[1]! * (n - risk[1]!)) / n ** 2;
    }
    const form = (u[0]! ** 2 * v[2]! - 2 * u[0]! * u[1]! * v[1]! + u[1]! ** 2 * v[0]!) / (v[0]! * v[2]! - v[1]! ** 2);
    expectNear(usual, form, 1e-10);
  });

  it('says that limbs of one patient count as independent', () => {
    expect(logRankTest(tied, x).notes.map((note) => note.code)).toEqual(['assumes-independent-limbs']);
    expect(() =>
      logRankTest(
        tied,
        x.map(() => 1),
      ),
    ).toThrow(/one group/);
  });
});

describe('Cox regression', () => {
  it('Efron and Breslow ties: Freireich 1963, Cox 1972', () => {
    const one = caseOf('cox-6mp');
    const control = one.data.group.map((group: string) => (group === 'control' ? 1 : 0));
    const efron = coxRegression(dataOf(one), { control });
    const breslow = coxRegression(dataOf(one), { control }, { ties: 'breslow' });
    expectNear(efron.effects[0]!.logRatio, one.expected.betaEfron, 1e-8);
    expectNear(efron.effects[0]!.standardError, one.expected.seEfron, 1e-8);
    expectNear(efron.logLikelihood, one.expected.loglikEfron, 1e-8);
    expectNear(breslow.effects[0]!.logRatio, one.expected.betaBreslow, 1e-8);
    expectNear(breslow.effects[0]!.standardError, one.expected.seBreslow, 1e-8);
    expect(efron.converged).toBe(true);
    // exp(β ± z·se), z the normal quantile of .975 and .95 (any table).
    const limits = (level: number): number[] => {
      const { interval, ratio } = coxRegression(dataOf(one), { control }, { confidenceLevel: level }).effects[0]!;
      return [interval.lower / ratio, interval.upper / ratio].map((share) => Math.log(share) / one.expected.seEfron);
    };
    for (const [level, z] of [
      [0.95, 1.959963984540054],
      [0.9, 1.6448536269514722],
    ] as const)
      limits(level).forEach((limit, side) => {
        expectNear(limit, side === 0 ? -z : z, 1e-6);
      });
    const { interval } = efron.effects[0]!;
    expectNear(Math.log(interval.upper) - Math.log(interval.lower), 2 * 1.959963984540054 * one.expected.seEfron, 1e-6);
    expect(interval.level).toBe(0.95);
    expect(efron.counts).toEqual({ entries: 42, patients: 42, events: 30 });
  });

  it('errors that count patients: the robust error of R times √(K/(K − 1))', () => {
    const factor = Math.sqrt(6 / 5);
    const plain = coxRegression(small, { x });
    expectNear(plain.effects[0]!.logRatio, 0.0654082336179024, 1e-8);
    expectNear(plain.effects[0]!.standardError, 0.711531113607037 * factor, 1e-8);
    const efron = coxRegression(tied, { x });
    expectNear(efron.effects[0]!.logRatio, 0.141058063311893, 1e-8);
    expectNear(efron.effects[0]!.standardError, 0.729815384713716 * factor, 1e-8);
    expectNear(efron.logLikelihood, -15.873079266083444, 1e-8);
    const breslow = coxRegression(tied, { x }, { ties: 'breslow' });
    expectNear(breslow.effects[0]!.logRatio, 0.10084684706685, 1e-8);
    expectNear(breslow.effects[0]!.standardError, 0.663239172526075 * factor, 1e-8);
  });

  it('late entry', () => {
    const fit = coxRegression({ times: tied.times, events: tied.events, entries }, { x });
    expectNear(fit.effects[0]!.logRatio, 0.175334086174982, 1e-8);
    expectNear(fit.effects[0]!.standardError, 0.709729921859657, 1e-8);
  });

  it('says how few events or patients there are: below ten events a covariate, below 30 patients with several entries', () => {
    const random = seededRandom(6);
    const of = (events: number, patients: number): string[] => {
      const n = 60;
      const times = Array.from({ length: n }, (_, at) => at + 1 + random.uniform());
      const one = times.map(() => random.normal());
      const two = times.map(() => random.normal());
      const data = { times, events: times.map((_, at) => at < events), patients: times.map((_, at) => at % patients) };
      return coxRegression(data, { one, two }).notes.map(({ code }) => code);
    };
    expect(of(20, 60)).toEqual([]);
    expect(of(19, 60)).toEqual(['few-events']);
    expect(of(20, 30)).toEqual(['patients-as-units']);
    expect(of(20, 29)).toEqual(['patients-as-units', 'few-patients']);
  });

  it('says when a covariate separates those with the event, and refuses one without variation', () => {
    const separated = coxRegression({ times: [1, 2, 3, 4], events: [true, true, false, false] }, { x: [1, 1, 0, 0] });
    expect(separated.converged).toBe(false);
    expect(separated.notes.map((note) => note.code)).toContain('not-converged');
    expect(() => coxRegression(small, { x: x.map(() => 1), y: [1] })).toThrow(/2 problems/);
  });
});

describe('events between two visits', () => {
  it('Finkelstein & Wolfe 1985, radiotherapy arm', () => {
    const one = caseOf('turnbull-cosmesis-RT');
    const curve = intervalCensoredCurve(one.data.left, one.data.right);
    expect(curve.stretches.map((stretch) => stretch.left)).toEqual(one.expected.left);
    curve.stretches.forEach((stretch, at) =>
      expect(Math.abs(stretch.share - one.expected.p[at])).toBeLessThanOrEqual(1e-6),
    );
    expectNear(curve.logLikelihood, one.expected.logLik, 1e-8);
    expect(curve.optimality).toBeLessThanOrEqual(1 + 1e-8);
  });

  it('ten intervals', () => {
    const one = caseOf('turnbull-small');
    const curve = intervalCensoredCurve(one.data.left, one.data.right);
    expect(curve.stretches.map((stretch) => [stretch.left, stretch.right])).toEqual(
      one.expected.left.map((left: number, at: number) => [left, one.expected.right[at] ?? Number.POSITIVE_INFINITY]),
    );
    curve.stretches.forEach((stretch, at) =>
      expect(Math.abs(stretch.share - one.expected.p[at])).toBeLessThanOrEqual(1e-6),
    );
    expectNear(curve.logLikelihood, one.expected.logLik, 1e-9);
    expect(curve.survival(20)).toEqual({ lowest: expect.closeTo(0.4, 6), highest: expect.closeTo(0.5, 6) });
    expect(() => intervalCensoredCurve([5], [4])).toThrow(/last visit/);
  });

  it('with exact visits close together comes to one minus the share seen', () => {
    const curve = intervalCensoredCurve([0, 1, 2, 3], [1, 2, 3, 4]);
    expect(curve.stretches.map((stretch) => stretch.share)).toEqual(
      [0.25, 0.25, 0.25, 0.25].map((share) => expect.closeTo(share, 9)),
    );
  });
});

describe('competing events', () => {
  const kinds = [
    'worse',
    'amputation',
    null,
    'worse',
    'amputation',
    null,
    'worse',
    null,
    'worse',
    'amputation',
    null,
    'worse',
  ];

  it('cumulative incidence (R survival, several states)', () => {
    const steps = cumulativeIncidence({ times: tied.times, kinds });
    expect(steps.map((step) => step.time)).toEqual([3, 5, 8, 13]);
    [1 / 6, 1 / 3, 1 / 3, 0.541666666666667].forEach((value, at) =>
      expectNear(steps[at]!.incidence.worse!, value, 1e-9),
    );
    [0, 0, 0.25, 0.25].forEach((value, at) => expectNear(steps[at]!.incidence.amputation!, value, 1e-9));
    [0.107582870727984, 0.136082763487954, 0.136082763487954, 0.183601445366698].forEach((value, at) =>
      expectNear(steps[at]!.standardError.worse!, value, 1e-9),
    );
    expectNear(steps[2]!.standardError.amputation!, 0.125, 1e-9);
    // ln(−ln(1 − F)) ± z·se/((1 − F)|ln(1 − F)|), z the normal quantile of .975.
    for (const { incidence, standardError, interval } of steps) {
      const left = 1 - incidence.worse!;
      const reach = (1.959963984540054 * standardError.worse!) / (left * -Math.log(left));
      expectNear(1 - Math.exp(-Math.exp(Math.log(-Math.log(left)) - reach)), interval.worse!.lower, 1e-9);
      expectNear(1 - Math.exp(-Math.exp(Math.log(-Math.log(left)) + reach)), interval.worse!.upper, 1e-9);
    }
    expect(steps[0]!.interval.amputation!.lower).toBeNaN();
    expect(steps.map(({ atRisk }) => atRisk)).toEqual([12, 10, 8, 2]);
    expect(() => cumulativeIncidence({ times: [1, -1], kinds: ['worse', null], entries: [1, -2] })).toThrow(
      /2 problems/,
    );
    expect(() => cumulativeIncidence({ times: [1], kinds: [] })).toThrow(/1 times and 0 kinds/);
    expect(() => cumulativeIncidence({ times: [1], kinds: ['worse'], entries: [] })).toThrow(/1 times/);
  });

  it('with one kind of event is one minus Kaplan–Meier, error and all', () => {
    const one = dataOf(caseOf('km-6mp-log'));
    const curve = kaplanMeier(one);
    cumulativeIncidence({ times: one.times, kinds: one.events.map((event) => (event ? 'worse' : null)) }).forEach(
      (step, at) => {
        expectNear(step.incidence.worse!, 1 - curve.steps[at]!.survival, 1e-12);
        expectNear(step.standardError.worse!, curve.steps[at]!.standardError, 1e-12);
      },
    );
  });

  it('incidences and the share without any event add up to one', () => {
    const random = seededRandom(9);
    const times = Array.from({ length: 60 }, () => 1 + random.below(20));
    const mixed = times.map(() => [null, 'worse', 'death'][random.below(3)]!);
    const last = cumulativeIncidence({ times, kinds: mixed }).at(-1)!;
    const free = kaplanMeier({ times, events: mixed.map((kind) => kind !== null) }).steps.at(-1)!.survival;
    expectNear(last.incidence.worse! + last.incidence.death! + free, 1, 1e-12);
  });
});

it('refuses times that are not times, all at once', () => {
  expect(() => kaplanMeier({ times: [1, -2, Number.NaN], events: [true, false, true], entries: [2, 0, 0] })).toThrow(
    /problems/,
  );
});

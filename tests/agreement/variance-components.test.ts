import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { varianceComponents } from '../../src/agreement/variance-components.ts';
import { linearMixedModel } from '../../src/models/linear-mixed-model.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { chiSquare, fisherF } from '../../src/shared/distributions.ts';
import type { Estimate } from '../../src/shared/estimate.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectJackknife } from '../support/expect-jackknife.ts';
import { expectNear } from '../support/expect-near.ts';
import { casesBeside, publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';
import { restrictedCriterion } from '../support/restricted-criterion.ts';
import { meanSquares, SHROUT_FLEISS } from '../support/shrout-fleiss.ts';

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^icc-sf1979-varcomp$/))
    for (const method of ['analysis of variance', 'restricted likelihood'] as const)
      it(`${one.id} by ${method}: ${one.source}`, () => {
        const { target, assessor, residual } = varianceComponents(ratingsOfCase(one), { method });
        expectNear(target.value, one.expected.subject, one.tolerance);
        expectNear(assessor!.value, one.expected.rater, one.tolerance);
        expectNear(residual.value, one.expected.residual, one.tolerance);
        const all = target.value + assessor!.value + residual.value;
        expectNear(target.value / all, one.expected.iccAgreement, one.tolerance);
        expectNear(target.value / (target.value + residual.value), one.expected.iccConsistency, one.tolerance);
      });

  for (const one of casesBeside('agreement', /^icc-reml-dyestuff$/))
    it(`${one.id}: ${one.source}`, () => {
      const { target, residual } = varianceComponents(ratingsOfCase(one), {
        model: 'one-way',
        method: 'restricted likelihood',
      });
      expectNear(target.value, one.expected.between, one.tolerance);
      expectNear(residual.value, one.expected.within, one.tolerance);
    });

  // lme4 1.1-31 (R 4.2.2), lmer with a random intercept, REML: tests/reference/two_way_gaps.R. The analysis of variance has 8.6 too, not the same.
  it('one-way with unequal numbers: the reference program’s restricted likelihood', () => {
    const rows = [
      [1, 3, null, null],
      [4, 5, 6, null],
      [8, 8, 9, 7],
    ];
    const { target, residual } = varianceComponents(ratingsOf(rows), {
      model: 'one-way',
      method: 'restricted likelihood',
    });
    expectNear(target.value, 8.61204293777, 1e-5);
    expectNear(residual.value, 1.00049554083, 1e-5);
  });
});

describe('restricted likelihood', () => {
  const rows = fc.array(
    fc.array(fc.option(fc.integer({ min: 0, max: 20 }), { nil: null, freq: 4 }), { minLength: 3, maxLength: 3 }),
    { minLength: 6, maxLength: 15 },
  );
  it('one-way: equals the general mixed model on rows', () => {
    fc.assert(
      fc.property(rows, (given) => {
        const response: number[] = [];
        const target: number[] = [];
        for (const [at, row] of given.entries())
          for (const x of row) {
            if (x === null) continue;
            response.push(x);
            target.push(at);
          }
        fc.pre(new Set(target).size >= 4 && response.length >= new Set(target).size + 4 && new Set(response).size > 3);
        const fit = linearMixedModel({ response, random: [{ name: 'target', groups: target }] });
        const made = varianceComponents(ratingsOf(given), { model: 'one-way', method: 'restricted likelihood' });
        const own = [made.target.value, 0, made.residual.value] as const;
        const general = [fit.components[0]!.variance, 0, fit.residual.variance] as const;
        const all = own[0] + own[2];
        if (own[2] < 1e-7 * all || own.every((variance, at) => Math.abs(variance - general[at]!) < 1e-5 * all)) return;
        // The likelihood can have two maxima: then ours must be the higher one.
        const nobody = response.map(() => 0);
        expect(restrictedCriterion(response, target, nobody, own)).toBeLessThan(
          restrictedCriterion(response, target, nobody, general),
        );
      }),
      { numRuns: 40 },
    );
  });

  it('equals the analysis of variance on balanced data without negative estimates', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(fc.integer({ min: 0, max: 30 }), { minLength: 3, maxLength: 3 }), {
          minLength: 4,
          maxLength: 12,
        }),
        (given) => {
          for (const model of ['one-way', 'two-way'] as const) {
            const anova = varianceComponents(ratingsOf(given), { model });
            const parts = [anova.target, anova.assessor, anova.residual];
            if (parts.some((part) => part !== undefined && !(part.value > 0))) continue;
            const restricted = varianceComponents(ratingsOf(given), { model, method: 'restricted likelihood' });
            const all = parts.reduce((sum, part) => sum + (part?.value ?? 0), 0);
            expect(Math.abs(restricted.target.value - anova.target.value)).toBeLessThan(1e-7 * all);
            expect(Math.abs(restricted.residual.value - anova.residual.value)).toBeLessThan(1e-7 * all);
          }
        },
      ),
      { numRuns: 40 },
    );
  });
});

describe('intervals', () => {
  it('modified large-sample: the lower limit is 0 exactly at the edge of the F test', () => {
    // Two readings m ± d of three targets at −c, 0, c: MS(targets) = 2c², MS(within) = 2d². c²/d² = F makes the test's edge.
    const edge = fisherF.quantile(0.975, 2, 3);
    const rows = [-1, 0, 1].map((at) => [at * Math.sqrt(edge) + 1, at * Math.sqrt(edge) - 1]);
    const { target } = varianceComponents(ratingsOf(rows), { model: 'one-way' });
    expectNear(target.interval.lower, 0, 1e-9);
    expect(target.interval.upper).toBeGreaterThan(target.value);
  });

  // 1,000 seeded studies: 20 targets, 6 assessors, variances 4, 1, 2; Monte Carlo error .007.
  it('cover about as they say', () => {
    const random = seededRandom(21);
    const covered = { target: 0, assessor: 0, residual: 0 };
    for (let study = 0; study < 1000; study++) {
      const habits = Array.from({ length: 6 }, () => random.normal());
      const rows = Array.from({ length: 20 }, () => {
        const level = 2 * random.normal();
        return habits.map((habit) => level + habit + Math.SQRT2 * random.normal());
      });
      const made = varianceComponents(ratingsOf(rows));
      for (const [part, truth] of [
        ['target', 4],
        ['assessor', 1],
        ['residual', 2],
      ] as const) {
        const { lower, upper } = made[part]!.interval;
        if (lower <= truth && truth <= upper) covered[part]++;
      }
    }
    for (const count of Object.values(covered)) expect(Math.abs(count / 1000 - 0.95)).toBeLessThan(0.022);
  });

  it('with patients: bootstrap; restricted likelihood: jackknife, and no asymptotic one', () => {
    const random = seededRandom(1);
    const rows = Array.from({ length: 24 }, () => {
      const level = 3 * random.normal();
      return [level + random.normal(), level + random.normal()];
    });
    const ratings = ratingsOf(rows, { clusters: rows.map((_, at) => Math.floor(at / 2)) });
    expect(varianceComponents(ratings).target.interval.method).toMatch(/^studentized patient bootstrap/);
    const restricted = varianceComponents(ratings, { method: 'restricted likelihood' });
    expect(restricted.target.interval.method).toMatch(/jackknife/);
    expect(() => varianceComponents(ratings, { method: 'restricted likelihood', interval: 'asymptotic' })).toThrow(
      /no asymptotic/,
    );
  });
});

describe('every figure of the analysis of variance, by hand', () => {
  const [n, k] = [6, 4];
  const { targets, assessors, within, residual } = meanSquares();

  // Burdick and Graybill (from memory), of (a − b)/c with f and g degrees of freedom: G = 1 − f/χ²(upper tail, f), H = f/χ²(lower tail, f) − 1.
  const difference = (a: number, f: number, b: number, g: number, c: number): [number, number, number] => {
    const big = (d: number): number => 1 - d / chiSquare.quantile(0.95, d);
    const small = (d: number): number => d / chiSquare.quantile(0.05, d) - 1;
    const [high, low] = [fisherF.quantile(0.95, f, g), fisherF.quantile(0.05, f, g)];
    const down = ((high - 1) ** 2 - big(f) ** 2 * high ** 2 - small(g) ** 2) / high;
    const up = ((1 - low) ** 2 - small(f) ** 2 * low ** 2 - big(g) ** 2) / low;
    return [
      Math.sqrt((2 * a ** 2) / f + (2 * b ** 2) / g) / c,
      (a - b - Math.sqrt(big(f) ** 2 * a ** 2 + small(g) ** 2 * b ** 2 + down * a * b)) / c,
      (a - b + Math.sqrt(small(f) ** 2 * a ** 2 + big(g) ** 2 * b ** 2 + up * a * b)) / c,
    ];
  };
  const square = (a: number, f: number): [number, number, number] => [
    a * Math.sqrt(2 / f),
    (f * a) / chiSquare.quantile(0.95, f),
    (f * a) / chiSquare.quantile(0.05, f),
  ];
  const is = (
    estimate: Estimate,
    name: string,
    value: number,
    [error, lower, upper]: [number, number, number],
  ): void => {
    expect(estimate.statistic).toBe(name);
    expectNear(estimate.value, value, 1e-12);
    expectNear(estimate.standardError, error, 1e-12);
    expectNear(estimate.interval.lower, lower, 1e-9);
    expectNear(estimate.interval.upper, upper, 1e-9);
    expect(estimate.interval.level).toBe(0.9);
    expect(estimate.interval.method).toMatch(/, targets taken as independent$/);
    expect(estimate.details).not.toHaveProperty('linearizedStandardError');
  };

  it('two-way', () => {
    const made = varianceComponents(ratingsOf(SHROUT_FLEISS), { confidenceLevel: 0.9 });
    is(made.target, 'variance between targets', (targets - residual) / k, difference(targets, 5, residual, 15, k));
    is(
      made.assessor!,
      'variance between assessors',
      (assessors - residual) / n,
      difference(assessors, 3, residual, 15, n),
    );
    is(made.residual, 'residual variance', residual, square(residual, 15));
    expect(made.counts).toEqual({ targets: 6, clusters: 6, assessors: 4, ratings: 24, excluded: 0 });
    expect(made.options).toMatchObject({
      model: 'two-way',
      method: 'analysis of variance',
      confidenceLevel: 0.9,
      interval: 'asymptotic',
    });
    expect(made.notes.map(({ code }) => code)).toEqual(['patients-not-given']);
    const { rows } = made.toTable();
    expect(rows).toEqual(
      [made.target, made.assessor!, made.residual].map(({ statistic, value, interval }) => ({
        part: statistic,
        value,
        lower: interval.lower,
        upper: interval.upper,
        deviation: Math.sqrt(value),
      })),
    );
  });

  it('one-way', () => {
    const made = varianceComponents(ratingsOf(SHROUT_FLEISS), { model: 'one-way', confidenceLevel: 0.9 });
    is(made.target, 'variance between targets', (targets - within) / k, difference(targets, 5, within, 18, k));
    expect(made.assessor).toBeUndefined();
    is(made.residual, 'variance within targets', within, square(within, 18));
    expect(made.options.model).toBe('one-way');
    expect(made.toTable().rows).toHaveLength(2);
    expect(made.toString()).not.toContain('assessors');
    expect(made.notes.map(({ code }) => code)).toEqual(['patients-not-given']);
  });

  it('one-way with unequal numbers: n₀, and a caution with the asymptotic interval alone', () => {
    const rows = SHROUT_FLEISS.map((row, at) => row.map((x, j) => (at + j < 3 ? null : x)));
    const kept = rows.map((row) => row.filter((x): x is number => x !== null));
    const all = kept.flat();
    const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;
    const squares = (values: readonly number[]): number => values.reduce((sum, x) => sum + x * x, 0);
    const own = kept.map(mean);
    const inside = squares(kept.flatMap((row, t) => row.map((x) => x - own[t]!))) / (all.length - n);
    const between = kept.reduce((sum, row, t) => sum + row.length * (own[t]! - mean(all)) ** 2, 0) / (n - 1);
    const effective = (all.length - squares(kept.map(({ length }) => length)) / all.length) / (n - 1);
    const made = varianceComponents(ratingsOf(rows), { model: 'one-way', confidenceLevel: 0.9 });
    is(
      made.target,
      'variance between targets',
      (between - inside) / effective,
      difference(between, 5, inside, all.length - n, effective),
    );
    is(made.residual, 'variance within targets', inside, square(inside, all.length - n));
    expect(made.notes.map(({ code }) => code)).toEqual(['unequal-readings', 'patients-not-given']);
    const robust = varianceComponents(ratingsOf(rows), { model: 'one-way', interval: 'cluster-robust' });
    expect(robust.notes.map(({ code }) => code)).toEqual(['patients-not-given']);
  });

  it('the upper limit is 0 exactly at the other edge of the F test', () => {
    const edge = fisherF.quantile(0.025, 2, 3);
    const rows = [-1, 0, 1].map((at) => [at * Math.sqrt(edge) + 1, at * Math.sqrt(edge) - 1]);
    expectNear(varianceComponents(ratingsOf(rows), { model: 'one-way' }).target.interval.upper, 0, 1e-9);
  });

  it('nothing left within: no interval', () => {
    const { target, residual: left } = varianceComponents(
      ratingsOf([
        [1, 1],
        [2, 2],
        [4, 4],
      ]),
      { model: 'one-way' },
    );
    expect([target.standardError, target.interval.lower, target.interval.upper]).toEqual([
      Number.NaN,
      Number.NaN,
      Number.NaN,
    ]);
    expect([left.value, left.interval.lower, left.interval.upper]).toEqual([0, Number.NaN, Number.NaN]);
    expectNear(target.value, 7 / 3, 1e-12);
  });
});

describe('the patient jackknife of every part', () => {
  const random = seededRandom(44);
  const clusters = [0, 0, 1, 2, 2, 2, 3, 4, 4, 5, 6, 6, 7, 8];
  const rows = clusters.map((_, at) => {
    const level = 30 + 5 * random.normal();
    return [0, 1.5, -0.5].map((habit, j) => (at % 4 === j + 1 && at > 4 ? null : level + habit + random.normal()));
  });
  const whole = ratingsOf(
    rows.map((row) => row.map((x, j) => x ?? 30 + j)),
    { clusters },
  );
  const gaps = ratingsOf(rows, { clusters });
  const interval = 'cluster-robust';
  it.each([
    ['two-way', whole, { interval }],
    ['one-way', whole, { model: 'one-way', interval }],
    ['one-way with gaps', gaps, { model: 'one-way', interval }],
    ['one-way restricted', gaps, { model: 'one-way', method: 'restricted likelihood', interval }],
    ['two-way restricted', gaps, { interval }],
  ] as const)('%s', (what, ratings, options) => {
    const tolerance = what.includes('restricted') ? 1e-5 : 1e-9;
    expectJackknife(ratings, (given) => varianceComponents(given, options).target, 'plain', tolerance);
    expectJackknife(ratings, (given) => varianceComponents(given, options).residual, 'log', tolerance);
    if (what.startsWith('two-way'))
      expectJackknife(ratings, (given) => varianceComponents(given, options).assessor!, 'plain', tolerance);
    expect(varianceComponents(ratings, options).options.method).toBe(
      what.includes('restricted') ? 'restricted likelihood' : 'analysis of variance',
    );
  });
});

describe('options that are not there', () => {
  const ratings = ratingsOf([
    [1, 2],
    [3, 4],
    [2, 2],
  ]);
  const asked =
    (options: object): (() => unknown) =>
    () =>
      varianceComponents(ratings, options);
  refuses([
    ['a model', asked({ model: 'three-way' }), 'unknown-choice'],
    ['a method', asked({ method: 'likelihood' }), 'unknown-choice'],
    [
      'readings of nobody known',
      () =>
        varianceComponents(
          ratingsOfCounts(
            [
              [1, 1],
              [2, 0],
            ],
            { categories: [0, 1] },
          ),
        ),
      'assessors-needed',
    ],
    ['one assessor', () => varianceComponents(ratingsOf([[1], [2]])), 'two-assessors-needed'],
    ['grades', () => varianceComponents(ratingsOf([[1, 2]], { level: 'ordinal' })), 'grades-not-numbers'],
    [
      'an asymptotic interval of the likelihood',
      asked({ method: 'restricted likelihood', interval: 'asymptotic' }),
      'interval-not-available',
    ],
  ]);
});

describe('laws', () => {
  it('grow with the square of the scale, keep with shift, and the assessors’ variance alone sees habits', () => {
    const rows = [
      [9, 2, 5],
      [6, 1, 3],
      [8, 4, 6],
      [7, 1, 2],
    ];
    const parts = (given: number[][]): number[] => {
      const { target, assessor, residual } = varianceComponents(ratingsOf(given));
      return [target.value, assessor!.value, residual.value];
    };
    const [target, assessor, residual] = parts(rows);
    parts(rows.map((row) => row.map((x) => 3 * x - 8))).forEach((value, at) => {
      expectNear(value, 9 * [target, assessor, residual][at]!, 1e-9);
    });
    const habits = parts(rows.map(([a, b, c]) => [a! + 10, b!, c!]));
    expectNear(habits[0]!, target!, 1e-9);
    expectNear(habits[2]!, residual!, 1e-9);
    expect(habits[1]).toBeGreaterThan(assessor!);
  });
});

describe('refused and undefined', () => {
  it('says when an estimate is negative, and stops at 0 with the restricted likelihood', () => {
    const ratings = ratingsOf([
      [1, 9],
      [9, 1],
      [2, 8],
      [8, 2],
    ]);
    const anova = varianceComponents(ratings, { model: 'one-way' });
    expect(anova.target.value).toBeLessThan(0);
    expect(anova.notes.map((note) => note.code)).toContain('negative-estimate');
    const restricted = varianceComponents(ratings, { model: 'one-way', method: 'restricted likelihood' });
    expect(restricted.target.value).toBe(0);
    expect(restricted.notes.map((note) => note.code)).toContain('at-zero');
  });

  it('refuses gaps in the two-way analysis of variance, and one assessor', () => {
    const gaps = ratingsOf([
      [1, 2],
      [3, null],
      [4, 4],
      [2, 3],
    ]);
    expect(() => varianceComponents(gaps, { method: 'analysis of variance' })).toThrow(/needs every reading/);
    expect(varianceComponents(gaps).notes.map((note) => note.code)).toContain('gaps');
    expect(() => varianceComponents(ratingsOf([[1], [2]]))).toThrow(/two assessors/);
  });

  it('is not defined where no target was read twice', () => {
    const made = varianceComponents(
      ratingsOf([
        [1, null],
        [3, null],
      ]),
      { model: 'one-way' },
    );
    expect(made.residual.value).toBeNaN();
    expect(made.notes.map((note) => note.code)).toContain('not-defined');
  });

  it('prints as a line and as a table', () => {
    const made = varianceComponents(
      ratingsOf([
        [1, 2],
        [5, 3],
        [9, 8],
      ]),
    );
    expect(made.toString()).toMatch(/^variance between targets /);
    expect(made.toTable().toText()).toMatch(/residual variance/);
  });
});

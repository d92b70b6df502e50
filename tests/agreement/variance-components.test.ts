import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { varianceComponents } from '../../src/agreement/variance-components.ts';
import { linearMixedModel } from '../../src/models/linear-mixed-model.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { fisherF } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { casesBeside, publishedCases } from '../support/published-cases.ts';
import { restrictedCriterion } from '../support/restricted-criterion.ts';

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

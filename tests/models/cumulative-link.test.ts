import { describe, expect, it } from 'vitest';
import { gradeDerivatives, gradeLikelihood, type Link } from '../../src/models/cumulative-link.ts';
import { numericalGradient } from '../../src/models/optimize.ts';
import { normal } from '../../src/shared/distributions.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';

const distribution = { logit: (x: number) => 1 / (1 + Math.exp(-x)), probit: (x: number) => normal.cdf(x) };

describe.each<Link>(['logit', 'probit'])('ln P of a grade, %s', (link) => {
  const at = (a: number, b: number) => {
    const out = gradeDerivatives();
    gradeLikelihood[link](a, b, out);
    return out;
  };
  const limits: [number, number][] = [
    [1.2, -0.4],
    [-2, -2.5],
    [3.1, 2.9],
    [0.001, -0.001],
    [Number.POSITIVE_INFINITY, 0.7],
    [-1.1, Number.NEGATIVE_INFINITY],
  ];

  it.each(limits)('between %d and %d: value and all derivatives', (a, b) => {
    const out = at(a, b);
    expectNear(out.log, Math.log(distribution[link](a) - distribution[link](b)), 1e-12);
    const free = [a, b].map(Number.isFinite);
    const derivative = (of: (a: number, b: number) => number): Float64Array =>
      numericalGradient(
        ([da, db]) => of(free[0] ? a + (da as number) / 100 : a, free[1] ? b + (db as number) / 100 : b),
        [0, 0],
      ).map((value) => 100 * value);
    expectAllNear(
      derivative((x, y) => at(x, y).log),
      [out.a, out.b],
      1e-7,
    );
    expectAllNear(
      derivative((x, y) => at(x, y).a),
      [out.aa, free[0] ? out.ab : 0],
      1e-7,
    );
    expectAllNear(
      derivative((x, y) => at(x, y).b),
      [free[1] ? out.ab : 0, out.bb],
      1e-7,
    );
    expectAllNear(
      derivative((x, y) => at(x, y).shift2),
      [out.shift2a, out.shift2b],
      1e-7,
    );
    expectNear(out.shift2, out.aa + 2 * out.ab + out.bb, 1e-9 + 1e-15 * out.ab);
    expect(out.shift2).toBeLessThan(0);
  });

  it('keeps its digits in the tails and is −∞ where limits cross', () => {
    // ln(F(−30) − F(−31)) ≈ ln F(−30) + ln(1 − F(−31)/F(−30)), with F's own tail.
    const tail = (x: number): number => (link === 'logit' ? Math.exp(x) / (1 + Math.exp(x)) : normal.cdf(x));
    expectNear(at(-30, -31).log, Math.log(tail(-30)) + Math.log1p(-tail(-31) / tail(-30)), 1e-12);
    // The mirror image in the upper tail is the same.
    expectNear(at(31, 30).log, at(-30, -31).log, 1e-13);
    expect(at(1, 1).log).toBe(Number.NEGATIVE_INFINITY);
    expect(at(0, 1).log).toBe(Number.NEGATIVE_INFINITY);
  });
});

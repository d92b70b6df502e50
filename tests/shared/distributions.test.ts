import { describe, expect, it } from 'vitest';
import { beta, binomial, chiSquare, fisherF, lnGamma, normal, studentT } from '../../src/shared/distributions.ts';

// R 4.2.2, options(digits = 16): qnorm, pnorm, qt, pt, pchisq, qchisq, pf, qf, pbeta, qbeta, pbinom, lgamma.
describe('distributions against R 4.2.2', () => {
  const cases: [string, number, number][] = [
    ['qnorm(.975)', normal.quantile(0.975), 1.959963984540054],
    // √2 erfinv(2p − 1) in mpmath 1.2.1, 400 digits.
    ['qnorm(.3)', normal.quantile(0.3), -0.5244005127080408],
    ['qnorm(1e-5)', normal.quantile(1e-5), -4.264890793922825],
    ['qnorm(1e-16)', normal.quantile(1e-16), -8.222082216130435],
    ['qnorm(1e-300)', normal.quantile(1e-300), -37.04709629936119],
    ['pnorm(-8)', normal.cdf(-8), 6.220960574271785e-16],
    ['pnorm(1.3, upper)', normal.upper(1.3), 9.680048458561034e-2],
    ['qt(.975, 4.5)', studentT.quantile(0.975, 4.5), 2.658912347204403],
    ['pt(2.2, 7)', studentT.cdf(2.2, 7), 0.9681344923486817],
    ['pchisq(30, 4, upper)', chiSquare.upper(30, 4), 4.894437128029213e-6],
    ['pchisq(200, 2, upper)', chiSquare.upper(200, 2), 3.720075976020836e-44],
    ['qchisq(.95, 3)', chiSquare.quantile(0.95, 3), 7.814727903251179],
    ['pf(5.2, 3, 17, upper)', fisherF.upper(5.2, 3, 17), 9.889304706892092e-3],
    ['pf(900, 2, 30, upper)', fisherF.upper(900, 2, 30), 1.659787443755693e-27],
    ['qf(.99, 2, 40)', fisherF.quantile(0.99, 2, 40), 5.178508235883346],
    ['pbeta(.2, 3, 9)', beta.cdf(0.2, 3, 9), 0.3825984512000004],
    ['qbeta(.025, 4, 17)', beta.quantile(0.025, 4, 17), 5.733399705003279e-2],
    ['pbinom(3, 20, .3)', binomial.cdf(3, 20, 0.3), 0.107086804503731],
    ['lgamma(12.5)', lnGamma(12.5), 18.73434751193645],
  ];
  for (const [what, actual, expected] of cases)
    it(what, () => expect(Math.abs(actual / expected - 1)).toBeLessThan(1e-12));

  it('the normal quantile is odd, endless at 0 and 1, and nothing outside', () => {
    for (const p of [1e-12, 0.01, 0.074, 0.076, 0.3])
      expect(normal.quantile(1 - p)).toBeCloseTo(-normal.quantile(p), 4);
    expect(normal.quantile(0.5)).toBe(0);
    expect([0, 1, -0.1, 1.1, Number.NaN].map(normal.quantile)).toEqual([
      Number.NEGATIVE_INFINITY,
      Number.POSITIVE_INFINITY,
      Number.NaN,
      Number.NaN,
      Number.NaN,
    ]);
  });

  it('an infinite number of degrees of freedom is the normal; nothing below zero is beyond it', () => {
    expect(studentT.quantile(0.975, Number.POSITIVE_INFINITY)).toBe(normal.quantile(0.975));
    expect(chiSquare.upper(-1, 3)).toBe(1);
    expect(fisherF.upper(0, 3, 3)).toBe(1);
    expect(chiSquare.upper(Number.NaN, 3)).toBeNaN();
  });
});

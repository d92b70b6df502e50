import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { bernoulliRunLength } from '../../src/teaching/bernoulli-run-length.ts';
import { cumulativeAgreement } from '../../src/teaching/cumulative-agreement.ts';
import { cumulativeFailures } from '../../src/teaching/cumulative-failures.ts';
import { learningCurve } from '../../src/teaching/learning-curve.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';

describe('cumulative failures (Kestin 1995, doi:10.1093/bja/75.6.805)', () => {
  it('has the published constants', () => {
    const [one] = publishedCases('progression', /^lc-sprt-constants$/);
    one!.data.designs.forEach(([acceptable, unacceptable, alpha, beta]: number[], at: number) => {
      const { expected, lower, upper } = cumulativeFailures([], {
        acceptable: acceptable!,
        unacceptable: unacceptable!,
        alpha: alpha!,
        beta: beta!,
      });
      expect(expected).toBeCloseTo(one!.expected[at].s, 12);
      expect(lower).toBeCloseTo(one!.expected[at].h0, 12);
      expect(upper).toBeCloseTo(one!.expected[at].h1, 12);
    });
    // Printed by Bolsin & Colson 2000: s 0.07 and h 2.94 for 5 and 10 %; 0.15 and 2.71 for 10 and 20 %.
    const printed = (acceptable: number) => cumulativeFailures([], { acceptable, unacceptable: 2 * acceptable });
    expectPrinted(printed(0.05).expected, '0.07');
    expectPrinted(printed(0.05).upper, '2.94');
    expectPrinted(printed(0.1).expected, '0.15');
    expectPrinted(printed(0.1).upper, '2.71');
  });

  it('has the path of the worked case and no answer yet', () => {
    const [one] = publishedCases('progression', /^lc-cusum-path$/);
    const result = cumulativeFailures(one!.data.failures.map(Boolean), { acceptable: 0.1, unacceptable: 0.2 });
    one!.expected.path.forEach((value: number, at: number) => expect(result.path[at]).toBeCloseTo(value, 12));
    expect(result.crossedLower).toEqual([]);
    expect(result.crossedUpper).toEqual([]);
    expect(result.answer).toBe('not enough readings yet');
  });

  it('answers when a line is crossed, and starts afresh there', () => {
    const options = { acceptable: 0.1, unacceptable: 0.2 };
    // s = 0.145, h = 2.71: nineteen successes take 2.76 off.
    expect(cumulativeFailures(Array(19).fill(false), options).answer).toBe('acceptable');
    expect(cumulativeFailures(Array(18).fill(false), options).answer).toBe('not enough readings yet');
    const four = cumulativeFailures([true, true, true, true, false], options);
    expect(four.crossedUpper).toEqual([3]);
    expect(four.answer).toBe('unacceptable');
    expect(() => cumulativeFailures([], { acceptable: 0.3, unacceptable: 0.2 })).toThrow(/0 < acceptable/);
  });
});

describe('run length of a Bernoulli cumulative sum', () => {
  const steps = { failure: 4, success: -1, decision: 10 };

  it('is that of the Markov chain, from the case', () => {
    const [one] = publishedCases('progression', /^bernoulli-cusum-arl$/);
    one!.parameters.p.forEach((p: number, at: number) =>
      expect(bernoulliRunLength(steps, p).average / one!.expected.arl[at]).toBeCloseTo(1, 10),
    );
  });

  it('adds up to the average, and agrees with simulated charts', () => {
    const { average, within } = bernoulliRunLength(steps, 0.3, 400);
    // Average = Σ P(no signal within t) over t = 0, 1, 2, …
    expect(1 + within.reduce((sum, chance) => sum + 1 - chance, 0)).toBeCloseTo(average, 6);
    const random = seededRandom(5);
    let total = 0;
    for (let chart = 0; chart < 4000; chart++) {
      let sum = 0;
      let readings = 0;
      while (sum < 10) {
        sum = Math.max(0, sum + (random.uniform() < 0.3 ? 4 : -1));
        readings++;
      }
      total += readings;
    }
    // The run length's standard deviation is about its mean: four standard errors.
    expect(Math.abs(total / 4000 - average)).toBeLessThan((4 * average) / Math.sqrt(4000));
  });

  it('is endless where no failure can come, and refuses steps in one direction', () => {
    expect(bernoulliRunLength(steps, 0).average).toBe(Number.POSITIVE_INFINITY);
    expect(() => bernoulliRunLength({ failure: 1, success: 1, decision: 3 }, 0.1)).toThrow(
      /one step above and one below/,
    );
    expect(() => bernoulliRunLength({ failure: 0.5, success: -1, decision: 3 }, 1.1, -1)).toThrow(/3 problems/);
  });
});

describe('a learning curve', () => {
  const options = { acceptable: 0.1, unacceptable: 0.3, readings: 60 };

  it('keeps the chance of calling one ready who is not, exactly and no lower than need be', () => {
    const { design, steps } = learningCurve([], options);
    expect(design.shownWithin.unacceptable).toBeLessThanOrEqual(0.05);
    const lower = bernoulliRunLength({ ...steps, decision: steps.decision - 1 }, 0.3, 60);
    expect(lower.within[59]).toBeGreaterThan(0.05);
    expect(design.shownWithin.acceptable).toBeCloseTo(bernoulliRunLength(steps, 0.1, 60).within[59]!, 12);
    // Steps in the ratio ln 3 : ln(0.9/0.7) = 4.371, within a hundredth.
    expect(-steps.failure / steps.success / (Math.log(3) / Math.log(0.9 / 0.7))).toBeCloseTo(1, 2);
  });

  it('answers "not enough readings yet" until it is shown, and never that somebody failed', () => {
    expect(learningCurve(Array(17).fill(false), options).answer).toBe('not enough readings yet');
    const shown = learningCurve(Array(40).fill(false), options);
    expect(shown.shownAt).toBe(Math.ceil(shown.steps.decision / shown.steps.success));
    expect(shown.answer).toBe('shown to be good enough');
    expect(learningCurve(Array(40).fill(true), options).answer).toBe('not enough readings yet');
    expect(learningCurve([], options).sentence).toMatch(
      /^Not enough readings yet\. One who is off the reference in 10 % needs about \d+ readings/,
    );
    expect(learningCurve([false], options).sentence).toMatch(/^After 1 reading: not enough readings yet/);
    expect(() => learningCurve([], { acceptable: 0.3, unacceptable: 0.1 })).toThrow(/0 < acceptable/);
  });
});

it('cumulative agreement has the exact intervals and the final kappas of the case', () => {
  const [one] = publishedCases('progression', /^cumulative-agreement$/);
  const { trainee, expert } = one!.data as { trainee: number[]; expert: number[] };
  const { steps } = cumulativeAgreement(trainee.map((grade, at) => [grade, expert[at]!]));
  one!.expected.cumulative.forEach(
    (row: { n: number; agree: number; p: number; lower: number; upper: number }, at: number) => {
      expect(steps[at]).toMatchObject({ readings: row.n, agree: row.agree });
      expect(steps[at]!.share).toBeCloseTo(row.p, 12);
      expect(steps[at]!.lower).toBeCloseTo(row.lower, 10);
      expect(steps[at]!.upper).toBeCloseTo(row.upper, 10);
    },
  );
  const ratings = ratingsOf(
    trainee.map((grade, at) => [grade, expert[at]!]),
    { categories: [0, 1, 2, 3, 4] },
  );
  expect(cohenKappa(ratings, { weights: 'quadratic' }).value).toBeCloseTo(one!.expected.kappaQuadratic, 10);
  expect(cohenKappa(ratings, { weights: 'linear' }).value).toBeCloseTo(one!.expected.kappaLinear, 10);
  expect(
    cumulativeAgreement([
      [1, null],
      [2, 2],
    ]).steps,
  ).toHaveLength(1);
});

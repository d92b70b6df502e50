import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { concordanceCoefficient, concordanceCorrelation } from '../../src/agreement/concordance-correlation.ts';
import { intraclassCorrelation } from '../../src/agreement/intraclass-correlation.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectJackknife } from '../support/expect-jackknife.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { keepsTheLaws } from '../support/laws.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^lin-ccc-/))
    it(`${one.id}: ${one.source}`, () => {
      const { expected, tolerance } = one;
      const ratings = ratingsOf((one.data.x as number[]).map((x, at) => [x, one.data.y[at] as number]));
      const { value, standardError, interval, details } = concordanceCorrelation(ratings);
      expectNear(value, expected.ccc, tolerance);
      expectNear(standardError, expected.se, tolerance);
      expectNear(interval.lower, expected.lo, tolerance);
      expectNear(interval.upper, expected.hi, tolerance);
      expectNear(details.biasCorrection!, expected.cb, tolerance);
      if (expected.pearson === undefined) return;
      expectNear(details.pearson!, expected.pearson, tolerance);
      expectNear(details.locationShift!, expected.locationShift, tolerance);
      expectNear(details.scaleShift!, expected.scaleShift, tolerance);
      expectNear(Math.atanh(value), expected.z, tolerance);
      expectNear(standardError / (1 - value ** 2), expected.seZ, tolerance);
      expectPrinted(value, '0.943');
      expectPrinted(standardError, '0.029');
      // The same case's note: n − 1 for n gives another value.
      expectNear(concordanceCorrelation(ratings, { divisor: 'n − 1' }).value, 0.942752467422454, tolerance);
    });

  for (const one of publishedCases('agreement', /^lin-occc-/))
    it(`${one.id}: ${one.source}`, () => {
      const { value } = concordanceCorrelation(ratingsOfCase(one), { divisor: 'n − 1' });
      expectNear(value, one.expected.occc, one.tolerance);
    });
});

describe('laws', () => {
  keepsTheLaws((ratings) => concordanceCorrelation(ratings, { interval: 'asymptotic' }), {
    assessors: 3,
    lowest: -1,
    gaps: true,
    // Lin's error of a pair, which is left when one of the three read nothing, has n − 2.
    lessTargets: ({ interval }) => (interval.method.includes('Lin') ? 2 : 0),
  });
  hasItsGradient((ratings) => concordanceCoefficient(ratings, 'n'), { gaps: false });

  const rows = fc.array(fc.array(fc.integer({ min: 0, max: 4 }), { minLength: 3, maxLength: 3 }), {
    minLength: 3,
    maxLength: 20,
  });
  it('for two is the quadratic kappa of the same grades (second formula)', () => {
    fc.assert(
      fc.property(rows, (given) => {
        const ratings = ratingsOf(
          given.map(([a, b]) => [a!, b!]),
          { categories: [0, 1, 2, 3, 4] },
        );
        const kappa = cohenKappa(ratings, { weights: 'quadratic' }).value;
        const concordance = concordanceCorrelation(ratings).value;
        if (Number.isNaN(kappa)) expect(concordance).toBeNaN();
        else expectNear(concordance, kappa, 1e-10);
      }),
    );
  });

  it('with n − 1 is the agreement form of the intraclass correlation but for kMSₑ/n (second formula)', () => {
    fc.assert(
      fc.property(rows, (given) => {
        const ratings = ratingsOf(given);
        const { details } = intraclassCorrelation(ratings, {
          model: 'two-way',
          definition: 'agreement',
          unit: 'single',
        });
        const { targetMeanSquare: r, assessorMeanSquare: c, residualMeanSquare: e } = details;
        const whole = r! + 2 * e! + (3 * c!) / given.length;
        if (!(whole > 0)) return;
        expectNear(concordanceCorrelation(ratings, { divisor: 'n − 1' }).value, (r! - e!) / whole, 1e-10);
      }),
    );
  });

  it('is the mean of pairs weighted by their room, written out pair by pair', () => {
    const given = [
      [9, 7, 8],
      [4, 5, 3],
      [6, 6, 8],
      [1, 2, 2],
    ];
    let top = 0;
    let bottom = 0;
    for (const [j, l] of [
      [0, 1],
      [0, 2],
      [1, 2],
    ] as const) {
      const x = given.map((row) => row[j]!);
      const y = given.map((row) => row[l]!);
      const mean = (values: number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
      const [mx, my] = [mean(x), mean(y)];
      top += 2 * mean(x.map((value, at) => (value - mx) * (y[at]! - my)));
      bottom += mean(x.map((value) => (value - mx) ** 2)) + mean(y.map((value) => (value - my) ** 2)) + (mx - my) ** 2;
    }
    expectNear(concordanceCorrelation(ratingsOf(given)).value, top / bottom, 1e-12);
  });

  it('is not moved by an offset of a thousand million', () => {
    const given = [
      [1.25, 1.5],
      [2.5, 2.25],
      [4, 4.75],
      [0.5, 1],
    ];
    const of = (offset: number): number =>
      concordanceCorrelation(ratingsOf(given.map((row) => row.map((x) => x + offset)))).value;
    expectNear(of(1e9), of(0), 1e-12);
  });
});

it('takes the patient bootstrap where patients are known', () => {
  const rows = Array.from({ length: 30 }, (_, at) => [at % 7, (at % 7) + ((at * 3) % 5) / 2]);
  const { interval, counts } = concordanceCorrelation(
    ratingsOf(rows, { clusters: rows.map((_, at) => Math.floor(at / 2)) }),
  );
  expect(interval.method).toMatch(/^studentized patient bootstrap/);
  expect(counts.clusters).toBe(15);
});

it('picks the assessors named, refuses one, unknown ones and grades, and is not defined without variation', () => {
  const ratings = ratingsOf([
    [1, 2, 9],
    [3, 3, 1],
    [5, 4, 4],
  ]);
  const pair = concordanceCorrelation(ratings, { assessors: ['1', '2'] });
  // Variances 8/3 and 2/3, covariance 4/3, equal means: (8/3)/(10/3).
  expect(pair.value).toBeCloseTo(0.8, 12);
  expect(pair.counts.ratings).toBe(6);
  expect(() => concordanceCorrelation(ratings, { assessors: ['1'] })).toThrow(/at least two/);
  expect(() => concordanceCorrelation(ratingsOfCounts([[1, 1]], { categories: [0, 1] }))).toThrow(/not known here/);
  expect(() => concordanceCorrelation(ratingsOf([[1, 2]], { level: 'ordinal' }))).toThrow(/gradesAsNumbers/);
  const same = concordanceCorrelation(
    ratingsOf([
      [2, 2],
      [2, 2],
    ]),
  );
  expect(same.value).toBeNaN();
  expect(same.notes.map((note) => note.code)).toContain('not-defined');
});

// Lin 1989 as corrected in 2000, on ten pairs, one of them with a gap, far from 0.
it('of two: every figure, written out', () => {
  const x = [494, 395, 516, 434, 476, 557, 413, 442, 650];
  const y = [512, 430, 520, 428, 500, 600, 364, 380, 658];
  const n = x.length;
  const mean = (values: readonly number[]): number => values.reduce((sum, one) => sum + one, 0) / values.length;
  const [mx, my] = [mean(x), mean(y)];
  const sxx = mean(x.map((one) => (one - mx) ** 2));
  const syy = mean(y.map((one) => (one - my) ** 2));
  const sxy = mean(x.map((one, at) => (one - mx) * (y[at]! - my)));
  const rho = sxy / Math.sqrt(sxx * syy);
  const ccc = (2 * sxy) / (sxx + syy + (mx - my) ** 2);
  const u = (mx - my) / (sxx * syy) ** 0.25;
  const ratings = ratingsOf([...x.map((one, at) => [one, y[at]!]), [700, null]]);
  const made = concordanceCorrelation(ratings, { confidenceLevel: 0.9 });
  expectNear(made.value, ccc, 1e-12);
  const near: Readonly<Record<string, number>> = {
    pearson: rho,
    biasCorrection: ccc / rho,
    locationShift: u,
    scaleShift: Math.sqrt(sxx / syy),
  };
  for (const [key, value] of Object.entries(near)) expectNear(made.details[key]!, value, 1e-12);
  const variance =
    (((1 - rho ** 2) * ccc ** 2 * (1 - ccc ** 2)) / rho ** 2 +
      (2 * ccc ** 3 * (1 - ccc) * u ** 2) / rho -
      (ccc ** 4 * u ** 4) / (2 * rho ** 2)) /
    (n - 2);
  expectNear(made.standardError, Math.sqrt(variance), 1e-12);
  const reach = (1.6448536269514722 * Math.sqrt(variance)) / (1 - ccc ** 2);
  expectNear(made.interval.lower, Math.tanh(Math.atanh(ccc) - reach), 1e-9);
  expectNear(made.interval.upper, Math.tanh(Math.atanh(ccc) + reach), 1e-9);
  expect(made.interval.level).toBe(0.9);
  expect(made.interval.method).toMatch(/Lin 1989, corrected 2000/);
  expect(made.counts).toEqual({ targets: 9, clusters: 9, assessors: 2, ratings: 18, excluded: 1 });
  expect(made.statistic).toBe('concordance correlation');
  // With n − 1: 2s_xy/(s_x² + s_y² + (x̄ − ȳ)²) of variances by n − 1; its error is the linearization.
  const [f, other] = [n / (n - 1), concordanceCorrelation(ratings, { divisor: 'n − 1' })];
  expectNear(other.value, (2 * f * sxy) / (f * (sxx + syy) + (mx - my) ** 2), 1e-12);
  expect(other.interval.method).toMatch(/linearized/);
  expect(other.options.divisor).toBe('n − 1');
  expectNear(other.details.pearson!, rho, 1e-12);
});

it('leaves each patient out, of two and of three, by either divisor', () => {
  const clusters = [0, 0, 1, 2, 2, 3, 4, 5, 5, 6];
  const rows = clusters.map((_, at) => [20 + ((at * 7) % 10), 21 + ((at * 7) % 10) + (at % 3), 19 + ((at * 6) % 10)]);
  const ratings = ratingsOf(rows, { clusters });
  for (const assessors of [
    ['1', '2'],
    ['3', '1'],
    ['1', '2', '3'],
  ])
    for (const divisor of ['n', 'n − 1'] as const)
      expectJackknife(
        ratings,
        (given) => concordanceCorrelation(given, { assessors, divisor, interval: 'cluster-robust' }),
        'fisher',
      );
  const three = concordanceCorrelation(ratings, { interval: 'cluster-robust' });
  expect(three.statistic).toBe('overall concordance correlation');
  expect(three.details).not.toHaveProperty('pearson');
  expect(three.counts.ratings).toBe(30);
});

refuses([
  ['a divisor', () => concordanceCorrelation(ratingsOf([[1, 2]]), { divisor: 'n + 1' as 'n' }), 'unknown-choice'],
  ['one assessor', () => concordanceCorrelation(ratingsOf([[1], [2]])), 'two-assessors-needed'],
  ['grades', () => concordanceCorrelation(ratingsOf([[1, 2]], { level: 'ordinal' })), 'grades-not-numbers'],
]);

it('complete agreement is 1, without an interval; with a shift alone it has one', () => {
  const rows = [
    [1, 1],
    [3, 3],
    [4, 4],
  ];
  const made = concordanceCorrelation(ratingsOf(rows));
  expect(made.value).toBe(1);
  expect(made.interval.lower).toBeNaN();
  expect(made.notes.map(({ code }) => code)).toContain('no-variation');
  expect(made.details).toMatchObject({ pearson: 1, biasCorrection: 1, locationShift: 0, scaleShift: 1 });
});

import { describe, expect, it } from 'vitest';
import { fleissCoefficient, fleissKappa } from '../../src/agreement/fleiss-kappa.ts';
import { scottPi } from '../../src/agreement/scott-pi.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { keepsTheLaws } from '../support/laws.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of publishedCases('agreement', /^fleiss-1971-diagnoses$|^fleiss-14raters/))
    it(`${one.id}: ${one.source}`, () => {
      const { expected, tolerance } = one;
      const kappa = fleissKappa(ratingsOfCase(one));
      expectNear(kappa.value, expected.kappa, tolerance);
      expectNear(kappa.details.observedAgreement!, expected.po, tolerance);
      expectNear(kappa.details.expectedAgreement!, expected.pe, tolerance);
      expectNear(kappa.details.nullStandardError!, expected.se0_FNL1979, tolerance);
      expected.perCategory.forEach((value: number, code: number) => {
        expectNear(kappa.details[`category ${code}`]!, value, tolerance);
      });
      if ('z' in expected) expectNear(kappa.value / kappa.details.nullStandardError!, expected.z, tolerance);
    });

  it('prints .430 for the diagnoses of Fleiss 1971, doi:10.1037/h0031619', () => {
    const [one] = publishedCases('agreement', /^fleiss-1971-diagnoses$/);
    const kappa = fleissKappa(ratingsOfCase(one!));
    expectPrinted(kappa.value, '0.430');
    // The error for an interval after Gwet is .0542 (Educ Psychol Meas 2021;81:781–790); the null error is less than half of it.
    expectPrinted(kappa.standardError, '0.0542');
  });

  it('15 × 6 counts: .4139265 with error .08119291 (Gwet 2008, doi:10.1348/000711006X126600)', () => {
    const [one] = publishedCases('agreement', /^gwet-15x6-fleiss$/);
    const { expected, tolerance } = one!;
    const kappa = fleissKappa(ratingsOfCase(one!));
    expectNear(kappa.value, expected.coefficient, tolerance);
    expectNear(kappa.standardError, expected.se, tolerance);
    expectNear(kappa.interval.lower, expected.ciLower, tolerance);
    expectNear(kappa.interval.upper, expected.ciUpperUncapped, tolerance);
    expectNear(kappa.details.observedAgreement!, expected.pa, tolerance);
    expectNear(kappa.details.expectedAgreement!, expected.pe, tolerance);
    expect(kappa.counts.targets).toBe(expected.n);
  });

  it('two assessors, three categories, by either divisor', () => {
    const [one] = publishedCases('agreement', /^gwet-3x3-fleiss$/);
    const kappa = fleissKappa(ratingsOfCase(one!));
    expectNear(kappa.value, one!.expected.coefficient, one!.tolerance);
    expectNear(kappa.standardError, one!.expected.seRawConvention_nMinus1, one!.tolerance);
    expectNear(kappa.details.standardErrorDivisorN!, one!.expected.seTableConvention_n, one!.tolerance);
  });

  it('five assessors of 45 patients (first readings; Dawid, Skene 1979, doi:10.2307/2346806)', () => {
    const [one] = publishedCases('agreement', /^multirater-anaesthetists/);
    const kappa = fleissKappa(ratingsOfCase(one!));
    expectNear(kappa.value, one!.expected.fleiss, one!.tolerance);
    expectNear(kappa.details.observedAgreement!, one!.expected.po, one!.tolerance);
    one!.expected.fleissPerCategory.forEach((value: number, at: number) => {
      expectNear(kappa.details[`category ${at + 1}`]!, value, one!.tolerance);
    });
  });

  it('unequal numbers of readings: pair-weighted .2818 is not target-averaged .2250', () => {
    const [one] = publishedCases('agreement', /^fleiss-unequal-pooled/);
    const pooled = fleissKappa(ratingsOfCase(one!), { counting: 'pair-weighted' });
    expectNear(pooled.value, one!.expected.kappa, one!.tolerance);
    expectNear(pooled.details.observedAgreement!, one!.expected.po, one!.tolerance);
    expectNear(pooled.details.expectedAgreement!, one!.expected.pe, one!.tolerance);
    // Both figures stand side by side in the conventions page of the reference cases.
    expectPrinted(fleissKappa(ratingsOfCase(one!)).value, '0.2250');
  });
});

describe('laws', () => {
  for (const weights of ['identity', 'linear', 'quadratic', 'ordinal', 'radical'] as const)
    describe(weights, () => {
      keepsTheLaws((ratings) => fleissKappa(ratings, { weights }), {
        assessors: 3,
        gaps: true,
        lowest: Number.NEGATIVE_INFINITY,
        lessTargets: () => 1,
      });
      hasItsGradient((ratings) => fleissCoefficient(ratings, { weights }));
    });

  describe('pair-weighted', () => {
    keepsTheLaws((ratings) => fleissKappa(ratings, { counting: 'pair-weighted' }), {
      assessors: 3,
      gaps: true,
      lowest: Number.NEGATIVE_INFINITY,
    });
    hasItsGradient((ratings) => fleissCoefficient(ratings, { counting: 'pair-weighted' }));
  });

  it('both ways of counting agree when all targets have the same number of readings', () => {
    const [one] = publishedCases('agreement', /^fleiss-1971-diagnoses$/);
    const averaged = fleissKappa(ratingsOfCase(one!), { weights: 'linear' });
    const pooled = fleissKappa(ratingsOfCase(one!), { weights: 'linear', counting: 'pair-weighted' });
    expect(pooled.value).toBeCloseTo(averaged.value, 12);
    expect(pooled.standardError).toBeCloseTo(averaged.details.standardErrorDivisorN!, 12);
  });

  it('of two assessors without gaps it is Scott’s pi', () => {
    const table = ratingsOfTable(
      [
        [20, 5, 1],
        [3, 15, 4],
        [0, 2, 9],
      ],
      { categories: [0, 1, 2] },
    );
    for (const weights of ['identity', 'quadratic'] as const)
      expect(fleissKappa(table, { weights }).value).toBeCloseTo(scottPi(table, { weights }).value, 12);
  });

  it('is an average of the kappas of its categories, weighted by π(1 − π) (Fleiss 1971)', () => {
    const random = seededRandom(11);
    const rows = Array.from({ length: 40 }, () => {
      const truth = random.below(4);
      return [0, 1, 2].map(() => (random.uniform() < 0.7 ? truth : random.below(4)));
    });
    const kappa = fleissKappa(ratingsOf(rows, { categories: [0, 1, 2, 3] }));
    let top = 0;
    let bottom = 0;
    for (const k of [0, 1, 2, 3]) {
      const p = rows.flat().filter((grade) => grade === k).length / 120;
      top += p * (1 - p) * kappa.details[`category ${k}`]!;
      bottom += p * (1 - p);
    }
    expect(top / bottom).toBeCloseTo(kappa.value, 12);
  });
});

it('gives no null error when targets have unequal numbers of readings', () => {
  expect(
    fleissKappa(
      ratingsOf([
        [0, 1, 1],
        [1, 1, null],
        [0, 0, 0],
      ]),
    ).details.nullStandardError,
  ).toBeNaN();
});

it('is not defined when all readings are alike, or none can be compared', () => {
  for (const rows of [
    [
      [1, 1],
      [1, 1],
    ],
    [
      [1, null],
      [null, 2],
    ],
  ]) {
    const kappa = fleissKappa(ratingsOf(rows));
    expect(kappa.value).toBeNaN();
    expect(kappa.notes.map((note) => note.code)).toContain('not-defined');
  }
});

it('counts a target read once, and excludes one read by nobody', () => {
  const { counts, details } = fleissKappa(
    ratingsOf([
      [0, 0],
      [1, null],
      [1, 1],
      [null, null],
    ]),
  );
  expect(counts).toEqual({ targets: 3, clusters: 3, assessors: 2, ratings: 5, excluded: 1 });
  expect(details.targetsReadTwice).toBe(2);
});

refuses([
  ['measured numbers', () => fleissKappa(ratingsOf([[1.5, 2.5]], { level: 'ratio' })), 'level-not-suited'],
  [
    'graded weights without an order',
    () => fleissKappa(ratingsOf([[0, 1]], { level: 'nominal' }), { weights: 'linear' }),
    'level-not-suited',
  ],
  [
    'an unknown way of counting',
    () => fleissKappa(ratingsOfCounts([[1, 1]], { categories: [0, 1] }), { counting: 'pairs' as 'pair-weighted' }),
    'unknown-choice',
  ],
]);

// Fleiss, Nee, Landis 1979: √(2/(Nm(m − 1))) · √((Σpq)² − Σpq(q − p)) / Σpq of five targets read three times.
it('the null error by the published formula, unweighted only; and a kappa of each category', () => {
  const rows = [
    [0, 0, 1],
    [1, 1, 1],
    [2, 1, 2],
    [0, 0, 0],
    [0, 2, 2],
  ];
  const ratings = ratingsOf(rows, { categories: [0, 1, 2] });
  const p = [0, 1, 2].map((k) => rows.flat().filter((x) => x === k).length / 15);
  const spread = p.reduce((sum, x) => sum + x * (1 - x), 0);
  const skew = p.reduce((sum, x) => sum + x * (1 - x) * (1 - 2 * x), 0);
  const { details } = fleissKappa(ratings);
  expectNear(details.nullStandardError!, (Math.sqrt(2 / (5 * 3 * 2)) * Math.sqrt(spread ** 2 - skew)) / spread, 1e-12);
  expect(fleissKappa(ratings, { weights: 'linear' }).details.nullStandardError).toBeNaN();
  expect(fleissKappa(ratings, { weights: 'linear' }).details).not.toHaveProperty('category 0');
  // One against the others: 1 − Σ nₖ(m − nₖ)/(Nm(m − 1)pq).
  [0, 1, 2].forEach((k) => {
    const apart = rows.reduce((sum, row) => {
      const of = row.filter((x) => x === k).length;
      return sum + of * (3 - of);
    }, 0);
    expectNear(details[`category ${k}`]!, 1 - apart / (5 * 3 * 2 * p[k]! * (1 - p[k]!)), 1e-12);
  });
  const many = (categories: number) =>
    fleissKappa(ratingsOf(rows, { categories: Array.from({ length: categories }, (_, at) => at) })).details;
  expect(many(12)).toHaveProperty('category 11');
  expect(many(13)).not.toHaveProperty('category 0');
});

import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { lightCoefficient, lightKappa } from '../../src/agreement/light-kappa.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { type GradientOptions, hasItsGradient } from '../support/gradient.ts';
import { keepsTheLaws } from '../support/laws.ts';
import { casesBeside, publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of [
    ...publishedCases('agreement', /^multirater-/),
    ...casesBeside('agreement', /^multirater-wine|^light-/),
  ])
    it(`${one.id}: ${one.source}`, () => {
      const { expected, parameters, tolerance } = one;
      const ratings = ratingsOfCase(one);
      const weights = parameters.weights ?? 'identity';
      const kappa = lightKappa(ratings, { weights });
      expectNear(kappa.value, expected.light ?? expected.kappa, tolerance);
      if (expected.pairwise === undefined) return;
      const pairs = [
        ['1', '2'],
        ['1', '3'],
        ['2', '3'],
      ] as const;
      pairs.forEach((assessors, at) => {
        expectNear(cohenKappa(ratings, { weights, assessors }).value, expected.pairwise[at], tolerance);
      });
      expectNear(kappa.details.lowestPair!, Math.min(...expected.pairwise), tolerance);
      expectNear(kappa.details.highestPair!, Math.max(...expected.pairwise), tolerance);
    });

  const [gaps] = casesBeside('agreement', /^light-expsy-pairwise/);
  if (gaps !== undefined)
    it('listwise .5437 is not pairwise .5471 (the conventions page of the reference cases)', () => {
      const ratings = ratingsOfCase(gaps);
      expectPrinted(lightKappa(ratings, { missing: 'listwise' }).value, '0.5437');
      expectPrinted(lightKappa(ratings).value, '0.5471');
    });
});

// A pair that is left out jumps into the mean as soon as its sums make a kappa.
const smooth: GradientOptions<ReturnType<typeof lightCoefficient>> = {
  where: (coefficient, sums) => !coefficient.pairs(sums).some(Number.isNaN),
};

describe('laws', () => {
  for (const weights of ['identity', 'quadratic'] as const)
    describe(weights, () => {
      keepsTheLaws((ratings) => lightKappa(ratings, { weights }), {
        assessors: 3,
        gaps: true,
        lowest: Number.NEGATIVE_INFINITY,
      });
      hasItsGradient((ratings) => lightCoefficient(ratings, { weights }), smooth);
      hasItsGradient((ratings) => lightCoefficient(ratings, { weights, missing: 'listwise' }), smooth);
    });

  it('of two assessors is Cohen’s kappa, error too', () => {
    const ratings = ratingsOf([
      [0, 0],
      [1, 2],
      [2, 2],
      [0, 1],
      [1, 1],
      [2, 2],
    ]);
    const cohen = cohenKappa(ratings, { weights: 'linear' });
    const light = lightKappa(ratings, { weights: 'linear' });
    expect(light.value).toBeCloseTo(cohen.value, 12);
    expect(light.standardError).toBeCloseTo(cohen.standardError, 12);
  });
});

it('leaves out a pair without a kappa and says so', () => {
  const kappa = lightKappa(
    ratingsOf([
      [0, 0, null],
      [1, 1, null],
      [1, 0, null],
      [0, null, 1],
      [1, null, 1],
    ]),
  );
  expect(kappa.details).toMatchObject({ pairs: 3, undefinedPairs: 1 });
  // The first and third: margins (½, ½) and (0, 1), so kappa 0; the first and second: 2 of 3 agree, expected 4/9.
  expect(kappa.value).toBeCloseTo((0 + (2 / 3 - 4 / 9) / (5 / 9)) / 2, 12);
  expect(kappa.notes.map((note) => note.code)).toContain('pairs-left-out');
});

it('is not defined when no pair has a kappa', () => {
  const kappa = lightKappa(ratingsOf([[1, 1, 1]], { categories: [0, 1] }));
  expect(kappa.value).toBeNaN();
  expect(kappa.notes.map((note) => note.code)).toContain('not-defined');
});

refuses([
  ['assessors unknown', () => lightKappa(ratingsOfCounts([[1, 1]], { categories: [0, 1] })), 'assessors-needed'],
  [
    'an unknown way with gaps',
    () => lightKappa(ratingsOf([[0, 1]]), { missing: 'omit' as 'listwise' }),
    'unknown-choice',
  ],
]);

it('says how many pairs were left out, and the lowest and highest of the others', () => {
  const rows = [
    [0, 0, null, 1],
    [1, 1, null, 0],
    [1, 0, null, 1],
    [0, 0, 1, null],
  ];
  const { details, notes, value, counts } = lightKappa(ratingsOf(rows, { categories: [0, 1] }));
  // 1–2: margins (½, ½), (¾, ¼), agreement ¾: kappa ½. 1–4: margins (⅓, ⅔) twice, agreement ⅓: (⅓ − 5/9)/(4/9) = −½. 2–4: (⅔, ⅓), (⅓, ⅔): 0 agree: (0 − 4/9)/(5/9) = −.8. 1–3 and 2–3 share one target, 3–4 none.
  expect(details).toMatchObject({ pairs: 6, undefinedPairs: 1 });
  expect(details.lowestPair).toBeCloseTo(-0.8, 12);
  expect(details.highestPair).toBeCloseTo(0.5, 12);
  expect(value).toBeCloseTo((0.5 - 0.5 - 0.8 + 0 + 0) / 5, 12);
  expect(counts).toMatchObject({ targets: 4, excluded: 0 });
  expect(notes.find(({ code }) => code === 'pairs-left-out')?.message).toMatch(/^1 of 6 /);
  const none = lightKappa(ratingsOf([[1, 1, 1]], { categories: [0, 1] })).details;
  expect([none.lowestPair, none.highestPair, none.undefinedPairs]).toEqual([Number.NaN, Number.NaN, 3]);
});

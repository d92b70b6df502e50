import { describe, expect, it } from 'vitest';
import { bhapkarTest } from '../../src/agreement/bhapkar-test.ts';
import { stuartMaxwellTest } from '../../src/agreement/stuart-maxwell-test.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { fisherF } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { casesBeside, publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('published cases', () => {
  for (const one of [
    ...publishedCases('agreement', /^marginal-|^landis-koch-1977-marginal/),
    ...casesBeside('agreement', /^marginal-/),
  ])
    it(`${one.id}: ${one.source}`, () => {
      const result = bhapkarTest(ratingsOfCase(one));
      expectNear(result.statistic.value, one.expected.bhapkar, one.tolerance);
      expectNear(result.pValue, one.expected.bhapkarP, one.tolerance);
    });

  it('prints 58.47 and 10.54 for the two tables of Landis and Koch 1977, doi:10.2307/2529310', () => {
    const [first, second] = publishedCases('agreement', /^landis-koch-1977-marginal/);
    expectPrinted(bhapkarTest(ratingsOfCase(first!)).statistic.value, '58.47');
    expectPrinted(bhapkarTest(ratingsOfCase(second!)).statistic.value, '10.54');
  });
});

it('is X / (1 − X/n), X the statistic of Stuart and Maxwell', () => {
  for (const one of publishedCases('agreement', /^marginal-/)) {
    const ratings = ratingsOfCase(one);
    const x = stuartMaxwellTest(ratings).statistic.value;
    expectNear(bhapkarTest(ratings).statistic.value, x / (1 - x / ratings.targets), 1e-9);
  }
});

it('with patients gives Hotelling’s p, the same from both covariances where patients have equally many targets', () => {
  const random = seededRandom(12);
  const rows = Array.from({ length: 90 }, () => {
    const truth = random.below(3);
    return [truth, random.uniform() < 0.7 ? truth : random.below(3)];
  });
  const ratings = ratingsOf(rows, { clusters: rows.map((_, at) => at % 30) });
  const wald = bhapkarTest(ratings);
  const score = stuartMaxwellTest(ratings);
  expect(wald.pValue).toBeCloseTo(score.pValue, 10);
  expect(wald.details.denominatorDegrees).toBe(28);
  // Second way: T² = K m̄ᵀ C⁻¹ m̄ of two of the three differences, C with divisor K − 1.
  const d = Array.from({ length: 30 }, (_, patient) =>
    [0, 1].map((k) =>
      rows.reduce((sum, [a, b], at) => sum + (at % 30 === patient ? Number(b === k) - Number(a === k) : 0), 0),
    ),
  );
  const mean = [0, 1].map((k) => d.reduce((sum, row) => sum + row[k]!, 0) / 30);
  const c = (i: number, j: number): number =>
    d.reduce((sum, row) => sum + (row[i]! - mean[i]!) * (row[j]! - mean[j]!), 0) / 29;
  const determinant = c(0, 0) * c(1, 1) - c(0, 1) ** 2;
  const t2 =
    (30 * (mean[0]! ** 2 * c(1, 1) - 2 * mean[0]! * mean[1]! * c(0, 1) + mean[1]! ** 2 * c(0, 0))) / determinant;
  expect(wald.details.F).toBeCloseTo((28 / (2 * 29)) * t2, 9);
  expect(wald.pValue).toBeCloseTo(fisherF.upper((28 / (2 * 29)) * t2, 2, 28), 9);
});

it('with patients lies above Stuart–Maxwell with patients', () => {
  const rows = [
    [0, 1],
    [0, 1],
    [1, 2],
    [1, 1],
    [2, 2],
    [0, 2],
    [1, 0],
    [2, 1],
  ];
  const ratings = ratingsOf(rows, { clusters: ['a', 'a', 'b', 'b', 'c', 'd', 'e', 'f'] });
  expect(bhapkarTest(ratings).statistic.value).toBeGreaterThan(stuartMaxwellTest(ratings).statistic.value);
});

refuses([['three assessors', () => bhapkarTest(ratingsOf([[0, 1, 1]])), 'two-assessors-needed']]);

import { describe, expect, it } from 'vitest';
import { agreementWeights, weightsName } from '../../src/agreement/weights.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { refuses } from '../support/refusals.ts';

const ratings = ratingsOf([[0, 1]], { categories: [0, 1, 4] });
const rows = (weights: Parameters<typeof agreementWeights>[1], of = ratings): number[][] => {
  const table = agreementWeights(of, weights);
  const size = of.categories.length;
  return Array.from({ length: size }, (_, i) => [...table.subarray(i * size, (i + 1) * size)]);
};

// Scores 0, 1, 4: a quarter, three quarters and the whole of the range apart.
describe('by name', () => {
  it.each([
    ['identity', 0, 0, 0],
    ['linear', 0.75, 0, 0.25],
    ['quadratic', 15 / 16, 0, 7 / 16],
    ['radical', 0.5, 0, 1 - Math.sqrt(0.75)],
    // 1 − C(2, 2)/C(3, 2) and 1 − C(3, 2)/C(3, 2).
    ['ordinal', 2 / 3, 0, 2 / 3],
  ] as const)('%s', (name, near, far, middle) => {
    const table = rows(name);
    [
      [1, near, far],
      [near, 1, middle],
      [far, middle, 1],
    ].forEach((row, i) => {
      row.forEach((weight, j) => {
        expect(table[i]![j]).toBeCloseTo(weight, 12);
      });
    });
  });

  it('one category, or one score for all, is no distance', () => {
    expect(rows('linear', ratingsOf([[2, 2]], { categories: [2] }))).toEqual([[1]]);
  });
});

describe('by table', () => {
  const own = [
    [1, 0.5, 0],
    [0.5, 1, 0.5],
    [0, 0.5, 1],
  ];
  it('as given', () => {
    expect(rows(own)).toEqual(own);
    expect([weightsName(own), weightsName('linear')]).toEqual(['own table', 'linear']);
  });
  const changed = (i: number, j: number, weight: number): number[][] =>
    own.map((row, at) => row.map((x, of) => ((at === i && of === j) || (at === j && of === i) ? weight : x)));
  const asked =
    (table: number[][]): (() => unknown) =>
    () =>
      agreementWeights(ratings, table);
  refuses([
    ['two rows of three', asked(own.slice(0, 2)), 'bad-weights'],
    ['a row of two', asked([[1, 0.5], own[1]!, own[2]!]), 'bad-weights'],
    ['more than 1', asked(changed(0, 1, 1.1)), 'bad-weights'],
    ['less than 0', asked(changed(1, 2, -0.1)), 'bad-weights'],
    ['no number', asked(changed(1, 2, Number.NaN)), 'bad-weights'],
    ['a diagonal other than 1', asked(changed(1, 1, 0.9)), 'bad-weights'],
    ['a table that is not its own mirror', asked([[1, 0.4, 0], own[1]!, own[2]!]), 'bad-weights'],
    ['an unknown word', () => agreementWeights(ratings, 'square' as 'linear'), 'unknown-choice'],
  ]);
  it('accepts the bounds, and any table where there is no order', () => {
    expect(rows(changed(0, 1, 1))[0]![1]).toBe(1);
    const nominal = ratingsOf([[0, 1]], { categories: [0, 1, 4], level: 'nominal' });
    expect(rows(own, nominal)).toEqual(own);
    expect(rows('identity', nominal)[0]).toEqual([1, 0, 0]);
  });
});

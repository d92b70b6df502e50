import { describe, expect, it } from 'vitest';
import { oneAgainstOthers, oneCategory } from '../../src/agreement/one-against-others.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { refuses } from '../support/refusals.ts';

describe('one category against the others', () => {
  const ratings = ratingsOf(
    [
      [0, 2],
      [1, null],
      [2, 2],
    ],
    { categories: [0, 1, 2], clusters: ['a', 'b', 'a'], assessors: ['A', 'B'], level: 'ordinal' },
  );
  const one = oneAgainstOthers(ratings, 2);

  it('has two categories, scored 1 and 0, and every reading as one of them', () => {
    expect(one.categories).toEqual([
      { value: 'not 2', words: 'other than 2', score: 0 },
      { value: 2, words: '2', score: 1 },
    ]);
    expect([...one.codes]).toEqual([0, 1, 0, -1, 1, 1]);
    expect([...one.numbers]).toEqual([0, 1, 0, Number.NaN, 1, 1]);
    expect(one.level).toBe('nominal');
  });

  it('keeps targets, patients and assessors', () => {
    expect(one).toMatchObject({ targets: 3, columns: 2, clusters: 2, clustersKnown: true, assessors: ['A', 'B'] });
    expect([...one.clusterOf]).toEqual([0, 1, 0]);
  });
});

describe('the category asked for', () => {
  const two = ratingsOf([['no', 'yes']], { categories: ['no', 'yes'] });
  const three = ratingsOf([[0, 1]], { categories: [0, 1, 2] });
  it('is found by its value; of two it is the second', () => {
    expect(oneCategory(two, undefined, 'test')).toBe(1);
    expect(oneCategory(two, 'no', 'test')).toBe(0);
    expect(oneCategory(three, 0, 'test')).toBe(0);
    expect(oneCategory(three, 2, 'test')).toBe(2);
  });
  refuses([
    ['none of three', () => oneCategory(three, undefined, 'test'), 'category-needed'],
    ['one that is not there', () => oneCategory(three, 3, 'test'), 'unknown-category'],
    ['none of one', () => oneCategory(ratingsOf([[1, 1]], { categories: [1] }), undefined, 'test'), 'category-needed'],
  ]);
});

import { describe, expect, it } from 'vitest';
import {
  assessorsWhoRead,
  centerOfNumbers,
  measuredNumbers,
  readingsOfTarget,
} from '../../src/agreement/measured-numbers.ts';
import { refuseMeasured, refuseUnknownAssessors } from '../../src/agreement/suitable-ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { refuses } from '../support/refusals.ts';

const ratings = ratingsOf([
  [1, null, 4],
  [null, null, null],
  [7, null, null],
  [10, null, 12],
]);

it('the center is the mean of the numbers of the targets that enter', () => {
  expect(centerOfNumbers(ratings, () => true)).toBeCloseTo(34 / 5, 12);
  expect(centerOfNumbers(ratings, (target) => target !== 2)).toBeCloseTo(27 / 4, 12);
  expect(centerOfNumbers(ratings, () => false)).toBe(0);
});

it('counts who read a target, and leaves out who read none of them', () => {
  expect([0, 1, 2, 3].map((target) => readingsOfTarget(ratings, target))).toEqual([2, 0, 1, 2]);
  expect(assessorsWhoRead(ratings).assessors).toEqual(['1', '3']);
  const all = ratingsOf([
    [1, null],
    [null, 2],
  ]);
  expect(assessorsWhoRead(all)).toBe(all);
  const nobody = ratingsOf([[null, null]], { categories: [1] });
  expect(assessorsWhoRead(nobody)).toBe(nobody);
});

describe('numbers pass, grades only where asked for as numbers', () => {
  const of = (level: 'ordinal' | 'interval' | 'ratio' | 'unstated', asked = false): string[] =>
    measuredNumbers(ratingsOf([[1, 2]], { level }), { gradesAsNumbers: asked }, 'test').map(({ code }) => code);
  it('as they are', () => {
    expect(of('interval')).toEqual([]);
    expect(of('ratio', true)).toEqual([]);
    expect(of('unstated')).toEqual([]);
    expect(of('ordinal', true)).toEqual(['grades-as-numbers']);
    const words = ratingsOf([['a', 'b']]);
    expect(measuredNumbers(words, { gradesAsNumbers: true }, 'test').map(({ code }) => code)).toEqual([
      'grades-as-numbers',
    ]);
  });
  refuses([
    ['grades', () => of('ordinal'), 'grades-not-numbers'],
    ['words', () => measuredNumbers(ratingsOf([['a', 'b']]), {}, 'test'), 'grades-not-numbers'],
    [
      'one word among numbers',
      () => measuredNumbers(ratingsOf([[1, 'b']], { categories: [1, 'b'] }), {}, 'test'),
      'grades-not-numbers',
    ],
    [
      'what has no order, even asked for',
      () => measuredNumbers(ratingsOf([[1, 2]], { level: 'nominal' }), { gradesAsNumbers: true }, 'test'),
      'level-not-suited',
    ],
    [
      'an interval where grades are needed',
      () => refuseMeasured(ratingsOf([[1, 2]], { level: 'interval' }), 'test'),
      'level-not-suited',
    ],
    [
      'a ratio where grades are needed',
      () => refuseMeasured(ratingsOf([[1, 2]], { level: 'ratio' }), 'test'),
      'level-not-suited',
    ],
    ['one assessor', () => refuseUnknownAssessors(ratingsOf([[1], [2]]), 'test'), 'assessors-needed'],
    [
      'assessors that are not known',
      () => refuseUnknownAssessors(ratingsOfCounts([[1, 1]], { categories: [0, 1] }), 'test'),
      'assessors-needed',
    ],
  ]);
  it('grades suit grades, and two assessors are enough', () => {
    for (const level of ['nominal', 'ordinal', 'unstated'] as const)
      expect(refuseMeasured(ratingsOf([[1, 2]], { level }), 'test')).toBeUndefined();
    expect(refuseUnknownAssessors(ratingsOf([[1, 2]]), 'test')).toBeUndefined();
  });
});

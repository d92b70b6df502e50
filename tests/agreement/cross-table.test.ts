import { expect, it } from 'vitest';
import { crossTable } from '../../src/agreement/cross-table.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { refuses } from '../support/refusals.ts';

const ratings = ratingsOf(
  [
    [0, 1, 2],
    [0, 0, 2],
    [1, 2, null],
    [2, 2, 0],
    [null, 1, 1],
    [1, null, null],
  ],
  { categories: [0, 1, 2], assessors: ['A', 'B', 'C'], clusters: ['p', 'p', 'q', 'r', 's', 't'] },
);

it('counts who read what of the targets that both have read', () => {
  expect(crossTable(ratings, { assessors: ['A', 'B'] })).toEqual({
    kind: 'cross-table',
    assessors: ['A', 'B'],
    categories: ratings.categories,
    counts: [
      [1, 1, 0],
      [0, 0, 1],
      [0, 0, 1],
    ],
    targets: 4,
    clusters: 3,
    excluded: 2,
  });
});

it('the other way round is its mirror', () => {
  const table = crossTable(ratings, { assessors: ['C', 'A'] });
  expect(table.assessors).toEqual(['C', 'A']);
  expect(table.counts).toEqual([
    [0, 0, 1],
    [0, 0, 0],
    [2, 0, 0],
  ]);
  const mirror = crossTable(ratings, { assessors: ['A', 'C'] });
  expect(mirror.counts).toEqual(table.counts.map((_, i) => table.counts.map((row) => row[i])));
  expect(table).toMatchObject({ targets: 3, clusters: 2, excluded: 3 });
});

refuses([
  ['three assessors and none named', () => crossTable(ratings), 'two-assessors-needed'],
  ['an assessor that is not there', () => crossTable(ratings, { assessors: ['A', 'Z'] }), 'unknown-assessor'],
]);

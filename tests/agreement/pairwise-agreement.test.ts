import { describe, expect, it } from 'vitest';
import { cohenKappa } from '../../src/agreement/cohen-kappa.ts';
import { pairwiseAgreement } from '../../src/agreement/pairwise-agreement.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { casesBeside, publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

for (const one of casesBeside('agreement', /^light-/))
  it(`${one.id}: ${one.source}`, () => {
    const { pairs } = pairwiseAgreement(ratingsOfCase(one), { weights: one.parameters.weights ?? 'identity' });
    pairs.forEach(({ estimate }, at) => {
      expectNear(estimate.value, one.expected.pairwise[at], one.tolerance);
    });
  });

it('gives each pair its own patient-robust interval (case limb-cluster-kappa-limb: quadratic kappa of the first two)', () => {
  const [one] = publishedCases('agreement', /^limb-cluster-kappa-limb$/);
  const all = pairwiseAgreement(ratingsOfCase(one!, 'limb'), { weights: 'quadratic' });
  const first = all.of('2', '1');
  expectNear(first.value, one!.expected.kappa, one!.tolerance);
  expectNear(first.standardError, one!.expected.seDeleteOneClusterJackknife, one!.tolerance);
  expect(first.interval.method).toContain('patient jackknife');
  expect(all.pairs).toHaveLength(3);
});

const ratings = ratingsOf(
  [
    [0, 0, 1],
    [1, 1, 1],
    [2, 2, null],
    [1, 2, 0],
    [0, 0, 0],
  ],
  { assessors: ['A', 'B', 'C'], categories: [0, 1, 2] },
);

it('reads as rows and as a square, in the order of the ratings', () => {
  const all = pairwiseAgreement(ratings);
  expect(all.table.rows.map((row) => row.pair)).toEqual(['A and B', 'A and C', 'B and C']);
  expect(all.table.rows.map((row) => row.targets)).toEqual([5, 4, 4]);
  expect(all.square.rows[0]).toMatchObject({ assessor: 'A', 'with A': null });
  expect(all.square.rows[2]!['with A']).toBe(cohenKappa(ratings, { assessors: ['A', 'C'] }).value);
  expect(all.notes.map((note) => note.code)).toContain('no-ranking');
});

it('takes another coefficient, and leaves an undefined pair undefined', () => {
  const { pairs } = pairwiseAgreement(
    ratingsOf([
      [1, 1, null],
      [1, 1, null],
    ]),
    { coefficient: 'percent-agreement' },
  );
  expect(pairs.map(({ estimate }) => estimate.value)).toEqual([1, Number.NaN, Number.NaN]);
});

refuses([
  ['assessors unknown', () => pairwiseAgreement(ratingsOfCounts([[1, 1]], { categories: [0, 1] })), 'assessors-needed'],
  ['a pair that is not there', () => pairwiseAgreement(ratings).of('A', 'A'), 'unknown-assessor'],
  [
    'an unknown coefficient',
    () => pairwiseAgreement(ratings, { coefficient: 'kappa' as 'cohen-kappa' }),
    'unknown-choice',
  ],
]);

describe('every pair, as if it were alone', () => {
  it('the default is the jackknife where patients are known, else asymptotic', () => {
    const rows = Array.from({ length: 20 }, (_, at) => [
      at % 3,
      (at + (at % 5 === 0 ? 1 : 0)) % 3,
      at % 4 === 0 ? null : at % 3,
    ]);
    const of = (known: boolean, options = {}) =>
      pairwiseAgreement(
        ratingsOf(rows, { categories: [0, 1, 2], ...(known ? { clusters: rows.map((_, at) => at % 10) } : {}) }),
        options,
      );
    expect(of(true).pairs.map(({ estimate }) => estimate.options.interval)).toEqual(
      new Array(3).fill('cluster-robust'),
    );
    expect(of(false).pairs.map(({ estimate }) => estimate.options.interval)).toEqual(new Array(3).fill('asymptotic'));
    const asked = of(true, {
      interval: 'bootstrap',
      replicates: 300,
      coefficient: 'gwet-agreement',
      weights: 'linear',
    });
    expect(asked.pairs[0]!.estimate.options).toMatchObject({ interval: 'bootstrap', replicates: 300 });
    expect(asked.pairs[0]!.estimate.statistic).toBe('Gwet second coefficient, linear weights');
    // Only the targets that both have read count: five were left out by the third.
    expect(of(true).pairs.map(({ estimate }) => estimate.counts.targets)).toEqual([20, 15, 15]);
    expect(of(true).pairs.map(({ estimate }) => estimate.counts.excluded)).toEqual([0, 0, 0]);
    const { table, square, pairs } = of(true);
    expect(table.rows.map(({ value, lower, upper, clusters }) => [value, lower, upper, clusters])).toEqual(
      pairs.map(({ estimate }) => [
        estimate.value,
        estimate.interval.lower,
        estimate.interval.upper,
        estimate.counts.clusters,
      ]),
    );
    expect(square.rows.map((row) => row['with 1'])).toEqual([null, pairs[0]!.estimate.value, pairs[1]!.estimate.value]);
    expect(of(true).of('3', '2').value).toBe(pairs[2]!.estimate.value);
    expect(() => of(true).of('1', '9')).toThrow(/1, 2, 3/);
  });
});

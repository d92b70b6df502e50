import { describe, expect, it } from 'vitest';
import { mcnemarTest } from '../../src/agreement/mcnemar-test.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { chiSquare } from '../../src/shared/distributions.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

const discordant = (b: number, c: number, agree = 0): Ratings =>
  ratingsOfTable(
    [
      [agree, b],
      [c, agree],
    ],
    { categories: ['no', 'yes'] },
  );

describe('published cases', () => {
  for (const one of publishedCases('agreement', /^mcnemar-/))
    it(`${one.id}: ${one.source}`, () => {
      const { expected, tolerance } = one;
      const ratings = discordant(one.data.b, one.data.c);
      const plain = mcnemarTest(ratings);
      expectNear(plain.statistic.value, expected.chi2, tolerance);
      expectNear(plain.pValue, expected.p, tolerance);
      const corrected = mcnemarTest(ratings, { method: 'continuity-corrected' });
      expectNear(corrected.statistic.value, expected.chi2cc, tolerance);
      expectNear(corrected.pValue, expected.pcc, tolerance);
      expectNear(mcnemarTest(ratings, { method: 'exact' }).pValue, expected.exactP, tolerance);
      expectNear(mcnemarTest(ratings, { method: 'mid-p' }).pValue, expected.midP, tolerance);
    });

  it('approval ratings: difference .04 from .021 to .059 (Agresti, Categorical Data Analysis; R 4.2.2 mcnemar.test)', () => {
    const [one] = publishedCases('progression', /^mcnemar-approval$/);
    const { effect, statistic, pValue } = mcnemarTest(ratingsOfTable(one!.data.table, { categories: ['no', 'yes'] }));
    const { expected } = one!;
    expectNear(statistic.value, expected.chi2, 1e-9);
    expectNear(pValue, expected.p, 1e-9);
    expectNear(effect.value, expected.diff, 1e-9);
    expectNear(effect.interval.lower, expected.ciLower, 1e-9);
    expectNear(effect.interval.upper, expected.ciUpper, 1e-9);
  });
});

describe('without discordant pairs', () => {
  it('is not defined, but exact and mid-p are 1', () => {
    const ratings = ratingsOfTable(
      [
        [9, 0],
        [0, 4],
      ],
      { categories: ['no', 'yes'] },
    );
    const plain = mcnemarTest(ratings);
    expect(plain.pValue).toBeNaN();
    expect(plain.notes.map((note) => note.code)).toContain('no-discordant-pairs');
    expect(mcnemarTest(ratings, { method: 'exact' }).pValue).toBe(1);
    expect(mcnemarTest(ratings, { method: 'mid-p' }).pValue).toBe(1);
  });

  it('a balanced table gives 0, also corrected, and p 1', () => {
    for (const method of ['asymptotic', 'continuity-corrected'] as const) {
      const result = mcnemarTest(discordant(7, 7, 3), { method });
      expect(result.statistic.value).toBe(0);
      expect(result.pValue).toBe(1);
    }
    for (const method of ['exact', 'mid-p'] as const) expect(mcnemarTest(discordant(7, 7), { method }).pValue).toBe(1);
  });
});

describe('patients', () => {
  // Three patients with net differences 3, 2 and −1, one without.
  const rows = [
    ...Array.from({ length: 3 }, () => ['no', 'yes', 'p']),
    ...Array.from({ length: 3 }, () => ['no', 'yes', 'q']),
    ['yes', 'no', 'q'],
    ['yes', 'no', 'r'],
    ['yes', 'yes', 's'],
    ['no', 'no', 's'],
  ];
  const ratings = ratingsOf(
    rows.map((row) => row.slice(0, 2)),
    { clusters: rows.map((row) => row[2]!), categories: ['no', 'yes'] },
  );

  it('are the units: (3 + 2 − 1)² / (9 + 4 + 1)', () => {
    const result = mcnemarTest(ratings);
    expect(result.statistic.value).toBeCloseTo(16 / 14, 12);
    expect(result.details).toEqual({ onlyFirst: 2, onlySecond: 6, discordantPatients: 3 });
    expect(result.counts.clusters).toBe(4);
  });

  it('exchange their two assessors in the exact test: 4 of the 8 sums ±3 ±2 ±1 reach 4, the sums 6, 4, −4 and −6', () => {
    expect(mcnemarTest(ratings, { method: 'exact' }).pValue).toBeCloseTo(4 / 8, 12);
    expect(mcnemarTest(ratings, { method: 'mid-p' }).pValue).toBeCloseTo(3 / 8, 12);
  });

  // Two scans of the glands of 21 patients: 7 glands found by the second scan only, 1 by the first only. McNemar's statistic is printed as 4.5,
  // Obuchowski's, which has the factor 20/21, as 2.86 (Durkalski VL and others. Stat Med 2003;22:2417–2428, doi:10.1002/sim.1438). Which patients they
  // fall on was rebuilt from these figures: 36/4.5 = 8 discordant glands, and Σ dₖ² = 12.
  it('glands of 21 patients: 2.86 with the factor 20/21, where glands as units give 4.5', () => {
    const differences = [2, 2, 1, 1, 1, -1, ...new Array<number>(15).fill(0)];
    const pairs = differences.flatMap((d, patient) =>
      d === 0
        ? [{ row: [1, 1], patient }]
        : Array.from({ length: Math.abs(d) }, () => ({ row: d > 0 ? [0, 1] : [1, 0], patient })),
    );
    const of = (options: { clusters?: number[] }): number =>
      mcnemarTest(
        ratingsOf(
          pairs.map(({ row }) => row),
          options,
        ),
      ).statistic.value;
    expectPrinted((20 / 21) * of({ clusters: pairs.map(({ patient }) => patient) }), '2.86');
    expectPrinted(of({}), '4.5');
  });

  it('of one target each give the same as no patients at all', () => {
    const pairs = [
      [0, 1],
      [0, 1],
      [1, 0],
      [0, 1],
      [1, 1],
      [0, 0],
    ];
    for (const method of ['asymptotic', 'exact', 'mid-p'] as const) {
      const alone = mcnemarTest(ratingsOf(pairs), { method });
      const known = mcnemarTest(ratingsOf(pairs, { clusters: pairs.map((_, at) => at) }), { method });
      expect(known.pValue).toBeCloseTo(alone.pValue, 12);
    }
  });
});

it('sets one category of many against the others', () => {
  const ratings = ratingsOf([
    [0, 1],
    [0, 2],
    [1, 2],
    [2, 2],
  ]);
  expect(mcnemarTest(ratings, { category: 0, method: 'exact' }).details).toMatchObject({ onlyFirst: 2, onlySecond: 0 });
  expect(mcnemarTest(ratings, { category: 2 }).effect.value).toBeCloseTo(0.5, 12);
});

it('gives p on both sides: swapping the assessors turns the effect, not p', () => {
  const one = mcnemarTest(discordant(12, 5, 20));
  const other = mcnemarTest(discordant(5, 12, 20));
  expect(other.pValue).toBeCloseTo(one.pValue, 12);
  expect(other.effect.value).toBeCloseTo(-one.effect.value, 12);
});

refuses([
  [
    'three categories and none named',
    () =>
      mcnemarTest(
        ratingsOf([
          [0, 1],
          [2, 1],
        ]),
      ),
    'category-needed',
  ],
  ['a category that is not there', () => mcnemarTest(discordant(1, 2), { category: 'perhaps' }), 'unknown-category'],
  ['three assessors', () => mcnemarTest(ratingsOf([[0, 1, 1]])), 'two-assessors-needed'],
  ['an unknown method', () => mcnemarTest(discordant(1, 2), { method: 'score' as 'exact' }), 'unknown-choice'],
  ['measured numbers', () => mcnemarTest(ratingsOf([[1.5, 2.5]], { level: 'ratio' })), 'level-not-suited'],
]);

/** One patient for each net difference: so many targets that only the second, or only the first, read as yes; and one read alike. */
function ofDifferences(differences: readonly number[]): Ratings {
  const rows = differences.flatMap((d) => [
    ['yes', 'yes'],
    ...Array.from({ length: Math.abs(d) }, () => (d > 0 ? ['no', 'yes'] : ['yes', 'no'])),
  ]);
  return ratingsOf(rows, {
    categories: ['no', 'yes'],
    clusters: differences.flatMap((d, patient) => new Array<number>(1 + Math.abs(d)).fill(patient)),
  });
}

describe('exchange within patients, every sign written out', () => {
  it.each([[[3, 2, -1]], [[1, 1, 1, 1, -1]], [[2, -2, 5]], [[4]], [[1, -1]], [[3, 3, -2, 1, 0, 0, 7]]])(
    '%j',
    (differences) => {
      const total = differences.reduce((sum, d) => sum + d, 0);
      let sums = [0];
      for (const d of differences) sums = sums.flatMap((sum) => [sum + d, sum - d]);
      const share = (accepts: (sum: number) => boolean): number => sums.filter(accepts).length / sums.length;
      const exact = share((sum) => Math.abs(sum) >= Math.abs(total));
      const midP = exact - share((sum) => Math.abs(sum) === Math.abs(total)) / 2;
      const made = mcnemarTest(ofDifferences(differences), { method: 'exact' });
      expectNear(made.pValue, exact, 1e-12);
      expectNear(mcnemarTest(ofDifferences(differences), { method: 'mid-p' }).pValue, total === 0 ? 1 : midP, 1e-12);
      expect(made.statistic).toEqual({ name: 'net discordant targets', value: total });
      expect(made.degreesOfFreedom).toBeNaN();
      expect(made.details).toEqual({
        onlyFirst: differences.reduce((sum, d) => sum + Math.max(0, -d), 0),
        onlySecond: differences.reduce((sum, d) => sum + Math.max(0, d), 0),
        discordantPatients: differences.filter((d) => d !== 0).length,
      });
      const plain = mcnemarTest(ofDifferences(differences));
      const squares = differences.reduce((sum, d) => sum + d * d, 0);
      expectNear(plain.statistic.value, total ** 2 / squares, 1e-12);
      const corrected = mcnemarTest(ofDifferences(differences), { method: 'continuity-corrected' });
      expectNear(corrected.statistic.value, Math.max(0, Math.abs(total) - 1) ** 2 / squares, 1e-12);
      expectNear(corrected.pValue, chiSquare.upper(corrected.statistic.value, 1), 1e-12);
      expect([plain.degreesOfFreedom, corrected.degreesOfFreedom]).toEqual([1, 1]);
      expect(plain.statistic.name).toBe('chi-square');
    },
  );
});

it('says when fewer than ten patients are discordant, of the asymptotic tests alone', () => {
  const codes = (count: number, method: 'asymptotic' | 'exact'): string[] =>
    mcnemarTest(ofDifferences([...new Array<number>(count).fill(1), 0, 0, 0]), { method }).notes.map(
      ({ code }) => code,
    );
  expect(codes(9, 'asymptotic')).toEqual(['few-discordant-pairs']);
  expect(codes(10, 'asymptotic')).toEqual([]);
  expect(codes(9, 'exact')).toEqual([]);
  expect(codes(8, 'exact')).toEqual(['few-patients']);
});

it('nothing read by both is nothing to test, whatever the method', () => {
  const nothing = ratingsOf(
    [
      ['no', null],
      [null, 'yes'],
    ],
    { categories: ['no', 'yes'] },
  );
  for (const method of ['asymptotic', 'continuity-corrected', 'exact', 'mid-p'] as const) {
    const made = mcnemarTest(nothing, { method });
    expect(made.pValue).toBeNaN();
    expect(made.statistic).toEqual({ name: 'chi-square', value: Number.NaN });
    expect(made.notes.map(({ code }) => code)).toEqual(['not-defined', 'patients-not-given']);
    expect(made.options).toMatchObject({ method, category: 'yes' });
  }
});

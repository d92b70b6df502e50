import { describe, expect, it } from 'vitest';
import { superiority } from '../../src/progression/superiority.ts';
import { expectNear } from '../support/expect-near.ts';
import { problemsIn } from '../support/problems-in.ts';

const A = [3, 1, 4, 2, 5, 3, 4];
const B = [2, 1, 3, 2, 4];

describe('independent values', () => {
  it('Cliff 1993: unbiased variance from row, column and cell sums, limits that depend on delta', () => {
    // Signs of each of A against each of B, row by row: 3: + + 0 + −; 1: − 0 − − −; 4: + + + + 0; 2: 0 + − 0 −; 5: all +; 3 and 4 again.
    const signs = A.map((x) => B.map((y) => Math.sign(x - y)));
    expect(signs[0]).toEqual([1, 1, 0, 1, -1]);
    const [m, n] = [7, 5];
    const delta = signs.flat().reduce<number>((sum, sign) => sum + sign, 0) / 35;
    const rows = signs.reduce((sum, row) => sum + (row.reduce<number>((a, b) => a + b, 0) / n - delta) ** 2, 0);
    const columns = B.reduce(
      (sum, _, j) => sum + (signs.reduce((total, row) => total + row[j]!, 0) / m - delta) ** 2,
      0,
    );
    const cells = signs.flat().reduce((sum, sign) => sum + (sign - delta) ** 2, 0);
    const variance = (n ** 2 * rows + m ** 2 * columns - cells) / (m * n * (m - 1) * (n - 1));
    expect(variance).toBeGreaterThan((1 - delta ** 2) / (m * n - 1));
    for (const [level, t] of [
      // t of 10 degrees of freedom at .975 and .9 (any table).
      [0.95, 2.2281388519649385],
      [0.8, 1.3721836411102863],
    ] as const) {
      const result = superiority(A, B, { confidenceLevel: level });
      const root = t * Math.sqrt(variance) * Math.sqrt((1 - delta ** 2) ** 2 + t ** 2 * variance);
      const scale = 1 - delta ** 2 + t ** 2 * variance;
      expect(result).toEqual({
        kind: 'superiority',
        probability: expect.closeTo((1 + delta) / 2, 12),
        delta: expect.closeTo(delta, 12),
        standardError: expect.closeTo(Math.sqrt(variance), 12),
        interval: {
          lower: expect.closeTo((delta - delta ** 3 - root) / scale, 9),
          upper: expect.closeTo((delta - delta ** 3 + root) / scale, 9),
          level,
          method: 'asymmetric (Cliff 1993), t with 10 degrees of freedom',
        },
        counts: { first: 7, second: 5, patients: 12 },
        notes: [],
      });
    }
    expect(superiority(A, B)).toEqual(superiority(A, B, { confidenceLevel: 0.95 }));
  });

  it('the variance is never below (1 − δ²)/(mn − 1)', () => {
    // Three of four pairs rise and one is tied: rows 1 and ½, columns 1 and ½ about δ = ¾; (4 · ⅛ + 4 · ⅛ − ¾)/4 = 1/16, and (1 − 9/16)/3 = 7/48 is more.
    const result = superiority([2, 3], [1, 2]);
    expectNear(result.delta, 3 / 4, 1e-12);
    expectNear(result.standardError, Math.sqrt(7 / 48), 1e-12);
  });

  it('turned round, has the other sign and the limits turned round', () => {
    const one = superiority(A, B);
    const two = superiority(B, A);
    expectNear(two.delta, -one.delta, 1e-12);
    expectNear(two.probability, 1 - one.probability, 1e-12);
    expectNear(two.standardError, one.standardError, 1e-12);
    expectNear(two.interval.lower, -one.interval.upper, 1e-9);
    expectNear(two.interval.upper, -one.interval.lower, 1e-9);
  });

  it('separated groups: error 0, no interval, and how rare that is among all orders', () => {
    // Of the 10 choices of 2 from 5 values the two extreme ones separate: 2/10.
    for (const [one, two, delta] of [
      [[4, 5], [1, 2, 3], 1],
      [[1, 2, 3], [4, 5], -1],
    ] as const) {
      const result = superiority(one, two, { confidenceLevel: 0.9 });
      expect([result.delta, result.probability, result.standardError]).toEqual([delta, (1 + delta) / 2, 0]);
      expect(result.interval).toEqual({ lower: Number.NaN, upper: Number.NaN, level: 0.9, method: 'not defined' });
      expect(result.counts).toEqual({ first: one.length, second: two.length, patients: 5 });
      expect(result.notes).toHaveLength(1);
      expect(result.notes[0]!.code).toBe('complete-separation');
      expect(result.notes[0]!.message).toMatch(/two-sided p would be 0\.20\.$/);
    }
  });
});

it('patients with one value each are no clusters; with two they are', () => {
  const each = superiority([1, 3], [2, 2], {
    patients: [
      ['a', 'b'],
      ['c', 'd'],
    ],
  });
  expect(each.counts.patients).toBe(4);
  expect(each.interval.method).toMatch(/^asymmetric/);
  const both = superiority([1, 3, 4], [2, 2, 3], {
    patients: [
      ['a', 'b', 'c'],
      ['a', 'b', 'c'],
    ],
  });
  expect(both.counts).toEqual({ first: 3, second: 3, patients: 3 });
  expect(both.interval.method).toBe('patient jackknife, t with 2 degrees of freedom, Fisher scale');
  expect(both.notes.map(({ code }) => code)).toEqual(['patients-as-units']);
  // Without a: 3, 4 against 2, 3: three above, one tied, δ = ¾. Without b: 1, 4 against 2, 3: δ = 0. Without c: 1, 3 against 2, 2: 0.
  const without = [3 / 4, 0, 0];
  const error = Math.sqrt((2 / 3) * without.reduce((sum, one) => sum + (one - 1 / 4) ** 2, 0));
  expectNear(both.standardError, error, 1e-12);
  // 1: − − −; 3: + + 0; 4: + + +, so δ = 2/9; t of 2 degrees of freedom at .975 is 4.302653 (any table).
  expectNear(both.delta, 2 / 9, 1e-12);
  const reach = (4.302652729911275 * error) / (1 - (2 / 9) ** 2);
  expectNear(both.interval.lower, Math.tanh(Math.atanh(2 / 9) - reach), 1e-9);
  expectNear(both.interval.upper, Math.tanh(Math.atanh(2 / 9) + reach), 1e-9);
  expect(both.interval.level).toBe(0.95);
});

it('refuses an empty group by its name, and patients that do not fit', () => {
  expect(problemsIn(() => superiority([], [1]))).toEqual(['empty-group first']);
  expect(problemsIn(() => superiority([1], []))).toEqual(['empty-group second']);
  expect(problemsIn(() => superiority([1], [2], { patients: [['a'], []] }))).toEqual(['bad-length options.patients']);
  expect(problemsIn(() => superiority([1], [2], { patients: [[], ['a']] }))).toEqual(['bad-length options.patients']);
});

import { describe, expect, it } from 'vitest';
import { theilSenSlope } from '../../src/progression/theil-sen-slope.ts';
import { expectNear } from '../support/expect-near.ts';
import { problemsIn } from '../support/problems-in.ts';

const T = [1, 2, 4, 7, 11, 12];
const X = [2.5, 2, 3.5, 5, 4, 8];

/** The slopes of all pairs, in order, and the one at a rank between two whole ones. */
function slopes(times: readonly number[], values: readonly number[]) {
  const all = times
    .flatMap((t, i) => times.map((u, j) => (i < j && t !== u ? (values[j]! - values[i]!) / (u - t) : Number.NaN)))
    .filter((slope) => !Number.isNaN(slope))
    .sort((a, b) => a - b);
  const at = (rank: number): number => {
    const low = all[Math.floor(rank) - 1]!;
    return low + (rank - Math.floor(rank)) * ((all[Math.floor(rank)] ?? low) - low);
  };
  return { all, at };
}

const middle = (list: readonly number[]): number => {
  const sorted = [...list].sort((a, b) => a - b);
  return (sorted[Math.floor((sorted.length - 1) / 2)]! + sorted[Math.ceil((sorted.length - 1) / 2)]!) / 2;
};

describe('six visits', () => {
  const { all, at } = slopes(T, X);
  // No ties: Var(S) = 6 · 5 · 17/18; normal quantile of .9 (any table).
  const reach = 1.2815515655446004 * Math.sqrt((6 * 5 * 17) / 18);

  it('every field, ranks interpolated', () => {
    expect(theilSenSlope(T, X, { confidenceLevel: 0.8 })).toEqual({
      kind: 'theil-sen',
      slope: expect.closeTo(middle(all), 12),
      intercept: expect.closeTo(middle(X) - middle(all) * middle(T), 12),
      interval: {
        lower: expect.closeTo(at((15 - reach) / 2), 9),
        upper: expect.closeTo(at((15 + reach) / 2 + 1), 9),
        level: 0.8,
        method: 'Kendall ranks, interpolated',
      },
      slopes: 15,
      notes: [],
    });
  });

  it('ranks rounded', () => {
    const { interval } = theilSenSlope(T, X, { confidenceLevel: 0.8, ranks: 'rounded' });
    expect(interval.method).toBe('Kendall ranks, rounded');
    expectNear(interval.lower, all[Math.round((15 - reach) / 2) - 1]!, 1e-12);
    expectNear(interval.upper, all[Math.round((15 + reach) / 2 + 1) - 1]!, 1e-12);
  });

  it('turned upside down, and back to front, has the slopes with the other sign', () => {
    const usual = theilSenSlope(T, X);
    const down = theilSenSlope(
      T,
      X.map((value) => 10 - value),
    );
    expectNear(down.slope, -usual.slope, 1e-12);
    expectNear(down.intercept, 10 - usual.intercept, 1e-12);
    expectNear(down.interval.lower, -usual.interval.upper, 1e-9);
    expectNear(down.interval.upper, -usual.interval.lower, 1e-9);
    const mixed = theilSenSlope([7, 1, 12, 4, 2, 11], [5, 2.5, 8, 3.5, 2, 4]);
    expect(mixed).toEqual(usual);
    expect(usual.interval.level).toBe(0.95);
  });
});

it('the limits end at the lowest and the highest slope, however few there are', () => {
  // Three slopes 1, 2 and 3, spread √(3 · 2 · 11/18) = 1.91: ranks (3 ∓ 3.75)/2 lie outside.
  const wide = theilSenSlope([0, 1, 2], [0, 1, 4]);
  expect([wide.slope, wide.interval.lower, wide.interval.upper, wide.slopes]).toEqual([2, 1, 3, 3]);
  const rounded = theilSenSlope([0, 1, 2], [0, 1, 4], { ranks: 'rounded' });
  expect([rounded.interval.lower, rounded.interval.upper]).toEqual([1, 3]);
  const one = theilSenSlope([0, 2], [1, 2]);
  expect([one.slope, one.intercept, one.interval.lower, one.interval.upper]).toEqual([0.5, 1, 0.5, 0.5]);
});

it('two figures of one time have no slope between them', () => {
  const { slope, slopes: number } = theilSenSlope([0, 0, 2], [1, 3, 5]);
  expect([slope, number]).toEqual([1.5, 2]);
});

it('is not defined with one time, in every figure', () => {
  expect(theilSenSlope([3, 3], [1, 2], { confidenceLevel: 0.9, ranks: 'rounded' })).toMatchObject({
    kind: 'theil-sen',
    slope: Number.NaN,
    intercept: Number.NaN,
    interval: { lower: Number.NaN, upper: Number.NaN, level: 0.9, method: 'Kendall ranks, rounded' },
    slopes: 0,
    notes: [{ code: 'not-defined' }],
  });
  expect(problemsIn(() => theilSenSlope([1, 2], [1]))).toEqual(['bad-length series.0']);
});

import { describe, expect, it } from 'vitest';
import { intervalCensoredCurve } from '../../src/progression/interval-censored.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { problemsIn } from '../support/problems-in.ts';

const NEVER = Number.POSITIVE_INFINITY;

/** Invented: events at a steady rate, seen at visits every few weeks; some not yet. */
function visits(seed: number, n: number) {
  const random = seededRandom(seed);
  const left: number[] = [];
  const right: (number | null)[] = [];
  for (let limb = 0; limb < n; limb++) {
    const event = -12 * Math.log(1 - random.uniform());
    const gap = 1 + random.below(5);
    const start = random.below(3);
    const end = 20 + random.below(8);
    let before = 0;
    let after: number | null = null;
    for (let visit = start + gap; visit <= end && after === null; visit += gap)
      if (visit < event) before = visit;
      else after = visit;
    left.push(before);
    right.push(after);
  }
  return { left, right };
}

/** Plain EM over all stretches between neighboring ends, however slow, until it stands still. */
function byPlainEm(left: readonly number[], right: readonly (number | null)[]) {
  const ends = right.map((value) => value ?? NEVER);
  const times = [...new Set([...left, ...ends])].sort((a, b) => a - b);
  const cells = times.slice(1).map((end, at) => ({ from: times[at]!, to: end }));
  const within = left.map((from, at) =>
    cells.flatMap((cell, j) => (cell.from >= from && cell.to <= ends[at]! ? [j] : [])),
  );
  let shares = cells.map(() => 1 / cells.length);
  let logLikelihood = 0;
  for (let round = 0; round < 20_000; round++) {
    const next = cells.map(() => 0);
    logLikelihood = 0;
    for (const own of within) {
      let chance = 0;
      for (const j of own) chance += shares[j]!;
      for (const j of own) next[j]! += shares[j]! / chance / left.length;
      logLikelihood += Math.log(chance);
    }
    shares = next;
  }
  return { cells, shares, logLikelihood };
}

describe('by hand', () => {
  it('two overlapping intervals meet in their overlap', () => {
    const curve = intervalCensoredCurve([0, 2], [3, 5]);
    expect(curve).toMatchObject({
      kind: 'interval-censored-curve',
      stretches: [{ left: 2, right: 3, share: 1 }],
      counts: { entries: 2, events: 2 },
      logLikelihood: 0,
      converged: true,
    });
    expect(curve.optimality).toBeCloseTo(1, 12);
    expect(curve.notes.map(({ code }) => code)).toEqual(['between-visits']);
    expect(Object.keys(curve).sort()).toEqual(
      ['kind', 'stretches', 'counts', 'logLikelihood', 'converged', 'optimality', 'notes', 'survival'].sort(),
    );
  });

  it('an interval that ends where another begins does not meet it: ends are closed on the right, open on the left', () => {
    const { stretches, logLikelihood } = intervalCensoredCurve([0, 3, 3], [3, 4, 6]);
    expect(stretches.map(({ left, right }) => [left, right])).toEqual([
      [0, 3],
      [3, 4],
    ]);
    expectNear(stretches[0]!.share, 1 / 3, 1e-12);
    expectNear(stretches[1]!.share, 2 / 3, 1e-12);
    expectNear(logLikelihood, Math.log(1 / 3) + 2 * Math.log(2 / 3), 1e-12);
  });

  it('a share that the likelihood does not want is exactly none', () => {
    // (0, 2] holds one alone, (1, 3] overlaps both: all of the middle interval goes to the ends, in proportion 1 : 1.
    const { stretches } = intervalCensoredCurve([0, 0, 1, 2, 2], [1, 2, 3, 3, 4]);
    // Stretches (0, 1] and (2, 3]: two and three of five lie in one of them.
    expect(stretches.map(({ left, right, share }) => [left, right, Math.round(share * 1e9) / 1e9])).toEqual([
      [0, 1, 0.4],
      [2, 3, 0.6],
    ]);
  });

  it('nobody seen with it: all of it lies beyond the last visit', () => {
    const curve = intervalCensoredCurve([3, 5, 4], [null, null, NEVER]);
    expect(curve.stretches).toEqual([{ left: 5, right: NEVER, share: 1 }]);
    expect(curve.counts).toEqual({ entries: 3, events: 0 });
    expect(curve.survival(5)).toEqual({ lowest: 1, highest: 1 });
  });

  it('the share without the event steps from one end of a stretch to the other', () => {
    const curve = intervalCensoredCurve([0, 4, 8, 9], [2, 6, null, null]);
    expect(curve.stretches.map(({ left, right }) => [left, right])).toEqual([
      [0, 2],
      [4, 6],
      [9, NEVER],
    ]);
    const at = (time: number): number[] => {
      const { lowest, highest } = curve.survival(time);
      return [lowest, highest].map((share) => Math.round(share * 1e9) / 1e9);
    };
    expect(at(0)).toEqual([1, 1]);
    expect(at(1)).toEqual([0.75, 1]);
    expect(at(2)).toEqual([0.75, 0.75]);
    expect(at(4)).toEqual([0.75, 0.75]);
    expect(at(5)).toEqual([0.5, 0.75]);
    expect(at(6)).toEqual([0.5, 0.5]);
    expect(at(100)).toEqual([0, 0.5]);
  });
});

describe('against plain EM over every stretch between two ends', () => {
  it.each([
    [1, 12],
    [2, 25],
    [3, 40],
    [4, 60],
    [5, 25],
  ])('seed %i, %i limbs', (seed, n) => {
    const { left, right } = visits(seed, n);
    const curve = intervalCensoredCurve(left, right);
    const slow = byPlainEm(left, right);
    expectNear(curve.logLikelihood, slow.logLikelihood, 1e-7);
    expect(curve.logLikelihood).toBeGreaterThanOrEqual(slow.logLikelihood - 1e-12);
    expect(curve.converged).toBe(true);
    expect(curve.counts).toEqual({ entries: n, events: right.filter((value) => value !== null).length });
    expectNear(
      curve.stretches.reduce((sum, { share }) => sum + share, 0),
      1,
      1e-12,
    );
    slow.cells.forEach(({ from, to }, j) => {
      const share = curve.stretches.find((stretch) => stretch.left === from && stretch.right === to)?.share ?? 0;
      expect(Math.abs(share - slow.shares[j]!)).toBeLessThan(2e-4);
    });
    // At the maximum (1/n) Σ 1/P(own interval) over the entries that hold a stretch is 1 where the share is positive: all digits of it.
    const chance = left.map((from, at) =>
      curve.stretches.reduce(
        (sum, stretch) => sum + (stretch.left >= from && stretch.right <= (right[at] ?? NEVER) ? stretch.share : 0),
        0,
      ),
    );
    for (const stretch of curve.stretches) {
      const slope = left.reduce(
        (sum, from, at) =>
          sum + (stretch.left >= from && stretch.right <= (right[at] ?? NEVER) ? 1 / (n * chance[at]!) : 0),
        0,
      );
      expectNear(slope, 1, 1e-12);
    }
    expectNear(
      curve.logLikelihood,
      chance.reduce((sum, one) => sum + Math.log(one), 0),
      1e-12,
    );
    expectNear(curve.optimality, 1, 1e-9);
  });
});

it('does not depend on the order of the entries, and twice the entries are the same curve', () => {
  const { left, right } = visits(6, 30);
  const curve = intervalCensoredCurve(left, right);
  const back = intervalCensoredCurve([...left].reverse(), [...right].reverse());
  const twice = intervalCensoredCurve([...left, ...left], [...right, ...right]);
  expectNear(twice.logLikelihood, 2 * curve.logLikelihood, 1e-12);
  curve.stretches.forEach(({ share }, at) => {
    expectNear(back.stretches[at]!.share, share, 1e-12);
    expectNear(twice.stretches[at]!.share, share, 1e-12);
  });
});

it('refuses ends that are none', () => {
  expect(problemsIn(() => intervalCensoredCurve([], []))).toEqual(['bad-length right']);
  expect(problemsIn(() => intervalCensoredCurve([1], [2, 3]))).toEqual(['bad-length right']);
  expect(problemsIn(() => intervalCensoredCurve([0, 2], [1, 2]))).toEqual(['bad-interval left.1']);
  expect(problemsIn(() => intervalCensoredCurve([-1], [2]))).toEqual(['bad-interval left.0']);
  expect(problemsIn(() => intervalCensoredCurve([Number.NaN], [2]))).toEqual(['bad-interval left.0']);
  expect(intervalCensoredCurve([0], [1]).stretches).toEqual([{ left: 0, right: 1, share: 1 }]);
});

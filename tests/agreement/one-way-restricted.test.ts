import { describe, expect, it } from 'vitest';
import { type GroupsOfSize, oneWayRestricted, oneWayRestrictedSums } from '../../src/agreement/one-way-restricted.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { restrictedCriterion } from '../support/restricted-criterion.ts';

const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;

/** Groups of numbers as sums by size, and the squares within. */
function sumsOf(groups: readonly (readonly number[])[]): { bySize: GroupsOfSize[]; within: number } {
  const sizes = [...new Set(groups.map(({ length }) => length))].sort((a, b) => a - b);
  return {
    bySize: sizes.map((size) => {
      const own = groups.filter(({ length }) => length === size);
      return {
        size,
        groups: own.length,
        total: own.reduce((sum, group) => sum + size * mean(group), 0),
        squares: own.reduce((sum, group) => sum + size * mean(group) ** 2, 0),
      };
    }),
    within: groups.reduce((sum, group) => sum + group.reduce((inner, x) => inner + (x - mean(group)) ** 2, 0), 0),
  };
}

describe('is where the likelihood is highest, whatever the groups', () => {
  it.each(Array.from({ length: 10 }, (_, at) => at + 1))('seed %i', (seed) => {
    const random = seededRandom(seed);
    for (let study = 0; study < 5; study++) {
      const spread = [0, 0.5, 3][random.below(3)]!;
      const groups = Array.from({ length: 3 + random.below(5) }, () => {
        const level = 10 + spread * random.normal();
        return Array.from({ length: 1 + random.below(4) }, () => level + random.normal());
      });
      const { bySize, within } = sumsOf(groups);
      const found = oneWayRestricted(bySize, within);
      const y = groups.flat();
      if (y.length <= groups.length + 1) continue;
      const group = groups.flatMap((own, at) => own.map(() => at));
      const nobody = y.map(() => 0);
      const at = (between: number, residual: number): number =>
        restrictedCriterion(y, group, nobody, [between, 0, residual]);
      const own = at(found.between, found.within);
      expect(found.between).toBeGreaterThanOrEqual(0);
      for (const ratio of [0, ...Array.from({ length: 40 }, (_, step) => 2 ** (step / 2 - 10))])
        for (const scale of [0.9, 1, 1.1]) {
          const residual = scale * found.within;
          expect(own).toBeLessThan(at(ratio * residual, residual) + 1e-9);
        }
      for (const near of [0.999, 1.001]) {
        expect(own).toBeLessThan(at(near * found.between, found.within) + 1e-12);
        expect(own).toBeLessThan(at(found.between, near * found.within));
      }
      // The mean by its definition: groups weighted by the inverse of their variance.
      const weights = groups.map(({ length }) => 1 / (found.between + found.within / length));
      const all = weights.reduce((sum, w) => sum + w, 0);
      expectNear(found.mean, groups.reduce((sum, own_, g) => sum + weights[g]! * mean(own_), 0) / all, 1e-9);
    }
  });
});

it('balanced: the analysis of variance, or the plain variance where that is negative', () => {
  const of = (groups: number[][]) => {
    const { bySize, within } = sumsOf(groups);
    return oneWayRestricted(bySize, within);
  };
  // Means 2, 5, 8: MS between 18, within 2: (18 − 2)/2.
  const apart = of([
    [1, 3],
    [4, 6],
    [7, 9],
  ]);
  expectNear(apart.between, 8, 1e-9);
  expectNear(apart.within, 2, 1e-9);
  expectNear(apart.mean, 5, 1e-12);
  const alike = of([
    [1, 9],
    [2, 8],
    [9, 1],
  ]);
  expect(alike.between).toBe(0);
  expectNear(alike.within, (2 * 16 + 2 * 9 + 2 * 16) / 5, 1e-9);
});

it('is not defined for one group, or where every group has one number', () => {
  for (const groups of [[[1, 2, 3]], [[1], [2], [5]]]) {
    const { bySize, within } = sumsOf(groups);
    expect(Object.values(oneWayRestricted(bySize, within)).every(Number.isNaN)).toBe(true);
  }
  const { bySize, within } = sumsOf([[1, 2], [4]]);
  expect(oneWayRestricted(bySize, within).within).toBeGreaterThan(0);
});

it('of readings: each target a group of those it has, wherever they lie', () => {
  const rows = [
    [1, 3, null],
    [null, 4, 5],
    [8, 9, 7],
    [null, null, null],
    [6, null, null],
  ];
  const { bySize, within } = sumsOf([[1, 3], [4, 5], [8, 9, 7], [6]]);
  const plain = oneWayRestricted(bySize, within);
  for (const offset of [0, 1e6]) {
    const ratings = ratingsOf(rows.map((row) => row.map((x) => (x === null ? null : x + offset))));
    const sums = oneWayRestrictedSums(ratings);
    const totals = new Float64Array(sums.cells);
    expect(rows.map((_, target) => sums.add(target, totals, 0))).toEqual([true, true, true, false, true]);
    const fit = sums.fit(totals);
    expectNear(fit.between, plain.between, 1e-8);
    expectNear(fit.within, plain.within, 1e-8);
    expectNear(fit.mean - offset, plain.mean, 1e-8);
  }
});

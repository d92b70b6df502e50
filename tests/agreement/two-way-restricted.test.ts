import { describe, expect, it } from 'vitest';
import { restrictedSums } from '../../src/agreement/two-way-restricted.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { restrictedCriterion } from '../support/restricted-criterion.ts';

function componentsOf(rows: (number | null)[][]) {
  const sums = restrictedSums(ratingsOf(rows, { level: 'interval' }));
  const totals = new Float64Array(sums.cells);
  rows.forEach((_, target) => sums.add(target, totals, 0));
  return sums.components(totals);
}

// Readings of a target lie further apart than those of an assessor and of all, so both variances are 0 and what is left is a sample
// with one mean: Σ(x − x̄)²/(N − 1).
it('with both variances on the edge they are exactly 0 and the residual is the plain variance', () => {
  const rows = [
    [1, 4],
    [4, 1],
    [1, 4],
    [4, 1],
    [null, 2.5],
  ];
  const { target, assessor, residual } = componentsOf(rows);
  expect(target).toBe(0);
  expect(assessor).toBe(0);
  expectNear(residual, (8 * 1.5 ** 2) / 8, 1e-12);
});

/**
 * The likelihood over a grid of both variances, zero among them, each with the residual variance that suits it best: the lowest criterion, and
 * whether it lies where a variance is largest. There it falls on without end: targets and assessors explain every reading.
 */
function lowestOnGrid(
  y: readonly number[],
  target: readonly number[],
  assessor: readonly number[],
): { lowest: number; isAtEnd: boolean } {
  const degrees = y.length - 1;
  const ratios = [0, ...Array.from({ length: 25 }, (_, at) => 2 ** (0.6 * at - 7))];
  const last = ratios.at(-1);
  let lowest = Number.POSITIVE_INFINITY;
  let isAtEnd = false;
  for (const a of ratios)
    for (const b of ratios) {
      // At residual variance v the criterion is c + (N − 1) ln v + S/v: two values give S and c.
      const [one, two] = [1, 2].map((v) => restrictedCriterion(y, target, assessor, [a * v, b * v, v]));
      const squares = 2 * (one! - two! + degrees * Math.LN2);
      const criterion = one! - squares + degrees * Math.log(squares / degrees) + degrees;
      if (!(criterion < lowest)) continue;
      lowest = criterion;
      isAtEnd = a === last || b === last;
    }
  return { lowest, isAtEnd };
}

describe('is where the likelihood is highest, whatever the readings', () => {
  it.each(Array.from({ length: 12 }, (_, at) => at + 1))('seed %i', (seed) => {
    const random = seededRandom(seed);
    let compared = 0;
    for (let study = 0; study < 6; study++) {
      const assessors = 2 + random.below(3);
      const [spread, habits] = [random.below(3), random.below(3)];
      const steady = Array.from({ length: assessors }, () => Math.round(2 * habits * random.normal()));
      const rows = Array.from({ length: 4 + random.below(4) }, () => {
        const level = Math.round(2 * spread * random.normal());
        return steady.map((habit) => (random.uniform() < 0.25 ? null : level + habit + random.below(4)));
      });
      const [y, target, assessor]: [number[], number[], number[]] = [[], [], []];
      rows.forEach((row, t) => {
        row.forEach((x, j) => {
          if (x === null) return;
          y.push(x);
          target.push(t);
          assessor.push(j);
        });
      });
      const found = componentsOf(rows);
      if (Number.isNaN(found.residual) || found.residual === 0) continue;
      const { lowest, isAtEnd } = lowestOnGrid(y, target, assessor);
      if (isAtEnd) continue;
      compared++;
      const at = (...of: readonly [number, number, number]): number => restrictedCriterion(y, target, assessor, of);
      const own = at(found.target, found.assessor, found.residual);
      // The place itself, not only near it: a step of two millionths of a variance to either side is no better.
      for (const near of [1 - 2e-6, 1 + 2e-6]) {
        expect(own).toBeLessThan(at(near * found.target, found.assessor, found.residual) + 2e-12);
        expect(own).toBeLessThan(at(found.target, near * found.assessor, found.residual) + 2e-12);
        expect(own).toBeLessThan(at(found.target, found.assessor, near * found.residual) + 2e-12);
      }
      expect(own).toBeLessThan(lowest + 1e-7);
      expect(found.target).toBeGreaterThanOrEqual(0);
      expect(found.assessor).toBeGreaterThanOrEqual(0);
    }
    expect(compared).toBeGreaterThan(1);
  });
});

// A search from near 0 ends on the edge here, where the likelihood is lower.
it('keeps the higher of what two searches find', () => {
  const { target, assessor, residual } = componentsOf([
    [3, null, 3],
    [1, 3, null],
    [4, 3, 1],
    [null, -1, null],
    [4, 3, null],
  ]);
  expect(target).toBeGreaterThan(0);
  expect(assessor).toBe(0);
  // With the assessors on the edge it is the one-way likelihood, here by its own fit.
  const groups = [[3, 3], [1, 3], [4, 3, 1], [-1], [4, 3]];
  const y = groups.flat();
  const group = groups.flatMap((own, at) => own.map(() => at));
  const nobody = y.map(() => 0);
  const at = (between: number, within: number): number => restrictedCriterion(y, group, nobody, [between, 0, within]);
  expect(at(target, residual)).toBeLessThan(at(0, 2.488888888888889));
  for (const near of [0.999, 1.001]) expect(at(target, residual)).toBeLessThan(at(near * target, residual));
});

it('needs two readings more than there are assessors', () => {
  expect(
    componentsOf([
      [1, 2],
      [3, null],
    ]).residual,
  ).toBeNaN();
  // By hand: means 1.5, 4 and 2, 3.5; mean squares 6.25, 2.25 and .25.
  const { target, assessor, residual } = componentsOf([
    [1, 2],
    [3, 5],
  ]);
  expectNear(target, (6.25 - 0.25) / 2, 1e-7);
  expectNear(assessor, (2.25 - 0.25) / 2, 1e-7);
  expectNear(residual, 0.25, 1e-7);
  expect(
    componentsOf([
      [1, null],
      [3, null],
      [4, null],
      [6, null],
    ]).target,
  ).toBeNaN();
  expect(
    componentsOf([
      [1, null],
      [null, 3],
      [4, null],
      [null, 6],
      [2, null],
    ]).target,
  ).toBeNaN();
});

// Every reading is the sum of a target's and an assessor's value, with readings to spare: a residual ever smaller makes the likelihood ever
// higher, though it may have a maximum elsewhere. With one reading moved by a half it is defined.
it.each([
  [
    [
      [null, 2],
      [0, 4],
      [0, 4],
      [null, null],
    ],
  ],
  [
    [
      [0, 8],
      [0, 8],
      [1, null],
      [null, 6],
    ],
  ],
  [
    [
      [5, 3],
      [5, 3],
      [3, null],
      [2, null],
    ],
  ],
  [
    [
      [1, 3, 4],
      [2, 4, null],
      [7, null, 10],
      [null, 1, 2],
    ],
  ],
])('is not defined where targets and assessors explain every reading: %j', (rows) => {
  expect(componentsOf(rows).residual).toBeNaN();
  const moved = componentsOf(rows.map((row, t) => row.map((x, j) => (t === 1 && j === 1 && x !== null ? x + 0.5 : x))));
  expect(moved.residual).toBeGreaterThan(0);
});

it('agreement throughout: the variance of the values, wherever they lie', () => {
  const rows = [
    [1, 1, null],
    [4, 4, 4],
    [null, 6, 6],
    [2, null, null],
  ];
  for (const offset of [0, 1000]) {
    const { target, assessor, residual } = componentsOf(
      rows.map((row) => row.map((x) => (x === null ? null : x + offset))),
    );
    // Σ(v − v̄)²/(n − 1) of 1, 4, 6, 2.
    expectNear(target, 59 / 12, 1e-9);
    expect([assessor, residual]).toEqual([0, 0]);
  }
});

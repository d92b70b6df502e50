import { expect, it } from 'vitest';
import { agreementCoefficient } from '../../src/agreement/agreement-coefficient.ts';
import { clusterSums } from '../../src/agreement/coefficient.ts';
import { crossTable } from '../../src/agreement/cross-table.ts';
import { krippendorffAlpha } from '../../src/agreement/krippendorff-alpha.ts';
import { alikeReadings } from '../../src/ratings/alike-readings.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';

/** Three patients, each with an odd number of limbs read by two, one reading in ten missing. */
function manyLimbs(limbs: number): { ratings: Ratings; rows: (number | null)[][]; patients: number[] } {
  const random = seededRandom(4);
  const rows: (number | null)[][] = [];
  const patients: number[] = [];
  for (let patient = 0; patient < 3; patient++)
    for (let limb = 0; limb < limbs; limb++) {
      rows.push([0, 0].map(() => (random.below(10) === 0 ? null : random.below(3))));
      patients.push(patient);
    }
  return { ratings: ratingsOf(rows, { clusters: patients, categories: [0, 1, 2] }), rows, patients };
}

it('every target is counted once, with its patient and its readings', () => {
  const { ratings } = manyLimbs(101);
  const { codes, clusterOf, targets, times } = alikeReadings(ratings);
  const counted = new Map<string, number>();
  for (let target = 0; target < ratings.targets; target++) {
    const key = `${ratings.clusterOf[target]}: ${ratings.codes[2 * target]}, ${ratings.codes[2 * target + 1]}`;
    counted.set(key, (counted.get(key) ?? 0) + 1);
  }
  expect(targets).toBe(counted.size);
  expect(targets).toBeLessThan(49);
  for (let at = 0; at < targets; at++)
    expect(times![at]).toBe(counted.get(`${clusterOf[at]}: ${codes[2 * at]}, ${codes[2 * at + 1]}`));
  expect(alikeReadings(ratings)).toBe(alikeReadings(ratings));
});

it('each target stands for itself where three read, or where there are hardly more targets than ways of being read', () => {
  const few = manyLimbs(20).ratings;
  expect(alikeReadings(few)).toMatchObject({ codes: few.codes, targets: 60, times: undefined });
  const three = ratingsOf(
    Array.from({ length: 900 }, () => [0, 1, 1]),
    {
      clusters: Array.from({ length: 900 }, () => 1),
      categories: [0, 1],
    },
  );
  expect(alikeReadings(three).times).toBeUndefined();
});

it.each(['cohen-kappa', 'krippendorff-alpha'] as const)('sums of %s are those of adding target by target', (name) => {
  const { ratings } = manyLimbs(101);
  const coefficient = agreementCoefficient(name).coefficient(
    ratings,
    name === 'cohen-kappa' ? { weights: 'linear' } : { metric: 'ordinal' },
  );
  const { addFrom, ...plain } = coefficient;
  expect(addFrom).toBeDefined();
  expect(clusterSums(ratings, coefficient)).toEqual(clusterSums(ratings, plain));
});

it('cross-table and pairable readings are those of the rows', () => {
  const { ratings, rows } = manyLimbs(101);
  const both = rows.filter(([a, b]) => a !== null && b !== null);
  const table = crossTable(ratings);
  expect(table.targets).toBe(both.length);
  expect(table.clusters).toBe(3);
  for (const a of [0, 1, 2])
    for (const b of [0, 1, 2])
      expect(table.counts[a]![b]).toBe(both.filter(([first, second]) => first === a && second === b).length);
  expect(krippendorffAlpha(ratings, { metric: 'ordinal' }).counts.ratings).toBe(2 * both.length);
});

import fc from 'fast-check';
import { expect, it } from 'vitest';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import type { Estimate } from '../../src/shared/estimate.ts';

type Rows = (number | null)[][];

export interface LawOptions {
  readonly assessors?: number;
  readonly gaps?: boolean;
  readonly lowest?: number;
  /** Reversing the scale leaves the coefficient as it is (not so for the ratio metric). */
  readonly reversible?: boolean;
  /** Swapping assessors leaves it as it is. */
  readonly swappable?: boolean;
  /** Every target seen twice leaves the value as it is (alpha's small-sample term changes). */
  readonly duplicable?: boolean;
  /** The asymptotic variance is divided by the targets less these. */
  readonly lessTargets?: (estimate: Estimate) => number;
}

const CATEGORIES = [0, 1, 2, 3];

/** The laws that every coefficient of agreement must keep, as properties over generated readings. */
export function keepsTheLaws(coefficient: (ratings: Ratings) => Estimate, options: LawOptions = {}): void {
  const {
    assessors = 2,
    gaps = false,
    lowest = -1,
    reversible = true,
    swappable = true,
    duplicable = true,
    lessTargets = () => 0,
  } = options;
  const reading = gaps
    ? fc.option(fc.constantFrom(...CATEGORIES), { nil: null, freq: 4 })
    : fc.constantFrom(...CATEGORIES);
  const rows: fc.Arbitrary<Rows> = fc.array(fc.array(reading, { minLength: assessors, maxLength: assessors }), {
    minLength: 4,
    maxLength: 25,
  });
  const coefficientOf = (given: Rows): number => coefficient(ratingsOf(given, { categories: CATEGORIES })).value;
  const same = (a: number, b: number): void => {
    if (Number.isNaN(a)) expect(b).toBeNaN();
    else expect(b).toBeCloseTo(a, 9);
  };
  it('lies in its range, and is 1 when all agree', () => {
    fc.assert(
      fc.property(rows, (given) => {
        const value = coefficientOf(given);
        if (Number.isNaN(value)) return;
        expect(value).toBeLessThanOrEqual(1 + 1e-12);
        expect(value).toBeGreaterThanOrEqual(lowest - 1e-12);
      }),
    );
    same(1, coefficientOf([0, 1, 2, 3, 1].map((grade) => new Array<number>(assessors).fill(grade))));
  });
  it('does not depend on the order of the targets', () => {
    fc.assert(fc.property(rows, (given) => same(coefficientOf(given), coefficientOf([...given].reverse()))));
  });
  if (swappable)
    it('does not depend on the order of the assessors', () => {
      fc.assert(
        fc.property(rows, (given) => same(coefficientOf(given), coefficientOf(given.map((row) => [...row].reverse())))),
      );
    });
  if (reversible)
    it('does not change when the scale is turned round', () => {
      fc.assert(
        fc.property(rows, (given) =>
          same(
            coefficientOf(given),
            coefficientOf(given.map((row) => row.map((grade) => (grade === null ? null : 3 - grade)))),
          ),
        ),
      );
    });
  if (duplicable)
    it('keeps its value and divides its asymptotic error by √2 when every target is seen twice', () => {
      fc.assert(
        fc.property(rows, (given) => {
          const once = coefficient(ratingsOf(given, { categories: CATEGORIES }));
          const twice = coefficient(ratingsOf([...given, ...given], { categories: CATEGORIES }));
          same(once.value, twice.value);
          const { targets } = once.counts;
          if (!(once.standardError > 0) || targets < 3) return;
          const less = lessTargets(once);
          const ratio = Math.sqrt((targets - less) / (2 * targets - less));
          expect(twice.standardError / once.standardError).toBeCloseTo(ratio, 6);
        }),
      );
    });
}

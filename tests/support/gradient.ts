import fc from 'fast-check';
import { expect, it } from 'vitest';
import { type Coefficient, clusterSums } from '../../src/agreement/coefficient.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';

export interface GradientOptions<C extends Coefficient> {
  readonly assessors?: number;
  readonly gaps?: boolean;
  /** What the gradient belongs to, where that is not `value` itself. */
  readonly of?: (coefficient: C, sums: Float64Array) => number;
  /** Where the value is smooth in its sums; default everywhere it is defined. */
  readonly where?: (coefficient: C, sums: Float64Array) => boolean;
}

const CATEGORIES = [0, 1, 2, 3];

/**
 * Two properties over generated readings: the gradient equals central differences of the value, and (Euler) its product with the
 * sums is 0, since doubling all sums must leave the value as it is.
 */
export function hasItsGradient<C extends Coefficient>(
  coefficientOf: (ratings: Ratings) => C,
  options: GradientOptions<C> = {},
): void {
  const {
    assessors = 3,
    gaps = true,
    of = (coefficient, sums) => coefficient.value(sums),
    where = () => true,
  } = options;
  const reading = gaps
    ? fc.option(fc.constantFrom(...CATEGORIES), { nil: null, freq: 4 })
    : fc.constantFrom(...CATEGORIES);
  const rows = fc.array(fc.array(reading, { minLength: assessors, maxLength: assessors }), {
    minLength: 6,
    maxLength: 25,
  });
  it('its gradient is that of its value, and its value does not change when all sums are doubled', () => {
    let checked = 0;
    fc.assert(
      fc.property(rows, (given) => {
        const ratings = ratingsOf(given, { categories: CATEGORIES });
        const coefficient = coefficientOf(ratings);
        const { totals } = clusterSums(ratings, coefficient);
        if (Number.isNaN(coefficient.value(totals)) || !where(coefficient, totals)) return;
        const gradient = coefficient.gradient(totals);
        const size = Math.max(1, ...gradient.map(Math.abs));
        let alongSums = 0;
        for (let cell = 0; cell < totals.length; cell++) {
          // A sum of 0 stays: the value may be defined on one side of it only (an assessor without readings).
          if (totals[cell] === 0) continue;
          const step = 1e-5 * Math.max(1, totals[cell]!);
          const at = (moved: number): number => {
            const sums = totals.slice();
            sums[cell]! += moved;
            return of(coefficient, sums);
          };
          const numerical = (8 * (at(step) - at(-step)) - (at(2 * step) - at(-2 * step))) / (12 * step);
          if (Number.isNaN(numerical)) continue;
          expect(Math.abs(gradient[cell]! - numerical), `sum ${cell}`).toBeLessThan(1e-6 * size);
          alongSums += gradient[cell]! * totals[cell]!;
          checked++;
        }
        expect(Math.abs(alongSums)).toBeLessThan(1e-9 * size * ratings.targets);
      }),
    );
    expect(checked).toBeGreaterThan(100);
  });
}

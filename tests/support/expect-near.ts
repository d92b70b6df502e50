import { expect } from 'vitest';

/** Passes when |actual − expected| ≤ tolerance · max(1, |expected|), the rule of the reference cases. */
export function expectNear(actual: number, expected: number, tolerance: number): void {
  const gap = Math.abs(actual - expected);
  expect(gap, `${actual} should be ${expected} within ${tolerance}`).toBeLessThanOrEqual(
    tolerance * Math.max(1, Math.abs(expected)),
  );
}

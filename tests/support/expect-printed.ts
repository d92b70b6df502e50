import { expect } from 'vitest';

/**
 * Passes when `actual` rounds to a published value: within half a unit of its last printed digit.
 * The tolerance is thus the source's own precision, never a number chosen to make the test pass.
 */
export function expectPrinted(actual: number, printed: string): void {
  const decimals = printed.split('.')[1]?.length ?? 0;
  expect(Math.abs(actual - Number(printed)), `${actual} should print as ${printed}`).toBeLessThanOrEqual(
    0.5 * 10 ** -decimals + 1e-12,
  );
}

import { expect } from 'vitest';
import { expectNear } from './expect-near.ts';

/** `expectNear` for every entry of two lists of the same length. */
export function expectAllNear(actual: ArrayLike<number>, expected: ArrayLike<number>, tolerance: number): void {
  expect(actual.length).toBe(expected.length);
  for (let at = 0; at < expected.length; at++) expectNear(actual[at] as number, expected[at] as number, tolerance);
}

import type { ReadingParameters } from '../../src/models/reading-probabilities.ts';

/** Grades that the invented assessors of `simulate-change.ts` use. */
export const GRADES = 5;

/** Two invented assessors who differ in tendency only. */
export const TWO_READERS: ReadingParameters = {
  cuts: [-1.4, -0.65, 0.05, 1.0],
  tendencies: [-0.2, 0.2],
  spreads: [0.45, 0.45],
  slip: 0.02,
};

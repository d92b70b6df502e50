import { expect, it } from 'vitest';
import { quadraticForm } from '../../src/agreement/quadratic-form.ts';
import { expectNear } from '../support/expect-near.ts';

it('is dᵀ S⁻¹ d where S can be inverted', () => {
  // S = [[2, 1], [1, 3]], S⁻¹ = [[3, −1], [−1, 2]]/5; d = (1, 4): (3 − 8 + 32)/5.
  const { value, rank } = quadraticForm(Float64Array.of(1, 4), Float64Array.of(2, 1, 1, 3));
  expectNear(value, 27 / 5, 1e-12);
  expect(rank).toBe(2);
});

it('drops what never varies', () => {
  // Differences that add up to 0, and one that is always 0: rank 1. Along (1, −1)/√2: d = 3√2, variance 4.
  const { value, rank } = quadraticForm(Float64Array.of(3, -3, 0), Float64Array.of(2, -2, 0, -2, 2, 0, 0, 0, 0));
  expectNear(value, 18 / 4, 1e-12);
  expect(rank).toBe(1);
  expect(quadraticForm(Float64Array.of(0, 0), new Float64Array(4))).toEqual({ value: 0, rank: 0 });
});

import { expect, test } from 'vitest';
import { objectiveOf } from '../../src/models/value-and-gradient.ts';

test('one pass serves the value and the gradient at one point, and a reused array is not mistaken for it', () => {
  let passes = 0;
  const objective = objectiveOf((point) => {
    passes++;
    return { value: (point[0] as number) ** 2, gradient: Float64Array.from([2 * (point[0] as number)]) };
  });
  const point = Float64Array.from([3]);
  expect(objective.value(point)).toBe(9);
  expect(objective.gradient?.(point)).toEqual(Float64Array.from([6]));
  expect(passes).toBe(1);
  point[0] = 4;
  expect(objective.gradient?.(point)).toEqual(Float64Array.from([8]));
  expect(passes).toBe(2);
});

import { describe, expect, it } from 'vitest';
import { minimize, minimizeLong, numericalGradient, numericalHessian } from '../../src/models/optimize.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';

/** Rosenbrock's valley, doi:10.1093/comjnl/3.3.175: minimum 0 at (1, 1). */
const valley = {
  value: (p: Float64Array): number => {
    const [x, y] = p as unknown as [number, number];
    return 100 * (y - x * x) ** 2 + (1 - x) ** 2;
  },
  gradient: (p: Float64Array): Float64Array => {
    const [x, y] = p as unknown as [number, number];
    return Float64Array.of(-400 * x * (y - x * x) - 2 * (1 - x), 200 * (y - x * x));
  },
  hessian: (p: Float64Array): Float64Array => {
    const [x, y] = p as unknown as [number, number];
    return Float64Array.of(1200 * x * x - 400 * y + 2, -400 * x, -400 * x, 200);
  },
};

describe('minimize', () => {
  it.each([
    ['values only', { value: valley.value }],
    ['a gradient', { value: valley.value, gradient: valley.gradient }],
    ['a Hessian', valley],
  ])('finds the floor of a curved valley from %s', (_, objective) => {
    const found = minimize(objective, [-1.2, 1]);
    expect(found.converged).toBe(true);
    expect(found.hessianPositiveDefinite).toBe(true);
    expectNear(found.point[0] as number, 1, 1e-6);
    expectNear(found.point[1] as number, 1, 1e-6);
    expect(found.value).toBeLessThan(1e-12);
  });

  it('steps back from where the function is not defined', () => {
    const found = minimize({ value: ([x]) => (x as number) - Math.log(x as number) }, [100]);
    expect(found.converged).toBe(true);
    expectNear(found.point[0] as number, 1, 1e-7);
  });

  it('does not call a function without a minimum converged', () => {
    const slope = minimize({ value: ([x]) => Math.exp(-(x as number)) }, [0], { maximumIterations: 20 });
    expect(slope.point[0]).toBeGreaterThan(5);
    const line = minimize({ value: ([x]) => x as number }, [0], { maximumIterations: 20 });
    expect(line.converged).toBe(false);
    const ridge = minimize({ value: ([x, y]) => ((x as number) + (y as number)) ** 2 + 1 }, [1, 2]);
    expect(ridge.converged).toBe(false);
    expect(ridge.hessianPositiveDefinite).toBe(false);
    expect(minimize({ value: () => Number.NaN }, [0]).stoppedBy).toBe('bad-start');
  });

  it('says how much lower the minimum still is', () => {
    // For x⁴, ½ g²/H = ⅔ x⁴ at any x.
    const early = minimize({ value: ([x]) => (x as number) ** 4 + 1 }, [10], { maximumIterations: 1 });
    expect(early).toMatchObject({ converged: false, stoppedBy: 'iteration-limit', iterations: 1 });
    const [x] = early.point;
    expect(x).toBeGreaterThan(0.5);
    expectNear(early.remaining / (x as number) ** 4, 2 / 3, 1e-6);
  });

  it('gives the same digits awaited, reports, and keeps the best point when stopped', async () => {
    const shares: number[] = [];
    const awaited = await minimizeLong(valley, [-1.2, 1], { progress: (share) => shares.push(share) });
    expect(awaited).toEqual(minimize(valley, [-1.2, 1]));
    expect(shares.length).toBeGreaterThan(3);
    const controller = new AbortController();
    const stopped = await minimizeLong(valley, [-1.2, 1], {
      signal: controller.signal,
      progress: (share) => share > 0.3 && controller.abort(),
    });
    expect(stopped.stoppedBy).toBe('signal');
    expect(stopped.converged).toBe(false);
    expect(stopped.value).toBeLessThan(valley.value(Float64Array.of(-1.2, 1)));
  });
});

describe('differences', () => {
  it('match the closed forms', () => {
    const at = [0.7, -1.3];
    const point = Float64Array.from(at);
    expectAllNear(numericalGradient(valley.value, at), valley.gradient(point), 1e-9);
    expectAllNear(numericalHessian(valley, at), valley.hessian(point), 1e-9);
    expectAllNear(numericalHessian({ value: valley.value }, at), valley.hessian(point), 1e-6);
  });
});

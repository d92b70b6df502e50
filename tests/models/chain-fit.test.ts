import { describe, expect, test } from 'vitest';
import { maximizeChain, type NamedParameter } from '../../src/models/chain-fit.ts';
import { expectNear } from '../support/expect-near.ts';

const rate = (name: string): NamedParameter => ({ kind: 'rate', name });

/** −Σ wᵢ(xᵢ − mᵢ)²/2 as if it were a log-likelihood. */
function parabola(weights: readonly number[], centers: readonly number[]) {
  return {
    evaluate: (point: Float64Array) => ({
      logLikelihood: -weights.reduce(
        (sum, w, i) => sum + (w * ((point[i] as number) - (centers[i] as number)) ** 2) / 2,
        0,
      ),
      penalty: 0,
      gradient: Float64Array.from(weights, (w, i) => -w * ((point[i] as number) - (centers[i] as number))),
    }),
  };
}

describe('maximizeChain', () => {
  test('finds the maximum, its covariance, and says how it knows', async () => {
    const found = await maximizeChain(parabola([4, 25], [1, -2]), new Float64Array(2), [rate('a'), rate('b')], {});
    expect(found.converged).toBe(true);
    expectNear(found.point[1] as number, -2, 1e-7);
    expectNear(found.covariance[0] as number, 0.25, 1e-8);
    expectNear(found.covariance[3] as number, 0.04, 1e-8);
    expect(found.how).toMatch(/curvature is that of a maximum.*3 of 3 starts led here/);
    expect(found.notes).toEqual([]);
  });

  test('a flat direction is named, and the rest keeps its limits', async () => {
    const flat = {
      evaluate: (point: Float64Array) => {
        const sum = (point[0] as number) + (point[1] as number) - 1;
        const third = point[2] as number;
        return {
          logLikelihood: -sum * sum - third * third,
          penalty: 0,
          gradient: Float64Array.from([-2 * sum, -2 * sum, -2 * third]),
        };
      },
    };
    const found = await maximizeChain(
      flat,
      new Float64Array(3),
      [rate('first rate'), rate('second rate'), rate('third')],
      {},
    );
    const note = found.notes.find(({ code }) => code === 'not-identified');
    expect(note?.message).toContain('first rate, second rate');
    expect(note?.message).toContain('Allow only one-step changes');
    expect(found.covariance[0]).toBeNaN();
    expectNear(found.covariance[8] as number, 0.5, 1e-6);
  });

  test('two maxima: the higher is kept, and that only one start found it is said', async () => {
    const double = {
      evaluate: (point: Float64Array) => {
        // Two bumps, at −0.6 and (higher) at 1.4, found from different sides.
        const x = point[0] as number;
        const [a, b] = [Math.exp(-20 * (x + 0.6) ** 2), 3 * Math.exp(-20 * (x - 1.4) ** 2)];
        return {
          logLikelihood: a + b - 0.001 * x * x,
          penalty: 0,
          gradient: Float64Array.from([-40 * (x + 0.6) * a - 40 * (x - 1.4) * b - 0.002 * x]),
        };
      },
    };
    const found = await maximizeChain(double, Float64Array.from([-0.5]), [rate('a')], { starts: 12, seed: 3 });
    expect(found.logLikelihood).toBeGreaterThan(2.9);
    expect(found.starts[0]).toBeLessThan(1.1);
  });

  test('starts must be a whole number', async () => {
    await expect(maximizeChain(parabola([1], [0]), new Float64Array(1), [rate('a')], { starts: 0 })).rejects.toThrow(
      'starts is 0',
    );
  });
});

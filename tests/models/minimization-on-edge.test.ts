import { describe, expect, it } from 'vitest';
import { minimizationOnEdge } from '../../src/models/minimization-on-edge.ts';
import { finish, type Minimum, minimize } from '../../src/models/optimize.ts';
import type { RandomBlock } from '../../src/models/random-terms.ts';
import { expectAllNear } from '../support/expect-all-near.ts';

const block = (width: number, parameter: number): RandomBlock => ({
  name: 'x',
  slopeName: width === 2 ? 'day' : undefined,
  codes: new Int32Array(),
  levels: [],
  width,
  offset: 0,
  place: 0,
  parameter,
  slopeScale: 1,
});

interface Smooth {
  readonly value: (p: Float64Array) => number;
  readonly gradient: (p: Float64Array) => Float64Array;
}

function onEdge(objective: Smooth, start: number[], blocks: RandomBlock[], offset: number): Minimum {
  const order = start.length;
  const inverse = Float64Array.from({ length: order * order }, (_, k) => (k % (order + 1) === 0 ? 0.3 : 0));
  return finish(minimizationOnEdge(objective, Float64Array.from(start), inverse, blocks, offset));
}

/** (x − 2)² cosh-like in x so that a search takes steps, and θ² beside it: the minimum has θ at 0. */
const bowl: Smooth = {
  value: ([x, t]) => Math.cosh((x as number) - 2) + (t as number) ** 2 * (1 + 0.1 * (x as number) ** 2),
  gradient: ([x, t]) =>
    Float64Array.of(
      Math.sinh((x as number) - 2) + 0.2 * (x as number) * (t as number) ** 2,
      2 * (t as number) * (1 + 0.1 * (x as number) ** 2),
    ),
};

describe('a minimum with an entry at its edge', () => {
  it('has exactly 0 there, and reports on the rest', () => {
    const start = [0.4, 0.9];
    const found = onEdge(bowl, start, [block(1, 0)], 1);
    expectAllNear(found.point, [2, 0], 1e-9);
    expect(found.point[1]).toBe(0);
    expectAllNear(found.hessian ?? [], [1, 0, 0, 0], 1e-9);
    expect(found.gradient[1]).toBe(0);
    expect(found).toMatchObject({ converged: true, hessianPositiveDefinite: true });
    // Steps and evaluations of both searches, made again one by one.
    const free = minimize(bowl, start, { inverseHessian: Float64Array.of(0.3, 0, 0, 0.3) });
    const inner = minimize(
      {
        value: ([x]) => bowl.value(Float64Array.of(x as number, 0)),
        gradient: ([x]) => bowl.gradient(Float64Array.of(x as number, 0)).slice(0, 1),
      },
      [free.point[0] as number],
    );
    expect(found.iterations).toBe(free.iterations + inner.iterations);
    expect(found.evaluations).toBe(free.evaluations + inner.evaluations);
    expect(inner.evaluations).toBeGreaterThan(0);
  });

  it('is the free one where no entry comes near 0, or 0 is higher', () => {
    const inside: Smooth = {
      value: ([x, t]) => ((x as number) - 2) ** 2 + ((t as number) ** 2 - 1) ** 2,
      gradient: ([x, t]) => Float64Array.of(2 * ((x as number) - 2), 4 * (t as number) * ((t as number) ** 2 - 1)),
    };
    const found = onEdge(inside, [0, 0.8], [block(1, 0)], 1);
    expectAllNear(found.point, [2, 1], 1e-7);
    // A steep minimum at 0.0008, where 0 is higher by far more than 1e-6.
    const steep: Smooth = {
      value: ([x, t]) => ((x as number) - 2) ** 2 + 1e5 * ((t as number) - 8e-4) ** 2,
      gradient: ([x, t]) => Float64Array.of(2 * ((x as number) - 2), 2e5 * ((t as number) - 8e-4)),
    };
    expectAllNear(onEdge(steep, [1, 0.1], [block(1, 0)], 1).point, [2, 8e-4], 1e-9);
  });

  it('with a slope keeps the slope’s variance, not how it is divided', () => {
    const sloped: Smooth = {
      value: ([a, b, c]) => (a as number) ** 2 + (Math.hypot(b as number, c as number) - 1.5) ** 2,
      gradient: ([a, b, c]) => {
        const length = Math.hypot(b as number, c as number);
        const slope = (2 * (length - 1.5)) / length;
        return Float64Array.of(2 * (a as number), slope * (b as number), slope * (c as number));
      },
    };
    const found = onEdge(sloped, [0.6, 0.5, 0.7], [block(2, 0)], 0);
    expect(found.point[0]).toBe(0);
    expect(found.point[1]).toBe(0);
    expectAllNear(found.point, [0, 0, 1.5], 1e-8);
    expectAllNear(found.hessian ?? [], [0, 0, 0, 0, 0, 0, 0, 0, 2], 1e-6);
    // Slope entry alone at 0: intercept and covariance stay.
    const tied: Smooth = {
      value: ([a, b, c]) => ((a as number) - 1) ** 2 + ((b as number) + 0.5) ** 2 + (c as number) ** 2,
      gradient: ([a, b, c]) => Float64Array.of(2 * ((a as number) - 1), 2 * ((b as number) + 0.5), 2 * (c as number)),
    };
    const kept = onEdge(tied, [0.5, 0.1, 0.7], [block(2, 0)], 0);
    expectAllNear(kept.point, [1, -0.5, 0], 1e-8);
    expect(kept.point[2]).toBe(0);
    expectAllNear(kept.hessian ?? [], [2, 0, 0, 0, 2, 0, 0, 0, 0], 1e-6);
  });

  it('has not converged where the criterion falls as the entry leaves 0', () => {
    // Level at 0 by symmetry, lower at ±1: a search that begins at 0 stays there.
    const hill: Smooth = {
      value: ([x, t]) => ((x as number) - 2) ** 2 + ((t as number) ** 2 - 1) ** 2,
      gradient: ([x, t]) => Float64Array.of(2 * ((x as number) - 2), 4 * (t as number) * ((t as number) ** 2 - 1)),
    };
    const found = onEdge(hill, [1, 0], [block(1, 0)], 1);
    expectAllNear(found.point, [2, 0], 1e-8);
    expect(found.hessianPositiveDefinite).toBe(true);
    expect(found.converged).toBe(false);
  });
});

import { describe, expect, it } from 'vitest';
import {
  type MinimizeOptions,
  type Minimum,
  minimize,
  minimizeLong,
  numericalGradient,
  numericalHessian,
} from '../../src/models/optimize.ts';
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

/**
 * The points that a search of one variable asks for when it is told these values and slopes, one after another, from
 * value `at0` and slope −1 at 0 on; every later value is undefined. Its first direction is +1, its first length 1.
 */
function asked(told: readonly (readonly [number, number])[], at0 = 0): { points: number[]; slopes: number } {
  const points: number[] = [];
  let slopes = 0;
  const script: (readonly [number, number])[] = [[at0, -1], ...told];
  minimize(
    {
      value: ([x]) => {
        points.push(x as number);
        return script[points.length - 1]?.[0] ?? Number.NaN;
      },
      gradient: () => {
        slopes++;
        return Float64Array.of(script[points.length - 1]?.[1] ?? Number.NaN);
      },
    },
    [0],
    { inverseHessian: Float64Array.of(1), maximumIterations: 1, finalHessian: false },
  );
  return { points: points.slice(0, told.length + 2), slopes };
}

/** Where the cubic through two values with their slopes has its minimum: p = f₀ + s₀x + bx² + cx³ from the first on, p′ = 0, p″ > 0. */
function cubicMinimum([x0, f0, s0]: readonly number[], [x1, f1, s1]: readonly number[]): number {
  const [from, to] = [x0 as number, x1 as number];
  const width = to - from;
  const rise = (f1 as number) - (f0 as number) - (s0 as number) * width;
  const turn = (s1 as number) - (s0 as number);
  const c = (turn * width - 2 * rise) / width ** 3;
  const b = (rise - c * width ** 3) / width ** 2;
  return from + (-b + Math.sqrt(b * b - 3 * c * (s0 as number))) / (3 * c);
}

describe('the search along a line', () => {
  it('accepts a step where value and slope are low enough, and at the limits of both', () => {
    // Strong Wolfe conditions with 1e-4 and 0.9: f(1) ≤ −1e-4 and |f′(1)| ≤ 0.9.
    expect(asked([[-0.5, 0.9]]).points).toEqual([0, 1]);
    expect(asked([[-0.5, -0.9]]).points).toEqual([0, 1]);
    expect(asked([[-1e-4, 0.1]])).toEqual({ points: [0, 1], slopes: 2 });
  });

  it('goes four times as far while it descends', () => {
    expect(
      asked([
        [-0.5, -0.91],
        [-2, -0.95],
        [-3, 0.2],
      ]).points,
    ).toEqual([0, 1, 4, 16]);
  });

  it('takes the minimum of the cubic through both ends once they are known with slopes', () => {
    const { points } = asked([[-0.5, 0.91]]);
    expectNear(points[2] as number, cubicMinimum([0, 0, -1], [1, -0.5, 0.91]), 1e-12);
    // A descent to 1, then a rise at 4: between 1 and 4.
    const further = asked([
      [-0.5, -0.95],
      [-1, 2],
    ]).points;
    expectNear(further[3] as number, cubicMinimum([1, -0.5, -0.95], [4, -1, 2]), 1e-12);
    const place = further[3] as number;
    // Still descending there: on to between it and 4. Rising there: back to between 1 and it.
    for (const [slope, other] of [
      [-0.95, [4, -1, 2]],
      [0.95, [1, -0.5, -0.95]],
    ] as const) {
      const last = asked([
        [-0.5, -0.95],
        [-1, 2],
        [-1.3, slope],
      ]).points[4] as number;
      const ends = [[place, -1.3, slope], [...other]].sort((a, b) => (a[0] as number) - (b[0] as number));
      expectNear(last, cubicMinimum(ends[0] as number[], ends[1] as number[]), 1e-12);
    }
    // A minimum within a tenth of an end is moved to a tenth: here it is at 0.95.
    expectNear(asked([[-3, 0.95]]).points[2] as number, 0.9, 1e-15);
  });

  it('takes that of the parabola where the far end is too high, without asking for its slope', () => {
    // f(1) = 3: p = −x + 4x², lowest at 1/8.
    expect(
      asked([
        [3, 5],
        [-0.1, 0.1],
      ]),
    ).toEqual({ points: [0, 1, 1 / 8], slopes: 2 });
    // A decrease of less than 1e-4 is none: p = −x + (1 − 5e-5)x².
    const small = asked([[-5e-5, 0.1]]);
    expectNear(small.points[2] as number, 0.5 / (1 - 5e-5), 1e-12);
    expect(small.slopes).toBe(1);
    // From 1, at −½ with slope −0.95, to 4, at −0.4: p = −½ − 0.95d + 2.95 (d/3)², d = x − 1. A value that is no lower is high.
    for (const [value, curvature] of [
      [-0.4, 2.95],
      [-0.5, 2.85],
    ] as const) {
      const later = asked([
        [-0.5, -0.95],
        [value, -0.1],
      ]);
      expectNear(later.points[3] as number, 1 + (3 * 2.85) / (2 * curvature), 1e-12);
      expect(later.slopes).toBe(2);
    }
    // The minimum of −x + 100x² is at 0.005: moved to a tenth.
    expectNear(asked([[99, 1]]).points[2] as number, 0.1, 1e-15);
  });

  it('comes back to a tenth from where value or slope is not defined', () => {
    for (const told of [
      [Number.NaN, 0],
      [Number.POSITIVE_INFINITY, 0],
      [-0.5, Number.NaN],
    ] as const)
      expectNear(asked([told]).points[2] as number, 0.1, 1e-15);
  });

  it('goes by slopes where rounding hides the values, to 1e-13 of their size', () => {
    for (const size of [0, 1000, -1000]) {
      const within = size + 5e-14 * Math.max(1, Math.abs(size));
      expect(asked([[within, 0.85]], size)).toEqual({ points: [0, 1], slopes: 2 });
      const steep = asked([[within, 0.95]], size);
      expect(steep.slopes).toBe(2);
      expect(Math.abs((steep.points[2] as number) - cubicMinimum([0, 0, -1], [1, 0, 0.95]))).toBeLessThan(1e-6);
      expect(asked([[size + 2e-13 * Math.max(1, Math.abs(size)), 0.85]], size).slopes).toBe(1);
    }
  });

  it('gives up after forty values, with the best of them', () => {
    const nowhere = { value: ([x]: Float64Array) => (x === 0 ? 0 : Number.NaN), gradient: () => Float64Array.of(-1) };
    // From a stated curvature it starts once more along the gradient.
    expect(minimize(nowhere, [0])).toMatchObject({ stoppedBy: 'no-progress', evaluations: 41, iterations: 0 });
    expect(minimize(nowhere, [0], { inverseHessian: Float64Array.of(1) }).evaluations).toBe(81);
    const line = { value: ([x]: Float64Array) => -(x as number), gradient: () => Float64Array.of(-1) };
    const far = minimize(line, [0], { maximumIterations: 1, finalHessian: false });
    expect(far).toMatchObject({ stoppedBy: 'iteration-limit', evaluations: 41, iterations: 1, value: -(4 ** 39) });
    expect(far.point[0]).toBe(4 ** 39);
    // Everything above 1 undefined: the bracket closes on 1 to the last digit, long before forty.
    const wall = {
      value: ([x]: Float64Array) => ((x as number) > 1 ? Number.NaN : -(x as number)),
      gradient: () => Float64Array.of(-1),
    };
    const near = minimize(wall, [0], { maximumIterations: 1, finalHessian: false });
    expect(near.point[0]).toBe(1);
    expect(near.evaluations).toBeLessThan(22);
  });
});

describe('directions', () => {
  it('are those of BFGS in its product form, from a first matrix scaled by the first step', () => {
    const seen: { point: number[]; gradient: number[] }[] = [];
    const values: number[][] = [];
    const bowl = {
      value: (p: Float64Array): number => {
        values.push([...p]);
        const [x, y, z] = p as unknown as [number, number, number];
        return Math.cosh(x - 1) + 2 * Math.cosh(y + 0.5) + 0.3 * (x + y + z) ** 2 + 0.1 * z ** 4;
      },
      gradient: (p: Float64Array): Float64Array => {
        const [x, y, z] = p as unknown as [number, number, number];
        const sum = 0.6 * (x + y + z);
        const gradient = Float64Array.of(Math.sinh(x - 1) + sum, 2 * Math.sinh(y + 0.5) + sum, sum + 0.4 * z ** 3);
        seen.push({ point: [...p], gradient: [...gradient] });
        return gradient;
      },
    };
    const found = minimize(bowl, [0.2, 0.9, 1.1], { finalHessian: false });
    expect(found.converged).toBe(true);
    expect(found.evaluations).toBe(values.length);
    const times = (a: number[][], v: number[]): number[] =>
      a.map((row) => row.reduce((sum, entry, j) => sum + entry * (v[j] as number), 0));
    const dot = (a: number[], b: number[]): number => a.reduce((sum, entry, j) => sum + entry * (b[j] as number), 0);
    const unit = [0, 1, 2].map((i) => [0, 1, 2].map((j) => (i === j ? 1 : 0)));
    let inverse: number[][] | undefined;
    // Every value here was lower than the one before and asked for its slope, so that each pair is one step.
    expect(seen.length).toBeGreaterThan(6);
    expect(seen.length).toBe(found.iterations + 1);
    for (let k = 0; k + 1 < seen.length; k++) {
      const [here, next] = [seen[k], seen[k + 1]] as [(typeof seen)[0], (typeof seen)[0]];
      const s = next.point.map((x, i) => x - (here.point[i] as number));
      const y = next.gradient.map((g, i) => g - (here.gradient[i] as number));
      if (k > 0) {
        const full = times(inverse as number[][], here.gradient).map((d, i) => (here.point[i] as number) - d);
        // The first point tried of each step is the full one.
        expect(values.some((p) => p.every((x, i) => Math.abs(x - (full[i] as number)) < 1e-9))).toBe(true);
      }
      const rho = 1 / dot(y, s);
      const before = inverse ?? unit.map((row) => row.map((entry) => (entry * dot(y, s)) / dot(y, y)));
      const left = unit.map((row, i) => row.map((entry, j) => entry - rho * (s[i] as number) * (y[j] as number)));
      const half = left.map((row) =>
        [0, 1, 2].map((j) => row.reduce((sum, entry, m) => sum + entry * ((before[m] as number[])[j] as number), 0)),
      );
      inverse = half.map((row, i) =>
        left.map((other, j) => dot(row, other) + rho * (s[i] as number) * (s[j] as number)),
      );
    }
  });

  const first = (
    gradient: number[],
    options: MinimizeOptions,
    hessian?: number[],
  ): { point: number[]; minimum: Minimum } => {
    const points: number[][] = [];
    const minimum = minimize(
      {
        value: (p) => points.push([...p]) - 1 && Number.NaN,
        gradient: () => Float64Array.from(gradient),
        ...(hessian && { hessian: () => Float64Array.from(hessian) }),
      },
      new Float64Array(gradient.length),
      options,
    );
    return { point: points[1] as number[], minimum };
  };

  it('begin along the gradient, with a step of one at most', () => {
    expect(first([-4], {}).point).toEqual([1]);
    expect(first([-0.5], {}).point).toEqual([0.5]);
    expectAllNear(first([-3, 4], {}).point, [0.6, -0.8], 1e-15);
    // A stated curvature is taken as it is, unless it leads upward.
    expect(first([-4], { inverseHessian: Float64Array.of(0.5) }).point).toEqual([2]);
    expect(first([-4], { inverseHessian: Float64Array.of(-0.5) }).point).toEqual([1]);
    expectAllNear(first([1, -2], { inverseHessian: Float64Array.of(2, 1, 1, 3) }).point, [0, 5], 1e-15);
  });

  it('are Newton’s where the Hessian is given, its diagonal raised by powers of ten until it is positive definite', () => {
    expectAllNear(first([-4, 2], {}, [2, 1, 1, 4]).point, [18 / 7, -8 / 7], 1e-14);
    // Raised by 4e-10, 4e-9, …, 0.4, 4: diag(3, 8).
    expectAllNear(first([-3, 8], {}, [-1, 0, 0, 4]).point, [1, -1], 1e-12);
    expectAllNear(first([-3, 8], {}, [-4, 0, 0, 1]).point, [3 / 36, -8 / 41], 1e-12);
    expect(first([-3, 8], {}, [0, 0, 0, 0]).point).toEqual([3, -8]);
    expect(first([-3, 8], {}, [1, 0, 0, Number.NaN]).point).toEqual([3, -8]);
  });
});

describe('the end of a search', () => {
  /** A value and a slope at the start; a step leads to a value of 1e9, so that the start is the end. */
  const start = (x: number, value: number, slope: number, options: MinimizeOptions): Minimum =>
    minimize(
      { value: ([at]) => (at === x ? value : 1e9), gradient: ([at]) => Float64Array.of(at === x ? slope : 1e9) },
      [x],
      { finalHessian: false, ...options },
    );

  it('is where |g| max(1, |x|) ≤ 1e-6 max(1, |f|)', () => {
    for (const [x, value, limit] of [
      [0.5, 0, 1e-6],
      [8, 0, 1e-6 / 8],
      [-8, 0, 1e-6 / 8],
      [0, 16, 16e-6],
      [0, -16, 16e-6],
    ] as const) {
      expect(start(x, value, limit * 0.999, {})).toMatchObject({
        stoppedBy: 'gradient',
        converged: true,
        iterations: 0,
      });
      expect(start(x, value, -limit * 1.001, {})).toMatchObject({ stoppedBy: 'no-progress', converged: false });
    }
    expect(start(0, 0, 0.5, { gradientTolerance: 0.5 }).stoppedBy).toBe('gradient');
    expect(start(0, 0, -0.5, { gradientTolerance: 0.5 }).gradientNorm).toBe(0.5);
    expect(start(0, 0, 1, { maximumIterations: 0 })).toMatchObject({ stoppedBy: 'iteration-limit', evaluations: 1 });
  });

  it('waits for the gain that a known curvature still promises: ½ gH⁻¹g ≤ 1e-10 + 1e-14 |f|', () => {
    // Where it does not wait, the value at the start is the only one asked for.
    const waits = (value: number, gain: number): boolean =>
      start(0, value, 1e-7, { inverseHessian: Float64Array.of(2e14 * gain) }).evaluations > 1;
    expect(waits(0, 0.9e-10)).toBe(false);
    expect(waits(0, 1.2e-10)).toBe(true);
    expect(waits(1e4, 1.9e-10)).toBe(false);
    expect(waits(-1e4, 1.9e-10)).toBe(false);
    expect(waits(1e4, 2.2e-10)).toBe(true);
  });

  it('is bad at the start where value or slope is not finite', () => {
    for (const [value, slope] of [
      [Number.NaN, 1],
      [Number.POSITIVE_INFINITY, 1],
      [0, Number.NaN],
    ] as const) {
      const half = { value: () => 0, gradient: () => Float64Array.of(1, slope + value) };
      expect(minimize(half, [0, 0]).stoppedBy === 'bad-start').toBe(!Number.isFinite(slope + value));
      const found = start(3, value, slope, { finalHessian: true });
      expect(found).toMatchObject({ stoppedBy: 'bad-start', converged: false, iterations: 0, evaluations: 1 });
      expect(found.hessian).toBeUndefined();
      expect(found.hessianPositiveDefinite).toBeUndefined();
      expect(found.gradientNorm).toBeNaN();
      expect(found.remaining).toBeNaN();
      expect([...found.point]).toEqual([3]);
    }
  });

  it('goes on by Newton steps, four at most', () => {
    const parabola = {
      value: ([x]: Float64Array) => ((x as number) - 3) ** 2,
      gradient: ([x]: Float64Array) => Float64Array.of(2 * ((x as number) - 3)),
    };
    const one = minimize(parabola, [1], { gradientTolerance: 10 });
    expect(one).toMatchObject({ stoppedBy: 'gradient', converged: true, iterations: 0, evaluations: 2 });
    expectNear(one.point[0] as number, 3, 1e-9);
    expectNear(one.hessian?.[0] as number, 2, 1e-9);
    expect(one.remaining).toBeLessThan(1e-18);
    // Newton's steps on x⁴ multiply x by ⅔.
    const quartic = {
      value: ([x]: Float64Array) => (x as number) ** 4,
      gradient: ([x]: Float64Array) => Float64Array.of(4 * (x as number) ** 3),
      hessian: ([x]: Float64Array) => Float64Array.of(12 * (x as number) ** 2),
    };
    const four = minimize(quartic, [0.9], { gradientTolerance: 10 });
    expectNear(four.point[0] as number, 0.9 * (2 / 3) ** 4, 1e-14);
    expectNear(four.remaining, (2 / 3) * four.value, 1e-14);
    expect(four).toMatchObject({ converged: false, iterations: 0, evaluations: 5, hessianPositiveDefinite: true });
    // Stopped by a limit is not converged, wherever the last steps led.
    expect(minimize({ ...parabola, hessian: () => Float64Array.of(2) }, [1], { maximumIterations: 0 })).toMatchObject({
      stoppedBy: 'iteration-limit',
      converged: false,
      value: 0,
    });
  });

  it('takes no Newton step that raises the value or the slope, and then says what remains', () => {
    // √(1 + x²): from 2 Newton's step is to −8, higher. g² / 2H = 0.4 · 5^1.5 there.
    const hyperbola = {
      value: ([x]: Float64Array) => Math.hypot(1, x as number),
      gradient: ([x]: Float64Array) => Float64Array.of((x as number) / Math.hypot(1, x as number)),
      hessian: ([x]: Float64Array) => Float64Array.of(Math.hypot(1, x as number) ** -3),
    };
    const stays = minimize(hyperbola, [2], { gradientTolerance: 10 });
    expect(stays.point[0]).toBe(2);
    expect(stays).toMatchObject({ converged: false, stoppedBy: 'gradient', evaluations: 2 });
    expectNear(stays.remaining, 0.4 * 5 ** 1.5, 1e-13);
    // Told that the step lowers the value a little but doubles the slope, or ends where there is none.
    for (const [value, slope, end] of [
      [-1, 2, 0],
      [-1, -1, 0],
      [-1, Number.NaN, 0],
      [-1, 0.5, -1],
      [1e-13, 0.5, -1],
      [5e-12, 0.5, 0],
      [Number.NaN, 0.5, 0],
    ] as const) {
      const told = minimize(
        {
          value: ([x]) => (x === 0 ? 0 : x === -1 ? value : 1),
          gradient: ([x]) => Float64Array.of(x === 0 ? 1 : x === -1 ? slope : 9),
          hessian: () => Float64Array.of(1),
        },
        [0],
        { gradientTolerance: 10 },
      );
      expect(told.point[0]).toBe(end);
    }
  });

  it('has converged where at most 1e-8 + 1e-12 |f| remains', () => {
    const left = (value: number, remaining: number): Minimum =>
      minimize(
        {
          value: ([x]) => (x === 0 ? value : 1e9),
          gradient: () => Float64Array.of(Math.sqrt(2 * remaining)),
          hessian: () => Float64Array.of(1),
        },
        [0],
        { gradientTolerance: 10 },
      );
    for (const [value, limit] of [
      [0, 1e-8],
      [1e4, 2e-8],
      [-1e4, 2e-8],
    ] as const) {
      expect(left(value, 0.99 * limit).converged).toBe(true);
      expect(left(value, 1.02 * limit).converged).toBe(false);
      expectNear(left(value, limit).remaining, limit, 1e-12);
    }
  });

  it('reports each step once, with a share that only rises', async () => {
    const heard: string[] = [];
    const found = await minimizeLong(valley, [-1.2, 1], {
      progress: (share, words) => heard.push(`${share.toFixed(6)} ${words.split(',')[0]}`),
    });
    expect(found.iterations).toBeGreaterThan(5);
    const expected = Array.from(
      { length: found.iterations },
      (_, k) => `${(1 - 1 / (1 + k / 10)).toFixed(6)} step ${k}`,
    );
    // The last steps of Newton are heard as one more.
    expect(heard.slice(0, found.iterations)).toEqual(expected);
    expect(heard.length).toBeLessThanOrEqual(found.iterations + 1);
    const words: string[] = [];
    await minimizeLong({ value: ([x]) => ((x as number) - 1) ** 2 + 2 }, [4], {
      progress: (_, said) => words.push(said),
    });
    expect(words[0]).toBe('step 0, criterion 11.00000000');
    // Work of more than 40 ms lets other work run.
    let others = 0;
    setImmediate(() => others++);
    await minimizeLong(
      {
        value: ([x]) => {
          for (const until = Date.now() + 50; Date.now() < until; );
          return (x as number) ** 2;
        },
        gradient: ([x]) => Float64Array.of(2 * (x as number)),
        hessian: () => Float64Array.of(2),
      },
      [2],
    );
    expect(others).toBe(1);
    const gone = new AbortController();
    gone.abort();
    const stopped = await minimizeLong(valley, [-1.2, 1], { signal: gone.signal });
    expect(stopped).toMatchObject({ stoppedBy: 'signal', iterations: 0, evaluations: 2, hessian: undefined });
    expect([...stopped.point]).toEqual([-1.2, 1]);
  });
});

describe('differences', () => {
  it('keep their digits far from zero: steps grow with the point', () => {
    const value = ([x, y]: Float64Array): number =>
      (x as number) ** 2 + (x as number) * (y as number) + 3 * (y as number) ** 2;
    for (const [x, y] of [
      [3e6, -2e6],
      [-3e6, 2e6],
      [0.5, -0.25],
    ] as const) {
      expectAllNear(numericalGradient(value, [x, y]), [2 * x + y, x + 6 * y], 1e-11);
      expectAllNear(numericalHessian({ value }, [x, y]), [2, 1, 1, 6], 1e-8);
      const gradient = ([a, b]: Float64Array): Float64Array =>
        Float64Array.of(2 * (a as number) + (b as number), (a as number) + 6 * (b as number));
      expectAllNear(numericalHessian({ value, gradient }, [x, y]), [2, 1, 1, 6], 1e-11);
    }
    const three = ([x, y, z]: Float64Array): number =>
      (x as number) * (y as number) + 2 * (x as number) * (z as number) + 3 * (y as number) * (z as number) ** 2;
    expectAllNear(numericalHessian({ value: three }, [1, 2, 3]), [0, 1, 2, 1, 0, 18, 2, 18, 12], 1e-7);
    // Exact for polynomials to the fourth degree, and made symmetric from gradients that are not.
    expectAllNear(numericalHessian({ value: ([x]) => (x as number) ** 4 }, [2]), [48], 1e-7);
    const lopsided = numericalHessian(
      { value: () => 0, gradient: ([a, b]) => Float64Array.of(a as number, 4 * (a as number) + 2 * (b as number)) },
      [1, 1],
    );
    expectAllNear(lopsided, [1, 2, 2, 2], 1e-10);
  });

  it('match the closed forms', () => {
    const at = [0.7, -1.3];
    const point = Float64Array.from(at);
    expectAllNear(numericalGradient(valley.value, at), valley.gradient(point), 1e-9);
    expectAllNear(numericalHessian(valley, at), valley.hessian(point), 1e-9);
    expectAllNear(numericalHessian({ value: valley.value }, at), valley.hessian(point), 1e-6);
  });
});

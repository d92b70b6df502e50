import { describe, expect, test } from 'vitest';
import { maximizeChain, type NamedParameter } from '../../src/models/chain-fit.ts';
import { seededRandom } from '../../src/shared/random.ts';
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

  /** A log-likelihood of independent parts; `runs` ones rise for ever toward −∞, by e^x. */
  const parts = (kinds: readonly ('bowl' | 'runs' | 'flat')[], penalty = 0) => ({
    evaluate: (point: Float64Array) => ({
      logLikelihood: kinds.reduce((sum, kind, i) => {
        const x = point[i] as number;
        return sum - (kind === 'bowl' ? (x - 1) ** 2 : kind === 'runs' ? Math.exp(x) : 0);
      }, -3),
      penalty,
      gradient: Float64Array.from(kinds, (kind, i) => {
        const x = point[i] as number;
        return kind === 'bowl' ? -2 * (x - 1) : kind === 'runs' ? -Math.exp(x) : 0;
      }),
    }),
  });

  test('a rate or a misreading that runs to 0 is said to, and has no variance', async () => {
    for (const [kind, words] of [
      ['rate', 'allowed changes'],
      ['misreading', 'allowed misreadings'],
      ['first state', 'allowed misreadings'],
    ] as const) {
      const found = await maximizeChain(
        parts(['runs', 'bowl'], -0.25),
        Float64Array.of(-2, 0),
        [{ kind, name: 'one' }, rate('two')],
        { starts: 1 },
      );
      expect(found.point[0]).toBeLessThan(-9);
      expect(found.notes.map(({ code }) => code)).toEqual(['estimate-at-zero']);
      expect(found.notes[0]?.message).toContain('The one ran to 0');
      expect(found.notes[0]?.message).toContain(words);
      expect(found.covariance[0]).toBeNaN();
      expect(found.covariance[1]).toBeNaN();
      expectNear(found.covariance[3] as number, 0.5, 1e-8);
      expect(found.converged).toBe(true);
      expectNear(found.logLikelihood, -3, 1e-3);
      expect(found.penalty).toBe(-0.25);
      expectNear(found.starts[0] as number, -3.25, 1e-3);
      // The slope of what the data leave open does not count.
      expect(found.gradientNorm).toBeLessThan(1e-6);
    }
    // An effect cannot run to 0 by going to −∞: it is only flat.
    const effect = await maximizeChain(parts(['runs']), Float64Array.of(-2), [{ kind: 'effect', name: 'x' }], {
      starts: 1,
    });
    expect(effect.notes[0]?.message).toContain('Leave out the covariate');
  });

  test('says what would tell flat directions apart, by the kinds among them', async () => {
    for (const [kinds, remedy] of [
      [['rate', 'effect'], 'Leave out the covariate'],
      [['rate', 'misreading'], 'misreadings by one grade, or add visits'],
      [['misreading', 'first state'], 'one matrix for all readers'],
      [['rate', 'first state'], 'share one intensity'],
      [['first state', 'reading'], 'State the probabilities of the first state'],
      [['reading', 'reading'], 'Hold the tendencies'],
    ] as const) {
      const ridge = {
        evaluate: (point: Float64Array) => {
          const sum = (point[0] as number) + (point[1] as number) - 1;
          return { logLikelihood: -sum * sum, penalty: 0, gradient: Float64Array.of(-2 * sum, -2 * sum) };
        },
      };
      const found = await maximizeChain(
        ridge,
        new Float64Array(2),
        kinds.map((kind, i) => ({ kind, name: `p${i}` })),
        { starts: 1 },
      );
      expect(found.notes.map(({ code }) => code)).toEqual(['not-identified']);
      expect(found.notes[0]?.message).toContain('apart: p0, p1');
      expect(found.notes[0]?.message).toContain(remedy);
    }
  });

  test('scattered starts are seeded, and rates scatter wider than effects', async () => {
    const begun: number[][] = [];
    const watched = {
      evaluate: (point: Float64Array) => {
        begun.push([...point]);
        return parabola([1, 1, 1], [0, 0, 0]).evaluate(point);
      },
    };
    const names: NamedParameter[] = [rate('a'), { kind: 'misreading', name: 'b' }, { kind: 'effect', name: 'c' }];
    // A minimum at the start: each search ends where it begins, or one evaluation later.
    await maximizeChain(watched, new Float64Array(3), names, { starts: 2, seed: 9 });
    const random = seededRandom(9, 1);
    const expected = [0.7, 0.7, 0.3].map((width) => width * random.normal());
    expect(begun.some((point) => point.every((x, i) => Math.abs(x - (expected[i] as number)) < 1e-12))).toBe(true);
    const heard: number[] = [];
    const found = await maximizeChain(parabola([4, 25], [1, -2]), new Float64Array(2), [rate('a'), rate('b')], {
      starts: 2,
      progress: (share) => heard.push(share),
    });
    expect(heard.at(-1)).toBe(1);
    expect(heard.every((share, i) => i === 0 || share >= (heard[i - 1] as number))).toBe(true);
    expect(heard.filter((share) => share >= 0.5 && share < 1).length).toBeGreaterThan(0);
    expect(found.starts).toHaveLength(2);
    expect(found.iterations).toBeGreaterThan(0);
    for (const starts of [0.5, -1, Number.NaN])
      await expect(maximizeChain(parabola([1], [0]), new Float64Array(1), [rate('a')], { starts })).rejects.toThrow(
        'starts is',
      );
  });

  test('says when it was stopped, could not begin, or when one start alone led to the best', async () => {
    const gone = new AbortController();
    gone.abort();
    const stopped = await maximizeChain(parabola([4], [1]), new Float64Array(1), [rate('a')], { signal: gone.signal });
    expect(stopped.how).toContain('Stopped on request');
    expect(stopped.converged).toBe(false);
    expect(stopped.starts).toHaveLength(1);
    expect(stopped.covariance[0]).toBeNaN();
    const nowhere = {
      evaluate: () => ({ logLikelihood: Number.NEGATIVE_INFINITY, penalty: 0, gradient: Float64Array.of(0) }),
    };
    const bad = await maximizeChain(nowhere, new Float64Array(1), [rate('a')], { starts: 2 });
    expect(bad.how).toBe('The log-likelihood is not finite at the start.');
    expect(bad.converged).toBe(false);
    // Undefined at the first start, found from the second.
    let calls = 0;
    const late = {
      evaluate: (point: Float64Array) => {
        const own = parabola([1], [0]).evaluate(point);
        return calls++ === 0 ? { ...own, logLikelihood: Number.NaN } : own;
      },
    };
    const found = await maximizeChain(late, Float64Array.of(2), [rate('a')], { starts: 2 });
    expect(found.converged).toBe(true);
    expect(found.notes.map(({ code }) => code)).toEqual(['one-start-only']);
    expect(found.how).toContain('1 of 2 starts led here');
  });

  test('starts must be a whole number', async () => {
    await expect(maximizeChain(parabola([1], [0]), new Float64Array(1), [rate('a')], { starts: 0 })).rejects.toThrow(
      'starts is 0',
    );
  });
});

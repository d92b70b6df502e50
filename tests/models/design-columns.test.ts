import { describe, expect, it } from 'vitest';
import { codesOf, orthonormalize, readDesign } from '../../src/models/design-columns.ts';
import type { InputError, Problem } from '../../src/shared/input-error.ts';
import { expectNear } from '../support/expect-near.ts';

describe('orthonormal columns', () => {
  const day = [1e6, 1e6 + 1, 1e6 + 2, 1e6 + 4];
  const design = readDesign('fixed', { day, square: day.map((value) => (value - 1e6) ** 2) }, 4, true, []);

  it('rebuild the design, and keep their angle beside a large mean', () => {
    const { columns, triangle } = orthonormalize('fixed', design);
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++) {
        const product = (columns[i] as Float64Array).reduce(
          (sum, value, row) => sum + value * ((columns[j] as Float64Array)[row] as number),
          0,
        );
        expectNear(product, i === j ? 1 : 0, 1e-15);
        for (let row = 0; row < 4; row++) {
          const rebuilt = columns.reduce((sum, q, k) => sum + (q[row] as number) * (triangle[k * 3 + j] as number), 0);
          expectNear(rebuilt, (design.columns[j] as Float64Array)[row] as number, 1e-15);
        }
      }
  });

  it('name every column that adds nothing', () => {
    const doubled = readDesign('fixed', { a: [1, 2, 3, 5], b: [2, 4, 6, 10], c: [7, 7, 7, 7] }, 4, true, []);
    try {
      orthonormalize('fixed', doubled);
      expect.unreachable();
    } catch (error) {
      expect((error as InputError).problems.map(({ code, path }) => [code, path?.[1]])).toEqual([
        ['collinear-column', 'b'],
        ['collinear-column', 'c'],
      ]);
    }
  });
});

describe('reading a design', () => {
  it('collects every problem', () => {
    const problems: Problem[] = [];
    readDesign('fixed', { intercept: [1, 1], day: [Number.NaN, 1], late: [1] }, 2, true, problems);
    expect(problems.map(({ code }) => code)).toEqual(['not-finite', 'wrong-length', 'reserved-name']);
  });

  it('codes groups in the order in which they appear', () => {
    expect(codesOf(['b', 'a', 'b', 1])).toEqual({ codes: Int32Array.of(0, 1, 0, 2), levels: ['b', 'a', 1] });
  });
});

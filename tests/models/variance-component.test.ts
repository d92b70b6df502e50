import { describe, expect, test } from 'vitest';
import type { RandomBlock } from '../../src/models/random-terms.ts';
import {
  boundaryNotes,
  componentDerivatives,
  edgesOf,
  entriesOf,
  varianceComponent,
} from '../../src/models/variance-component.ts';
import { expectNear } from '../support/expect-near.ts';

const shared = { codes: new Int32Array(), levels: [], offset: 0, place: 0 };
const alone: RandomBlock = { ...shared, name: 'reader', slopeName: undefined, width: 1, parameter: 0, slopeScale: 1 };
const sloped: RandomBlock = { ...shared, name: 'limb', slopeName: 'year', width: 2, parameter: 1, slopeScale: 2.5 };
const THETA = [0.8, 1.3, -0.4, 0.6];
const SCALE = 1.7;

/** The entries of Σ = s² Λ Λᵀ, the slope's row and column divided by its scale, by the product itself. */
function entries(theta: ArrayLike<number>, squared: number): number[] {
  const [reader = 0, a = 0, b = 0, c = 0] = Array.from(theta);
  return [squared * reader * reader, squared * a * a, (squared * a * b) / 2.5, (squared * (b * b + c * c)) / 2.5 ** 2];
}

describe('the covariance of a random effect', () => {
  test('is s² Λ Λᵀ in the units of the slope’s own column', () => {
    const theta = Float64Array.from(THETA);
    const [reader, variance, covariance, slope] = entries(THETA, SCALE) as [number, number, number, number];
    expectNear(varianceComponent(alone, theta, SCALE, 0.1, Number.NaN).variance, reader, 1e-12);
    const found = varianceComponent(sloped, theta, SCALE, 0.2, 0.3);
    expectNear(found.variance, variance, 1e-12);
    expectNear(found.standardDeviation, Math.sqrt(variance), 1e-12);
    expect(found.standardError).toBe(0.2);
    expectNear(found.slope!.variance, slope, 1e-12);
    expectNear(found.slope!.standardDeviation, Math.sqrt(slope), 1e-12);
    expect(found.slope!.standardError).toBe(0.3);
    expectNear(found.slope!.covariance, covariance, 1e-12);
    expectNear(found.slope!.correlation, covariance / Math.sqrt(variance * slope), 1e-12);
    expect(found.onBoundary).toBe(false);
    expect([entriesOf(alone), entriesOf(sloped)]).toEqual([1, 3]);
  });

  test('its derivatives by θ and ln s are those of the entries (central differences)', () => {
    const theta = Float64Array.from(THETA);
    const rows = [...componentDerivatives(alone, theta, SCALE), ...componentDerivatives(sloped, theta, SCALE)];
    const step = 1e-6;
    for (let k = 0; k <= THETA.length; k++) {
      const at = (moved: number): number[] =>
        k < THETA.length
          ? entries(
              THETA.map((value, at) => (at === k ? value + moved : value)),
              SCALE,
            )
          : entries(THETA, SCALE * Math.exp(2 * moved));
      const [up, down] = [at(step), at(-step)];
      rows.forEach((row, entry) => {
        expectNear(row![k]!, (up[entry]! - down[entry]!) / (2 * step), 1e-8);
      });
    }
  });

  test('on the boundary an entry has no derivatives, and a note says which variance is zero', () => {
    const flat = Float64Array.of(0, 0, 0, 0.6);
    expect(componentDerivatives(alone, flat, SCALE)).toEqual([undefined]);
    expect(componentDerivatives(sloped, flat, SCALE).map((row) => row === undefined)).toEqual([true, true, false]);
    expect([...edgesOf([alone, sloped], flat)]).toEqual([0, 1, 2]);
    const level = Float64Array.of(0.8, 1.3, 0, 0);
    expect(componentDerivatives(sloped, level, SCALE).map((row) => row === undefined)).toEqual([false, false, true]);
    expect([...edgesOf([alone, sloped], level)]).toEqual([3]);
    const of = (theta: Float64Array) => [
      varianceComponent(alone, theta, SCALE, 1, 1),
      varianceComponent(sloped, theta, SCALE, 1, 1),
    ];
    expect(of(flat).map(({ onBoundary }) => onBoundary)).toEqual([true, true]);
    expect(of(flat)[1]!.slope!.correlation).toBeNaN();
    expect(of(level).map(({ onBoundary }) => onBoundary)).toEqual([false, true]);
    expect(of(level)[1]!.slope!.correlation).toBeNaN();
    expect(boundaryNotes(of(flat)).map(({ message }) => message)).toEqual([
      expect.stringMatching(/variance between the groups of "reader"/),
      expect.stringMatching(/variance between the groups of "limb"/),
    ]);
    expect(boundaryNotes(of(level)).map(({ message }) => message)).toEqual([expect.stringMatching(/slope on "year"/)]);
    const tied = of(Float64Array.of(0.8, 1.3, -0.4, 0));
    expect(boundaryNotes(tied).map(({ code }) => code)).toEqual(['correlation-at-one']);
    expect(tied[1]!.slope!.correlation).toBe(-1);
    expect(boundaryNotes(of(Float64Array.from(THETA)))).toEqual([]);
  });

  test('has no correlation beside a variance of zero', () => {
    const of = (theta: number[]): number | undefined =>
      varianceComponent(sloped, Float64Array.from(theta), SCALE, 0, 0).slope?.correlation;
    // The covariance with an intercept that does not vary is 0, whatever stands below the diagonal.
    expect(of([0.8, 0, 0.3, 0.6])).toBeNaN();
    expect(of([0.8, 1.3, 0, 0])).toBeNaN();
    expect(of([0.8, 1.3, 0.3, 0.4])).toBeCloseTo(0.6, 12);
  });
});

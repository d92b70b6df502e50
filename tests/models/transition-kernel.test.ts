import { describe, expect, test } from 'vitest';
import { matrixExponential } from '../../src/models/linear-algebra.ts';
import { numericalGradient } from '../../src/models/optimize.ts';
import { transitionKernel } from '../../src/models/transition-kernel.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { flat } from '../support/matrix.ts';

const withEnd = flat([
  [-0.3, 0.2, 0.1, 0],
  [0.05, -0.25, 0.15, 0.05],
  [0, 0.1, -0.3, 0.2],
  [0, 0, 0, 0],
]);
/** Goes round: its eigenvalues are a complex pair and 0. */
const round = flat([
  [-1, 0.9, 0.1],
  [0.05, -0.8, 0.75],
  [0.7, 0.1, -0.8],
]);
/** Equal exit rates in a one-way chain: one eigenvector for three eigenvalues. */
const defective = flat([
  [-0.1, 0.1, 0, 0],
  [0, -0.1, 0.1, 0],
  [0, 0, -0.1, 0.1],
  [0, 0, 0, 0],
]);
/** Nearly so. */
const nearlyDefective = flat([
  [-0.1, 0.1, 0, 0],
  [0, -0.1000001, 0.1000001, 0],
  [0, 0, -0.0999999, 0.0999999],
  [0, 0, 0, 0],
]);

const chains: readonly [string, Float64Array, number][] = [
  ['with an end', withEnd, 4],
  ['complex', round, 3],
  ['defective', defective, 4],
  ['nearly defective', nearlyDefective, 4],
];

function probabilities(q: Float64Array, states: number, time: number): Float64Array {
  const out = new Float64Array(states * states);
  transitionKernel(q, states).probabilities(time, out, 0);
  return out;
}

describe('transitionKernel', () => {
  test('gives exp(Qt) of the reference case', () => {
    // R 4.2.2, expm 0.999-7 (Higham08.b) and msm 1.7 MatrixExp.
    const expected = [
      [0.488607826008958, 0.273863834252325, 0.16813477697929, 0.0693935627594273],
      [0.0645656010814404, 0.576575571980244, 0.201497518207603, 0.157361308730713],
      [0.00780071496328179, 0.129131202162881, 0.49640854097224, 0.366659541901598],
      [0, 0, 0, 1],
    ].flat();
    const found = probabilities(withEnd, 4, 2.5);
    for (let at = 0; at < 16; at++) expectNear(found[at] as number, expected[at] as number, 1e-13);
  });

  test('chooses the method by the eigenvectors', () => {
    expect(chains.map(([, q, states]) => transitionKernel(q, states).method)).toEqual([
      'eigenvalues',
      'eigenvalues',
      'matrix exponential',
      'matrix exponential',
    ]);
  });

  test.each(chains)('agrees with the matrix exponential and is a distribution: %s', (_, q, states) => {
    for (const time of [0, 1e-6, 0.3, 1.7, 12, 400]) {
      const found = probabilities(q, states, time);
      const expected = matrixExponential(
        q.map((entry) => entry * time),
        states,
      );
      for (let at = 0; at < found.length; at++) expectNear(found[at] as number, expected[at] as number, 1e-10);
      for (let r = 0; r < states; r++)
        expectNear(
          found.subarray(r * states, (r + 1) * states).reduce((sum, p) => sum + p, 0),
          1,
          1e-11,
        );
    }
  });

  test('a one-way chain with equal rates is a Poisson count', () => {
    const found = probabilities(defective, 4, 7);
    const mean = 0.7;
    expectNear(found[0] as number, Math.exp(-mean), 1e-14);
    expectNear(found[1] as number, mean * Math.exp(-mean), 1e-14);
    expectNear(found[2] as number, (mean ** 2 / 2) * Math.exp(-mean), 1e-14);
  });

  test.each(chains)('carries derivatives back from P(t) to Q: %s', (_, q, states) => {
    const random = seededRandom(5, states);
    const times = [0.2, 1.5, 30];
    const weights = Float64Array.from({ length: times.length * states * states }, () => random.normal());
    const kernel = transitionKernel(q, states);
    times.forEach((time, i) => kernel.addWeights(time, weights, i * states * states));
    const found = kernel.takeGradient();
    const total = (entries: Float64Array): number => {
      let sum = 0;
      times.forEach((time, i) => {
        const p = matrixExponential(
          entries.map((entry) => entry * time),
          states,
        );
        p.forEach((value, at) => {
          sum += value * (weights[i * states * states + at] as number);
        });
      });
      return sum;
    };
    const expected = numericalGradient(total, q);
    const scale = expected.reduce((largest, slope) => Math.max(largest, Math.abs(slope)), 0);
    // Fourth-order differences with step 1e-3: error about (30 · 1e-3)⁴/30 of the scale.
    for (let at = 0; at < found.length; at++)
      expect(Math.abs((found[at] as number) - (expected[at] as number))).toBeLessThan(3e-8 * scale);
    expect(kernel.takeGradient().every((slope) => slope === 0)).toBe(true);
  });

  test('the ways back agree with each other where both can be taken', () => {
    const random = seededRandom(6);
    const weights = Float64Array.from({ length: 16 }, () => random.normal());
    const nudged = Float64Array.from(defective);
    // Eigenvalues 1e-3 apart: the eigenvalue route still serves, and the chain is the defective one to 1e-3.
    for (const [at, by] of [
      [5, 1e-3],
      [10, 2e-3],
    ] as const)
      nudged[at] = (nudged[at] as number) - by;
    const slopes = [nudged, defective].map((q) => {
      const kernel = transitionKernel(q, 4);
      kernel.addWeights(2, weights, 0);
      return { method: kernel.method, gradient: kernel.takeGradient() };
    });
    expect(slopes.map(({ method }) => method)).toEqual(['eigenvalues', 'matrix exponential']);
    for (let at = 0; at < 16; at++)
      expect(Math.abs((slopes[0]?.gradient[at] as number) - (slopes[1]?.gradient[at] as number))).toBeLessThan(0.05);
  });
});

import { describe, expect, test } from 'vitest';
import { type ChainData, type ChainNumbers, emptySums, forwardBackward } from '../../src/models/forward-backward.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { everyPath } from '../support/paths.ts';

const states = 3;
const random = seededRandom(11);
const shares = (): number[] => {
  const raw = Array.from({ length: states }, () => random.uniform());
  const total = raw.reduce((sum, x) => sum + x, 0);
  return raw.map((x) => x / total);
};
const numbers: ChainNumbers = {
  states,
  initial: Float64Array.from(shares()),
  transitions: Float64Array.from([shares(), shares(), shares(), shares(), shares(), shares()].flat()),
  readings: Float64Array.from([shares(), shares(), shares(), shares()].flat()),
  logScale: Float64Array.from([0, 0.4, 0, -1]),
};
const data: ChainData = {
  starts: Int32Array.from([0, 4, 5, 8]),
  weights: Float64Array.from([1, 2, 0.5]),
  steps: Int32Array.from([-1, 0, 1, 0, -1, -1, 1, 1]),
  readings: Int32Array.from([0, 1, 2, 3, 1, 3, 3, 0]),
};

function byEnumeration(at: ChainNumbers): number {
  let total = 0;
  for (let i = 0; i < 3; i++) {
    const [from, to] = [data.starts[i] as number, data.starts[i + 1] as number];
    let likelihood = 0;
    for (const path of everyPath(states, to - from)) {
      let p = at.initial[path[0] as number] as number;
      path.forEach((state, v) => {
        const reading = data.readings[from + v] as number;
        p *= (at.readings[reading * states + state] as number) * Math.exp(at.logScale[reading] as number);
        if (v > 0)
          p *= at.transitions[
            ((data.steps[from + v] as number) * states + (path[v - 1] as number)) * states + state
          ] as number;
      });
      likelihood += p;
    }
    total += (data.weights[i] as number) * Math.log(likelihood);
  }
  return total;
}

describe('forwardBackward', () => {
  test('is the sum over every path', () => {
    expectNear(forwardBackward(data, numbers), byEnumeration(numbers), 1e-13);
  });

  // One state: the likelihood is the product of the readings' probabilities.
  test.each([
    ['small ones', [3e-4]],
    ['large ones', [7e3]],
    ['tiny ones', [1e-140, 1e-200, 0.5]],
    ['huge ones', [1e140, 3e200, 2]],
    ['tiny and huge ones', [1e-200, 1e120, 1e-90, 1e99]],
  ])('keeps its digits over 3,000 visits, %s', (_, probabilities) => {
    const visits = 3000;
    const each = probabilities.length;
    const one = forwardBackward(
      {
        starts: Int32Array.from([0, visits]),
        weights: Float64Array.of(1),
        steps: Int32Array.from({ length: visits }, (_unused, v) => (v === 0 ? -1 : 0)),
        readings: Int32Array.from({ length: visits }, (_unused, v) => v % each),
      },
      {
        states: 1,
        initial: Float64Array.of(1),
        transitions: Float64Array.of(1),
        readings: Float64Array.from(probabilities),
        logScale: new Float64Array(each),
      },
    );
    const logs = probabilities.reduce((sum, probability) => sum + Math.log(probability), 0);
    expectNear(one, (logs * visits) / each, 1e-12);
  });

  test('sums are the derivatives', () => {
    const sums = emptySums(numbers);
    forwardBackward(data, numbers, sums);
    for (const part of ['initial', 'transitions', 'readings'] as const)
      for (let at = 0; at < numbers[part].length; at++) {
        const nudged = (by: number): number =>
          byEnumeration({ ...numbers, [part]: numbers[part].map((x, i) => (i === at ? x + by : x)) });
        const slope = (nudged(1e-5) - nudged(-1e-5)) / 2e-5;
        // Sums of readings are derivatives by the logarithm.
        const expected = part === 'readings' ? slope * (numbers[part][at] as number) : slope;
        expectNear(sums[part][at] as number, expected, 1e-8);
      }
  });

  test('expected visits add up to the visits', () => {
    const sums = emptySums(numbers);
    forwardBackward(data, numbers, sums);
    expectNear(
      sums.readings.reduce((sum, count) => sum + count, 0),
      4 + 2 + 1.5,
      1e-12,
    );
  });

  test('does not underflow over a history of 20,000 visits', () => {
    const visits = 20_000;
    const long: ChainData = {
      starts: Int32Array.from([0, visits]),
      weights: Float64Array.from([1]),
      steps: Int32Array.from({ length: visits }, (_, v) => (v === 0 ? -1 : 0)),
      readings: new Int32Array(visits),
    };
    const found = forwardBackward(long, numbers, emptySums(numbers));
    expect(Number.isFinite(found)).toBe(true);
    expect(found).toBeLessThan(-1000);
  });

  test('impossible readings are −Infinity, and which subject is told', () => {
    let who = -1;
    const found = forwardBackward(
      data,
      { ...numbers, readings: numbers.readings.map((x, at) => (at >= 9 ? 0 : x)) },
      undefined,
      (subject) => {
        who = subject;
      },
    );
    expect(found).toBe(Number.NEGATIVE_INFINITY);
    expect(who).toBe(0);
  });
});

import { describe, expect, test } from 'vitest';
import { intensityPattern, logRatesOf, transitionProbabilities } from '../../src/models/intensities.ts';
import { expectNear } from '../support/expect-near.ts';

describe('transitionProbabilities', () => {
  test('two states have their closed form', () => {
    // P₀₁(t) = a/(a + b) (1 − e^(−(a + b)t)).
    const p = transitionProbabilities(
      [
        [0, 0.5],
        [0.3, 0],
      ],
      2,
    );
    expectNear(p[0]?.[1] as number, (0.5 / 0.8) * (1 - Math.exp(-1.6)), 1e-14);
    expectNear(p[1]?.[1] as number, 1 - (0.3 / 0.8) * (1 - Math.exp(-1.6)), 1e-14);
    const one = transitionProbabilities(
      [
        [0, 0.5],
        [0, 0],
      ],
      2,
    );
    expect(one[0]?.[1]).toBeCloseTo(0.6321, 4);
  });

  test('at time 0 nothing has changed', () => {
    const q = [
      [0, 0.5],
      [0.3, 0],
    ];
    expect(transitionProbabilities(q, 0)).toEqual([
      [1, 0],
      [0, 1],
    ]);
    expect(() => transitionProbabilities(q, Number.POSITIVE_INFINITY)).toThrow('time is Infinity');
  });

  test('P(s + t) = P(s) P(t), on a chain that goes round', () => {
    const q = [
      [0, 0.9, 0.1],
      [0.05, 0, 0.75],
      [0.7, 0.1, 0],
    ];
    // R 4.2.2, msm 1.7 MatrixExp: tests/reference/markov.R, row by row down the columns.
    const expected = [
      [0.30811790704583, 0.40374639449919, 0.28813569845499],
      [0.21175565502703, 0.39884211035379, 0.38940223461918],
      [0.31302219119123, 0.27911065768171, 0.40786715112706],
    ];
    const whole = transitionProbabilities(q, 1.7);
    const [a, b] = [transitionProbabilities(q, 0.6), transitionProbabilities(q, 1.1)];
    for (let r = 0; r < 3; r++)
      for (let s = 0; s < 3; s++) {
        expectNear(whole[r]?.[s] as number, expected[r]?.[s] as number, 1e-12);
        const product = [0, 1, 2].reduce((sum, k) => sum + (a[r]?.[k] as number) * (b[k]?.[s] as number), 0);
        expectNear(product, whole[r]?.[s] as number, 1e-13);
      }
  });

  test('refuses what is not an intensity or a time', () => {
    expect(() =>
      transitionProbabilities(
        [
          [0, -1],
          [0, 0],
        ],
        1,
      ),
    ).toThrow('intensities[0][1] is -1');
    expect(() => transitionProbabilities([[0, 1]], 1)).toThrow('2 entries, but there are 1 states');
    expect(() =>
      transitionProbabilities(
        [
          [0, 1],
          [0, 0],
        ],
        -1,
      ),
    ).toThrow('time is -1');
  });
});

test('logRatesOf refuses an allowed change without a rate', () => {
  expect(() =>
    logRatesOf(
      [
        [0, 0],
        [1, 0],
      ],
      intensityPattern([
        [false, true],
        [true, false],
      ]),
    ),
  ).toThrow('from state 0 to state 1 is 0');
});

import { describe, expect, test } from 'vitest';
import { compileReadings } from '../../src/models/chain-data.ts';
import type { MaximumFound } from '../../src/models/chain-fit.ts';
import { chainLikelihood, fixedLayer } from '../../src/models/chain-likelihood.ts';
import {
  checkConfidenceLevel,
  checkMeaning,
  intensityEstimates,
  intensityNames,
  intensityPattern,
  logRatesOf,
  startingRates,
  transitionProbabilities,
} from '../../src/models/intensities.ts';
import { matrixExponential } from '../../src/models/linear-algebra.ts';
import { normal } from '../../src/shared/distributions.ts';
import type { InputError } from '../../src/shared/input-error.ts';
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

const CHAIN = [
  [false, true, true],
  [true, false, true],
  [false, false, false],
];

function problemsOf(work: () => unknown): string[] {
  try {
    work();
  } catch (error) {
    return (error as InputError).problems.map(({ code, path }) => `${code} ${path?.join('.')}`);
  }
  return [];
}

test('transitionProbabilities of fast and slow chains keeps relative digits, and rows that sum to 1', () => {
  // One way, equal rates: a Poisson count with the last state taking the rest.
  const q = [
    [0, 1, 0],
    [0, 0, 1],
    [0, 0, 0],
  ];
  for (const time of [1e-9, 1e-3, 0.9, 5, 31, 32, 33, 100, 500]) {
    const [row] = transitionProbabilities(q, time) as [number[]];
    expectNear(row[0] as number, Math.exp(-time), 1e-12 * Math.max(1, time));
    expectNear((row[1] as number) / (time * Math.exp(-time)), 1, 1e-12 * Math.max(1, time));
    expectNear(row[0] as number, 1 - (row[1] as number) - (row[2] as number), 1e-12);
  }
  // 1 − e⁻ᵗ(1 + t) = t²/2 − t³/3 + …
  expectNear((transitionProbabilities(q, 1e-9)[0]?.[2] as number) / ((1e-18 / 2) * (1 - 2e-9 / 3)), 1, 1e-14);
  expect(transitionProbabilities(q, 40)[2]).toEqual([0, 0, 1]);
  expect(transitionProbabilities([[0]], 3)).toEqual([[1]]);
  expect(
    problemsOf(() =>
      transitionProbabilities(
        [
          [0, Number.NaN],
          [Number.POSITIVE_INFINITY, 0],
        ],
        1,
      ),
    ),
  ).toEqual(['bad-intensity intensities.0.1', 'bad-intensity intensities.1.0']);
  expect(problemsOf(() => transitionProbabilities([[0, 1], [1]], 1))).toEqual(['not-square intensities.1']);
});

test('keeps the digits of a tiny probability where eigenvalues differ', () => {
  // 0 → 1 at rate 1, 1 → 2 at rate 2: P₀₂ = (1 − e⁻ᵗ)², whose square an eigenvalue sum would lose below 1e-16.
  for (const time of [1e-10, 1e-7, 0.01, 2]) {
    const p = transitionProbabilities(
      [
        [0, 1, 0],
        [0, 0, 2],
        [0, 0, 0],
      ],
      time,
    );
    expectNear((p[0]?.[2] as number) / Math.expm1(-time) ** 2, 1, 1e-13);
  }
});

test('a confidence level lies strictly between 0 and 1', () => {
  for (const level of [0, 1, -0.1, 1.1, Number.NaN])
    expect(problemsOf(() => checkConfidenceLevel(level))).toEqual(['bad-option options.confidenceLevel']);
  expect(checkConfidenceLevel(0.5)).toBe(0.5);
  expect(checkConfidenceLevel()).toBe(0.95);
});

test('intensityPattern numbers the allowed changes row by row', () => {
  const { groups, count } = intensityPattern(CHAIN);
  expect([...groups]).toEqual([-1, 0, 1, 2, -1, 3, -1, -1, -1]);
  expect(count).toBe(4);
  // The diagonal is not looked at.
  expect(problemsOf(() => intensityPattern([[true]]))).toEqual(['no-change-allowed allowed']);
  expect(problemsOf(() => intensityPattern([[false, true], [true]]))).toEqual(['not-square allowed.1']);
});

test('logRatesOf averages the rates of a group and names every one that is no rate', () => {
  const shared = { groups: Int32Array.from([-1, 0, 1, 0, -1, 1, -1, -1, -1]), count: 2 };
  const found = logRatesOf(
    [
      [0, 2, 0.1],
      [6, 0, 0.5],
      [0, 0, 0],
    ],
    shared,
  );
  expectNear(found[0] as number, Math.log(4), 1e-15);
  expectNear(found[1] as number, Math.log(0.3), 1e-15);
  expect(problemsOf(() => logRatesOf([[0, -2, Number.POSITIVE_INFINITY], [1]], shared))).toEqual([
    'bad-intensity intensities.0.1',
    'bad-intensity intensities.0.2',
    'bad-intensity intensities.1.2',
  ]);
});

test.each<[string, Parameters<typeof checkMeaning>[0], string[]]>([
  ['an end that is never left', { exactEnd: 2 }, []],
  ['an end that can be left', { exactEnd: 0 }, ['bad-option options.exactEnd']],
  ['an end that is no state', { exactEnd: 3 }, ['bad-option options.exactEnd']],
  ['half a state', { exactEnd: 1.5 }, ['bad-option options.exactEnd']],
  [
    'a code outside the states',
    {
      censored: [
        { code: 99, states: [0, 2] },
        { code: -1, states: [1] },
      ],
    },
    [],
  ],
  [
    'codes that are states or no numbers',
    {
      censored: [
        { code: 0, states: [0] },
        { code: Number.NaN, states: [2] },
        { code: 3, states: [0] },
        { code: 2, states: [0] },
      ],
    },
    ['bad-option options.censored.0.code', 'bad-option options.censored.1.code', 'bad-option options.censored.3.code'],
  ],
  [
    'no states, or unknown ones',
    {
      censored: [
        { code: 9, states: [] },
        { code: 8, states: [0, 3] },
        { code: 7, states: [-1] },
      ],
    },
    [
      'bad-option options.censored.0.states',
      'bad-option options.censored.1.states',
      'bad-option options.censored.2.states',
    ],
  ],
])('checkMeaning: %s', (_, options, expected) => {
  expect(problemsOf(() => checkMeaning(options, 3, intensityPattern(CHAIN)))).toEqual(expected);
});

test('checkMeaning: an end that nothing leads to', () => {
  const alone = intensityPattern([
    [false, true, false],
    [true, false, false],
    [false, false, false],
  ]);
  expect(problemsOf(() => checkMeaning({ exactEnd: 2 }, 3, alone))).toEqual(['bad-option options.exactEnd']);
  // Group 0 leaves state 0, so state 0 is no end even where something enters it.
  const first = intensityPattern([
    [false, true],
    [false, false],
  ]);
  expect(problemsOf(() => checkMeaning({ exactEnd: 0 }, 2, first))).toEqual(['bad-option options.exactEnd']);
});

describe('startingRates', () => {
  const meaning = { states: 3, categories: 4, readers: 1, statesOf: (c: number) => [c], censored: [] };
  const columns = {
    subject: [1, 1, 1, 2, 2, 2, 3, 3],
    time: [0, 2, 3, 0, 0.5, 4, 1, 2.5],
    category: [0, 0, 1, 0, 1, 2, 1, 3],
  };
  const compiled = compileReadings(columns, meaning);

  test('are changes over time spent, as if a state held until the next visit', () => {
    // State 0: 2 + 1 + 0.5 spent, 2 changes to 1, none to 2 (half a one). State 1: 3.5 spent, one to 2, none to 0; category 3 is no state.
    const found = startingRates(compiled, columns.category, intensityPattern(CHAIN), 3);
    [2 / 3.5, 0.5 / 3.5, 0.5 / 3.5, 1 / 3.5].forEach((rate, group) => {
      expectNear(found[group] as number, Math.log(rate), 1e-14);
    });
    // The two ways out of a state as one group: changes add up, time is spent once for each.
    const shared = { groups: Int32Array.from([-1, 0, 0, 1, -1, 1, -1, -1, -1]), count: 2 };
    expectNear(startingRates(compiled, columns.category, shared, 3)[0] as number, Math.log(2 / 7), 1e-14);
  });

  test('with categories that suggest other states, or none', () => {
    const found = startingRates(compiled, columns.category, intensityPattern(CHAIN), 3, (c) =>
      c === 3 ? 0 : c === 0 ? -1 : c,
    );
    // State 1: 3.5 + 1.5 spent; one change to 2, one (category 3) to 0. In state 0 nothing was spent: all time, shared among three states.
    const all = 2 + 1 + 0.5 + 3.5 + 1.5;
    [0.5 / (all / 3), 0.5 / (all / 3), 1 / 5, 1 / 5].forEach((rate, group) => {
      expectNear(found[group] as number, Math.log(rate), 1e-14);
    });
  });

  test('in another unit of time are the same changes', () => {
    const plain = startingRates(compiled, columns.category, intensityPattern(CHAIN), 3);
    const shorter = { ...columns, time: columns.time.map((time) => time / 64) };
    startingRates(compileReadings(shorter, meaning), columns.category, intensityPattern(CHAIN), 3).forEach(
      (rate, group) => {
        expectNear(rate, (plain[group] as number) + Math.log(64), 1e-10);
      },
    );
  });

  test('without any second visit half a change in one unit of time', () => {
    const once = { subject: [1, 2], time: [0, 0], category: [0, 1] };
    expectNear(
      startingRates(compileReadings(once, meaning), once.category, intensityPattern(CHAIN), 3)[0] as number,
      Math.log(0.5),
      1e-15,
    );
  });
});

describe('intensityEstimates from a point and its covariance', () => {
  const pattern = intensityPattern(CHAIN);
  const columns = { subject: [1, 1], time: [0, 1], category: [0, 1], covariates: { dose: [0, 1], old: [1, 1] } };
  const likelihood = chainLikelihood({
    compiled: compileReadings(columns, { states: 3, categories: 3, readers: 1, statesOf: (c) => [c], censored: [] }),
    states: 3,
    cells: 3,
    intensities: pattern,
    initial: { kind: 'fixed', probabilities: Float64Array.of(1, 0, 0) },
    layer: fixedLayer(Float64Array.of(1, 0, 0, 0, 1, 0, 0, 0, 1)),
    endState: undefined,
  });
  const point = Float64Array.of(-1, -2, -1.5, -0.5, 0.3, -0.2, 0.1, 0.4, 0.7, 0.6, -0.6, 0.2);
  const n = point.length;
  const root = Float64Array.from({ length: n * n }, (_, k) => (((k * 37) % 19) - 9) / 60);
  const covariance = Float64Array.from({ length: n * n }, (_, k) => {
    const [i, j] = [Math.floor(k / n), k % n];
    return root.subarray(i * n, (i + 1) * n).reduce((sum, x, m) => sum + x * (root[j * n + m] as number), 0);
  });
  const found = { point, covariance } as unknown as MaximumFound;
  const estimates = intensityEstimates(found, likelihood, pattern, 3, ['dose', 'old'], 0.9);
  const z = normal.quantile(0.95);
  const v = (i: number, j: number): number => covariance[i * n + j] as number;
  const none = { value: 0, standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN };
  const rate = Array.from(point, Math.exp);
  const check = (own: typeof none | undefined, logValue: number, variance: number, sign = 1): void => {
    const value = sign * Math.exp(logValue);
    const error = Math.sqrt(variance);
    const ends = [Math.exp(logValue - z * error), Math.exp(logValue + z * error)].map((end) => sign * end);
    expectNear(own?.value as number, value, 1e-14);
    expectNear(own?.standardError as number, Math.abs(value) * error, 1e-13);
    expectNear(own?.lower as number, Math.min(...ends), 1e-13);
    expectNear(own?.upper as number, Math.max(...ends), 1e-13);
  };

  test('intensities and their sums', () => {
    const group = [
      [-1, 0, 1],
      [2, -1, 3],
    ];
    for (const r of [0, 1]) {
      const own = (group[r] as number[]).filter((g) => g >= 0) as [number, number];
      for (let s = 0; s < 3; s++) {
        const g = (group[r] as number[])[s] as number;
        if (g >= 0) check(estimates.intensities[r]?.[s], point[g] as number, v(g, g));
      }
      const total = (rate[own[0]] as number) + (rate[own[1]] as number);
      const share = own.map((g) => (rate[g] as number) / total) as [number, number];
      const variance =
        share[0] ** 2 * v(own[0], own[0]) +
        2 * share[0] * share[1] * v(own[0], own[1]) +
        share[1] ** 2 * v(own[1], own[1]);
      check(estimates.intensities[r]?.[r], Math.log(total), variance, -1);
      check(estimates.meanSojourns[r], -Math.log(total), variance);
    }
    expect(estimates.intensities[2]).toEqual([none, none, none]);
    expect(estimates.meanSojourns[2]).toEqual({ ...none, value: Number.POSITIVE_INFINITY });
  });

  test('ratios of each covariate', () => {
    (['dose', 'old'] as const).forEach((name, c) => {
      const ratios = estimates.intensityRatios[name];
      check(ratios?.[0]?.[1], point[4 + 4 * c] as number, v(4 + 4 * c, 4 + 4 * c));
      check(ratios?.[1]?.[2], point[7 + 4 * c] as number, v(7 + 4 * c, 7 + 4 * c));
      expect(ratios?.[0]?.[0]).toEqual(none);
      expect(ratios?.[1]?.[1]).toEqual(none);
      expect(ratios?.[2]?.[0]).toEqual(none);
    });
    expect(Object.keys(estimates.intensityRatios)).toEqual(['dose', 'old']);
  });

  test('Q and P(t) at covariate values, and what is refused', () => {
    const q = estimates.intensitiesAt({ old: 2, dose: -1 });
    const at = (g: number): number =>
      Math.exp((point[g] as number) - (point[4 + g] as number) + 2 * (point[8 + g] as number));
    expectNear(q[0]?.[1] as number, at(0), 1e-14);
    expectNear(q[1]?.[2] as number, at(3), 1e-14);
    expectNear(q[1]?.[1] as number, -at(2) - at(3), 1e-14);
    expectNear(estimates.intensitiesAt()[0]?.[2] as number, rate[1] as number, 1e-15);
    const expected = matrixExponential(
      Float64Array.from(q.flat()).map((x) => 1.3 * x),
      3,
    );
    const p = estimates.transitionProbabilities(1.3, { old: 2, dose: -1 });
    for (let k = 0; k < 9; k++) expectNear(p.flat()[k] as number, expected[k] as number, 1e-12);
    const limits = estimates.transitionEstimates(1.3, { old: 2, dose: -1 });
    for (let k = 0; k < 9; k++) expectNear(limits.flat()[k]?.value as number, expected[k] as number, 1e-12);
    // The logit of P₀₁: its slope by each parameter, by differences of the matrix exponential.
    const logit = (x: Float64Array): number => {
      const rates = [0, 1, 2, 3].map((g) =>
        Math.exp((x[g] as number) - (x[4 + g] as number) + 2 * (x[8 + g] as number)),
      ) as [number, number, number, number];
      const matrix = Float64Array.of(
        -rates[0] - rates[1],
        rates[0],
        rates[1],
        rates[2],
        -rates[2] - rates[3],
        rates[3],
        0,
        0,
        0,
      );
      const own = matrixExponential(
        matrix.map((entry) => 1.3 * entry),
        3,
      )[1] as number;
      return Math.log(own / (1 - own));
    };
    const slopes = point.map((x, k) => {
      const moved = (by: number): Float64Array => point.map((own, m) => (m === k ? x + by : own));
      return (logit(moved(1e-4)) - logit(moved(-1e-4))) / 2e-4;
    });
    let variance = 0;
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) variance += (slopes[i] as number) * (slopes[j] as number) * v(i, j);
    const { value, standardError, upper } = limits.flat()[1] as typeof none;
    expectNear(standardError, value * (1 - value) * Math.sqrt(variance), 1e-6);
    expectNear(Math.log(upper / (1 - upper)), logit(point) + z * Math.sqrt(variance), 1e-6);
    expect(limits[2]).toEqual([{ ...none }, { ...none }, { ...none, value: 1 }]);
    expect(() => estimates.intensitiesAt({ doze: 1 })).toThrow('no covariate "doze"; it has dose, old');
    expect(() => estimates.transitionProbabilities(-1)).toThrow('time is -1');
    expect(() => estimates.transitionEstimates(Number.NaN)).toThrow('time is NaN');
  });

  test('names of the parameters', () => {
    expect(
      intensityNames(pattern, 3, ['dose'], (s) => 'ABC'[s] as string).map(({ kind, name }) => `${kind}: ${name}`),
    ).toEqual([
      'rate: intensity from A to B',
      'rate: intensity from A to C',
      'rate: intensity from B to A',
      'rate: intensity from B to C',
      'effect: effect of dose on the intensity from A to B',
      'effect: effect of dose on the intensity from A to C',
      'effect: effect of dose on the intensity from B to A',
      'effect: effect of dose on the intensity from B to C',
    ]);
  });
});

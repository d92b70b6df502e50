import { describe, expect, test } from 'vitest';
import { checkModel, type HiddenMarkovModel, hiddenMarkovLogLikelihood } from '../../src/models/hidden-markov-model.ts';
import { transitionProbabilities } from '../../src/models/intensities.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { expectNear } from '../support/expect-near.ts';
import { referenceData } from '../support/optional.ts';
import { everyPath } from '../support/paths.ts';
import { serialFile } from '../support/serial-file.ts';

const folder = referenceData();

describe.runIf(folder !== undefined)('hiddenMarkovLogLikelihood on reference data', () => {
  test('aneurysm grades at fixed numbers (a defective Q)', () => {
    // Jackson CH et al. J R Stat Soc D 2003;52:193–209, doi:10.1111/1467-9884.00351; R 4.2.2, msm 1.7.
    const data = serialFile(folder ?? '', 'aneur.csv', { subject: 'ptnum', time: 'age', state: 'state' });
    const model: HiddenMarkovModel = {
      intensities: [0, 1, 2, 3].map((r) => [0, 1, 2, 3].map((s) => (s === r + 1 ? 0.1 : 0))),
      initial: [1, 0, 0, 0],
      readings: [
        [
          [0.9, 0.1, 0, 0],
          [0.1, 0.8, 0.1, 0],
          [0, 0.1, 0.8, 0.1],
          [0, 0, 0.1, 0.9],
        ],
      ],
    };
    expectNear(-2 * hiddenMarkovLogLikelihood(data, model), 3811.04204110913, 1e-9);
  });

  test('graft vasculopathy with an exact end and several first states, at fixed numbers', () => {
    // tests/reference/markov.R
    const data = serialFile(folder ?? '', 'cav.csv', { subject: 'PTNUM', time: 'years', state: 'state' });
    const model: HiddenMarkovModel = {
      intensities: [
        [0, 0.148, 0, 0.0171],
        [0, 0, 0.202, 0.081],
        [0, 0, 0, 0.126],
        [0, 0, 0, 0],
      ],
      initial: [0.7, 0.2, 0.1, 0],
      readings: [
        [
          [0.9, 0.1, 0, 0],
          [0.1, 0.8, 0.1, 0],
          [0, 0.1, 0.9, 0],
          [0, 0, 0, 1],
        ],
      ],
      exactEnd: { category: 3, state: 3 },
    };
    expectNear(-2 * hiddenMarkovLogLikelihood(data, model), 4712.0186066936, 1e-9);
  });
});

describe('hiddenMarkovLogLikelihood', () => {
  const intensities = [
    [0, 0.3, 0.1],
    [0.2, 0, 0.4],
    [0, 0, 0],
  ];
  const matrixA = [
    [0.8, 0.15, 0.05],
    [0.1, 0.7, 0.2],
    [0, 0.3, 0.7],
  ];
  const matrixB = [
    [0.6, 0.3, 0.1],
    [0.2, 0.6, 0.2],
    [0.05, 0.15, 0.8],
  ];
  const model: HiddenMarkovModel = { intensities, initial: [0.5, 0.3, 0.2], readings: [matrixA, matrixB] };

  test('the example has its closed form', () => {
    const found = hiddenMarkovLogLikelihood(
      { subject: [1, 1], time: [0, 1], category: [0, 1] },
      {
        intensities: [
          [0, 0.5],
          [0, 0],
        ],
        initial: [1, 0],
        readings: [
          [
            [0.9, 0.1],
            [0.2, 0.8],
          ],
        ],
      },
    );
    const stay = Math.exp(-0.5);
    expectNear(found, Math.log(0.9) + Math.log(stay * 0.1 + (1 - stay) * 0.8), 1e-14);
    expect(found).toBeCloseTo(-1.085, 4);
  });

  test('is the sum over every path: irregular gaps, a late start, a matrix for each reader, two readers at one visit', () => {
    const data = {
      subject: [1, 1, 1, 1, 1],
      time: [3.2, 3.9, 3.9, 6.5, 6.6],
      category: [0, 1, 2, 1, 2],
      reader: [0, 0, 1, 1, 0],
    };
    const visits = [
      [[0, 0]],
      [
        [1, 0],
        [2, 1],
      ],
      [[1, 1]],
      [[2, 0]],
    ];
    const gaps = [0.7, 2.6, 0.1];
    let likelihood = 0;
    for (const path of everyPath(3, 4)) {
      let p = model.initial[path[0] as number] as number;
      path.forEach((state, v) => {
        if (v > 0)
          p *= transitionProbabilities(intensities, gaps[v - 1] as number)[path[v - 1] as number]?.[state] as number;
        for (const [category, reader] of visits[v] as number[][])
          p *= model.readings[reader as number]?.[state]?.[category as number] as number;
      });
      likelihood += p;
    }
    expectNear(hiddenMarkovLogLikelihood(data, model), Math.log(likelihood), 1e-12);
  });

  test('covariates multiply intensities from their visit to the next', () => {
    const effects = {
      dose: [
        [0, 0.5, 0.5],
        [-0.2, 0, 0.3],
        [0, 0, 0],
      ],
    };
    const data = { subject: [1, 1], time: [0, 1], category: [0, 1], covariates: { dose: [2, 77] } };
    const scaled = intensities.map((row, r) => row.map((q, s) => q * Math.exp(2 * (effects.dose[r]?.[s] as number))));
    expectNear(
      hiddenMarkovLogLikelihood(data, { ...model, covariateEffects: effects }),
      hiddenMarkovLogLikelihood(data, { ...model, intensities: scaled }),
      1e-13,
    );
    expect(() =>
      hiddenMarkovLogLikelihood({ subject: [1], time: [0], category: [0] }, { ...model, covariateEffects: effects }),
    ).toThrow('has the covariate');
  });

  test('several states may share a category; a certain reading then leaves them open', () => {
    const four: HiddenMarkovModel = {
      intensities: [0, 1, 2, 3].map((r) => [0, 1, 2, 3].map((s) => (Math.abs(s - r) === 1 ? 0.4 : 0))),
      initial: [0.25, 0.25, 0.25, 0.25],
      readings: [
        [
          [1, 0],
          [1, 0],
          [0, 1],
          [0, 1],
        ],
      ],
      stateCategories: [0, 0, 1, 1],
    };
    const rows = { subject: [1, 1], time: [0, 1], category: [0, 1] };
    expectNear(
      hiddenMarkovLogLikelihood({ ...rows, certain: [1, 1] }, four),
      hiddenMarkovLogLikelihood(rows, four),
      1e-13,
    );
  });

  test('intensities in the wrong unit of time are refused, not called impossible', () => {
    const days = { ...model, intensities: intensities.map((row) => row.map((q) => q * 1e7)) };
    expect(() => hiddenMarkovLogLikelihood({ subject: [1, 1], time: [0, 1], category: [0, 1] }, days)).toThrow(
      'per unit of the times given',
    );
  });

  test('impossible readings are −Infinity', () => {
    const still: HiddenMarkovModel = {
      intensities: [
        [0, 0.1],
        [0, 0],
      ],
      initial: [0, 1],
      readings: [
        [
          [1, 0],
          [0, 1],
        ],
      ],
    };
    expect(hiddenMarkovLogLikelihood({ subject: [1], time: [0], category: [0] }, still)).toBe(Number.NEGATIVE_INFINITY);
  });

  test('names every fault of a model', () => {
    expect(() =>
      hiddenMarkovLogLikelihood(
        { subject: [1], time: [0], category: [0] },
        {
          intensities,
          initial: [0.5, 0.5, 0.5],
          readings: [
            [
              [1, 0, 0],
              [0.5, 0.4, 0],
              [0, 0, 1],
            ],
          ],
        },
      ),
    ).toThrow(/initial does not hold[\s\S]*readings\[0\]\[1\]/);
  });
});

describe('what a model must hold', () => {
  const fine: HiddenMarkovModel = {
    intensities: [
      [0, 0.5],
      [0.2, 0],
    ],
    initial: [0.4, 0.6],
    readings: [
      [
        [0.9, 0.1],
        [0.2, 0.8],
      ],
      [
        [0.7, 0.3],
        [0.1, 0.9],
      ],
    ],
  };
  const faults = (part: Partial<HiddenMarkovModel>): string[] => {
    try {
      checkModel({ ...fine, ...part });
    } catch (error) {
      return (error as InputError).problems.map(({ code, path }) => `${code} ${path?.join('.')}`);
    }
    return [];
  };
  const [first, second] = fine.readings as [number[][], number[][]];

  test.each<[string, Partial<HiddenMarkovModel>, string[]]>([
    ['nothing else', {}, []],
    ['as many first probabilities as states', { initial: [0.4, 0.3, 0.3] }, ['bad-model initial']],
    ['first probabilities that add up to 1', { initial: [0.4, 0.7] }, ['bad-model initial']],
    ['less than 1', { initial: [0.4, 0.5] }, ['bad-model initial']],
    ['none below 0', { initial: [1.4, -0.4] }, ['bad-model initial']],
    ['a reader', { readings: [] }, ['bad-model readings']],
    ['a row a state', { readings: [first, second.slice(1)] }, ['bad-model readings.1']],
    [
      'as many categories in every row as in the first',
      { readings: [[[1], [0.5, 0.5]], second] },
      ['bad-model readings.0.1', 'bad-model readings.1.0', 'bad-model readings.1.1'],
    ],
    [
      'rows that add up to 1',
      {
        readings: [
          first,
          [
            [0.7, 0.4],
            [0.1, 0.8],
          ],
        ],
      },
      ['bad-model readings.1.0', 'bad-model readings.1.1'],
    ],
    ['a category a state', { stateCategories: [0] }, ['bad-model stateCategories']],
    [
      'effects of every change',
      {
        covariateEffects: {
          dose: [[0, 1]],
          age: [[0, 1], [1]],
          sex: [
            [0, Number.NaN],
            [0, 0],
          ],
          ok: [
            [0, 1],
            [2, 0],
          ],
        },
      },
      ['bad-model covariateEffects.dose', 'bad-model covariateEffects.age', 'bad-model covariateEffects.sex'],
    ],
  ])('%s', (_, part, expected) => {
    expect(faults(part)).toEqual(expected);
  });

  test('readings without a covariate of the model are refused', () => {
    const data = { subject: [1, 1], time: [0, 1], category: [0, 1] };
    const model = {
      ...fine,
      covariateEffects: {
        dose: [
          [0, 0.3],
          [-0.4, 0],
        ],
        age: [
          [0, 0],
          [0, 0],
        ],
      },
    };
    expect(() => hiddenMarkovLogLikelihood({ ...data, covariates: { age: [1, 2] } }, model)).toThrow(
      'covariate "dose"',
    );
    // Those that the model does not know are left out.
    const held = hiddenMarkovLogLikelihood(
      { ...data, covariates: { age: [1, 2], dose: [2, 5], other: [1, 9] } },
      model,
    );
    const [up, down] = [0.5 * Math.exp(0.6), 0.2 * Math.exp(-0.8)];
    const change = (1 - Math.exp(-up - down)) / (up + down);
    const [p01, p10] = [up * change, down * change];
    const total = 0.4 * 0.9 * ((1 - p01) * 0.1 + p01 * 0.8) + 0.6 * 0.2 * (p10 * 0.1 + (1 - p10) * 0.8);
    expectNear(held, Math.log(total), 1e-12);
  });

  test('states may share a category, and an end may have one that no reader writes', () => {
    const model: HiddenMarkovModel = {
      intensities: [
        [0, 0.4, 0.1],
        [0.3, 0, 0.2],
        [0, 0, 0],
      ],
      initial: [0.5, 0.5, 0],
      readings: [
        [
          [1, 0],
          [0.5, 0.5],
          [1, 0],
        ],
      ],
      stateCategories: [0, 0, 7],
      exactEnd: { category: 7, state: 2 },
    };
    const p = transitionProbabilities(model.intensities, 2);
    const found = hiddenMarkovLogLikelihood(
      { subject: [1, 1], time: [0, 2], category: [0, 7], certain: [1, 0] },
      model,
    );
    // Certainly written 0 is either of the first two states; the end comes from either.
    let total = 0;
    for (const r of [0, 1])
      for (const s of [0, 1]) total += 0.5 * (p[r]?.[s] as number) * (model.intensities[s]?.[2] as number);
    expectNear(found, Math.log(total), 1e-12);
  });
});

import { describe, expect, it } from 'vitest';
import { symmetricInverse } from '../../src/models/linear-algebra.ts';
import { numericalGradient } from '../../src/models/optimize.ts';
import { checkTerms, type RandomTerm, RandomTerms } from '../../src/models/random-terms.ts';
import { InputError, type Problem } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';

const patient = Array.from({ length: 24 }, (_, row) => Math.floor(row / 4));
const limb = patient.map((_, row) => (row % 4 < 2 ? 'left' : 'right'));
const assessor = patient.map((_, row) => (row * 7) % 3);
const day = patient.map((_, row) => (row * 5) % 11);
const all: RandomTerm[] = [
  { name: 'assessor', groups: assessor },
  { name: 'patient', groups: patient, slope: { name: 'day', values: day } },
  { name: 'limb', groups: limb, within: 'patient' },
];

describe('random terms', () => {
  const problems: Problem[] = [];
  const terms = new RandomTerms(24, checkTerms(all, 24, problems, false));

  it('put limbs and patients into the sparse part, assessors into the border', () => {
    expect(problems).toEqual([]);
    expect(terms.blocks.map(({ name }) => name)).toEqual(['limb', 'patient', 'assessor']);
    expect(terms.pattern.sparse).toBe(12 + 2 * 6);
    expect(terms.order).toBe(12 + 2 * 6 + 3);
    expect(terms.parameterCount).toBe(1 + 3 + 1);
    // A limb in a patient is labelled by both, and is another one in every patient.
    expect(terms.blocks[0]?.levels.slice(0, 3)).toEqual(['0/left', '0/right', '1/left']);
    // Below a limb: its patient's two effects and at most 3 assessors; below a patient: 1 or 0, and 3.
    expect(terms.pattern.size).toBeLessThanOrEqual(24 + 12 * 5 + 6 * 7 + 9);
  });

  it('build the information matrix of the scaled design', () => {
    const theta = Float64Array.of(0.5, 2, 0.3, 0.7, 1.1);
    const scaled = new Float64Array(terms.design.length);
    terms.scaleDesign(theta, scaled);
    const weights = Float64Array.from(patient, (_, row) => 1 + (row % 3));
    const values = new Float64Array(terms.pattern.size);
    terms.information(scaled, weights, values);
    const rms = Math.sqrt(day.reduce((sum, value) => sum + value * value, 0) / 24);
    const rows = Array.from({ length: 24 }, (_, row) => row);
    const slopeEntry = (row: number): number => (0.7 * (day[row] as number)) / rms;
    const interceptEntry = (row: number): number => 2 + (0.3 * (day[row] as number)) / rms;
    const first = rows.filter((row) => patient[row] === 0);
    const sum = (of: (row: number) => number, over: number[]): number =>
      over.reduce((total, row) => total + (weights[row] as number) * of(row), 0);
    expectNear(values[terms.pattern.position(12, 12)] as number, 1 + sum((r) => interceptEntry(r) ** 2, first), 1e-14);
    expectNear(
      values[terms.pattern.position(13, 12)] as number,
      sum((r) => interceptEntry(r) * slopeEntry(r), first),
      1e-14,
    );
    const both = first.filter((row) => assessor[row] === assessor[0]);
    expectNear(
      values[terms.pattern.position(24, 12)] as number,
      sum((r) => 1.1 * interceptEntry(r), both),
      1e-14,
    );
  });

  describe.each<[string, RandomTerm[], number[]]>([
    ['a slope in the sparse part', all, [0.5, 2, 0.3, 0.7, 1.1]],
    [
      'a slope in the border, and one in the sparse part',
      [
        { name: 'assessor', groups: assessor, slope: { name: 'day', values: day } },
        { name: 'limb', groups: limb, within: 'patient', slope: { name: 'day', values: day.map((d) => d - 3) } },
        { name: 'patient', groups: patient },
      ].sort((a) => (a.name === 'patient' ? -1 : 1)),
      [1.2, -0.4, 0.8, 0.6, 0.9, 0.2, 1.5],
    ],
  ])('agree with dense matrices: %s', (_, list, entries) => {
    const own = new RandomTerms(24, checkTerms(list, 24, [], false));
    const { order, width, pattern } = own;
    const theta = Float64Array.from(entries);
    const zeros = (n: number): number[] => new Array<number>(n).fill(0);
    // Z, row by row, and Λ, from the terms as they were stated.
    const design = Array.from({ length: 24 }, () => zeros(order));
    const lambda = Array.from({ length: order }, () => zeros(order));
    for (const block of own.blocks) {
      const term = list.find(({ name }) => name === block.name) as RandomTerm;
      const values = term.slope === undefined ? undefined : Array.from(term.slope.values);
      const scale = values === undefined ? 1 : Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / 24);
      expectNear(block.slopeScale, scale, 1e-15);
      expect(block.slopeName).toBe(term.slope?.name);
      for (let row = 0; row < 24; row++) {
        const label = term.within === undefined ? term.groups[row] : `${patient[row]}/${term.groups[row]}`;
        const level = block.levels.indexOf(label as string);
        const column = block.offset + block.width * level;
        (design[row] as number[])[column] = 1;
        if (values !== undefined) (design[row] as number[])[column + 1] = (values[row] as number) / scale;
      }
      for (let level = 0; level < block.levels.length; level++) {
        const column = block.offset + block.width * level;
        const at = (i: number, j: number, value: number | undefined): void => {
          (lambda[column + i] as number[])[column + j] = value as number;
        };
        at(0, 0, theta[block.parameter]);
        if (block.width === 1) continue;
        at(1, 0, theta[block.parameter + 1]);
        at(1, 1, theta[block.parameter + 2]);
      }
    }
    const product = (a: number[][], b: number[][]): number[][] =>
      a.map((row) =>
        (b[0] as number[]).map((_, j) => row.reduce((sum, x, k) => sum + x * ((b[k] as number[])[j] as number), 0)),
      );
    const turned = (a: number[][]): number[][] => (a[0] as number[]).map((_, j) => a.map((row) => row[j] as number));
    const zl = product(design, lambda);
    const weights = Float64Array.from({ length: 24 }, (_, row) => 1 + (row % 3) / 2);
    const matrix = product(
      turned(zl),
      zl.map((row, r) => row.map((x) => x * (weights[r] as number))),
    );
    for (let k = 0; k < order; k++) (matrix[k] as number[])[k] = ((matrix[k] as number[])[k] as number) + 1;
    const inverse = symmetricInverse(Float64Array.from(matrix.flat()), order) as Float64Array;
    const scaled = new Float64Array(own.design.length);
    own.scaleDesign(theta, scaled);
    const values = new Float64Array(pattern.size).fill(7);
    const factor = new Float64Array(pattern.size);
    const random = seededRandom(11);
    const vector = Float64Array.from({ length: order }, () => random.normal());

    it('the design times Λ, its information, and what is solved with it', () => {
      own.information(scaled, weights, values);
      own.information(scaled, weights, factor);
      expect(pattern.factor(factor)).toBe(true);
      const selected = pattern.selectedInverse(factor);
      const solved = new Float64Array(scaled.length).fill(7);
      own.solvedDesign(selected, scaled, solved);
      for (let row = 0; row < 24; row++)
        for (let a = 0; a < width; a++) {
          const column = own.columns[row * width + a] as number;
          const own1 = zl[row] as number[];
          expectNear(scaled[row * width + a] as number, own1[column] as number, 1e-15);
          const expected = own1.reduce((sum, x, k) => sum + x * (inverse[column * order + k] as number), 0);
          expectNear(solved[row * width + a] as number, expected, 1e-12);
          for (let b = a; b < width; b++) {
            const other = own.columns[row * width + b] as number;
            const place = pattern.position(other, column);
            expectNear(values[place] as number, (matrix[other] as number[])[column] as number, 1e-13);
            expectNear(selected[place] as number, inverse[other * order + column] as number, 1e-12);
          }
        }
      const plain = new Float64Array(pattern.size);
      own.information(scaled, undefined, plain);
      for (let k = 0; k < order; k++)
        expectNear(
          plain[pattern.position(k, k)] as number,
          1 + zl.reduce((sum, row) => sum + (row[k] as number) ** 2, 0),
          1e-13,
        );
    });

    it('sums over levels, Λᵀ times a vector, and the derivative by Λ', () => {
      const rows = Float64Array.from({ length: 24 }, () => random.normal());
      const sums = own.sumByLevel(rows);
      const out = new Float64Array(order);
      own.timesFactorTransposed(theta, vector, out);
      for (let k = 0; k < order; k++) {
        expectNear(
          sums[k] as number,
          design.reduce((sum, row, r) => sum + (row[k] as number) * (rows[r] as number), 0),
          1e-13,
        );
        expectNear(
          out[k] as number,
          lambda.reduce((sum, row, r) => sum + (row[k] as number) * (vector[r] as number), 0),
          1e-13,
        );
      }
      // Σ pull · (ZΛ) of one row is linear in θ; added to what is there.
      const pull = Float64Array.from({ length: width }, () => random.normal());
      const gradient = new Float64Array(theta.length).fill(10);
      own.addPull(gradient, 5, pull);
      const valueAt = (p: Float64Array): number => {
        own.scaleDesign(p, scaled);
        const value = pull.reduce((sum, x, a) => sum + x * (scaled[5 * width + a] as number), 0);
        own.scaleDesign(theta, scaled);
        return value;
      };
      expectAllNear(
        gradient,
        numericalGradient(valueAt, theta).map((slope) => slope + 10),
        1e-10,
      );
    });

    it('effects Λu and their deviations, in the units of the slope', () => {
      const information = new Float64Array(pattern.size);
      own.information(scaled, weights, information);
      expect(pattern.factor(information)).toBe(true);
      const selected = pattern.selectedInverse(information);
      const spread = product(
        product(
          lambda,
          Array.from({ length: order }, (_, i) => Array.from(inverse.subarray(i * order, (i + 1) * order))),
        ),
        turned(lambda),
      );
      const effects = product(
        lambda,
        Array.from(vector, (x) => [x]),
      );
      for (const block of own.blocks) {
        const found = own.effectsOf(block, theta, vector);
        const deviations = own.deviationsOf(block, theta, selected);
        expect(found).toHaveLength(block.width * block.levels.length);
        expect(deviations).toHaveLength(found.length);
        found.forEach((effect, k) => {
          const unit = block.width === 2 && k % 2 === 1 ? block.slopeScale : 1;
          const at = block.offset + k;
          expectNear(effect, ((effects[at] as number[])[0] as number) / unit, 1e-13);
          expectNear(deviations[k] as number, Math.sqrt((spread[at] as number[])[at] as number) / unit, 1e-11);
        });
      }
    });

    it('which entries are diagonal', () => {
      const found = own.diagonal().sort((a, b) => a - b);
      expect(found).toEqual(
        own.blocks.flatMap(({ width: w, parameter }) => (w === 1 ? [parameter] : [parameter, parameter + 2])),
      );
      expect(entries).toHaveLength(own.parameterCount);
    });
  });

  it('make diagonals positive without touching the covariance', () => {
    expect([...terms.positive(Float64Array.of(-1, -2, 3, -4, -0))]).toEqual([1, 2, -3, 4, 0]);
  });

  it('refuse a border too wide to be worked with', () => {
    const rows = 20_000;
    const wide: RandomTerm[] = [
      { name: 'a', groups: Int32Array.from({ length: rows }, (_, row) => row >> 1) },
      { name: 'b', groups: Int32Array.from({ length: rows }, (_, row) => (row * 7919) % 9001) },
    ];
    const checked = checkTerms(wide, rows, [], false);
    expect(() => new RandomTerms(rows, checked)).toThrowError(InputError);
  });
});

describe('checkTerms', () => {
  const groups = [1, 1, 2, 2];
  const side = ['left', 'right', 'left', 'right'];
  it.each<[string, RandomTerm[], string[]]>([
    [
      'a name twice',
      [
        { name: 'a', groups },
        { name: 'a', groups: side },
      ],
      ['repeated-name random,1'],
    ],
    ['a short column', [{ name: 'a', groups: [1, 2, 2] }], ['wrong-length random,0,groups']],
    ['one group', [{ name: 'a', groups: [3, 3, 3, 3] }], ['one-group random,0,groups']],
    ['a group a row', [{ name: 'a', groups: [1, 2, 3, 4] }], ['one-row-a-group random,0,groups']],
    ['NaN for a group', [{ name: 'a', groups: [1, 1, Number.NaN, 2] }], ['missing-group random,0,groups']],
    ['no group', [{ name: 'a', groups: [1, 1, undefined, 2] as number[] }], ['missing-group random,0,groups']],
    ['null for a group', [{ name: 'a', groups: [1, 1, null, 2] as number[] }], ['missing-group random,0,groups']],
    [
      'an outer term after the inner',
      [
        { name: 'a', groups: side, within: 'b' },
        { name: 'b', groups },
      ],
      ['unknown-term random,0,within'],
    ],
    [
      'groups twice',
      [
        { name: 'a', groups },
        { name: 'b', groups: ['x', 'x', 'y', 'y'] },
      ],
      ['same-groups random,1,groups'],
    ],
    [
      'a constant slope',
      [{ name: 'a', groups, slope: { name: 's', values: [2, 2, 2, 2] } }],
      ['constant-slope random,0,slope'],
    ],
    [
      'a slope with a gap',
      [{ name: 'a', groups, slope: { name: 's', values: [2, 1, Number.NaN, 2] } }],
      ['not-finite random,0,slope'],
    ],
  ])('refuses %s', (_, list, expected) => {
    const found: Problem[] = [];
    checkTerms(list, 4, found, false);
    expect(found.map(({ code, path }) => `${code} ${path?.join()}`)).toEqual(expected);
  });

  it('names every fault, term by term', () => {
    const found: Problem[] = [];
    checkTerms(
      [
        { name: 'a', groups, within: 'z' },
        { name: 'b', groups: [1, 2, Number.NaN] },
        { name: 'b', groups: [5, 5, 5, 5] },
        { name: 'c', groups: [1, 2, 3, 4], slope: { name: 's', values: [1, 1, 1, 1] } },
        { name: 'd', groups },
      ],
      4,
      found,
      false,
    );
    expect(found.map(({ code, path }) => `${code} ${path?.[1]}`)).toEqual([
      'unknown-term 0',
      'wrong-length 1',
      'missing-group 1',
      'repeated-name 2',
      'one-group 2',
      'one-row-a-group 3',
      'constant-slope 3',
      'same-groups 4',
    ]);
  });

  it('lets a group a row be where there is no residual, and groups that only look alike', () => {
    const found: Problem[] = [];
    const terms = checkTerms(
      [
        { name: 'row', groups: [1, 2, 3, 4] },
        { name: 'patient', groups },
        { name: 'side', groups: side },
        { name: 'limb', groups: ['left', 'left', 'left', 'right'], within: 'patient' },
      ],
      4,
      found,
      true,
    );
    expect(found).toEqual([]);
    expect(terms.map(({ levels }) => levels)).toEqual([
      [1, 2, 3, 4],
      [1, 2],
      ['left', 'right'],
      ['1/left', '2/left', '2/right'],
    ]);
    expect(terms.map(({ codes }) => [...codes])).toEqual([
      [0, 1, 2, 3],
      [0, 0, 1, 1],
      [0, 1, 0, 1],
      [0, 0, 1, 2],
    ]);
    // Rows are nested in all, patients in none but themselves; sides are crossed with patients.
    const { blocks, pattern } = new RandomTerms(4, terms.slice(0, 3));
    expect(blocks.map(({ name }) => name)).toEqual(['row', 'patient', 'side']);
    expect(pattern.sparse).toBe(6);
  });
});

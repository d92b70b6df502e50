import { describe, expect, it } from 'vitest';
import { numericalGradient } from '../../src/models/optimize.ts';
import {
  addRisingDerivatives,
  leaningOnPriors,
  positionLayer,
  priorsInWords,
  type ReadingPriors,
  readingVector,
  risingNumbers,
  risingParameters,
  WEAK_PRIORS,
} from '../../src/models/reading-layer.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';

const priors: ReadingPriors = { tendency: 0.7, spreadCenter: 0.4, spreadScale: 0.6, slip: [2, 9] };

describe('rising numbers', () => {
  it('are x₁, x₁ + e^x₂, …, and have their parameters back', () => {
    const parameters = Float64Array.of(-1.2, 0.3, -2, 1);
    const numbers = risingNumbers(parameters, 4);
    expectAllNear(
      numbers,
      [-1.2, -1.2 + Math.exp(0.3), -1.2 + Math.exp(0.3) + Math.exp(-2), -1.2 + Math.exp(0.3) + Math.exp(-2) + Math.E],
      1e-15,
    );
    expectAllNear(risingParameters(numbers), parameters, 1e-14);
    // Of a longer vector only as many as asked for.
    expectAllNear(risingNumbers(Float64Array.of(2, 0, 9), 2), [2, 3], 1e-15);
  });

  it('carry derivatives back to their parameters, added to what is there', () => {
    const parameters = Float64Array.of(-1.2, 0.3, -2, 1);
    const value = (p: Float64Array): number =>
      risingNumbers(p, 4).reduce((sum, x, k) => sum + (k + 1) * Math.sin(x), 0);
    const derivatives = risingNumbers(parameters, 4).map((x, k) => (k + 1) * Math.cos(x));
    const gradient = Float64Array.of(1, 2, 3, 4, 5);
    addRisingDerivatives(parameters, derivatives, gradient);
    const expected = numericalGradient(value, parameters);
    expectAllNear(gradient, [...expected.map((slope, k) => slope + k + 1), 5], 1e-10);
  });
});

describe.each([
  ['a spread for each of three readers', 3, false],
  ['one spread for three readers', 3, true],
  ['a single reader', 1, false],
] as const)('the vector of reading parameters: %s', (_, readers, common) => {
  const vector = readingVector(readers, common, priors);
  const spreadCount = common ? 1 : readers;
  const random = seededRandom(readers, Number(common));
  const point = Float64Array.from({ length: readers - 1 + spreadCount + 1 }, () => random.normal() - 0.5);

  it('names its places', () => {
    expect(vector.size).toBe(point.length);
    expect(vector.spreadsAt).toBe(readers - 1);
    expect(vector.slipAt).toBe(point.length - 1);
    expect(vector.names).toEqual([
      ...['tendency of reader 0', 'tendency of reader 1'].slice(0, readers - 1),
      ...(common
        ? ['common spread']
        : ['spread of reader 0', 'spread of reader 1', 'spread of reader 2'].slice(0, readers)),
      'slip',
    ]);
    expect([...vector.priorVariances]).toEqual([
      ...new Array<number>(readers - 1).fill(0.7 ** 2),
      ...new Array<number>(spreadCount).fill(0.6 ** 2),
      Number.NaN,
    ]);
  });

  it('unpacks to tendencies that add up to 0, and packs again', () => {
    const reading = vector.unpack(point);
    const free = Array.from(point.subarray(0, readers - 1));
    const last = free.reduce((sum, b) => sum - b, 0);
    expectAllNear(reading.tendencies, [...free, last], 1e-15);
    expectAllNear(
      reading.spreads,
      Array.from({ length: readers }, (_, a) => Math.exp(point[readers - 1 + (common ? 0 : a)] as number)),
      1e-15,
    );
    expectNear(reading.slip, 1 / (1 + Math.exp(-(point[point.length - 1] as number))), 1e-15);
    expectAllNear(vector.pack(reading), point, 1e-13);
    // Tendencies are taken from their mean, a common spread is the geometric mean.
    const moved = vector.pack({ ...reading, tendencies: reading.tendencies.map((b) => b + 3) });
    expectAllNear(moved, point, 1e-13);
    if (readers === 1) expect(Object.is(vector.unpack(point).tendencies[0], 0)).toBe(true);
    if (common) {
      const uneven = vector.pack({ ...reading, spreads: [0.2, 0.3, 0.9] });
      expectNear(uneven[vector.spreadsAt] as number, Math.log(0.2 * 0.3 * 0.9) / 3, 1e-14);
    }
  });

  it('adds the log-priors and their derivatives', () => {
    const density = (p: Float64Array): number => {
      const { tendencies, spreads, slip } = vector.unpack(p);
      const own = common ? spreads.subarray(0, 1) : spreads;
      return (
        -tendencies.reduce((sum, b) => sum + (b / 0.7) ** 2 / 2, 0) -
        own.reduce((sum, s) => sum + (Math.log(s / 0.4) / 0.6) ** 2 / 2, 0) +
        Math.log(slip) +
        8 * Math.log(1 - slip)
      );
    };
    // Beside a function of the readings: Σ (a + 1) bₐ + Σ (a + 2) ln σₐ + 5 ε.
    const along = (p: Float64Array): number => {
      const { tendencies, spreads, slip } = vector.unpack(p);
      return (
        tendencies.reduce((sum, b, a) => sum + (a + 1) * b, 0) +
        spreads.reduce((sum, s, a) => sum + (a + 2) * Math.log(s), 0) +
        5 * slip
      );
    };
    const derivatives = {
      tendencies: Float64Array.from({ length: readers }, (_, a) => a + 1),
      logSpreads: Float64Array.from({ length: readers }, (_, a) => a + 2),
      slip: 5,
    };
    const gradient = new Float64Array(point.length).fill(1);
    expectNear(vector.pull(point, derivatives, gradient), density(point), 1e-12);
    expectAllNear(
      gradient,
      numericalGradient((p) => density(p) + along(p), point).map((slope) => slope + 1),
      1e-9,
    );
  });
});

describe('the layer of positions', () => {
  // Two readers, three grades and an end that is never read; four positions and the state of the end.
  const vector = readingVector(2, false, priors);
  const layer = positionLayer(vector, [0.2, 1.1], [-0.5, 0.4, 0.9, 2], 2, 5, 4);
  const point = Float64Array.of(0.3, -0.8, -0.4, -2);

  it('fills a wider table and leaves the rest 0', () => {
    const table = new Float64Array(2 * 4 * 5).fill(9);
    layer.fill(point, table);
    for (let a = 0; a < 2; a++)
      for (let s = 0; s < 5; s++) {
        const column = [0, 1, 2, 3].map((k) => table[(a * 4 + k) * 5 + s] as number);
        expectNear(
          column.reduce((sum, p) => sum + p, 0),
          s === 4 ? 0 : 1,
          1e-14,
        );
        expect(column[3]).toBe(0);
        if (s < 4) expect(column.slice(0, 3).every((p) => p > 0)).toBe(true);
      }
    expect(layer.parameters).toBe(4);
  });

  it('carries counts back', () => {
    const random = seededRandom(2);
    const counts = Float64Array.from({ length: 40 }, () => random.uniform());
    const table = new Float64Array(40);
    const value = (p: Float64Array): number => {
      layer.fill(p, table);
      let sum = 0;
      table.forEach((probability, at) => {
        if (probability > 0) sum += (counts[at] as number) * Math.log(probability);
      });
      return sum;
    };
    const zeros = { tendencies: new Float64Array(2), logSpreads: new Float64Array(2), slip: 0 };
    const expected = numericalGradient((p) => value(p) + vector.pull(p, zeros, new Float64Array(4)), point);
    layer.fill(point, table);
    const gradient = new Float64Array(4).fill(2);
    expectNear(layer.pull(point, table, counts, gradient), vector.pull(point, zeros, new Float64Array(4)), 1e-14);
    expectAllNear(
      gradient,
      expected.map((slope) => slope + 2),
      1e-8,
    );
  });
});

it('says which parameters lean on their priors: variance above half the prior’s', () => {
  // Three parameters after two others; 5 × 5 covariance with these diagonal entries.
  const covariance = new Float64Array(25);
  [9, 9, 0.51, 0.49, 9].forEach((variance, i) => {
    covariance[i * 6] = variance;
  });
  const notes = leaningOnPriors(['a', 'b', 'slip'], Float64Array.of(1, 1, Number.NaN), covariance, 2, 5);
  expect(notes.map(({ code, message }) => `${code}: ${message}`)).toEqual([
    'leans-on-prior: The readings say little about the a: its estimate leans on the weak prior.',
  ]);
  covariance[18] = 0.5;
  expect(leaningOnPriors(['a', 'b'], Float64Array.of(4, 1), covariance, 2, 5)).toEqual([]);
});

it('states the priors in words', () => {
  expect(priorsInWords(WEAK_PRIORS)).toBe(
    'Weak priors: tendencies N(0, 1²), ln spreads N(ln 0.5, 1²), slips Beta(1.5, 20).',
  );
});

import { describe, expect, test } from 'vitest';
import { countsOf, patternLikelihoods, readingPatterns } from '../../src/models/reading-patterns.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { expectNear } from '../support/expect-near.ts';

describe('readingPatterns', () => {
  const data = {
    target: [1, 1, 2, 2, 3, 3, 3],
    reader: [1, 0, 0, 1, 0, 1, 1],
    category: [2, 0, 0, 2, 1, 1, 2],
    cluster: [7, 7, 7, 7, 9, 9, 9],
  };
  const patterns = readingPatterns(data, 3);

  test('targets read alike share a pattern, whatever the order of rows', () => {
    expect(patterns.patterns).toEqual([
      [0, 5],
      [1, 4, 5],
    ]);
    expect(Array.from(patterns.counts)).toEqual([2, 1]);
    expect(Array.from(patterns.categoryCounts)).toEqual([2, 2, 3]);
    expect([patterns.targets, patterns.clusters, patterns.readers, patterns.readings]).toEqual([3, 2, 2, 7]);
  });

  test('a patient drawn twice brings all its targets twice', () => {
    expect(Array.from(countsOf(patterns, [2, 0]))).toEqual([4, 0]);
  });

  test('likelihoods are products, with their scale apart', () => {
    const probabilities = Float64Array.from({ length: 12 }, (_, at) => Math.exp(-0.1 * (at + 1)));
    const { values, logScale } = patternLikelihoods(patterns.patterns, probabilities, 2);
    expectNear(Math.log(values[0] as number) + (logScale[0] as number), -0.1 * (1 + 11), 1e-14);
    expectNear(Math.log(values[3] as number) + (logScale[1] as number), -0.1 * (4 + 10 + 12), 1e-14);
  });

  test('a thousand unlikely readings of one target leave a likelihood, and which place is likelier', () => {
    const many = [Array.from({ length: 1000 }, () => 0)];
    const { values, logScale } = patternLikelihoods(many, Float64Array.of(1e-3, 1e-3 * Math.exp(-0.01)), 2);
    expectNear(Math.log(values[0] as number) + (logScale[0] as number), 1000 * Math.log(1e-3), 1e-9);
    expectNear(Math.log(values[1] as number) + (logScale[0] as number), 1000 * Math.log(1e-3) - 10, 1e-9);
  });

  test('names every fault, row by row', () => {
    const faults = (part: object, readers?: number): string[] => {
      try {
        readingPatterns({ ...data, ...part }, 3, readers);
      } catch (error) {
        return (error as InputError).problems.map(({ code, path }) => `${code} ${path?.join('.')}`);
      }
      return [];
    };
    expect(faults({})).toEqual([]);
    expect(faults({ category: [-1, 0, 0, 2, 1, 0.5, 3], reader: [1, 0, -1, 1, 0.5, 1, 1] })).toEqual([
      'bad-value category.0',
      'bad-value reader.2',
      'bad-value reader.4',
      'bad-value category.5',
      'bad-value category.6',
    ]);
    expect(faults({ target: [Number.NaN, 1, 2, 2, 3, 3, 3], cluster: [7, 7, Number.NaN, 7, 9, 9, 9] })).toEqual([
      'bad-value target.0',
      'bad-value cluster.2',
    ]);
    expect(faults({ reader: [2, 0, 0, 1, 0, 1, 1] }, 2)).toEqual(['bad-value reader.0']);
    expect(faults({ reader: [2, 0, 0, 1, 0, 1, 1] }, 3)).toEqual([]);
    expect(faults({ cluster: [7, 8, 7, 9, 9, 9, 9] })).toEqual(['split-target cluster.1']);
    expect(faults({ reader: [0], category: [], cluster: [1] })).toEqual([
      'unequal-columns reader',
      'unequal-columns category',
      'unequal-columns cluster',
    ]);
  });

  test('names every fault', () => {
    expect(() => readingPatterns({ target: [1, 2], reader: [0, 0], category: [0, 3] }, 3)).toThrow('category[1] is 3');
    expect(() => readingPatterns({ target: [1], reader: [4], category: [0] }, 3, 2)).toThrow('reader[0] is 4');
    expect(() => readingPatterns({ ...data, cluster: [7, 7, 7, 7, 9, 9, 8] }, 3)).toThrow('another patient');
    expect(() => readingPatterns({ target: [], reader: [], category: [] }, 3)).toThrow('no readings');
    expect(() => readingPatterns({ target: [1], reader: [], category: [0] }, 3)).toThrow('reader has 0 entries');
  });
});

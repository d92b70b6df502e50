import { describe, expect, test } from 'vitest';
import { compileReadings } from '../../src/models/chain-data.ts';
import { InputError } from '../../src/shared/input-error.ts';

const meaning = {
  states: 3,
  categories: 3,
  readers: 2,
  statesOf: (category: number) => [category],
  exactEnd: { category: 2, state: 2 },
  censored: [{ code: 9, states: [0, 1] }],
};

function problemsOf(work: () => unknown): string[] {
  try {
    work();
  } catch (error) {
    if (error instanceof InputError) return error.problems.map(({ code, path }) => `${code} ${path?.join('.')}`);
    throw error;
  }
  return [];
}

describe('compileReadings', () => {
  test('sorts rows into visits, and counts what is distinct once', () => {
    const compiled = compileReadings(
      {
        subject: [7, 4, 4, 4, 7, 4],
        time: [0.3, 2, 1, 1, 0.4, 2.1],
        category: [0, 1, 0, 1, 9, 2],
        reader: [0, 1, 1, 0, 0, 0],
      },
      meaning,
    );
    expect(Array.from(compiled.subjects)).toEqual([4, 7]);
    expect(Array.from(compiled.chain.starts)).toEqual([0, 3, 5]);
    // Gaps 1, 0.1 and 0.1: rounding (2.1 − 2, 0.4 − 0.3) does not make two of them.
    expect(Array.from(compiled.stepTimes)).toEqual([1, 0.1]);
    expect(Array.from(compiled.chain.steps)).toEqual([-1, 0, 1, -1, 1]);
    expect(compiled.signatures).toEqual([
      { kind: 'readings', cells: [1, 3], possible: undefined },
      { kind: 'readings', cells: [4], possible: undefined },
      { kind: 'end', pattern: 0 },
      { kind: 'readings', cells: [0], possible: undefined },
      { kind: 'readings', cells: [], possible: [0, 1] },
    ]);
    expect(Array.from(compiled.visitRows)).toEqual([2, 1, 5, 0, 4]);
  });

  test('a certain reading restricts the state, beside a fallible one', () => {
    const { signatures } = compileReadings(
      { subject: [1, 1], time: [0, 0], category: [1, 0], certain: [1, 0] },
      meaning,
    );
    expect(signatures).toEqual([{ kind: 'readings', cells: [0], possible: [1] }]);
  });

  test('a covariate holds from its visit to the next', () => {
    const compiled = compileReadings(
      { subject: [1, 1, 1], time: [0, 1, 2], category: [0, 0, 0], covariates: { dose: [5, 6, 7] } },
      meaning,
    );
    expect(compiled.patterns).toEqual([[5], [6], [7]]);
    expect(Array.from(compiled.stepPatterns)).toEqual([0, 1]);
  });

  test('names every fault at once', () => {
    expect(
      problemsOf(() =>
        compileReadings(
          { subject: [1, 2, Number.NaN], time: [0, Number.NaN, 1], category: [3, 0, 0], reader: [0, 2, 0] },
          meaning,
        ),
      ),
    ).toEqual(['bad-value category.0', 'bad-value time.1', 'bad-value reader.1', 'bad-value subject.2']);
    expect(problemsOf(() => compileReadings({ subject: [1], time: [], category: [0] }, meaning))).toEqual([
      'unequal-columns time',
    ]);
    expect(problemsOf(() => compileReadings({ subject: [], time: [], category: [] }, meaning))).toEqual([
      'no-rows subject',
    ]);
    expect(
      problemsOf(() => compileReadings({ subject: [1, 1, 1, 2], time: [0, 1, 2, 0], category: [0, 2, 0, 2] }, meaning)),
    ).toEqual(['reading-after-end category.1', 'end-first category.3']);
  });
});

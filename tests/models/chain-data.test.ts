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

  test('an end keeps the covariates of the visit before it, and every subject weighs 1', () => {
    const compiled = compileReadings(
      {
        subject: [1, 1, 1, 2, 2],
        time: [0, 1, 2, 0, 1],
        category: [0, 0, 2, 0, 2],
        covariates: { dose: [5, 6, 7, 5, 8] },
      },
      meaning,
    );
    // Patterns in the order met; the ends follow doses 6 and 5.
    expect(compiled.patterns).toEqual([[5], [6], [7], [8]]);
    expect(compiled.signatures).toEqual([
      { kind: 'readings', cells: [0], possible: undefined },
      { kind: 'end', pattern: 1 },
      { kind: 'end', pattern: 0 },
    ]);
    expect(Array.from(compiled.chain.readings)).toEqual([0, 0, 1, 0, 2]);
    expect(Array.from(compiled.chain.weights)).toEqual([1, 1]);
    expect(compiled.readings).toBe(5);
    expect(compiled.covariateNames).toEqual(['dose']);
  });

  test('readings in any order are the same readings', () => {
    const columns = {
      subject: [1, 1, 1, 2, 2, 2],
      time: [0, 1, 2, 0, 1, 3],
      category: [0, 1, 0, 1, 1, 2],
      reader: [0, 1, 0, 1, 0, 0],
    };
    const plain = compileReadings(columns, meaning);
    for (const order of [
      [1, 0, 2, 3, 4, 5],
      [0, 1, 2, 3, 5, 4],
      [5, 4, 3, 2, 1, 0],
      [3, 0, 4, 1, 5, 2],
    ]) {
      const of = (column: number[]): number[] => order.map((row) => column[row] as number);
      const moved = compileReadings(
        {
          subject: of(columns.subject),
          time: of(columns.time),
          category: of(columns.category),
          reader: of(columns.reader),
        },
        meaning,
      );
      expect(moved.chain).toEqual(plain.chain);
      expect(Array.from(moved.subjects)).toEqual([1, 2]);
      expect(Array.from(moved.visitRows, (row) => order[row])).toEqual([0, 1, 2, 3, 4, 5]);
    }
  });

  test('certain readings and codes at one visit leave the states that fit them all', () => {
    const { signatures } = compileReadings(
      { subject: [1, 1, 1, 2, 2], time: [0, 0, 1, 0, 0], category: [9, 0, 1, 1, 9], certain: [0, 1, 1, 1, 0] },
      meaning,
    );
    expect(signatures).toEqual([
      { kind: 'readings', cells: [], possible: [0] },
      { kind: 'readings', cells: [], possible: [1] },
    ]);
  });

  test('names values that are no numbers, whole or within bounds, in every column', () => {
    const fine = {
      subject: [1, 2],
      time: [0, 0],
      category: [0, 1],
      reader: [0, 1],
      covariates: { dose: [1, 2], age: [3, 4] },
    };
    const faults = (part: object): string[] => problemsOf(() => compileReadings({ ...fine, ...part }, meaning));
    expect(faults({})).toEqual([]);
    expect(faults({ covariates: { dose: [1, Number.NaN], age: [Number.POSITIVE_INFINITY, 0] } })).toEqual([
      'bad-value covariates.age.0',
      'bad-value covariates.dose.1',
    ]);
    expect(faults({ category: [-1, 0.5], reader: [-1, 0.5] })).toEqual([
      'bad-value category.0',
      'bad-value reader.0',
      'bad-value category.1',
      'bad-value reader.1',
    ]);
    expect(faults({ time: [Number.POSITIVE_INFINITY, 0], subject: [1, Number.NEGATIVE_INFINITY] })).toEqual([
      'bad-value time.0',
      'bad-value subject.1',
    ]);
    expect(faults({ category: [0], reader: [0], covariates: { dose: [] }, certain: [1, 0, 1] })).toEqual([
      'unequal-columns category',
      'unequal-columns reader',
      'unequal-columns certain',
      'unequal-columns covariates.dose',
    ]);
    // A fallible reading at the time of the end is one too many.
    expect(
      problemsOf(() => compileReadings({ subject: [1, 1, 1], time: [0, 1, 1], category: [0, 1, 2] }, meaning)),
    ).toEqual(['reading-after-end category.1']);
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

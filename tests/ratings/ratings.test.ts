import { inspect } from 'node:util';
import { describe, expect, it } from 'vitest';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { InputError } from '../../src/shared/input-error.ts';

const problemsOf = (call: () => unknown): readonly string[] => {
  try {
    call();
  } catch (error) {
    if (error instanceof InputError)
      return error.problems.map((problem) => `${problem.code} ${problem.path?.join('.')}`);
    throw error;
  }
  return [];
};

describe('ratingsOf', () => {
  it('keeps gaps, patients and categories that nobody used', () => {
    const ratings = ratingsOf(
      [
        [2, 2],
        [1, null],
      ],
      { categories: [0, 1, 2, 3], clusters: ['p', 'p'], assessors: ['A', 'B'] },
    );
    expect([...ratings.codes]).toEqual([2, 2, 1, -1]);
    expect(ratings.numbers[3]).toBeNaN();
    expect(ratings.clusters).toBe(1);
    expect(ratings.readings).toBe(3);
    expect(ratings.categories.map((category) => category.score)).toEqual([0, 1, 2, 3]);
  });

  it('orders observed numbers by size and says that the categories are only those that occur', () => {
    const ratings = ratingsOf([
      [10, 2],
      [2, 1],
    ]);
    expect(ratings.categories.map((category) => category.value)).toEqual([1, 2, 10]);
    expect(ratings.notes.map((note) => note.code)).toContain('observed-categories');
  });

  it('refuses all faults at once, by row and column', () => {
    const problems = problemsOf(() =>
      ratingsOf([[1, Number.NaN], [9, 1], [1]], { categories: [0, 1, 1], clusters: ['p'] }),
    );
    expect(problems).toEqual([
      'ragged-row rows.2',
      'bad-length options.clusters',
      'bad-reading rows.0.1',
      'double-category options.categories.2',
      'unknown-category rows.1.0',
    ]);
  });

  it('refuses an empty matrix', () => {
    expect(problemsOf(() => ratingsOf([]))).toEqual(['no-rows rows']);
  });
});

describe('ratingsOfTable and ratingsOfCounts', () => {
  it('unfolds a table into its targets', () => {
    const ratings = ratingsOfTable(
      [
        [2, 1],
        [0, 3],
      ],
      { categories: ['no', 'yes'] },
    );
    expect(ratings.targets).toBe(6);
    expect([...ratings.codes]).toEqual([0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1]);
    expect(ratings.clustersKnown).toBe(false);
  });

  it('refuses counts that are not counts, and a table that is not square', () => {
    expect(
      problemsOf(() =>
        ratingsOfTable(
          [
            [1, -1],
            [0.5, 2],
          ],
          { categories: [0, 1] },
        ),
      ),
    ).toEqual(['bad-count counts.0.1', 'bad-count counts.1.0']);
    expect(problemsOf(() => ratingsOfTable([[1]], { categories: [0, 1] }))).toEqual(['bad-length counts']);
    expect(problemsOf(() => ratingsOfCounts([[1, 2, 3]], { categories: [0, 1] }))).toEqual(['bad-length counts.0']);
  });

  it('unfolds counts of unequal totals and does not know the assessors', () => {
    const ratings = ratingsOfCounts(
      [
        [1, 2],
        [1, 0],
      ],
      { categories: [0, 1] },
    );
    expect(ratings.assessors).toEqual([]);
    expect([...ratings.codes]).toEqual([0, 1, 1, 0, -1, -1]);
  });
});

describe('parts of ratings', () => {
  const ratings = ratingsOf(
    [
      [0, 1, 2],
      [1, 1, null],
      [2, 0, 2],
    ],
    { assessors: ['A', 'B', 'C'], clusters: ['p', 'p', 'q'] },
  );

  it('picks assessors in the order named', () => {
    const pair = ratings.ofAssessors('C', 'A');
    expect([...pair.codes]).toEqual([2, 0, -1, 1, 2, 2]);
    expect(problemsOf(() => ratings.ofAssessors('Z'))).toEqual(['unknown-assessor assessors']);
  });

  it('picks targets and counts only their patients', () => {
    const kept = ratings.ofTargets((target) => target === 2);
    expect(kept.targets).toBe(1);
    expect(kept.clusters).toBe(1);
    expect([...kept.codes]).toEqual([2, 0, 2]);
  });

  it('refuses an attribute that was not recorded', () => {
    expect(problemsOf(() => ratings.ofGroup('site', 'radial'))).toEqual(['unknown-attribute attribute']);
  });

  it('prints as one line', () => {
    expect(inspect(ratings)).toBe('Ratings: 3 targets, 2 patients, 3 assessors, 8 readings');
  });
});

describe('readings of any kind', () => {
  it('refuses more than memory holds', () => {
    const categories = ['no', 'yes'];
    expect(() =>
      ratingsOfTable(
        [
          [1e9, 0],
          [0, 1],
        ],
        { categories },
      ),
    ).toThrow(/at most 10000000/);
    expect(() => ratingsOfCounts([[2 ** 53, 0]], { categories })).toThrow(/at most 10000000/);
    expect(() => ratingsOfCounts([[1001, 0]], { categories })).toThrow(/at most 1000/);
  });

  it('does not repeat what can identify a person', () => {
    expect(() => ratingsOf([['Jane Doe', '2']], { categories: ['1', '2', 'Sam Roe'] })).toThrow(
      'A reading is (not shown). Expected one of "1", "2", (not shown).',
    );
  });

  it('has no groups by what every object has', () => {
    expect(ratingsOf([[1, 2]]).groups('constructor')).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';
import {
  alikeNote,
  commonestCategory,
  fewMinorityPatients,
  observedCategoriesNote,
  undefinedNote,
} from '../../src/agreement/sparse-readings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';

describe('the category most readings fall in', () => {
  const of = (rows: (number | null)[][]) => commonestCategory(ratingsOf(rows, { categories: [0, 1, 2, 3] }));
  it.each([0, 1, 2, 3])('is grade %i, in whichever column it stands', (grade) => {
    const other = (grade + 1) % 4;
    for (const rows of [
      [
        [grade, other],
        [grade, null],
        [grade, (grade + 2) % 4],
      ],
      [
        [other, grade],
        [null, grade],
        [(grade + 2) % 4, grade],
      ],
      [
        [grade, grade, null],
        [null, other, grade],
        [null, null, (grade + 2) % 4],
      ],
    ])
      expect(of(rows)).toEqual({ code: grade, share: 3 / 5 });
  });

  it('is the first of two, and none without a reading', () => {
    expect(
      of([
        [2, 1],
        [1, 2],
      ]),
    ).toEqual({ code: 1, share: 0.5 });
    expect(of([[null, null]])).toEqual({ code: 0, share: Number.NaN });
    expect(of([[3, 3]])).toEqual({ code: 3, share: 1 });
  });
});

describe('says that nearly all readings are alike', () => {
  const messages = (alike: number, all: number): string[] =>
    alikeNote(
      ratingsOf(
        Array.from({ length: all }, (_, at) => [at < alike ? 1 : 0]),
        { categories: [0, 1] },
      ),
    ).map(({ message }) => message);
  it('above four fifths, but not where they all are', () => {
    expect(messages(8, 10)).toEqual([]);
    expect(messages(81, 100)).toHaveLength(1);
    expect(messages(81, 100)[0]).toMatch(/\(81 % are "1"\)/);
    expect(messages(10, 10)).toEqual([]);
  });
});

describe('says that few patients carry anything else', () => {
  const messages = (carriers: number, options: { categories?: number; twice?: boolean } = {}): string[] => {
    const { categories = 2, twice = false } = options;
    const rows = Array.from({ length: 40 }, (_, at) => [0, at >= 40 - carriers ? 1 : 0]);
    const clusters = rows.map((_, at) => at);
    return fewMinorityPatients(
      ratingsOf(twice ? [...rows, ...rows] : rows, {
        categories: Array.from({ length: categories }, (_, at) => at),
        clusters: twice ? [...clusters, ...clusters] : clusters,
      }),
    ).map(({ message }) => message);
  };
  it('below ten patients, however often each does, on scales up to twelve grades', () => {
    expect(messages(10)).toEqual([]);
    expect(messages(9)[0]).toMatch(/^Only 9 patients carry a reading other than "0";/);
    expect(messages(9, { twice: true })[0]).toMatch(/^Only 9 patients/);
    expect(messages(0)[0]).toMatch(/^Only 0 patients/);
    expect(messages(9, { categories: 12 })).toHaveLength(1);
    expect(messages(9, { categories: 13 })).toEqual([]);
  });
});

it('says why there is no value, and where the number of categories matters', () => {
  expect(undefinedNote(0.5, 'kappa')).toEqual([]);
  expect(undefinedNote(Number.NaN, 'kappa')[0]!.message).toMatch(/^kappa is not defined/);
  expect(observedCategoriesNote(ratingsOf([[0, 1]])).map(({ code }) => code)).toEqual(['categories-matter']);
  expect(observedCategoriesNote(ratingsOf([[0, 1]], { categories: [0, 1] }))).toEqual([]);
});

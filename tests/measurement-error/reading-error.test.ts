import { describe, expect, it } from 'vitest';
import { ReadingError, readingErrorOf } from '../../src/measurement-error/reading-error.ts';
import { readingErrorMatrices, studyMix } from '../../src/models/reading-error-matrices.ts';
import { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { expectNear } from '../support/expect-near.ts';

const GRADES = [0, 1, 2, 3, 4];
const codes = (notes: readonly { readonly code: string }[]): string[] => notes.map(({ code }) => code);

/** Two assessors agree but for every seventh target, which the second reads a grade higher; so many targets of each grade. */
function study(targets: readonly number[], categories: readonly number[] = GRADES): Ratings {
  const firsts = targets.flatMap((count, grade) => new Array<number>(count).fill(grade));
  const rows = firsts.map((grade, at) => [grade, at % 7 === 0 && grade + 1 < targets.length ? grade + 1 : grade]);
  return ratingsOf(rows, { categories: [...categories] });
}

describe('what stands in the way of a model', () => {
  it('one assessor, one grade, nothing read twice', () => {
    const one = readingErrorOf(ratingsOf([[1], [2], [1]]), false);
    expect(one.error).toBeUndefined();
    expect(one.notes[0]!.message).toMatch(/two assessors/);
    const same = readingErrorOf(ratingsOf([[2, 2]], { categories: GRADES }), false);
    expect(same.error).toBeUndefined();
    expect(same.notes[0]!.message).toMatch(/Only one grade/);
    const apart = Array.from({ length: 40 }, (_, at) => (at % 2 === 0 ? [at % 4, null] : [null, at % 4]));
    const once = readingErrorOf(ratingsOf([...apart, ...apart]), false);
    expect(once.error).toBeUndefined();
    expect(once.notes[0]!.message).toMatch(/read twice/);
  });

  it('a grade with nine readings is too rare, one with ten is not, repeats counted', () => {
    const nine = ratingsOf(
      Array.from({ length: 30 }, (_, at) => (at < 4 ? [0, 0] : at === 4 ? [0, 1] : [1 + (at % 2), 1 + (at % 2)])),
    );
    const refused = readingErrorOf(nine, false);
    expect(refused.error).toBeUndefined();
    expect(codes(refused.notes)).toEqual(['grade-too-rare']);
    expect(refused.notes[0]!.message).toMatch(/^"0" \(9 readings\): a grade needs 10 /);
    const { subject: _none, ...rest } = nine;
    const repeat = { target: 0, assessor: 1, replicate: 2, code: 0, number: 0 };
    expect(readingErrorOf(new Ratings({ ...rest, repeats: [repeat] }), false).error).toBeDefined();
    // A repeat that is missing counts for nothing.
    const missing = { ...repeat, code: -1, number: Number.NaN };
    expect(readingErrorOf(new Ratings({ ...rest, repeats: [missing] }), false).error).toBeUndefined();
  });

  it('a rare grade between others stays alone, and is too rare', () => {
    const refused = readingErrorOf(study([12, 2, 12, 12]), true);
    expect(codes(refused.notes)).toEqual(['grade-too-rare']);
    expect(refused.notes[0]!.message).toMatch(/^"1" \(6 readings\)/);
    const upper = readingErrorOf(study([12, 12, 2, 12]), true);
    expect(codes(upper.notes)).toEqual(['grade-too-rare']);
    expect(upper.notes[0]!.message).toMatch(/^"2" \(\d readings\)/);
  });
});

describe('rare grades at the ends', () => {
  // Nine and four readings at the upper end are thirteen together.
  const ratings = study([4, 20, 20, 3, 2]);
  const counts = GRADES.map((grade) => ratings.codes.filter((code) => code === grade).length);

  it('are counted with their neighbor where asked, as often as it takes', () => {
    expect(counts).toEqual([7, 38, 40, 9, 4]);
    expect(readingErrorOf(ratings, false).error).toBeUndefined();
    const { error } = readingErrorOf(ratings, true);
    expect(error!.gradeOf).toEqual([0, 0, 1, 2, 2]);
    expect(error!.grades.map(({ words }) => words)).toEqual(['0 or 1', '2', '3 or 4']);
    const merged = error!.notes.find(({ code }) => code === 'merged-grades');
    expect(merged!.message).toMatch(/: 0 or 1; 3 or 4\.$/);
  });

  it('two grades are left at least', () => {
    const { error, notes } = readingErrorOf(study([1, 2, 1], [0, 1, 2]), true);
    expect(error).toBeUndefined();
    expect(codes(notes)).toEqual(['grade-too-rare']);
    expect(notes[0]!.message.match(/readings\)/g)).toHaveLength(2);
  });

  it('one end alone: nine readings are counted with the neighbor, ten are not', () => {
    /** Two readings of each target, but for one. */
    const gradeOf = (targets: readonly number[], once = -1): readonly number[] => {
      const grades = targets.flatMap((count, grade) => new Array<number>(count).fill(grade));
      const rows = grades.map((grade, at) => [grade, at === once ? null : grade]);
      return readingErrorOf(ratingsOf(rows, { categories: GRADES }), true).error!.gradeOf;
    };
    expect(gradeOf([5, 20, 20, 20, 20], 2)).toEqual([0, 0, 1, 2, 3]);
    expect(gradeOf([20, 20, 20, 20, 5], 82)).toEqual([0, 1, 2, 3, 3]);
    expect(gradeOf([5, 20, 20, 20, 5])).toEqual([0, 1, 2, 3, 4]);
  });

  it('a grade that nobody used has no place, and nothing is merged for it', () => {
    const rows = Array.from({ length: 36 }, (_, at) => [[0, 2, 3][at % 3]!, at % 7 === 0 ? 2 : [0, 2, 3][at % 3]!]);
    const { error } = readingErrorOf(ratingsOf(rows, { categories: GRADES }), true);
    expect(error!.gradeOf).toEqual([0, -1, 1, 2, -1]);
    expect(error!.grades.map(({ words }) => words)).toEqual(['0', '2', '3']);
  });
});

describe('the models of a study', () => {
  const ratings = study([15, 15, 15]);
  const { error, notes } = readingErrorOf(ratings, false);
  if (error === undefined) throw new Error('no model');

  it('cannot be changed', () => {
    expect(Object.isFrozen(error)).toBe(true);
  });

  it('take every reading, repeats too, with the patient of its target', () => {
    expect(notes).toEqual([]);
    expect(error.continuum.counts).toMatchObject({ targets: 45, readers: 2, readings: 90, clusters: 45 });
    expect(codes(error.notes)).toContain('consensus');
    expect(codes(error.notes)).not.toContain('merged-grades');
    expect(codes(error.notes)).not.toContain('not-converged');
    const { subject: _none, ...rest } = ratings;
    const repeats = [0, 1, 2].map((target) => ({ target, assessor: 0, replicate: 2, code: 0, number: 0 }));
    const clusterOf = Int32Array.from({ length: 45 }, (_, at) => Math.floor(at / 3));
    const more = readingErrorOf(new Ratings({ ...rest, repeats, clusterOf, clusters: 15 }), false).error!;
    expect(more.continuum.counts).toMatchObject({ targets: 45, readers: 2, readings: 93, clusters: 15 });
  });

  it('the table gives tendency and scatter in grades: divided by the mean width between the outer cuts', () => {
    const limits = (value: number) => ({ value, standardError: 0.1, lower: value - 0.2, upper: value + 0.2 });
    const of = (cuts: number[]): ReadingError =>
      new ReadingError(
        ['A', 'B'],
        error.grades,
        error.gradeOf,
        error.patterns,
        {
          ...error.continuum,
          reading: { ...error.continuum.reading, cuts },
          tendencies: [limits(0.4), limits(-0.4)],
          spreads: [limits(0.6), limits(0.8)],
        },
        error.classes,
        [],
      );
    // Cuts −1, 0, 3: two grades between the outer ones, 4 wide, so one grade is 2.
    const [first, second] = of([-1, 0, 3]).table.rows as unknown as Record<string, number>[];
    expect(first).toMatchObject({ assessor: 'A', tendency: 0.2, spread: 0.3 });
    expectNear(first!.lower!, 0.1, 1e-12);
    expectNear(first!.upper!, 0.3, 1e-12);
    expect(second).toMatchObject({ assessor: 'B', tendency: -0.2, spread: 0.4 });
    // One cut has no width: standard deviations of the limbs.
    const [alone] = of([0.5]).table.rows;
    expect(alone).toMatchObject({ tendency: 0.4, spread: 0.6 });
    expect(of([0.5]).table.toText()).toMatch(/in standard deviations of the limbs/);
    expect(of([0.5, 1]).table.toText()).toMatch(/in grades/);
    expect(error.table.toText()).toMatch(/no.*ranking|not therefore wrong/);
  });

  it('the matrix of an assessor is his or her own, by consensus grade', () => {
    const matrices = readingErrorMatrices(error.continuum.reading, studyMix(error.continuum.reading));
    const { rows } = error.matrixOf('2');
    expect(rows).toHaveLength(3);
    rows.forEach((row, g) => {
      expect(row.grade).toBe(String(g));
      for (const k of [0, 1, 2]) expect(row[`read${k}`]).toBe(matrices[1]![g]![k]);
    });
    expect(matrices[0]).not.toEqual(matrices[1]);
    expect(error.matrixOf('nobody').rows).toEqual([]);
  });
});

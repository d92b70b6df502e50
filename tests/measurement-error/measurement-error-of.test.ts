import { describe, expect, it } from 'vitest';
import { measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { expectNear } from '../support/expect-near.ts';
import { expectPrinted } from '../support/expect-printed.ts';
import { publishedCases } from '../support/published-cases.ts';
import { withRepeats } from '../support/with-repeats.ts';

describe('lengths and seconds', () => {
  // de Vet and others 2006, doi:10.1016/j.jclinepi.2005.10.015, formulas on the table of Shrout & Fleiss 1979.
  it('SEM and smallest detectable change between assessors', () => {
    const [one] = publishedCases('agreement', /^sem-mdc-sf1979$/);
    const error = measurementErrorOf(ratingsOf(one!.data.subjectsByRaters), { as: 'lengths' });
    if (error.kind !== 'lengths') return expect.unreachable();
    expectNear(error.standardError.differentAssessor.value, one!.expected.semAgreement, one!.tolerance);
    expectNear(error.smallestDetectableChange.differentAssessor.value, one!.expected.mdc95Agreement, one!.tolerance);
  });

  // Bland & Altman, BMJ 1996;312:1654, doi:10.1136/bmj.312.7047.1654: within-subject SD 21.5 from four readings of 20 children.
  it('within-subject standard deviation of repeat readings', () => {
    const [one] = publishedCases('agreement', /^measurement-error-ba1996$/);
    const error = measurementErrorOf(ratingsOf(one!.data.subjectsByRaters), { as: 'lengths' });
    if (error.kind !== 'lengths') return expect.unreachable();
    expectNear(error.standardError.differentAssessor.value, one!.expected.sw, one!.tolerance);
    expectNear(
      error.smallestDetectableChange.differentAssessor.value,
      one!.expected.repeatabilityExact,
      one!.tolerance,
    );
    expectPrinted(error.standardError.differentAssessor.value, '21.5');
  });

  it('does not move with an offset and scales with the unit', () => {
    const rows = [
      [27.5, 26.8, 26.8],
      [30.1, 30.4, null],
      [24.9, 25.6, 25.1],
      [28.8, 28.2, 28.5],
    ];
    const sem = (change: (x: number) => number): number => {
      const error = measurementErrorOf(ratingsOf(rows.map((row) => row.map((x) => (x === null ? null : change(x))))), {
        as: 'lengths',
      });
      return error.kind === 'lengths' ? error.standardError.differentAssessor.value : Number.NaN;
    };
    expect(sem((x) => x + 1000)).toBeCloseTo(
      sem((x) => x),
      9,
    );
    expect(sem((x) => 10 * x)).toBeCloseTo(10 * sem((x) => x), 9);
  });

  // By hand: differences within an assessor 2, 1, −1 (with the pairs 1 3, 4 5, 7 6): √(Σd²/2n) = 1.
  it('of one assessor is √(Σd²/2n) of his or her repeats, and the repeats may have been made on another day', () => {
    const ratings = withRepeats([
      [[1, 3], [2]],
      [[4], [3]],
      [[4, 5], [6]],
      [[8], [7, 6]],
    ]);
    const error = measurementErrorOf(ratings, { as: 'lengths', confidenceLevel: 0.9 });
    if (error.kind !== 'lengths') return expect.unreachable();
    expectNear(error.standardError.sameAssessor!.value, 1, 1e-12);
    // The normal quantile of .95 is 1.6448536 (any table).
    expectNear(error.smallestDetectableChange.sameAssessor!.value, 1.6448536269514722 * Math.SQRT2, 1e-9);
    expect(error.confidenceLevel).toBe(0.9);
    expect(error.notes.map(({ code }) => code)).toEqual(['one-day', 'few-patients-for-error']);
    const days = measurementErrorOf(ratings, { as: 'lengths', repeatsMade: 'another day' });
    expect(days.notes.map(({ code }) => code)).toEqual(['few-patients-for-error']);
    const none = measurementErrorOf(ratingsOf([[1, 2]]), { as: 'lengths', repeatsMade: 'another day' });
    expect(none.notes.map(({ code }) => code)).toEqual(['one-day', 'no-repeats', 'few-patients-for-error']);
  });

  it('is roughly known below 30 patients, by the number of patients', () => {
    const codes = (patients: number): string[] =>
      measurementErrorOf(ratingsOf(Array.from({ length: patients }, (_, at) => [at, at + 1])), {
        as: 'lengths',
      }).notes.map(({ code }) => code);
    expect(codes(29)).toContain('few-patients-for-error');
    expect(codes(30)).not.toContain('few-patients-for-error');
  });

  it('is not known for one assessor when nobody read twice, and says so', () => {
    const error = measurementErrorOf(
      ratingsOf([
        [1, 2],
        [2, 2],
      ]),
      { as: 'lengths' },
    );
    expect(error.kind === 'lengths' && error.standardError.sameAssessor).toBeUndefined();
    expect(error.notes.map((note) => note.code)).toEqual(['one-day', 'no-repeats', 'few-patients-for-error']);
  });
});

describe('grades', () => {
  // By hand: targets (1,2), (1,1), (2,2,1), (0,2). Ordered pairs, target by target.
  const ratings = ratingsOf(
    [
      [1, 2, null],
      [1, 1, null],
      [2, 2, 1],
      [0, 2, null],
    ],
    { categories: [0, 1, 2] },
  );
  const error = measurementErrorOf(ratings, { as: 'grades' });
  if (error.kind !== 'grades') throw new Error('not grades');

  it('matrix: what another reads, given what one read', () => {
    expect(error.matrix.counts).toEqual([
      [0, 0, 1],
      [0, 2, 3],
      [1, 3, 2],
    ]);
    expect(error.matrix.shares[1]).toEqual([0, 2 / 5, 3 / 5]);
  });

  it('shares of pairs one and two grades apart, target by target', () => {
    // (1 + 0 + 2/3 + 1) / 4 at least one grade apart, (0 + 0 + 0 + 1) / 4 at least two.
    expect(error.differentAssessor.atLeast.map(({ share }) => share.value)).toEqual([(1 + 2 / 3 + 1) / 4, 1 / 4]);
    expect(error.differentAssessor.smallestDetectableShift).toBe(3);
  });

  it('a shift is detectable where at most 1 in 20 pairs of unchanged limbs differ as much', () => {
    const steady = Array.from({ length: 40 }, (_, at) => (at < 8 ? [2, 3] : at === 8 ? [2, 4] : [2, 2]));
    const small = measurementErrorOf(ratingsOf(steady, { categories: [0, 1, 2, 3, 4] }), { as: 'grades' });
    // 9 of 40 at least one grade apart, 1 of 40 at least two: .025 ≤ .05.
    expect(small.kind === 'grades' && small.differentAssessor.smallestDetectableShift).toBe(2);
    const strict = measurementErrorOf(ratingsOf(steady, { categories: [0, 1, 2, 3, 4] }), {
      as: 'grades',
      confidenceLevel: 0.99,
    });
    expect(strict.kind === 'grades' && strict.differentAssessor.smallestDetectableShift).toBe(3);
    // 3 of 40 two apart are .075: more than 1 in 20.
    const often = steady.map((row, at) => (at > 36 ? [2, 4] : row));
    const more = measurementErrorOf(ratingsOf(often, { categories: [0, 1, 2, 3, 4] }), { as: 'grades' });
    expect(more.kind === 'grades' && more.differentAssessor.smallestDetectableShift).toBe(3);
  });
});

it('asks what the readings are when they come without a sign, and refuses categories without order', () => {
  expect(() => measurementErrorOf(ratingsOf([[1, 2]]))).toThrow(/without a sign/);
  expect(() => measurementErrorOf(ratingsOf([[1, 2]], { level: 'nominal' }))).toThrow(/no order/);
});

it('names who read, and counts rare grades at an end with their neighbor only where asked', () => {
  const rows = Array.from({ length: 40 }, (_, at) =>
    at < 3 ? [0, 0] : [1 + (at % 2), at % 7 === 0 ? 2 : 1 + (at % 2)],
  );
  const of = (options: { mergeRareGrades?: boolean }) => {
    const error = measurementErrorOf(ratingsOf(rows), { as: 'grades', ...options });
    if (error.kind !== 'grades') throw new Error('grades expected');
    return error;
  };
  expect(of({}).assessors).toEqual(['1', '2']);
  expect(measurementErrorOf(ratingsOf([[1], [2]]), { as: 'grades' }).assessors).toEqual(['1']);
  expect(of({}).reading).toBeUndefined();
  expect(of({}).notes.map(({ code }) => code)).toContain('grade-too-rare');
  expect(of({}).notes.map(({ code }) => code)).toContain('no-truth');
  expect(of({ mergeRareGrades: false }).reading).toBeUndefined();
  expect(of({ mergeRareGrades: true }).reading!.grades).toHaveLength(2);
  // The same with the rare grade at the other end.
  const turned = measurementErrorOf(ratingsOf(rows.map((row) => row.map((grade) => 2 - grade))), {
    as: 'grades',
    mergeRareGrades: true,
  });
  expect(turned.kind === 'grades' && turned.reading!.grades.map(({ words }) => words)).toEqual(['0', '1 or 2']);
});

it('the level of the readings decides, and what is said here before it', () => {
  const kindOf = (level: 'ordinal' | 'interval' | 'ratio', as?: 'grades' | 'lengths'): string =>
    measurementErrorOf(
      ratingsOf(
        [
          [1, 2],
          [3, 3],
        ],
        { level },
      ),
      as === undefined ? {} : { as },
    ).kind;
  expect(kindOf('ordinal')).toBe('grades');
  expect(kindOf('interval')).toBe('lengths');
  expect(kindOf('ratio')).toBe('lengths');
  expect(kindOf('ratio', 'grades')).toBe('grades');
  expect(kindOf('ordinal', 'lengths')).toBe('lengths');
});

it('grades computed on as lengths say so; lengths have nothing to say', () => {
  const rows = [
    [1, 2],
    [3, 3],
    [2, 1],
  ];
  const codesOf = (level: 'ordinal' | 'ratio'): string[] => {
    const error = measurementErrorOf(ratingsOf(rows, { level }), { as: 'lengths' });
    if (error.kind !== 'lengths') throw new Error('no lengths');
    return error.standardError.differentAssessor.notes.map(({ code }) => code);
  };
  expect(codesOf('ordinal')).toContain('grades-as-numbers');
  expect(codesOf('ratio')).not.toContain('grades-as-numbers');
});

it('every interval is made with the options given', () => {
  const cells = Array.from({ length: 14 }, (_, at) => [[at, at + 1.5 * Math.sin(at)], [at + Math.cos(at)]]);
  const ratings = withRepeats(
    cells,
    cells.map((_, at) => at % 7),
  );
  const options = { interval: 'bootstrap', replicates: 250, seed: 7, confidenceLevel: 0.8 } as const;
  const lengths = measurementErrorOf(ratings, { as: 'lengths', ...options });
  if (lengths.kind !== 'lengths') return expect.unreachable();
  for (const one of [lengths.standardError, lengths.smallestDetectableChange])
    for (const estimate of [one.differentAssessor, one.sameAssessor!]) expect(estimate.options).toMatchObject(options);
  expect(lengths.smallestDetectableChange.sameAssessor!.options).toMatchObject({ changeLevel: 0.8, assessor: 'same' });
  expect(lengths.smallestDetectableChange.differentAssessor.options).toMatchObject({
    changeLevel: 0.8,
    assessor: 'different',
    day: 'same',
  });
  const plain = measurementErrorOf(ratings, { as: 'lengths' });
  if (plain.kind !== 'lengths') return expect.unreachable();
  expect(plain.standardError.differentAssessor.options).toMatchObject({ confidenceLevel: 0.95, interval: 'bootstrap' });
  const days = measurementErrorOf(ratings, { as: 'lengths', repeatsMade: 'another day' });
  if (days.kind !== 'lengths') return expect.unreachable();
  expect(days.standardError.differentAssessor.options.day).toBe('another');
  // Without a repeat nothing is known of another day, whatever is said.
  const once = measurementErrorOf(ratingsOf(cells.map((row) => row.map((list) => list[0]!))), {
    as: 'lengths',
    repeatsMade: 'another day',
  });
  if (once.kind !== 'lengths') return expect.unreachable();
  expect(once.standardError.differentAssessor.options.day).toBe('same');
});

it('grades read twice by one assessor: the shares of his or her own pairs', () => {
  // First and second readings by one assessor: 1 2, 2 2, 0 2 and none; between the two assessors 1 1, 2 1, 0 1, 2 2.
  const ratings = withRepeats([
    [[1, 2], [1]],
    [[2, 2], [1]],
    [[0, 2], [1]],
    [[2], [2]],
  ]);
  // The support gives repeats the code 0; here the codes are those of the grades.
  const { subject: _none, ...rest } = ratings;
  const graded = new Ratings({ ...rest, repeats: ratings.repeats.map((one) => ({ ...one, code: one.number })) });
  const error = measurementErrorOf(graded, { as: 'grades', interval: 'cluster-robust' });
  if (error.kind !== 'grades') return expect.unreachable();
  expect(error.sameAssessor!.atLeast.map(({ share }) => share.value)).toEqual([2 / 3, 1 / 3]);
  expect(error.differentAssessor.atLeast.map(({ share }) => share.value)).toEqual([2 / 4, 0]);
  expect(error.differentAssessor.atLeast[0]!.share.options.interval).toBe('cluster-robust');
  expect(error.notes.map(({ code }) => code).slice(0, 3)).toEqual(['one-day', 'few-patients-for-error', 'no-truth']);
  const none = measurementErrorOf(ratingsOf([[1, 2]]), { as: 'grades' });
  expect(none.kind === 'grades' && none.sameAssessor).toBeUndefined();
});

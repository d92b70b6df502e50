import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { intraclassCorrelation } from '../../src/agreement/intraclass-correlation.ts';
import { standardErrorOfMeasurement } from '../../src/agreement/standard-error-of-measurement.ts';
import {
  spreadAboutTargets,
  spreadAcrossRepeats,
  spreadOfResiduals,
} from '../../src/agreement/within-target-spread.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfCounts } from '../../src/ratings/ratings-of-counts.ts';
import { chiSquare } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectJackknife } from '../support/expect-jackknife.ts';
import { expectNear } from '../support/expect-near.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';
import { withRepeats } from '../support/with-repeats.ts';

describe('published and recomputed cases', () => {
  for (const one of publishedCases('agreement', /^sem-mdc-sf1979$/))
    it(`${one.id}: ${one.source}`, () => {
      const ratings = ratingsOfCase(one);
      const agreement = standardErrorOfMeasurement(ratings);
      const consistency = standardErrorOfMeasurement(ratings, { definition: 'consistency' });
      expectNear(agreement.value, one.expected.semAgreement, one.tolerance);
      expectNear(consistency.value, one.expected.semConsistency, one.tolerance);
      // SD √(1 − ICC) only comes near: the case's own contrast value, recomputed from the coefficient.
      const numbers = one.data.subjectsByRaters.flat() as number[];
      const mean = numbers.reduce((sum, x) => sum + x, 0) / numbers.length;
      const sd = Math.sqrt(numbers.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (numbers.length - 1));
      const icc = intraclassCorrelation(ratings, { model: 'two-way', definition: 'agreement', unit: 'single' }).value;
      expectNear(sd * Math.sqrt(1 - icc), one.expected.semFromPooledSDandICC2, one.tolerance);
      expect(Math.abs(agreement.value - one.expected.semFromPooledSDandICC2)).toBeGreaterThan(0.1);
    });

  for (const one of publishedCases('agreement', /^measurement-error-ba1996$/))
    it(`${one.id}: ${one.source}`, () => {
      const error = standardErrorOfMeasurement(ratingsOfCase(one), { columnsAre: 'repeats' });
      expectNear(error.value, one.expected.SEM_fromMSW, one.tolerance);
      expect(error.details.degreesOfFreedom).toBe(one.expected.df);
      const numbers = one.data.subjectsByRaters.flat() as number[];
      const mean = numbers.reduce((sum, x) => sum + x, 0) / numbers.length;
      const sd = Math.sqrt(numbers.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (numbers.length - 1));
      const icc = intraclassCorrelation(ratingsOfCase(one), { model: 'one-way', unit: 'single' });
      expectNear(sd * Math.sqrt(1 - icc.value), one.expected.SEM_fromSDandICC1, one.tolerance);
      expectNear(icc.details.f!, one.expected.F, one.tolerance);
    });

  for (const one of publishedCases('progression', /^mdc-ci$/))
    it(`${one.id}: ${one.source}`, () => {
      const { reading1, reading2 } = one.data as { reading1: number[]; reading2: number[] };
      const ratings = ratingsOf(reading1.map((x, at) => [x, reading2[at]!]));
      const error = standardErrorOfMeasurement(ratings, { columnsAre: 'repeats' });
      expectNear(error.value, one.expected.sw, 1e-10);
      expectNear(error.interval.lower, one.expected.swLower, 1e-10);
      expectNear(error.interval.upper, one.expected.swUpper, 1e-10);
      expect(error.details.degreesOfFreedom).toBe(one.expected.df);
    });
});

/** 12 targets of 6 patients, 3 assessors, two readings a cell, with habits, a drift between readings and noise. */
function simulated(noise: number, habits: readonly number[], drift: number, targets = 12, seed = 3) {
  const random = seededRandom(seed);
  return withRepeats(
    Array.from({ length: targets }, () => {
      const level = 50 + 10 * random.normal();
      return habits.map((habit) => [
        level + habit + noise * random.normal(),
        level + habit + drift + noise * random.normal(),
      ]);
    }),
    Array.from({ length: targets }, (_, at) => Math.floor(at / 2)),
  );
}

describe('the four kinds', () => {
  const ratings = simulated(1, [0, 2, -1], 0.5);
  const k = ratings.columns;
  const first = (t: number, j: number): number => ratings.numbers[t * k + j]!;
  const again = (t: number, j: number): number =>
    ratings.repeats.find((repeat) => repeat.target === t && repeat.assessor === j)!.number;
  const targets = Array.from({ length: ratings.targets }, (_, t) => t);
  const mean = (values: number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;

  it('different assessors, one day: half the mean squared difference over pairs of assessors (second formula)', () => {
    const squares = targets.flatMap((t) =>
      [
        [0, 1],
        [0, 2],
        [1, 2],
      ].map(([i, j]) => (first(t, i!) - first(t, j!)) ** 2 / 2),
    );
    expectNear(standardErrorOfMeasurement(ratings).value, Math.sqrt(mean(squares)), 1e-12);
  });

  it('same assessor, one day: half the mean squared difference of first and second reading', () => {
    const differences = targets.flatMap((t) => [0, 1, 2].map((j) => again(t, j) - first(t, j)));
    const same = standardErrorOfMeasurement(ratings, { assessor: 'same' });
    expectNear(same.value, Math.sqrt(mean(differences.map((d) => (d * d) / 2))), 1e-12);
    expect(same.details.degreesOfFreedom).toBe(36);
    const off = mean(differences);
    const spread = differences.reduce((sum, d) => sum + (d - off) ** 2, 0) / (differences.length - 1);
    const consistency = standardErrorOfMeasurement(ratings, { assessor: 'same', definition: 'consistency' });
    expectNear(consistency.value, Math.sqrt(spread / 2), 1e-12);
  });

  it('another day: the same readings under another name, only when the user says so', () => {
    const asked = { day: 'another', repeatsMade: 'another day' } as const;
    const same = standardErrorOfMeasurement(ratings, { assessor: 'same', ...asked });
    expect(same.value).toBe(standardErrorOfMeasurement(ratings, { assessor: 'same' }).value);
    expect(same.statistic).toMatch(/another day/);
    const pairs = targets.flatMap((t) =>
      [0, 1, 2].flatMap((j) => [0, 1, 2].filter((l) => l !== j).map((l) => ({ j, l, d: again(t, l) - first(t, j) }))),
    );
    const different = standardErrorOfMeasurement(ratings, asked);
    expectNear(different.value, Math.sqrt(mean(pairs.map(({ d }) => (d * d) / 2))), 1e-12);
    let squares = 0;
    for (const j of [0, 1, 2])
      for (const l of [0, 1, 2]) {
        const own = pairs.filter((pair) => pair.j === j && pair.l === l).map(({ d }) => d);
        if (own.length > 0) squares += own.reduce((sum, d) => sum + (d - mean(own)) ** 2, 0);
      }
    const consistency = standardErrorOfMeasurement(ratings, { ...asked, definition: 'consistency' });
    expectNear(consistency.value, Math.sqrt(squares / (2 * (72 - 6))), 1e-12);
    expect(() => standardErrorOfMeasurement(ratings, { ...asked, interval: 'asymptotic' })).toThrow(
      /No asymptotic law/,
    );
    expect(() => standardErrorOfMeasurement(ratings, { day: 'another' })).toThrow(/another day/);
    expect(() => standardErrorOfMeasurement(ratings, { assessor: 'same', repeatsMade: 'another day' })).toThrow(
      /not known/,
    );
  });

  it('consistency is the residual of the two-way table, with gaps that of the restricted likelihood', () => {
    const icc = intraclassCorrelation(ratings, { model: 'two-way', definition: 'consistency', unit: 'single' });
    const consistency = standardErrorOfMeasurement(ratings, { definition: 'consistency' });
    expectNear(consistency.value ** 2, icc.details.residualVariance!, 1e-12);
    const gaps = ratingsOf(
      targets.map((t) => [first(t, 0), t % 3 === 0 ? null : first(t, 1), first(t, 2)]),
      { clusters: [...ratings.clusterOf] },
    );
    const withGaps = standardErrorOfMeasurement(gaps, { definition: 'consistency' });
    const model = intraclassCorrelation(gaps, { model: 'two-way', definition: 'consistency', unit: 'single' });
    expectNear(withGaps.value ** 2, model.details.residualVariance!, 1e-9);
    expect(withGaps.notes.map((note) => note.code)).toContain('gaps');
  });

  it('recovers what the readings were made with: 400 targets, noise 1, habits 0, 2, −1', () => {
    const many = simulated(1, [0, 2, -1], 0, 400, 11);
    expect(standardErrorOfMeasurement(many, { assessor: 'same' }).value).toBeCloseTo(1, 1);
    expect(standardErrorOfMeasurement(many, { definition: 'consistency' }).value).toBeCloseTo(1, 1);
    // Variance of the habits 0, 2, −1 with divisor 2: 7/3.
    expect(standardErrorOfMeasurement(many).value).toBeCloseTo(Math.sqrt(1 + 7 / 3), 1);
  });
});

describe('laws', () => {
  const rows = fc.array(fc.array(fc.integer({ min: 0, max: 30 }), { minLength: 3, maxLength: 3 }), {
    minLength: 4,
    maxLength: 15,
  });
  it('keeps with shift, grows with scale, and does not depend on order', () => {
    fc.assert(
      fc.property(rows, (given) => {
        for (const definition of ['agreement', 'consistency'] as const) {
          const of = (cells: number[][]): number => standardErrorOfMeasurement(ratingsOf(cells), { definition }).value;
          const plain = of(given);
          expectNear(of(given.map((row) => row.map((x) => 5 - 3 * x))), 3 * plain, 1e-9);
          expectNear(of([...given].reverse().map((row) => [...row].reverse())), plain, 1e-9);
        }
      }),
    );
  });

  it('is not moved by an offset of a thousand million', () => {
    const given = [
      [1.25, 1.5],
      [2.5, 2.25],
      [4, 4.75],
      [0.5, 1],
    ];
    const of = (offset: number): number =>
      standardErrorOfMeasurement(ratingsOf(given.map((row) => row.map((x) => x + offset)))).value;
    expectNear(of(1e9), of(0), 1e-12);
  });

  describe('agreement', () =>
    hasItsGradient((ratings) => spreadAboutTargets(ratings, 'spread', 'assessors').coefficient));
  describe('consistency', () =>
    hasItsGradient((ratings) => spreadOfResiduals(ratings, 'spread').coefficient, {
      gaps: false,
      of: (coefficient, sums) => coefficient.value(sums.map((sum) => 1e9 * sum)),
    }));
  describe('across repeats', () => {
    for (const habitsOut of [false, true])
      hasItsGradient(
        (ratings) =>
          spreadAcrossRepeats(
            withRepeats(
              Array.from({ length: ratings.targets }, (_, t) =>
                [0, 1, 2].map((j) => [ratings.numbers[3 * t + j]!, ratings.numbers[3 * t + j]! + ((t * j) % 3)]),
              ),
            ),
            'spread',
            habitsOut,
          ).coefficient,
        { gaps: false, of: (coefficient, sums) => coefficient.value(sums.map((sum) => 1e9 * sum)) },
      );
  });
});

// χ² interval of one assessor's repeats, 20 targets, true error 2: seeded, Monte Carlo error .0049.
it('covers as it says where its law holds', () => {
  const random = seededRandom(5);
  let covered = 0;
  for (let study = 0; study < 2000; study++) {
    const rows = Array.from({ length: 20 }, () => {
      const level = 10 * random.normal();
      return [level + 2 * random.normal(), level + 2 * random.normal()];
    });
    const { interval } = standardErrorOfMeasurement(ratingsOf(rows), { columnsAre: 'repeats' });
    if (interval.lower <= 2 && 2 <= interval.upper) covered++;
  }
  expect(Math.abs(covered / 2000 - 0.95)).toBeLessThan(0.015);
});

it('asks for what it needs, and is not defined where nothing was read twice', () => {
  const ratings = ratingsOf([
    [1, 2],
    [3, 4],
  ]);
  expect(() => standardErrorOfMeasurement(ratings, { assessor: 'same' })).toThrow(/read limbs again/);
  expect(() => standardErrorOfMeasurement(ratings, { columnsAre: 'repeats', assessor: 'different' })).toThrow(
    /one assessor/,
  );
  expect(() => standardErrorOfMeasurement(ratingsOf([[1, 2]], { level: 'ordinal' }))).toThrow(/gradesAsNumbers/);
  const once = standardErrorOfMeasurement(
    ratingsOf([
      [1, null],
      [null, 4],
    ]),
  );
  expect(once.value).toBeNaN();
  expect(once.notes.map((note) => note.code)).toContain('not-defined');
});

describe('every kind: name, options, counts, notes and the patient jackknife', () => {
  // Unequal repeats, gaps, a target read by nobody; patients with one to three targets.
  const cells = [
    [[20, 21.5], [22], [19]],
    [[31], [33, 32.5, 34], [30]],
    [[25, 24, 26], [], [24.5, 25.5]],
    [[28.5, 27], [30, 31], [26]],
    [[40], [41.5, 43], [39, 38]],
    [[], [], []],
    [[35, 36], [37], [34.5]],
    [
      [22.5, 21],
      [24, 23],
      [21.5, 22],
    ],
    [[29], [30.5], [28]],
  ];
  const patients = ['a', 'a', 'b', 'c', 'c', 'd', 'e', 'f', 'f'];
  const ratings = withRepeats(cells, patients);
  const later = { repeatsMade: 'another day' } as const;
  const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;
  const squares = (values: readonly number[]): number => values.reduce((sum, x) => sum + (x - mean(values)) ** 2, 0);
  const firsts = cells.map((row) => row.flatMap((list) => list.slice(0, 1)));

  it.each([
    [
      {},
      'standard error of measurement, different assessors, one day',
      { targets: 8, clusters: 5, ratings: 23 },
      ['one-day'],
    ],
    [
      { definition: 'consistency' },
      'standard error of measurement, different assessors, one day',
      { targets: 8, clusters: 5, ratings: 23 },
      ['one-day', 'steady-differences-left-out', 'gaps'],
    ],
    [
      { assessor: 'same' },
      'standard error of measurement, same assessor, one day',
      { targets: 7, clusters: 5, ratings: 26 },
      ['one-day'],
    ],
    [
      { assessor: 'same', definition: 'consistency' },
      'standard error of measurement, same assessor, one day',
      { targets: 12, clusters: 5, ratings: 24 },
      ['one-day', 'steady-differences-left-out'],
    ],
    [
      { assessor: 'same', day: 'another', ...later },
      'standard error of measurement, same assessor, another day',
      { targets: 7, clusters: 5, ratings: 26 },
      ['stable-findings'],
    ],
    [
      { day: 'another', ...later },
      'standard error of measurement, different assessors, another day',
      { targets: 7, clusters: 5, ratings: 37 },
      ['stable-findings'],
    ],
    [
      { day: 'another', definition: 'consistency', ...later },
      'standard error of measurement, different assessors, another day',
      { targets: 7, clusters: 5, ratings: 37 },
      ['stable-findings', 'steady-differences-left-out'],
    ],
  ] as const)('%j', (kind, name, counts, notes) => {
    const of = (given: Ratings) =>
      standardErrorOfMeasurement(given, { ...kind, interval: 'cluster-robust', confidenceLevel: 0.9 });
    const made = of(ratings);
    expect(made.statistic).toBe(name);
    expect(made.counts).toMatchObject(counts);
    expect(made.options).toMatchObject({
      assessor: 'assessor' in kind ? kind.assessor : 'different',
      day: 'day' in kind ? kind.day : 'same',
      definition: 'definition' in kind ? kind.definition : 'agreement',
      confidenceLevel: 0.9,
      interval: 'cluster-robust',
    });
    expect(made.notes.map(({ code }) => code)).toEqual([
      ...notes.filter((code) => code !== 'gaps'),
      'few-patients-for-error',
      ...notes.filter((code) => code === 'gaps'),
      'few-patients',
    ]);
    // Without the patient whom nobody read.
    const read = ratings.ofTargets((target) => target !== 5);
    expectJackknife(read, of, 'log', notes.some((code) => code === 'gaps') ? 1e-5 : 1e-9);
  });

  it('χ² of repeats: one degree for each reading beyond the first', () => {
    const groups = cells.flatMap((row) => row.filter((list) => list.length > 1));
    const degrees = groups.reduce((sum, { length }) => sum + length - 1, 0);
    const s = Math.sqrt(groups.reduce((sum, list) => sum + squares(list), 0) / degrees);
    const made = standardErrorOfMeasurement(ratings, {
      assessor: 'same',
      interval: 'asymptotic',
      confidenceLevel: 0.9,
    });
    expectNear(made.value, s, 1e-12);
    expect(made.details.degreesOfFreedom).toBe(degrees);
    expectNear(made.standardError, s / Math.sqrt(2 * degrees), 1e-12);
    expectNear(made.interval.lower, s * Math.sqrt(degrees / chiSquare.quantile(0.95, degrees)), 1e-9);
    expectNear(made.interval.upper, s * Math.sqrt(degrees / chiSquare.quantile(0.05, degrees)), 1e-9);
    expect(made.interval.method).toBe(`χ² with ${degrees} degrees of freedom, targets taken as independent`);
  });

  it('χ² across assessors: with gaps one degree for each reading beyond the first, complete Satterthwaite’s', () => {
    const own = firsts.filter(({ length }) => length > 1);
    const degrees = own.reduce((sum, { length }) => sum + length - 1, 0);
    const made = standardErrorOfMeasurement(ratings, { interval: 'asymptotic' });
    expect(made.details.degreesOfFreedom).toBe(degrees);
    expectNear(made.value, Math.sqrt(own.reduce((sum, list) => sum + squares(list), 0) / degrees), 1e-12);
    // Complete targets: a = MSₐ/n, b = (n − 1)MSₑ/n, (a + b)²/(a²/(k − 1) + b²/((n − 1)(k − 1))).
    const rows = firsts.filter(({ length }) => length === 3);
    const n = rows.length;
    const columns = [0, 1, 2].map((j) => mean(rows.map((row) => row[j]!)));
    const habits = (n * squares(columns)) / 2;
    const grand = mean(rows.flat());
    let left = 0;
    for (const row of rows) for (const [j, x] of row.entries()) left += (x - mean(row) - columns[j]! + grand) ** 2;
    const residual = left / (2 * (n - 1));
    const [a, b] = [habits / n, ((n - 1) * residual) / n];
    const whole = standardErrorOfMeasurement(ratingsOf(rows), {});
    expectNear(whole.value, Math.sqrt(a + b), 1e-12);
    const f = (a + b) ** 2 / (a ** 2 / 2 + b ** 2 / (2 * (n - 1)));
    expectNear(whole.details.degreesOfFreedom!, f, 1e-9);
    expectNear(whole.interval.lower, whole.value * Math.sqrt(f / chiSquare.quantile(0.975, f)), 1e-9);
    const consistent = standardErrorOfMeasurement(ratingsOf(rows), { definition: 'consistency' });
    expectNear(consistent.value, Math.sqrt(residual), 1e-12);
    expect(consistent.details.degreesOfFreedom).toBe(2 * (n - 1));
    expect(consistent.counts.ratings).toBe(3 * n);
  });

  it('columns that are repeats: one degree for each beyond the first, whatever who read', () => {
    const rows = firsts.map((row) => [row[0] ?? null, row[1] ?? null, row[2] ?? null]);
    const made = standardErrorOfMeasurement(ratingsOf(rows), { columnsAre: 'repeats' });
    expect(made.options).toMatchObject({ assessor: 'same', day: 'same' });
    expect(made.details.degreesOfFreedom).toBe(15);
    const within = ratings.withinAssessors();
    expect(standardErrorOfMeasurement(within).options.assessor).toBe('same');
    const consistency = standardErrorOfMeasurement(within, { definition: 'consistency' });
    expectNear(
      consistency.value,
      standardErrorOfMeasurement(ratings, { assessor: 'same', definition: 'consistency' }).value,
      1e-12,
    );
  });

  it('patients not known: the law where there is one, else targets stand in', () => {
    const alone = withRepeats(cells);
    expect(standardErrorOfMeasurement(alone).options.interval).toBe('asymptotic');
    expect(standardErrorOfMeasurement(alone, { day: 'another', ...later }).options.interval).toBe('cluster-robust');
    expect(standardErrorOfMeasurement(ratings).options.interval).toBe('bootstrap');
    expect(standardErrorOfMeasurement(alone).notes.map(({ code }) => code)).toEqual(['one-day', 'patients-not-given']);
  });

  it('is known only roughly with fewer than 30 patients', () => {
    const codes = (count: number): string[] =>
      standardErrorOfMeasurement(
        ratingsOf(
          Array.from({ length: count }, (_, at) => [at, at + Math.sin(at)]),
          { clusters: Array.from({ length: count }, (_, at) => at) },
        ),
        { interval: 'asymptotic' },
      ).notes.map(({ code }) => code);
    expect(codes(29)).toEqual(['one-day', 'few-patients-for-error']);
    expect(codes(30)).toEqual(['one-day']);
  });

  const asked =
    (options: object, given = ratings): (() => unknown) =>
    () =>
      standardErrorOfMeasurement(given, options);
  const without = ratingsOf([
    [1, 2],
    [3, 4],
  ]);
  const nobody = ratingsOfCounts(
    [
      [1, 1],
      [2, 0],
    ],
    { categories: [0, 1] },
  );
  refuses([
    ['columns that are something else', asked({ columnsAre: 'days' }), 'unknown-choice'],
    ['another assessor than same or different', asked({ assessor: 'any' }), 'unknown-choice'],
    ['a third day', asked({ day: 'third' }), 'unknown-choice'],
    ['a third definition', asked({ definition: 'both' }), 'unknown-choice'],
    ['repeats of a third time', asked({ repeatsMade: 'later' }), 'unknown-choice'],
    [
      'different assessors in columns of one',
      asked({ columnsAre: 'repeats', assessor: 'different' }, without),
      'assessors-needed',
    ],
    ['one assessor without repeats', asked({ assessor: 'same' }, without), 'repeats-needed'],
    ['another day without repeats', asked({ day: 'another', ...later }, without), 'repeats-needed'],
    ['another day of repeats on the same', asked({ day: 'another' }), 'another-day-needed'],
    ['one day of repeats on another', asked({ assessor: 'same', ...later }), 'same-day-needed'],
    ['consistency of nobody known', asked({ definition: 'consistency' }, nobody), 'assessors-needed'],
    ['consistency of one column', asked({ definition: 'consistency' }, ratingsOf([[1], [2]])), 'two-assessors-needed'],
    [
      'a law where none is known',
      asked({ day: 'another', interval: 'asymptotic', ...later }),
      'interval-not-available',
    ],
    ['grades', asked({}, ratingsOf([[1, 2]], { level: 'ordinal' })), 'grades-not-numbers'],
    ['words', asked({}, ratingsOf([['a', 'b']])), 'grades-not-numbers'],
    ['what has no order', asked({}, ratingsOf([[1, 2]], { level: 'nominal' })), 'level-not-suited'],
  ]);
});

// Where the next number is ½ away: twice as far from 0 it would be 1.
it('is not moved by the largest offset that the numbers can hold', () => {
  const given = [
    [1, 1.5, 3],
    [2.5, 2, 2],
    [4, 4.5, 6.5],
  ];
  const of = (offset: number): number =>
    standardErrorOfMeasurement(ratingsOf(given.map((row) => row.map((x) => x + offset)))).value;
  expectNear(of(4e15), of(0), 1e-12);
});

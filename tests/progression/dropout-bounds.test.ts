import { expect, it } from 'vitest';
import { wilson } from '../../src/agreement/percent-agreement.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { dropoutBounds } from '../../src/progression/dropout-bounds.ts';
import { superiority } from '../../src/progression/superiority.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { problemsIn } from '../support/problems-in.ts';

type Line = Parameters<typeof assessmentsOf>[2][number];
const edema = (lines: readonly Line[]) => assessmentsOf('pitting-edema', 'oed.0-3.words', lines);
const shin = (patient: string, day: number, value: number, limb = 'left-leg', assessor = 'A'): Line => [
  patient,
  day,
  assessor,
  limb,
  'pretibial-shin',
  value,
];

/** Ten patients: 2 worse, 3 not worse, 1 partly read, 4 who left; one more first read at the end. */
const TEN: readonly Line[] = [
  shin('w1', 0, 0),
  shin('w1', 90, 1),
  // Worse on one leg, the other not read: known.
  shin('w2', 0, 1),
  shin('w2', 0, 1, 'right-leg'),
  shin('w2', 95, 2),
  ...['n1', 'n2', 'n3'].flatMap((patient) => [shin(patient, 0, 1), shin(patient, 30, 0), shin(patient, 90, 1)]),
  // Not worse on one leg, the other not read: not known.
  shin('p1', 0, 1),
  shin('p1', 0, 1, 'right-leg'),
  shin('p1', 90, 0),
  ...['l1', 'l2', 'l3', 'l4'].flatMap((patient) => [shin(patient, 0, 1), shin(patient, 30, 2)]),
  shin('late', 90, 3),
];

it('bounds the share worse by what those not read could have been', async () => {
  const result = dropoutBounds(await edema(TEN), { lastVisitFrom: 90 });
  expect(result.patients).toEqual({ followed: 10, worse: 2, notWorse: 3, partlyRead: 1, left: 4 });
  // By hand: 2/10, 2/5, (2 + 5)/10.
  expect([result.noneWorse.value, result.knownOnly.value, result.allWorse.value]).toEqual([0.2, 0.4, 0.7]);
  // √(.2 · .8 / 10) and √(.4 · .6 / 5).
  expect(result.noneWorse.standardError).toBeCloseTo(Math.sqrt(0.016), 12);
  expect(result.knownOnly.standardError).toBeCloseTo(Math.sqrt(0.048), 12);
  expect(result.noneWorse.notes).toEqual([]);
  // Wilson by hand, z = 1.959964: (x + z²/2 ∓ z√(x(n − x)/n + z²/4)) / (n + z²), x = 2 and 7 of 10.
  expect(result.noneWorse.interval.lower).toBeCloseTo(0.0567, 4);
  expect(result.allWorse.interval.upper).toBeCloseTo(0.8922, 4);
  expect(result.noneWorse.counts).toMatchObject({ clusters: 10, targets: 12, excluded: 1 });
  expect(result.notes[0]!.message).toContain('between 20 % and 70 %');
});

it('says whether those who left were worse already, patients as the units', async () => {
  const { leftAgainstStayed } = dropoutBounds(await edema(TEN), { lastVisitFrom: 90 });
  // Last before day 90: left 2, 2, 2, 2; stayed 0, 1, 0, 0, 0, 1: no overlap.
  expect(leftAgainstStayed.value).toBe(1);
  expect(leftAgainstStayed.interval.lower).toBeNaN();
  expect(leftAgainstStayed.notes[0]!.code).toBe('complete-separation');
  const milder = TEN.map((line): Line => (line[0] === 'l1' && line[1] === 30 ? shin('l1', 30, 0) : line));
  const mixed = dropoutBounds(await edema(milder), { lastVisitFrom: 90 }).leftAgainstStayed;
  // Three of four above all six, one ties with four and is below two: (18 − 2) / 24.
  expect(mixed.value).toBeCloseTo(16 / 24, 12);
  expect(mixed.interval).toEqual(superiority([0, 2, 2, 2], [0, 1, 0, 0, 0, 1]).interval);
  expect(mixed.details).toEqual({ left: 4, stayed: 6 });
});

it('is worse only where every pair of readings by different assessors is', async () => {
  const worse = async (second: number): Promise<number> => {
    const lines = [shin('a', 0, 0), shin('a', 90, 1, 'left-leg', 'B'), shin('a', 90, second, 'left-leg', 'C')];
    return dropoutBounds(await edema(lines), { lastVisitFrom: 90 }).patients.worse;
  };
  expect(await worse(0)).toBe(0);
  expect(await worse(2)).toBe(1);
});

it('closes the bounds where everybody was read, and says that there is nobody to compare', async () => {
  const result = dropoutBounds(await edema([shin('a', 0, 0), shin('a', 90, 1), shin('b', 0, 1), shin('b', 90, 1)]), {
    lastVisitFrom: 90,
  });
  expect([result.noneWorse.value, result.knownOnly.value, result.allWorse.value]).toEqual([0.5, 0.5, 0.5]);
  expect(result.leftAgainstStayed.value).toBeNaN();
  expect(result.notes.map((note) => note.code)).toContain('no-comparison');
});

it('is undefined, not 0, where nothing is known', async () => {
  const left = dropoutBounds(await edema([shin('a', 0, 1)]), { lastVisitFrom: 90 });
  expect([left.noneWorse.value, left.knownOnly.value, left.allWorse.value]).toEqual([0, Number.NaN, 1]);
  const nobody = dropoutBounds(await edema([shin('a', 90, 1)]), { lastVisitFrom: 90 });
  expect(nobody.noneWorse.value).toBeNaN();
  expect(nobody.notes[0]!.message).toContain('nobody was followed');
});

it('reads the last day of the visit, the same assessor first, and nothing after the end', async () => {
  const result = dropoutBounds(
    await edema([
      shin('a', 0, 0),
      shin('a', 90, 0),
      shin('a', 91, 1), // the last day of the visit decides: worse
      shin('b', 0, 1),
      shin('b', 0, 2, 'left-leg', 'B'),
      shin('b', 90, 2, 'left-leg', 'B'), // B read 2 before: not worse
      shin('d', 0, 0),
      shin('d', 0, 1, 'left-leg', 'B'),
      shin('d', 90, 1), // A read 0 before, though B read 1: worse
      shin('c', 0, 0),
      shin('c', 200, 3), // after the end: left
    ]),
    { lastVisitFrom: 85, lastVisitTo: 100 },
  );
  expect(result.patients).toMatchObject({ worse: 2, notWorse: 1, left: 1 });
});

it('asks which way is worse and how much, where the scale does not say', async () => {
  const pulses = await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', [
    ['a', 0, 'A', 'left-leg', 'popliteal', 2],
    ['a', 90, 'A', 'left-leg', 'popliteal', 1],
  ]);
  expect(() => dropoutBounds(pulses, { lastVisitFrom: 90 })).toThrow(/neither end alone is worse/);
  expect(dropoutBounds(pulses, { lastVisitFrom: 90, worse: 'lower' }).patients.worse).toBe(1);
  expect(dropoutBounds(pulses, { lastVisitFrom: 90, worse: 'higher' }).patients.worse).toBe(0);
  const refill = await assessmentsOf('capillary-refill', 'refill.seconds.toe', [
    ['a', 0, 'A', 'left-leg', 'great-toe', 2],
    ['a', 90, 'A', 'left-leg', 'great-toe', '3.5'],
  ]);
  expect(() => dropoutBounds(refill, { lastVisitFrom: 90 })).toThrow(/how much worse/);
  expect(dropoutBounds(refill, { lastVisitFrom: 90, least: 1.5 }).patients.worse).toBe(1);
  expect(dropoutBounds(refill, { lastVisitFrom: 90, least: 1.6 }).patients.worse).toBe(0);
  expect(() => dropoutBounds(refill, { lastVisitFrom: 90, lastVisitTo: 80, least: 0 })).toThrow(/above 0/);
});

it('gives every field of a small study, another level and another least', async () => {
  const lines: Line[] = [
    // Worse by two on the right leg, the left not read again.
    shin('a', 0, 1),
    shin('a', 0, 0, 'right-leg', 'B'),
    shin('a', 40, 2, 'right-leg', 'B'),
    // Worse by one only; a reading after the end is no reading.
    shin('b', 3, 1),
    shin('b', 45, 2),
    shin('b', 60, 3),
    // Two who left, the second read twice on the last day before.
    shin('c', 0, 3),
    shin('d', 0, 0),
    shin('d', 20, 1, 'left-leg', 'C'),
    shin('d', 20, 2),
    // First read at the last visit, and after it: excluded.
    shin('e', 40, 1),
    shin('f', 60, 1),
  ];
  const result = dropoutBounds(await edema(lines), {
    lastVisitFrom: 40,
    lastVisitTo: 50,
    least: 2,
    confidenceLevel: 0.8,
  });
  expect(Object.isFrozen(result)).toBe(true);
  expect([result.kind, result.scale.id]).toEqual(['dropout-bounds', 'oed.0-3.words']);
  expect(result.patients).toEqual({ followed: 4, worse: 1, notWorse: 1, partlyRead: 0, left: 2 });
  const counts = { targets: 5, clusters: 4, assessors: 3, ratings: 9, excluded: 2 };
  const options = { worse: 'higher', least: 2, from: 40, to: 50, level: 0.8 };
  for (const [estimate, worse, of, statistic] of [
    [result.noneWorse, 1, 4, 'share worse, had none of those not known been worse'],
    [result.knownOnly, 1, 2, 'share worse, of those known'],
    [result.allWorse, 3, 4, 'share worse, had all of those not known been worse'],
  ] as const) {
    const share = worse / of;
    expect(estimate).toMatchObject({
      statistic,
      value: share,
      standardError: expect.closeTo(Math.sqrt((share * (1 - share)) / of), 12),
      interval: { ...wilson(worse, of, 0.8), level: 0.8, method: 'Wilson, patients as the trials' },
      counts: { ...counts, clusters: of },
      options,
      notes: [],
    });
  }
  // Worst last reading before day 40: left 3 and 2; stayed 1 (of 1 and 0) and 1.
  expect(result.leftAgainstStayed).toMatchObject({ value: 1, counts, options, details: { left: 2, stayed: 2 } });
  expect(result.leftAgainstStayed.notes.map(({ code }) => code)).toEqual([
    'complete-separation',
    'left-against-stayed',
  ]);
  expect(result.leftAgainstStayed.notes[1]!.message).toMatch(/had it: 100; above 0/);
  expect(result.notes.map(({ code }) => code)).toEqual([
    'worst-case-bounds',
    'not-read-is-not-unchanged',
    'complete-separation',
    'left-against-stayed',
  ]);
  const [from, to] = [wilson(1, 4, 0.8).lower, wilson(3, 4, 0.8).upper].map((share) => `${Math.round(100 * share)} %`);
  expect(result.notes[0]!.message).toBe(
    `Of 4 patients 1 are known to be worse and of 2 it is not known (2 not read at all): the share worse lies between 25 % and 75 % whatever became of them; with the chance of sampling (80 % or more covered) between ${from} and ${to}.`,
  );
  expect(result.table.rows).toEqual(
    (
      [
        ['none of those not known is worse', 1, 4, result.noneWorse],
        ['those not known are like the others', 1, 2, result.knownOnly],
        ['all of those not known are worse', 3, 4, result.allWorse],
      ] as const
    ).map(([assumption, worse, patients, { value, interval }]) => ({
      assumption,
      worse,
      patients,
      share: value,
      lower: interval.lower,
      upper: interval.upper,
    })),
  );
  expect(result.table.notes).toEqual(result.notes);
});

it('compares who left with who stayed from two on each side on, with the interval in words', async () => {
  const of = async (left: readonly number[], stayed: readonly number[]) => {
    const lines = [
      ...left.map((grade, at) => shin(`l${at}`, 0, grade)),
      ...stayed.flatMap((grade, at) => [shin(`s${at}`, 0, grade), shin(`s${at}`, 90, grade)]),
    ];
    return dropoutBounds(await edema(lines), { lastVisitFrom: 90, confidenceLevel: 0.9 }).leftAgainstStayed;
  };
  for (const [left, stayed] of [
    [[1], [1, 2]],
    [[1, 2], [2]],
  ] as const) {
    const none = await of(left, stayed);
    expect([none.value, none.standardError, none.interval.lower, none.interval.upper]).toEqual(
      new Array(4).fill(Number.NaN),
    );
    expect([none.interval.level, none.interval.method]).toEqual([0.9, 'not defined']);
    expect(none.notes[0]!.message).toContain(`${left.length} left and ${stayed.length} stayed`);
  }
  const some = await of([2, 1], [1, 0]);
  // 2 lies above both, 1 above one and level with the other: 3 of 4 pairs.
  const expected = superiority([2, 1], [1, 0], { confidenceLevel: 0.9 });
  expect([some.value, expected.delta]).toEqual([0.75, 0.75]);
  expect([some.standardError, some.interval]).toEqual([expected.standardError, expected.interval]);
  const [lower, upper] = [expected.interval.lower, expected.interval.upper].map((end) => Math.round(100 * end));
  expect(some.notes.at(-1)!.message.replace('−', '-')).toContain(`had it: 75 (${lower} to ${upper}); above 0`);
});

it('says that nothing is defined where nobody is known or followed, in every figure', async () => {
  const left = dropoutBounds(await edema([shin('a', 0, 1), shin('b', 0, 1)]), { lastVisitFrom: 90 });
  const { knownOnly } = left;
  expect([knownOnly.standardError, knownOnly.interval.lower, knownOnly.interval.upper]).toEqual(
    new Array(3).fill(Number.NaN),
  );
  expect([knownOnly.interval.method, knownOnly.interval.level]).toEqual(['not defined', 0.95]);
  expect(knownOnly.notes.map(({ code }) => code)).toEqual(['not-defined']);
  expect(left.noneWorse.notes).toEqual([]);
  expect(left.patients).toEqual({ followed: 2, worse: 0, notWorse: 0, partlyRead: 0, left: 2 });
});

it('keeps the sign asked for, and needs one scale and days', async () => {
  const row = (day: number | null, value: string, more: object = {}) => ({
    patient: 'a',
    day,
    assessor: 'A',
    limb: 'left-leg',
    site: 'pretibial-shin',
    sign: 'pitting-edema',
    scale: 'oed.0-3.words',
    value,
    ...more,
  });
  const pulse = { site: 'popliteal', sign: 'pulse-grade', scale: 'pulse.0-4.normal2' };
  const both = await loadAssessments({ rows: [row(0, '0'), row(90, '1'), row(0, '2', pulse), row(90, '2', pulse)] });
  expect(dropoutBounds(both, { sign: 'pitting-edema', lastVisitFrom: 90 }).patients.worse).toBe(1);
  expect(dropoutBounds(both, { sign: 'pulse-grade', worse: 'lower', lastVisitFrom: 90 }).patients.worse).toBe(0);
  expect(problemsIn(() => dropoutBounds(both, { lastVisitFrom: 90 }))[0]).toMatch(/^scales-differ/);
  const undated = await loadAssessments({ rows: [row(0, '0'), row(null, '1')] });
  expect(problemsIn(() => dropoutBounds(undated, { lastVisitFrom: 90 }))).toEqual(['no-day assessments.day']);
  const seconds = { site: 'great-toe', sign: 'capillary-refill', scale: 'refill.seconds.toe' };
  const measured = await loadAssessments({ rows: [row(0, '2', seconds), row(90, '3', seconds)] });
  expect(problemsIn(() => dropoutBounds(measured, { lastVisitFrom: Number.NaN }))).toEqual([
    'least-needed options.least',
    'bad-option options.lastVisitFrom',
  ]);
  for (const [more, problems] of [
    [
      { lastVisitFrom: 90, lastVisitTo: 89, least: 0 },
      ['bad-option options.least', 'bad-option options.lastVisitFrom'],
    ],
    [{ lastVisitFrom: 90, least: Number.NaN }, ['bad-option options.least']],
    [{ lastVisitFrom: Number.POSITIVE_INFINITY }, ['bad-option options.lastVisitFrom']],
    [{ lastVisitFrom: 90, lastVisitTo: Number.NaN }, ['bad-option options.lastVisitFrom']],
    [{ lastVisitFrom: 90, confidenceLevel: 95 }, ['bad-option options.confidenceLevel']],
  ] as const)
    expect(problemsIn(() => dropoutBounds(both, { sign: 'pitting-edema', ...more }))).toEqual(problems);
  expect(problemsIn(() => dropoutBounds(both, { sign: 'pulse-grade', lastVisitFrom: 90 }))).toEqual([
    'direction-needed options.worse',
  ]);
  // A visit of one day.
  expect(dropoutBounds(both, { sign: 'pitting-edema', lastVisitFrom: 90, lastVisitTo: 90 }).patients.worse).toBe(1);
});

it('takes a difference that falls short of the least by rounding alone', async () => {
  const of = (first: string, last: string): Promise<number> =>
    assessmentsOf('capillary-refill', 'refill.seconds.toe', [
      ['a', 0, 'A', 'left-leg', 'great-toe', first],
      ['a', 90, 'A', 'left-leg', 'great-toe', last],
    ]).then((read) => dropoutBounds(read, { lastVisitFrom: 90, least: 0.3 }).patients.worse);
  // 2.4 − 2.1 is .2999…98 to a computer.
  expect(2.4 - 2.1).toBeLessThan(0.3);
  expect(await of('2.1', '2.4')).toBe(1);
  expect(await of('2.1', '2.3')).toBe(0);
});

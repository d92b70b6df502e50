import { expect, it } from 'vitest';
import { dropoutBounds } from '../../src/progression/dropout-bounds.ts';
import { superiority } from '../../src/progression/superiority.ts';
import { assessmentsOf } from '../support/assessments-of.ts';

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

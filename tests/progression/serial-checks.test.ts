import { beforeAll, describe, expect, it } from 'vitest';
import { kendallTau } from '../../src/agreement/kendall-tau.ts';
import { type MeasurementError, measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { serialChecks } from '../../src/progression/serial-checks.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { normal } from '../../src/shared/distributions.ts';
import { formatNumber } from '../../src/shared/table.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { problemsIn } from '../support/problems-in.ts';
import { simulatedLimbs } from '../support/simulated-limbs.ts';

type Line = Parameters<typeof assessmentsOf>[2][number];
let error: MeasurementError;
let serial: Awaited<ReturnType<typeof simulatedLimbs>>['serial'];

beforeAll(async () => {
  const made = await simulatedLimbs(7, { patients: 40, serial: 150, readingsPerVisit: 3 });
  error = measurementErrorOf(ratingsFrom(made.study, { sign: 'pulse-grade' }));
  serial = made.serial;
});

it('finds nothing to look at where readings are fresh', () => {
  const { checks } = serialChecks(serial, error);
  expect(checks.map((check) => check.look)).toEqual([false, false, false]);
  expect(checks[0]!.answer).toMatch(/^\d+ of 450 readings repeat/);
});

it('asks about readings that repeat more often than fresh ones would', async () => {
  const copied: Line[] = Array.from({ length: 60 }, (_, at): Line[] =>
    [0, 30, 60].map((day) => [`c${at}`, day, 'A', 'left-leg', 'popliteal', at % 5]),
  ).flat();
  const [check] = serialChecks(await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', copied), error).checks;
  expect(check!.look).toBe(true);
  expect(check!.answer).toMatch(/^120 of 120 readings repeat/);
});

// Patients who each repeat one grade twice exceed what is allowed by 2(1 − c) each: n patients by 2n(1 − c) against two standard errors,
// 4√n (1 − c), whatever the chance c. Above it from five patients on.
it('holds the excess against two standard errors, patients as the units', async () => {
  const look = async (patients: number): Promise<boolean> => {
    const lines = Array.from({ length: patients }, (_, at): Line[] =>
      [0, 30, 60].map((day) => [`c${at}`, day, 'A', 'left-leg', 'popliteal', 2]),
    ).flat();
    return serialChecks(await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', lines), error).checks[0]!.look;
  };
  expect(await look(3)).toBe(false);
  expect(await look(5)).toBe(true);
});

it('asks about visits that come sooner after a worse grade, and about other readers at the end', async () => {
  const lines: Line[] = Array.from({ length: 40 }, (_, at): Line[] => [
    [`d${at}`, 0, 'A', 'left-leg', 'popliteal', at % 4],
    [`d${at}`, 10 + 20 * (at % 4), 'B', 'left-leg', 'popliteal', 2],
  ]).flat();
  const { checks } = serialChecks(await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', lines), error);
  expect(checks[1]!.look).toBe(true);
  expect(checks[2]!.answer).toMatch(/^40 of 40/);
  expect(checks[2]!.look).toBe(true);
});

const pulses = (lines: readonly Line[]) => assessmentsOf('pulse-grade', 'pulse.0-4.normal2', lines);
const at = (patient: string, day: number, assessor: string, grade: number, limb = 'left-leg'): Line => [
  patient,
  day,
  assessor,
  limb,
  'popliteal',
  grade,
];

describe('readings copied forward', () => {
  /** A study of A and B with a stated model of reading, in which the grade 4 was never seen. */
  const READING = { cuts: [-1, 0.2, 1.1], tendencies: [0.3, -0.3], spreads: [0.6, 0.9], slip: 0.05 };
  const stated = (): MeasurementError => {
    if (error.kind !== 'grades') throw new Error('grades expected');
    const reading = Object.create(error.reading!, {
      assessors: { value: ['A', 'B'] },
      grades: { value: error.reading!.grades.slice(0, 4) },
      gradeOf: { value: [0, 1, 2, 3, -1] },
      continuum: { value: { reading: READING } },
    });
    return { ...error, reading };
  };

  /** ∫ P(y | θ, a)² φ dθ / ∫ P(y | θ, a) φ dθ, by the rule of many narrow steps. */
  function repeats(assessor: number, grade: number): number {
    let [both, one] = [0, 0];
    for (let step = -4000; step <= 4000; step++) {
      const place = step / 500;
      const below = (cut: number | undefined): number =>
        cut === undefined ? 1 : normal.cdf((cut - place - READING.tendencies[assessor]!) / READING.spreads[assessor]!);
      const clear = below(READING.cuts[grade]) - (grade === 0 ? 0 : below(READING.cuts[grade - 1]));
      const chance = (1 - READING.slip) * clear + READING.slip / 4;
      both += normal.density(place) * chance * chance;
      one += normal.density(place) * chance;
    }
    return both / one;
  }

  it('counts each pair of readings of one assessor against the most that the reading model allows', async () => {
    const lines: Line[] = [];
    let [expected, same] = [0, 0];
    for (let patient = 0; patient < 200; patient++) {
      const [first, second, third] = [patient % 4, (patient >> 2) % 4, (patient >> 4) % 4];
      // A reads three times, B in between the first two and once more, C and a grade that the study never saw do not enter.
      lines.push(
        at(`c${patient}`, 0, 'A', first),
        at(`c${patient}`, 10, 'B', second),
        at(`c${patient}`, 10, 'C', first),
        at(`c${patient}`, 20, 'A', second),
        at(`c${patient}`, 25, 'A', 4),
        at(`c${patient}`, 30, 'A', third),
        at(`c${patient}`, 40, 'B', third),
        at(`c${patient}`, 50, 'C', first),
      );
      expected += repeats(0, first) + repeats(0, second) + repeats(1, second);
      same += Number(first === second) + Number(second === third) + Number(second === third);
    }
    const [check] = serialChecks(await pulses(lines), stated()).checks;
    expect(check!.question).toBe('Are readings copied forward from the visit before?');
    expect(check!.answer).toBe(
      `${same} of 600 readings repeat the grade the same assessor gave before; fresh readings of unchanged limbs would repeat at most about ${Math.round(expected)}.`,
    );
    expect(check!.look).toBe(false);
  });

  it('two limbs of a patient are no two witnesses', async () => {
    const look = async (patients: number, limbs: readonly string[]): Promise<boolean> => {
      const lines = Array.from({ length: patients }, (_, patient): Line[] =>
        limbs.flatMap((limb) => [0, 30, 60].map((day): Line => at(`c${patient}`, day, 'A', 2, limb))),
      ).flat();
      return serialChecks(await pulses(lines), stated()).checks[0]!.look;
    };
    // n patients exceed by n times what one does, against twice √n times it: above it from five patients on, however many limbs each.
    expect(await look(3, ['left-leg', 'right-leg'])).toBe(false);
    expect(await look(5, ['left-leg', 'right-leg'])).toBe(true);
  });

  it('has nothing to say where nobody reads twice in a row', async () => {
    const [check] = serialChecks(await pulses([at('c', 0, 'A', 1), at('c', 9, 'B', 1)]), stated()).checks;
    expect(check).toMatchObject({ answer: 'No assessor read a limb on two visits in a row.', look: false });
  });
});

describe('the time to the next visit', () => {
  /** Patients with a grade on day 0, another reader's grade beside it, and gaps to visits on which the limb is normal. */
  const timingOf = async (gaps: readonly (readonly [grade: number, ...days: number[]])[]) => {
    const lines = gaps.flatMap(([grade, ...days], patient) => [
      at(`c${patient}`, 0, 'A', grade),
      at(`c${patient}`, 0, 'B', 4 - grade),
      ...days.map((day): Line => at(`c${patient}`, day, 'A', 2)),
    ]);
    return serialChecks(await pulses(lines), error).checks[1]!;
  };

  it('is held against the first grade of each visit, patients as clusters', async () => {
    // The first three patients come three times, the others twice.
    const gaps = Array.from({ length: 15 }, (_, at): [number, ...number[]] => [
      at % 5,
      20 + 7 * (at % 3),
      ...(at < 3 ? [60 + 11 * at] : []),
    ]);
    const rows = gaps.flatMap(([grade, first, second], patient) => [
      { patient, pair: [grade, first!] },
      ...(second === undefined ? [] : [{ patient, pair: [2, second - first!] }]),
    ]);
    const tau = kendallTau(
      ratingsOf(
        rows.map(({ pair }) => pair),
        { clusters: rows.map(({ patient }) => `c${patient}`) },
      ),
    );
    const { lower, upper } = tau.interval;
    expect(lower < 0 && upper > 0).toBe(true);
    expect(await timingOf(gaps)).toEqual({
      question: 'Does the time to the next visit depend on the grade?',
      answer: `Kendall tau of grade and days to the next visit ${formatNumber(tau.value)} (${formatNumber(lower)} to ${formatNumber(upper)}).`,
      look: false,
    });
  });

  it('is to be looked at when longer after a higher grade, when shorter, and when always so', async () => {
    const noisy = (sign: number) =>
      Array.from({ length: 30 }, (_, at): [number, number] => [at % 5, 50 + sign * 8 * (at % 5) + at]);
    for (const sign of [1, -1]) {
      const check = await timingOf(noisy(sign));
      expect(check.look).toBe(true);
      expect(check.answer).toMatch(/\): visits are not at random times\.$/);
    }
    for (const sign of [1, -1]) {
      const always = Array.from({ length: 10 }, (_, at): [number, number] => [at % 2, 50 + sign * (at % 2)]);
      expect((await timingOf(always)).look).toBe(true);
    }
  });

  it('needs ten gaps', async () => {
    const gaps = Array.from({ length: 10 }, (_, at): [number, number] => [at % 5, 20 + at]);
    expect((await timingOf(gaps)).answer).toMatch(/^Kendall tau/);
    expect(await timingOf(gaps.slice(1))).toMatchObject({
      answer: 'There are fewer than ten gaps between visits.',
      look: false,
    });
  });
});

it('counts limb-sites whose last visit was read by nobody who read the first, and looks above one half', async () => {
  const same = [at('a', 0, 'A', 1), at('a', 0, 'B', 1), at('a', 5, 'C', 1), at('a', 9, 'C', 1), at('a', 9, 'B', 1)];
  const other = [at('b', 0, 'A', 1), at('b', 0, 'B', 1), at('b', 5, 'A', 1), at('b', 9, 'C', 1)];
  const third = [at('c', 0, 'A', 1), at('c', 9, 'B', 1)];
  const single = [at('d', 0, 'A', 1), at('d', 0, 'B', 1)];
  const checkOf = async (lines: readonly Line[]) => serialChecks(await pulses(lines), error).checks[2]!;
  expect(await checkOf([...same, ...other, ...single])).toEqual({
    question: 'Were first and last visits read by different people?',
    answer: '1 of 2 limb-sites were read at the last visit by nobody who read the first.',
    look: false,
  });
  expect(await checkOf([...same, ...other, ...third])).toMatchObject({
    answer: expect.stringMatching(/^2 of 3 /),
    look: true,
  });
  expect(await checkOf(single)).toMatchObject({ answer: expect.stringMatching(/^0 of 0 /), look: false });
});

it('answers three questions even of no reading, and needs a graded sign', async () => {
  const other = await assessmentsOf('pulse-grade', 'pulse.0-3.normal2', [at('a', 0, 'A', 1)]);
  const { table } = serialChecks(other, error);
  expect(table.rows.map(({ look }) => look)).toEqual(['no', 'no', 'no']);
  const copied = Array.from({ length: 12 }, (_, patient): Line[] =>
    [0, 30, 60].map((day): Line => at(`c${patient}`, day, 'A', 2)),
  ).flat();
  expect(serialChecks(await pulses(copied), error).table.rows[0]).toMatchObject({
    question: 'Are readings copied forward from the visit before?',
    look: 'yes',
  });
  for (const without of [{ reading: undefined }, { subject: undefined }])
    expect(problemsIn(() => serialChecks(other, { ...error, ...without } as MeasurementError))).toEqual([
      'grades-needed error',
    ]);
});

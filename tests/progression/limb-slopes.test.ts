import { describe, expect, it } from 'vitest';
import { type LengthError, measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { changeCalls } from '../../src/progression/change-calls.ts';
import { LimbSlopes, limbSlopes } from '../../src/progression/limb-slopes.ts';
import { mannKendallTest } from '../../src/progression/mann-kendall-test.ts';
import { trendSeriesOf } from '../../src/progression/trend-series-of.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { caution, information } from '../../src/shared/note.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { assessmentsOf } from '../support/assessments-of.ts';

const REFILL = ['capillary-refill', 'refill.seconds.toe'] as const;
type Line = Parameters<typeof assessmentsOf>[2][number];

/** Invented: readings of 200 unchanged toes by A and B, scattering by .4 seconds. */
async function lengthError(spread = 0.4): Promise<LengthError> {
  const random = seededRandom(4);
  const lines = Array.from({ length: 200 }, (_, at): Line[] => {
    const truth = 3 + random.normal() * 0.5;
    return (['A', 'B'] as const).map((assessor) => [
      `s${at}`,
      0,
      assessor,
      'left-leg',
      'great-toe',
      truth + spread * random.normal(),
    ]);
  }).flat();
  const error = measurementErrorOf(ratingsFrom(await assessmentsOf(...REFILL, lines), { sign: REFILL[0] }));
  if (error.kind !== 'lengths') throw new TypeError('Seconds are measured.');
  return error;
}

describe('limbSlopes', () => {
  it('is the least-squares slope with the standard error of measurement of the study, by hand', async () => {
    const error = await lengthError();
    const serial = await assessmentsOf(...REFILL, [
      ['p1', 0, 'A', 'left-leg', 'great-toe', 2],
      ['p1', 30, 'B', 'left-leg', 'great-toe', 2.5],
      ['p1', 90, 'A', 'left-leg', 'great-toe', 4.5],
      ['p2', 0, 'A', 'left-leg', 'great-toe', 2],
    ]);
    const { limbs, table, notes } = limbSlopes(serial, error);
    // Days 0, 1, 3 in units of 30: mean 4/3, Σ(t − t̄)² = 42/9; Σ(t − t̄)x = (−4 · 2 − 1 · 2.5 + 5 · 4.5)/3 = 4.
    expect(limbs).toHaveLength(1);
    expect(limbs[0]!.slope).toBeCloseTo(4 / (42 / 9), 12);
    expect(limbs[0]!.errorAlone).toBeCloseTo(error.standardError.differentAssessor.value / Math.sqrt(42 / 9), 12);
    expect(limbs[0]!.call).toBe('beyond error, rising');
    expect(table.rows.at(-1)).toMatchObject({ limbs: 1, rising: 1, falling: 0, within: 0 });
    expect(notes.map(({ code }) => code)).toEqual(expect.arrayContaining(['single-visit', 'not-for-one-person']));
  });

  it('with one reading on each of two days calls as the smallest detectable change does', async () => {
    const error = await lengthError();
    const detectable = error.smallestDetectableChange.differentAssessor.value;
    const lines = [-1.01, -0.99, 0.5, 0.99, 1.01].flatMap((factor, at): Line[] => [
      [`p${at}`, 0, 'A', 'left-leg', 'great-toe', 5],
      [`p${at}`, 77, 'B', 'left-leg', 'great-toe', 5 + factor * detectable],
    ]);
    const serial = await assessmentsOf(...REFILL, lines);
    const bySlope = limbSlopes(serial, error).limbs.map(({ call }) => call.startsWith('beyond'));
    expect(bySlope).toEqual(changeCalls(serial, error).limbs.map(({ call }) => call.startsWith('beyond')));
    expect(bySlope).toEqual([true, false, false, false, true]);
  });

  it('gives each site a row, with the middle slope of its limbs', async () => {
    const error = await lengthError();
    const limb = (patient: string, site: string, last: number): Line[] => [
      [patient, 0, 'A', 'left-leg', site, 5],
      [patient, 30, 'B', 'left-leg', site, 5 + last],
    ];
    const serial = await assessmentsOf(...REFILL, [
      ...limb('p1', 'great-toe', 3),
      ...limb('p2', 'great-toe', 0.2),
      ...limb('p3', 'great-toe', 0.4),
      ...limb('p1', 'other-toe', -3),
      ...limb('p2', 'other-toe', 0.5),
    ]);
    const { table, notes } = limbSlopes(serial, error);
    expect(notes[0]!.message).toMatch(/^Of 5 limb-sites 2 rise or fall by more than the error; about 0 would/);
    expect(table.rows.map(({ limbs, within, rising, falling }) => [limbs, within, rising, falling])).toEqual([
      [3, 2, 1, 0],
      [2, 1, 0, 1],
      [5, 3, 1, 1],
    ]);
    [0.4, -1.25, 0.4].forEach((slope, at) => {
      expect(table.rows[at]!.slope).toBeCloseTo(slope, 12);
    });
    // Two visits a month apart: Σ(t − t̄)² = ½.
    const detectable = 1.959963984540054 * error.standardError.differentAssessor.value * Math.SQRT2;
    expect(table.rows[0]!.detectable).toBeCloseTo(detectable, 12);
  });

  it('takes the error of one assessor where one made every reading and the study knows it', async () => {
    const error = await lengthError();
    const own = {
      ...error.standardError.differentAssessor,
      value: 0.1,
    } as LengthError['standardError']['sameAssessor'];
    const known: LengthError = { ...error, standardError: { ...error.standardError, sameAssessor: own } };
    const serial = await assessmentsOf(...REFILL, [
      ['p1', 0, 'A', 'left-leg', 'great-toe', 2],
      ['p1', 30, 'A', 'left-leg', 'great-toe', 2.5],
      ['p2', 0, 'A', 'left-leg', 'great-toe', 2],
      ['p2', 30, 'B', 'left-leg', 'great-toe', 2.5],
    ]);
    expect(limbSlopes(serial, known).limbs.map(({ call }) => call)).toEqual(['beyond error, rising', 'within error']);
    expect(limbSlopes(serial, known).limbs[0]!.errorAlone).toBeCloseTo(0.1 * Math.SQRT2, 12);
  });

  it('puts one limb in twenty beyond the error when none changed, whatever the number of visits', async () => {
    const error = await lengthError();
    const random = seededRandom(9);
    const lines: Line[] = [];
    for (let patient = 0; patient < 2000; patient++) {
      const truth = 3 + random.normal() * 0.5;
      const visits = 2 + (patient % 4);
      for (let visit = 0; visit < visits; visit++)
        lines.push([
          `p${patient}`,
          visit * 20 + random.below(15),
          visit % 2 === 0 ? 'A' : 'B',
          'left-leg',
          'great-toe',
          truth + 0.4 * random.normal(),
        ]);
    }
    const found = limbSlopes(await assessmentsOf(...REFILL, lines), error);
    expect(found.expectedFromErrorAlone).toBeCloseTo(100, 9);
    const beyond = found.limbs.filter(({ call }) => call !== 'within error').length;
    // Binomial spread 9.7, and the error of 200 pairs is known to about 5 %, which moves the count by about 12.
    expect(Math.abs(beyond - 100)).toBeLessThan(3 * Math.hypot(9.7, 12));
  });

  it('refuses another sign and an error without one', async () => {
    const error = await lengthError();
    const pulses = await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', [
      ['p1', 0, 'A', 'left-leg', 'popliteal', 2],
    ]);
    expect(() => limbSlopes(pulses, error)).toThrow(/hold none/);
    expect(() => limbSlopes(pulses, { ...error, subject: undefined })).toThrow(/without a sign/);
    const single = await assessmentsOf(...REFILL, [
      ['s1', 0, 'A', 'left-leg', 'great-toe', 2],
      ['s2', 0, 'B', 'left-leg', 'great-toe', 2],
    ]);
    const unknown = measurementErrorOf(ratingsFrom(single, { sign: REFILL[0] })) as LengthError;
    expect(() => limbSlopes(single, unknown)).toThrow(/how large the error is/);
    expect(() => changeCalls(single, unknown)).toThrow(/how large the error is/);
  });
});

describe('what it says beside the slopes', () => {
  const toe = (patient: string, last: string, site = 'great-toe'): Line[] => [
    [patient, 0, 'A', 'left-leg', site, '3'],
    [patient, 30, 'B', 'left-leg', site, last],
  ];
  /** Error of measurement of a quarter of a second at a level of .9: stated, not estimated. */
  const stated = async (more: Partial<LengthError> = {}): Promise<LengthError> => {
    const error = await lengthError();
    const sem = {
      ...error.standardError.differentAssessor,
      value: 0.25,
    } as LengthError['standardError']['sameAssessor'];
    return {
      ...error,
      standardError: { differentAssessor: sem!, sameAssessor: undefined },
      confidenceLevel: 0.9,
      notes: [information('for-information', 'x'), caution('mind-this', 'y')],
      ...more,
    };
  };

  it('counts what is beyond the error and what is expected there, and carries over cautions alone', async () => {
    const lines = [
      ...Array.from({ length: 22 }, (_, at) => toe(`p${at}`, at < 3 ? '5' : at < 5 ? '1' : '3')).flat(),
      ['single', 0, 'A', 'left-leg', 'great-toe', '3'] as const,
    ];
    const { notes, unit, expectedFromErrorAlone, signLabel, kind, limbs } = limbSlopes(
      await assessmentsOf(...REFILL, lines),
      await stated(),
    );
    expect([kind, unit, limbs.length, expectedFromErrorAlone]).toEqual([
      'limb-slopes',
      's per 30 days',
      22,
      expect.closeTo(2.2, 12),
    ]);
    expect(signLabel).toMatch(/refill/i);
    expect(notes.map(({ code }) => code)).toEqual([
      'expected-from-error',
      'single-visit',
      'not-for-one-person',
      'mind-this',
    ]);
    expect(notes[0]!.message).toMatch(/^Of 22 limb-sites 5 rise .* about 2 would from assessors alone/);
    expect(notes[1]!.message).toMatch(/^1 limb-sites/);
    // Normal quantile of .95 (any table); Σ(t − t̄)² of two visits a month apart is ½.
    expect(limbs[0]!.smallestDetectable).toBeCloseTo(1.6448536269514722 * 0.25 * Math.SQRT2, 12);
  });

  it('has one row, of nothing, where no limb was read twice, and the sites from the heart down', async () => {
    const none = limbSlopes(await assessmentsOf(...REFILL, [toe('p', '3')[0]!]), await stated());
    expect(none.table.rows).toEqual([
      { site: 'all', limbs: 0, slope: Number.NaN, detectable: Number.NaN, within: 0, rising: 0, falling: 0 },
    ]);
    const two = limbSlopes(
      await assessmentsOf(...REFILL, [...toe('p', '3', 'other-toe'), ...toe('p', '4')]),
      await stated(),
    );
    expect(two.table.rows.map(({ site }) => site)).toEqual([
      expect.stringMatching(/great toe/i),
      expect.stringMatching(/other toe|toe/i),
      'all',
    ]);
    const one = limbSlopes(await assessmentsOf(...REFILL, [...toe('p', '3'), ...toe('q', '4')]), await stated());
    expect(one.table.rows.map(({ site, limbs }) => [site, limbs])).toEqual([['all', 2]]);
    const limb = two.limbs[0]!;
    const nowhere = new LimbSlopes('Refill', '', [limb, { ...limb, series: { ...limb.series, site: '' } }], 0, []);
    expect(nowhere.table.rows.map(({ site, limbs }) => [site, limbs])).toEqual([
      ['no site', 1],
      [expect.any(String), 1],
      ['all', 2],
    ]);
  });

  it('a slope of the smallest detectable size itself is within the error', async () => {
    // A level of 0 makes the quantile 0: no slope at all is then just within, any other beyond.
    const lines = [...toe('p', '3'), ...toe('q', '3.125'), ...toe('r', '2.875')];
    const { limbs } = limbSlopes(await assessmentsOf(...REFILL, lines), await stated({ confidenceLevel: 0 }));
    expect(limbs.map(({ call }) => call)).toEqual(['within error', 'beyond error, rising', 'beyond error, falling']);
  });
});

describe('trendSeriesOf', () => {
  const lines: Line[] = [
    ['p1', 0, 'A', 'left-leg', 'great-toe', 2],
    ['p1', 0, 'A', 'right-leg', 'great-toe', 3],
    ['p1', 10, 'A', 'left-leg', 'great-toe', 4],
    ['p1', 10, 'B', 'right-leg', 'great-toe', 3],
    ['p1', 20, 'B', 'left-leg', 'great-toe', 5],
    ['p1', 20, 'B', 'right-leg', 'great-toe', 2],
    ['p2', 0, 'A', 'left-leg', 'great-toe', 2],
  ];

  it('gives each limb its readings over days', async () => {
    const series = trendSeriesOf(await assessmentsOf(...REFILL, lines), { sign: REFILL[0] });
    expect(series.map(({ patient, limb, values }) => [patient, limb, values])).toEqual([
      ['p1', 'left-leg', [2, 4, 5]],
      ['p1', 'right-leg', [3, 3, 2]],
      ['p2', 'left-leg', [2]],
    ]);
    expect(mannKendallTest(series).score).toBe(3 - 2);
  });

  it('takes the difference of the sides only where one assessor read both on one day', async () => {
    const series = trendSeriesOf(await assessmentsOf(...REFILL, lines), { sign: REFILL[0], of: 'left less right' });
    expect(series).toEqual([{ patient: 'p1', limb: '', site: 'great-toe', times: [0, 20], values: [-1, 3] }]);
  });

  it('takes grades as steps, and refuses a sign that is not there', async () => {
    const pulses = await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', [
      ['p1', 0, 'A', 'left-leg', 'popliteal', 2],
      ['p1', 5, 'A', 'left-leg', 'popliteal', 0],
    ]);
    expect(trendSeriesOf(pulses, { sign: 'pulse-grade' })[0]!.values).toEqual([2, 0]);
    expect(() => trendSeriesOf(pulses, { sign: 'capillary-refill' })).toThrow(/no such assessments/);
  });
});

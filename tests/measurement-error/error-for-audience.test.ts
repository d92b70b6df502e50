import { describe, expect, it } from 'vitest';
import { changeCallsChart } from '../../src/charts/change-calls-chart.ts';
import { CrossAssessorMatrix } from '../../src/measurement-error/cross-assessor-matrix.ts';
import { errorForAudience } from '../../src/measurement-error/error-for-audience.ts';
import { measurementErrorFromText, measurementErrorText } from '../../src/measurement-error/measurement-error-file.ts';
import {
  type GradeError,
  type LengthError,
  measurementErrorOf,
} from '../../src/measurement-error/measurement-error-of.ts';
import { changeCalls } from '../../src/progression/change-calls.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { forAudience } from '../../src/reports/for-audience.ts';
import { Estimate } from '../../src/shared/estimate.ts';
import { caution } from '../../src/shared/note.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { type Told, workedOut } from '../support/attack.ts';
import { simulatedLimbs } from '../support/simulated-limbs.ts';
import { withRepeats } from '../support/with-repeats.ts';

const study = await simulatedLimbs(5, { patients: 40, serial: 60, readingsPerVisit: 1 });
const error = measurementErrorOf(ratingsFrom(study.study, { sign: 'pulse-grade' })) as GradeError;

describe('the text of an error of measurement', () => {
  it('says that it is not for sharing, and is refused for others', () => {
    expect(measurementErrorText(error)).toContain('"mark":"Not for sharing: small numbers are shown."');
    for (const audience of ['inside', 'outside'] as const)
      expect(() => measurementErrorText(error, { audience })).toThrow(/forAudience\(result, '(inside|outside)'\)/);
  });

  it('for others holds no code of an assessor and no single finding, and gives the same calls', () => {
    const outside = forAudience(error, 'outside');
    const text = measurementErrorText(outside, { audience: 'outside' });
    expect(text).not.toMatch(/"A"|"B"|"C"|patterns|Not for sharing/);
    const back = measurementErrorFromText(text) as GradeError;
    expect(measurementErrorText(back, { audience: 'outside' })).toBe(text);
    expect(back.reading).toBeUndefined();
    expect(error.reading).toBeDefined();
    expect(back.notes.map(({ code }) => code)).toContain('reading-left-out');
    const [calls, own] = [changeCalls(study.serial, back), changeCalls(study.serial, error)];
    expect(calls.limbs.map(({ call }) => call)).toEqual(own.limbs.map(({ call }) => call));
    expect(`${changeCallsChart(calls).title} ${calls.notes.map(({ message }) => message).join(' ')}`).not.toContain(
      'NaN',
    );
  });

  it('for people inside is marked so, and is not for those outside', () => {
    const inside = forAudience(error, 'inside');
    const text = measurementErrorText(inside, { audience: 'inside' });
    expect(text).toContain('"mark":"For inside the hospital only."');
    expect(() => measurementErrorText(measurementErrorFromText(text), { audience: 'outside' })).toThrow(
      /not-for|cannot be given/,
    );
  });

  it('is given out whole by a decision, which is printed in it', () => {
    const released = forAudience(error, 'outside', { release: { reason: 'asked for by the second referee' } });
    const text = measurementErrorText(released, { audience: 'outside' });
    expect(text).toContain('"mark":"Every figure is shown by decision: asked for by the second referee."');
    expect((measurementErrorFromText(text) as GradeError).matrix.counts).toEqual(error.matrix.counts);
  });

  it('is refused below five people, lengths too', () => {
    const few = measurementErrorOf(
      ratingsOf([
        [1.2, 1.4],
        [2.2, 2.1],
        [3, 3.3],
      ]),
      { as: 'lengths' },
    );
    expect(() => forAudience(few, 'outside')).toThrow(/fewer than 5 people/);
  });

  it('of lengths is rounded for those outside', () => {
    const rows = Array.from({ length: 20 }, (_, at) => [at, at + Math.sin(at)]);
    const outside = forAudience(measurementErrorOf(ratingsOf(rows), { as: 'lengths' }), 'outside');
    if (outside.kind !== 'lengths') throw new Error('no error of lengths');
    const { value } = outside.standardError.differentAssessor;
    expect(value).toBe(Math.round(1000 * value) / 1000);
    expect(value).toBeGreaterThan(0);
  });
});

describe('five findings, and no fewer, may be behind a figure', () => {
  /** The error of three assessors with this matrix, and with these shares of pairs at least 1, 2, … grades apart among 100 findings. */
  function withFigures(counts: number[][], shares: number[]): GradeError {
    const { matrix, differentAssessor } = error;
    const { share } = differentAssessor.atLeast[0]!;
    const of = (value: number) => new Estimate({ ...share, value, counts: { ...share.counts, targets: 100 } });
    return {
      ...error,
      assessors: ['A', 'B', 'C'],
      matrix: new CrossAssessorMatrix(matrix.categories, counts, counts, 100, 40),
      differentAssessor: {
        smallestDetectableShift: 2,
        atLeast: shares.map((value, at) => ({ grades: at + 1, share: of(value) })),
      },
    };
  }
  const isShown = (counts: number[][]): boolean =>
    !Number.isNaN((errorForAudience(withFigures(counts, []), 'inside') as GradeError).matrix.counts[0]![0]!);
  const sharesShown = (shares: number[]): number[] =>
    (errorForAudience(withFigures([[60]], shares), 'inside') as GradeError).differentAssessor.atLeast.map(
      ({ share }) => share.value,
    );

  // Three assessors: one finding gives at most 3·2 = 6 ordered pairs to a cell on the diagonal (all alike) and 2 off it (one against two).
  it('in a cell of the matrix: more pairs than four findings can give', () => {
    const of = (on: number, off: number): number[][] => [
      [on, off],
      [off, 90],
    ];
    expect(isShown(of(90, 9))).toBe(true);
    expect(isShown(of(90, 8))).toBe(false);
    expect(isShown(of(26, 30))).toBe(true);
    expect(isShown(of(24, 30))).toBe(false);
    expect(isShown(of(90, 0))).toBe(true);
    expect(isShown(of(0, 30))).toBe(true);
  });

  it('in a cell of the matrix, by the number of assessors; unknown assessors hide it', () => {
    const counts = [
      [60, 20],
      [20, 60],
    ];
    const of = (assessors: string[]): GradeError =>
      errorForAudience({ ...withFigures(counts, []), assessors }, 'inside') as GradeError;
    // Four assessors: 4 pairs of a finding off the diagonal, 12 on it: 20 > 16 and 60 > 48. Five: 6 and 20: 20 ≤ 24.
    expect(of(['A', 'B', 'C', 'D']).matrix.counts).toEqual(counts);
    expect(of(['A', 'B', 'C', 'D', 'E']).matrix.counts.flat().every(Number.isNaN)).toBe(true);
    expect(of(['A', 'B', 'C', 'D', 'E']).matrix).toMatchObject({ targets: 100, clusters: 40 });
    const { assessors: _unknown, ...rest } = withFigures(counts, []);
    const hidden = errorForAudience(rest, 'inside') as GradeError;
    expect(hidden.matrix.shares.flat().every(Number.isNaN)).toBe(true);
    expect(hidden.notes.map(({ code }) => code)).toContain('matrix-hidden');
    expect(of(['A', 'B', 'C', 'D']).notes.map(({ code }) => code)).not.toContain('matrix-hidden');
  });

  it('in a share, and in the step from the last share that is shown', () => {
    // 50, then 48 (two fewer: hidden), then 40 (ten fewer than the last shown), 36 (four fewer: hidden), 35 (five fewer), 4 (hidden), 0.
    expect(sharesShown([0.5, 0.48, 0.4, 0.36, 0.35, 0.04, 0])).toEqual([
      0.5,
      Number.NaN,
      0.4,
      Number.NaN,
      0.35,
      Number.NaN,
      0,
    ]);
    // 97 of 100 apart: only three agree.
    expect(sharesShown([0.97, 0.5])).toEqual([Number.NaN, 0.5]);
    expect(sharesShown([0.95, 0.05])).toEqual([0.95, 0.05]);
    expect(sharesShown([1, 0.5])).toEqual([1, 0.5]);
  });

  it('a share that is hidden has no interval, no error and no details either, and says why', () => {
    const { differentAssessor } = errorForAudience(withFigures([[60]], [0.04]), 'outside') as GradeError;
    const { share } = differentAssessor.atLeast[0]!;
    expect([share.value, share.standardError, share.interval.lower, share.interval.upper].every(Number.isNaN)).toBe(
      true,
    );
    expect(share.details).toEqual({});
    expect(share.notes.map(({ code }) => code)).toEqual(['too-few-to-show']);
    expect(differentAssessor.smallestDetectableShift).toBe(2);
  });

  const few = (people: number): GradeError | LengthError => {
    const rows = Array.from({ length: people }, (_, at) => [at % 2, at % 3 === 0 ? 1 : at % 2]);
    return measurementErrorOf(ratingsOf(rows, { categories: [0, 1], clusters: rows.map((_, at) => at) }), {
      as: 'grades',
      interval: 'cluster-robust',
    });
  };

  it('five people are enough, four are not', () => {
    expect(errorForAudience(few(5), 'inside').audience).toBe('inside');
    expect(() => errorForAudience(few(4), 'inside')).toThrow(/fewer than 5 people/);
  });

  it('of one assessor alone: the repeats of five people are enough, those of four are not', () => {
    const cells = (repeated: number): number[][][] =>
      Array.from({ length: 12 }, (_, at) => (at < repeated ? [[at, at + 1.5], [at + 1]] : [[at], [at + 1]]));
    const of = (repeated: number): LengthError => {
      const rows = cells(repeated);
      const whole = measurementErrorOf(
        withRepeats(
          rows,
          rows.map((_, at) => at),
        ),
        {
          as: 'lengths',
          interval: 'cluster-robust',
        },
      );
      return errorForAudience(whole, 'inside') as LengthError;
    };
    expect(of(5).standardError.sameAssessor!.value).toBeCloseTo(1.5 / Math.SQRT2, 12);
    expect(of(5).smallestDetectableChange.sameAssessor!.value).toBeGreaterThan(2);
    expect(of(4).standardError.sameAssessor).toBeUndefined();
    expect(of(4).smallestDetectableChange.sameAssessor).toBeUndefined();
    expect(of(4)).not.toHaveProperty('assessors');
    expect(of(4).standardError.differentAssessor.details).toEqual({});
  });

  it('of one assessor alone, in grades', () => {
    const of = (people: number): GradeError => {
      const same = error.differentAssessor;
      const { share } = same.atLeast[0]!;
      const entry = { grades: 1, share: new Estimate({ ...share, counts: { ...share.counts, clusters: people } }) };
      return errorForAudience({ ...error, sameAssessor: { ...same, atLeast: [entry] } }, 'inside') as GradeError;
    };
    expect(of(5).sameAssessor!.atLeast[0]!.share.value).toBe(error.differentAssessor.atLeast[0]!.share.value);
    expect(of(4).sameAssessor).toBeUndefined();
    const none = { ...error, sameAssessor: { smallestDetectableShift: 1, atLeast: [] } };
    expect((errorForAudience(none, 'inside') as GradeError).sameAssessor).toBeUndefined();
  });

  it('outside numbers are rounded and notes with figures left out; inside both stay', () => {
    const noted = { ...error, notes: [caution('x', 'rests on 7 patients'), caution('y', 'without any')] };
    const codes = (one: { readonly notes: readonly { readonly code: string }[] }): string[] =>
      one.notes.map(({ code }) => code);
    expect(codes(errorForAudience(noted, 'outside'))).toEqual(expect.arrayContaining(['y', 'reading-left-out']));
    expect(codes(errorForAudience(noted, 'outside'))).not.toContain('x');
    expect(codes(errorForAudience(noted, 'inside'))).toEqual(expect.arrayContaining(['x', 'y', 'reading-left-out']));
    expect(codes(errorForAudience({ ...noted, reading: undefined }, 'inside'))).not.toContain('reading-left-out');
    const valueFor = (audience: 'inside' | 'outside'): number =>
      (errorForAudience(withFigures([[60]], [0.123456]), audience) as GradeError).differentAssessor.atLeast[0]!.share
        .value;
    expect([valueFor('outside'), valueFor('inside')]).toEqual([0.123, 0.123456]);
    const lengths = measurementErrorOf(ratingsOf(Array.from({ length: 20 }, (_, at) => [at, at + Math.sin(at)])), {
      as: 'lengths',
    });
    const lengthNoted = { ...lengths, notes: noted.notes };
    expect(codes(errorForAudience(lengthNoted, 'outside'))).toEqual(['y']);
    expect(codes(errorForAudience(lengthNoted, 'inside'))).toEqual(['x', 'y']);
  });
});

describe('an attack on the text for others', () => {
  const GRADES = [0, 1, 2, 3, 4];
  const cell = (i: number, j: number): string => `${Math.min(i, j)}-${Math.max(i, j)}`;

  /** Two assessors, each finding of another person: how many findings each pair of grades was read in. */
  async function errorOf(seed: number) {
    const random = seededRandom(seed);
    const people = 20 + random.below(200);
    const spread = 0.2 + 0.8 * random.uniform();
    const found = new Map<string, number>();
    const lines = Array.from({ length: people }, (_, at) => {
      const first = random.below(seed % 3 === 0 ? 2 : 5);
      const second = Math.min(4, Math.max(0, first + Math.round(spread * random.normal())));
      found.set(cell(first, second), (found.get(cell(first, second)) ?? 0) + 1);
      return (['A', 'B'] as const).map(
        (assessor, which) => [`p${at}`, 0, assessor, 'left-leg', 'popliteal', which === 0 ? first : second] as const,
      );
    });
    const assessments = await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', lines.flat() as never);
    const whole = measurementErrorOf(ratingsFrom(assessments, { sign: 'pulse-grade' }), { replicates: 200 });
    const text = measurementErrorText(forAudience(whole, 'outside'), { audience: 'outside' });
    return { found, saved: measurementErrorFromText(text) as GradeError };
  }

  function toldBy({ matrix, differentAssessor }: GradeError): Told[] {
    const all = GRADES.flatMap((i) => GRADES.filter((j) => j >= i).map((j) => [i, j] as const));
    const told: Told[] = [{ of: all.map(([i, j]) => cell(i, j)), sum: matrix.targets }];
    for (const [i, j] of all) {
      const pairs = matrix.counts[i]![j]!;
      if (!Number.isNaN(pairs)) told.push({ of: [cell(i, j)], sum: i === j ? pairs / 2 : pairs });
    }
    for (const { grades, share } of differentAssessor.atLeast)
      if (!Number.isNaN(share.value))
        told.push({
          of: all.filter(([i, j]) => j - i >= grades).map(([i, j]) => cell(i, j)),
          sum: Math.round(share.value * matrix.targets),
        });
    return told;
  }

  it('finds no pair of grades that was read in one to four findings', async () => {
    let [hidden, shownMatrices, shownShares] = [0, 0, 0];
    for (let seed = 1; seed <= 30; seed++) {
      const { found, saved } = await errorOf(seed);
      const told = toldBy(saved);
      if (!Number.isNaN(saved.matrix.counts[0]![0]!)) shownMatrices++;
      shownShares += saved.differentAssessor.atLeast.filter(({ share }) => share.value > 0).length;
      const cells = GRADES.flatMap((i) => GRADES.filter((j) => j >= i).map((j) => cell(i, j)));
      const known = workedOut(cells, told);
      for (const name of cells) {
        const value = found.get(name) ?? 0;
        if (value === 0 || value > 4) continue;
        hidden++;
        expect([seed, name, known.get(name)]).toEqual([seed, name, undefined]);
      }
    }
    // The attack is no attack where nothing is shown, or nothing was small.
    expect(hidden).toBeGreaterThan(40);
    expect(shownMatrices).toBeGreaterThan(0);
    expect(shownShares).toBeGreaterThan(20);
  });
});

import { describe, expect, it } from 'vitest';
import { changeCallsChart } from '../../src/charts/change-calls-chart.ts';
import { measurementErrorFromText, measurementErrorText } from '../../src/measurement-error/measurement-error-file.ts';
import { type GradeError, measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { changeCalls } from '../../src/progression/change-calls.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { forAudience } from '../../src/reports/for-audience.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { type Told, workedOut } from '../support/attack.ts';
import { simulatedLimbs } from '../support/simulated-limbs.ts';

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

import { describe, expect, test } from 'vitest';
import { hiddenMarkovLogLikelihood } from '../../src/models/hidden-markov-model.ts';
import { hiddenPositionFit } from '../../src/models/hidden-position-fit.ts';
import { hiddenStates } from '../../src/models/hidden-states.ts';
import { fillReadingProbabilities, type ReadingParameters } from '../../src/models/reading-probabilities.ts';
import { simulateHiddenMarkov } from '../../src/models/simulate-hidden-markov.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

const GRADES = 3;
const reading: ReadingParameters = {
  cuts: [0.5, 1.5],
  tendencies: [-0.2, 0.05, 0.15],
  spreads: [0.3, 0.4, 0.5],
  slip: 0.02,
};

/** The truth: two sub-states a grade, known numbers, irregular gaps, delayed starts, one to three readings a visit. */
function simulated(subjects: number, seed: number) {
  const positions = [-0.25, 0.25, 0.75, 1.25, 1.75, 2.25];
  const table = new Float64Array(3 * GRADES * 6);
  fillReadingProbabilities(reading, positions, table);
  const model = {
    intensities: positions.map((_, r) => positions.map((_, s) => (s === r + 1 ? 0.3 : s === r - 1 ? 0.15 : 0))),
    initial: [0.2, 0.2, 0.2, 0.2, 0.1, 0.1],
    readings: [0, 1, 2].map((a) =>
      positions.map((_, i) => [0, 1, 2].map((k) => table[(a * GRADES + k) * 6 + i] as number)),
    ),
  };
  const random = seededRandom(seed, 99);
  const schedule = { subject: [] as number[], time: [] as number[], reader: [] as number[] };
  for (let subject = 0; subject < subjects; subject++) {
    let time = 10 * random.uniform();
    for (let visit = 0; visit < 5; visit++) {
      const readers = random.below(3);
      for (let r = 0; r <= readers; r++) {
        schedule.subject.push(subject);
        schedule.time.push(time);
        schedule.reader.push((r + subject) % 3);
      }
      time += 0.5 + 0.25 * random.below(6);
    }
  }
  return { data: simulateHiddenMarkov(model, schedule, { seed }), model };
}

describe('hiddenPositionFit', () => {
  const { data } = simulated(500, 7);

  test('with the reading model given, recovers the steps within four standard errors', async () => {
    const fit = await hiddenPositionFit(data, { grades: GRADES, statesPerGrade: 2, reading, starts: 2 });
    expect(fit.converged).toBe(true);
    expect(fit.positions).toEqual([-0.25, 0.25, 0.75, 1.25, 1.75, 2.25]);
    for (const [steps, truth] of [
      [fit.stepsUp, 0.3],
      [fit.stepsDown, 0.15],
    ] as const)
      for (const { value, standardError } of steps) {
        expect(Math.abs(Math.log(value / truth))).toBeLessThan((4 * standardError) / value);
        expect(standardError / value).toBeLessThan(0.5);
      }
    expect(fit.tendencies[0]).toEqual({ value: -0.2, standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN });
    expectNear(hiddenMarkovLogLikelihood(data, fit.model), fit.logLikelihood, 1e-11);
    // A grade of two sub-states with equal rates u and d: −1ᵀQ⁻¹1/2 = (u + d + (u + d)/2 ) … by the two equations solved.
    const [u, d] = [fit.stepsUp[1]?.value as number, fit.stepsDown[1]?.value as number];
    const determinant = (u + d) ** 2 - u * d;
    expectNear(fit.meanTimesInGrade[1]?.value as number, (2 * (u + d) + u + d) / (2 * determinant), 1e-10);
  });

  test('estimates tendency and spread of each reader from serial readings', async () => {
    const fit = await hiddenPositionFit(data, { grades: GRADES, statesPerGrade: 2, reading: 'estimated', starts: 1 });
    expect(fit.converged).toBe(true);
    fit.tendencies.forEach(({ value, standardError }, a) => {
      expect(standardError).toBeLessThan(0.05);
      expect(Math.abs(value - (reading.tendencies[a] as number))).toBeLessThan(4 * standardError);
    });
    fit.spreads.forEach(({ value, standardError }, a) => {
      expect(standardError).toBeLessThan(0.08);
      expect(Math.abs(value - (reading.spreads[a] as number))).toBeLessThan(4 * standardError);
    });
    expectNear(
      fit.tendencies.reduce((sum, { value }) => sum + value, 0),
      0,
      1e-12,
    );
    expect(fit.assumed.join(' ')).toContain('Weak priors');
  });

  test('its smoothed grades are calibrated', async () => {
    const fresh = simulated(1500, 8);
    const fit = await hiddenPositionFit(data, { grades: GRADES, statesPerGrade: 2, reading, starts: 1 });
    const { smoothed, states } = hiddenStates(fresh.data, fit.model);
    // One row of `fresh` a reading, one of `smoothed` a visit: the truth of a visit is that of its first reading.
    const truth: number[] = [];
    fresh.data.state.forEach((state, row) => {
      const same =
        row > 0 &&
        fresh.data.subject[row] === fresh.data.subject[row - 1] &&
        fresh.data.time[row] === fresh.data.time[row - 1];
      if (!same) truth.push(Math.floor(state / 2));
    });
    const bins = Array.from({ length: 5 }, () => ({ stated: 0, true: 0, visits: 0 }));
    truth.forEach((grade, visit) => {
      for (let g = 0; g < GRADES; g++) {
        const p = (smoothed[visit * states + 2 * g] as number) + (smoothed[visit * states + 2 * g + 1] as number);
        const bin = bins[Math.min(4, Math.floor(p * 5))] as { stated: number; true: number; visits: number };
        bin.stated += p;
        bin.true += Number(grade === g);
        bin.visits++;
      }
    });
    // Visits of a subject share their error; 3 % covers four standard errors of the smallest bin.
    for (const bin of bins) expect(Math.abs(bin.stated - bin.true) / bin.visits).toBeLessThan(0.03);
  });

  test('an end, one direction, censored grades and stated first grades', async () => {
    const rows = { subject: [] as number[], time: [] as number[], category: [] as number[] };
    const random = seededRandom(4);
    for (let subject = 0; subject < 200; subject++) {
      const grade = random.below(2);
      rows.subject.push(subject, subject, subject);
      rows.time.push(0, 1, 2 + 0.25 * random.below(4));
      rows.category.push(0, grade, subject % 5 === 0 ? 3 : subject % 7 === 0 ? -1 : Math.max(grade, random.below(3)));
    }
    const fit = await hiddenPositionFit(rows, {
      grades: GRADES,
      statesPerGrade: 2,
      reading: { ...reading, tendencies: [0], spreads: [0.4] },
      changes: 'up',
      exactEnd: true,
      censored: [{ code: -1, states: [0, 1, 2] }],
      initial: [1, 0, 0],
      starts: 1,
    });
    expect(fit.converged).toBe(true);
    expect(fit.stepsDown.every(({ value }) => value === 0)).toBe(true);
    expect(fit.ends.every(({ value }) => value > 0)).toBe(true);
    expect(fit.initialGrades.map(({ value }) => value)).toEqual([1, 0, 0]);
    expect(fit.model.stateCategories).toEqual([0, 0, 1, 1, 2, 2, 3]);
    expectNear(hiddenMarkovLogLikelihood(rows, fit.model), fit.logLikelihood, 1e-11);
  });

  test('a single state a grade is a chain of grades', async () => {
    const fit = await hiddenPositionFit(data, { grades: GRADES, statesPerGrade: 1, reading, starts: 1 });
    expect(fit.converged).toBe(true);
    expect(fit.stepsUp[GRADES - 1]?.value).toBe(0);
    expect(fit.stepsDown[0]?.value).toBe(0);
    expectNear(fit.meanTimesInGrade[0]?.value as number, 1 / (fit.stepsUp[0]?.value as number), 1e-10);
  });

  test('refuses what does not fit', async () => {
    await expect(
      hiddenPositionFit(data, { grades: GRADES, reading: { ...reading, tendencies: [0, 0], spreads: [1, 1] } }),
    ).rejects.toThrow('name 3 readers, but only 2');
    await expect(hiddenPositionFit(data, { grades: 4, reading })).rejects.toThrow('does not fit 4 grades');
    await expect(hiddenPositionFit(data, { grades: GRADES, reading, initial: [1, 1, 1] })).rejects.toThrow('initial');
  });
});

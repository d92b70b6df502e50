import { describe, expect, test } from 'vitest';
import { hiddenMarkovLogLikelihood } from '../../src/models/hidden-markov-model.ts';
import { hiddenPositionFit } from '../../src/models/hidden-position-fit.ts';
import { hiddenStates } from '../../src/models/hidden-states.ts';
import type { ValueWithLimits } from '../../src/models/intensities.ts';
import { numericalGradient } from '../../src/models/optimize.ts';
import { fillReadingProbabilities, type ReadingParameters } from '../../src/models/reading-probabilities.ts';
import { simulateHiddenMarkov } from '../../src/models/simulate-hidden-markov.ts';
import { normal } from '../../src/shared/distributions.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
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

  describe('against a second formula: the likelihood of a stated model plus the priors', () => {
    // Four grades of two sub-states and an end; two readers, a covariate, a code for "grade 1 or 2".
    const cuts = [0.4, 1.6, 2.4];
    const positions = [-0.5, 0.1, 0.7, 1.3, 1.8, 2.2, 2.6, 3];
    const given: ReadingParameters = { cuts, tendencies: [-0.1, 0.1, 9], spreads: [0.35, 0.5, 9], slip: 0.04 };
    const random = seededRandom(41);
    const rows = { subject: [] as number[], time: [] as number[], category: [] as number[], reader: [] as number[] };
    const dose: number[] = [];
    for (let subject = 0; subject < 40; subject++) {
      let grade = random.below(4);
      let time = 0;
      const own = random.below(2);
      for (let visit = 0; visit < 3 + (subject % 2); visit++) {
        const add = (category: number, reader: number): void => {
          rows.subject.push(subject);
          rows.time.push(time);
          rows.category.push(category);
          rows.reader.push(reader);
          dose.push(own);
        };
        if (visit === 3 && subject % 6 === 1) {
          add(4, 0);
          break;
        }
        add(visit === 1 && subject % 9 === 0 ? 77 : grade, random.below(2));
        if (random.uniform() < 0.3) add(Math.max(0, grade - 1), random.below(2));
        grade = Math.min(3, Math.max(0, grade + random.below(3) - 1));
        time += 0.5 + 0.5 * random.below(3);
      }
    }
    const data = { ...rows, covariates: { dose } };
    // Groups in the order of the sub-states: up and end of grade 0 (its steps down are grade 1's), and so on; grade 3 rises as grade 2 does.
    const up = [0, 0, 3, 3, 5, 5, 5];
    const down = [1, 1, 1, 6, 6, 8, 8];
    const end = [2, 2, 4, 4, 7, 7, 9, 9];

    /** ln of what consecutive visits show, × m/2 for steps: one sub-state crosses in half as many. */
    const centers = (): number[] => {
      const first: number[] = [];
      rows.subject.forEach((subject, row) => {
        if (row === 0 || rows.subject[row - 1] !== subject || rows.time[row - 1] !== rows.time[row]) first.push(row);
      });
      const spent = new Float64Array(5);
      const seen = Array.from({ length: 5 }, () => new Float64Array(5));
      let all = 0;
      first.forEach((row, at) => {
        const before = first[at - 1];
        if (before === undefined || rows.subject[before] !== rows.subject[row]) return;
        const gap = (rows.time[row] as number) - (rows.time[before] as number);
        all += gap;
        const [from, to] = [rows.category[before] as number, rows.category[row] as number];
        if (from > 4 || to > 4) return;
        spent[from] = (spent[from] as number) + gap;
        const counts = seen[from] as Float64Array;
        counts[to] = (counts[to] as number) + 1;
      });
      expect(all).toBeGreaterThan(0);
      const rate = (from: number, to: number, factor: number): number =>
        Math.log((factor * Math.max(0.5, (seen[from] as Float64Array)[to] as number)) / (spent[from] as number));
      return [
        [0, 1],
        [1, 0],
        [0, 4],
        [1, 2],
        [1, 4],
        [2, 3],
        [2, 1],
        [2, 4],
        [3, 2],
        [3, 4],
      ].map(([from, to]) => rate(from as number, to as number, to === 4 ? 1 : 2 / 2));
    };

    const modelOf = (p: Float64Array, reading: ReadingParameters): Parameters<typeof hiddenMarkovLogLikelihood>[1] => {
      const table = new Float64Array(2 * 4 * 8);
      fillReadingProbabilities(
        {
          ...reading,
          tendencies: Array.from(reading.tendencies).slice(0, 2),
          spreads: Array.from(reading.spreads).slice(0, 2),
        },
        positions,
        table,
      );
      const groupAt = (r: number, s: number): number =>
        r === 8
          ? -1
          : s === 8
            ? (end[r] as number)
            : s === r + 1
              ? (up[r] as number)
              : s === r - 1
                ? (down[s] as number)
                : -1;
      const matrix = (of: (group: number) => number): number[][] =>
        Array.from({ length: 9 }, (_, r) =>
          Array.from({ length: 9 }, (_, s) => (groupAt(r, s) < 0 ? 0 : of(groupAt(r, s)))),
        );
      const odds = [1, Math.exp(p[20] as number), Math.exp(p[21] as number), Math.exp(p[22] as number)];
      const total = odds.reduce((sum, own) => sum + own, 0);
      return {
        intensities: matrix((group) => Math.exp(p[group] as number)),
        covariateEffects: { dose: matrix((group) => p[10 + group] as number) },
        initial: Array.from({ length: 9 }, (_, s) => (s === 8 ? 0 : (odds[s >> 1] as number) / total / 2)),
        readings: [0, 1].map((a) =>
          Array.from({ length: 9 }, (_, s) =>
            s === 8
              ? [0, 0, 0, 0, 1]
              : [0, 1, 2, 3, 4].map((k) => (k === 4 ? 0 : (table[(a * 4 + k) * 8 + s] as number))),
          ),
        ),
        stateCategories: [0, 0, 1, 1, 2, 2, 3, 3, 4],
        exactEnd: { category: 4, state: 8 },
        censored: [{ code: 77, states: [2, 3, 4, 5] }],
      };
    };

    test('with the reading model given', async () => {
      const fit = await hiddenPositionFit(data, {
        grades: 4,
        statesPerGrade: 2,
        reading: given,
        exactEnd: true,
        censored: [{ code: 77, states: [1, 2] }],
        starts: 1,
        confidenceLevel: 0.8,
      });
      expect(fit.converged).toBe(true);
      expectAllNear(fit.positions, positions, 1e-14);
      expect(fit.stateGrades).toEqual([0, 0, 1, 1, 2, 2, 3, 3]);
      expect(fit.counts).toEqual({
        subjects: 40,
        visits: new Set(rows.subject.map((subject, row) => `${subject} ${rows.time[row]}`)).size,
        readings: rows.subject.length,
        readers: 2,
      });
      const center = centers();
      // The point of the fit from what it reports.
      const effects = fit.model.covariateEffects?.dose as number[][];
      const at = (matrix: readonly (readonly number[])[], group: number): number =>
        [...up.entries()]
          .map(([r, g]) => (g === group ? matrix[r]?.[r + 1] : undefined))
          .find((x) => x !== undefined) ??
        [...down.entries()]
          .map(([r, g]) => (g === group ? matrix[r + 1]?.[r] : undefined))
          .find((x) => x !== undefined) ??
        (matrix[end.indexOf(group)]?.[8] as number);
      const shares = fit.initialGrades.map(({ value }) => value);
      const point = Float64Array.from([
        ...center.map((_, group) => Math.log(at(fit.model.intensities, group))),
        ...center.map((_, group) => at(effects, group)),
        ...[1, 2, 3].map((g) => Math.log((shares[g] as number) / (shares[0] as number))),
      ]);
      const again = modelOf(point, given);
      expectAllNear(fit.model.intensities.flat(), again.intensities.flat(), 1e-12);
      expectAllNear(effects.flat(), again.covariateEffects?.dose?.flat() ?? [], 1e-12);
      expectAllNear(fit.model.initial, again.initial, 1e-12);
      expectAllNear(fit.model.readings.flat(2), again.readings.flat(2), 1e-14);
      expect(fit.model).toMatchObject({
        stateCategories: again.stateCategories,
        exactEnd: again.exactEnd,
        censored: again.censored,
      });
      const value = (p: Float64Array): number =>
        hiddenMarkovLogLikelihood(data, modelOf(p, given)) -
        center.reduce((sum, own, group) => sum + (((p[group] as number) - own) / 2) ** 2 / 2, 0);
      expectNear(fit.logLikelihood, hiddenMarkovLogLikelihood(data, again), 1e-10);
      // A slope of a wrong center or effect is of order 0.1.
      for (const slope of numericalGradient(value, point)) expect(Math.abs(slope)).toBeLessThan(1e-4);
      const z = normal.quantile(0.9);
      const expectRate = (own: ValueWithLimits | undefined, group: number): void => {
        const { value: rate, standardError, lower, upper } = own as ValueWithLimits;
        expectNear(rate, Math.exp(point[group] as number), 1e-12);
        expect(standardError).toBeGreaterThan(0.1 * rate);
        expectNear(Math.log(upper / rate), (z * standardError) / rate, 1e-6);
        expectNear(Math.log(rate / lower), (z * standardError) / rate, 1e-6);
      };
      [0, 3, 5, 5].forEach((group, grade) => expectRate(fit.stepsUp[grade], group));
      [1, 1, 6, 8].forEach((group, grade) => expectRate(fit.stepsDown[grade], group));
      [2, 4, 7, 9].forEach((group, grade) => expectRate(fit.ends[grade], group));
      // Mean time in a grade entered at either sub-state: two equations solved, rates out a, d below and b, u above.
      fit.meanTimesInGrade.forEach(({ value: mean }, grade) => {
        const q = fit.model.intensities;
        const [lower, upper] = [2 * grade, 2 * grade + 1];
        const out = (s: number): number => (q[s] as number[]).reduce((sum, rate) => sum + rate, 0);
        const [u, d] = [q[lower]?.[upper] as number, q[upper]?.[lower] as number];
        const determinant = out(lower) * out(upper) - u * d;
        expectNear(mean, (out(upper) + u + out(lower) + d) / (2 * determinant), 1e-10);
      });
      expect(fit.slip).toEqual({ value: 0.04, standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN });
      expect(fit.spreads.map(({ value: spread }) => spread)).toEqual([0.35, 0.5]);
      expect(fit.confidenceLevel).toBe(0.8);
    });

    test('with the reading model estimated, one spread for both readers', async () => {
      const {
        converged,
        logLikelihood,
        model,
        tendencies,
        spreads,
        slip,
        cuts: own,
      } = await hiddenPositionFit(
        { ...data, covariates: {} },
        {
          grades: 4,
          statesPerGrade: 2,
          reading: 'estimated',
          exactEnd: true,
          censored: [{ code: 77, states: [1, 2] }],
          starts: 1,
        },
      );
      expect(converged).toBe(true);
      expect(own).toEqual([0.5, 1.5, 2.5]);
      expectNear(tendencies[0]?.value as number, -(tendencies[1]?.value as number), 1e-14);
      expectNear(tendencies[0]?.standardError as number, tendencies[1]?.standardError as number, 1e-9);
      expect(spreads[0]).toEqual(spreads[1]);
      const table = new Float64Array(2 * 4 * 8);
      const reading: ReadingParameters = {
        cuts: own,
        tendencies: tendencies.map(({ value }) => value),
        spreads: spreads.map(({ value }) => value),
        slip: slip.value,
      };
      fillReadingProbabilities(reading, [-0.25, 0.25, 0.75, 1.25, 1.75, 2.25, 2.75, 3.25], table);
      for (let a = 0; a < 2; a++)
        for (let k = 0; k < 5; k++)
          for (let s = 0; s < 9; s++)
            expectNear(
              model.readings[a]?.[s]?.[k] as number,
              s === 8 ? Number(k === 4) : k === 4 ? 0 : (table[(a * 4 + k) * 8 + s] as number),
              1e-12,
            );
      expectNear(hiddenMarkovLogLikelihood(rows, model), logLikelihood, 1e-10);
    });
  });

  test('a single reader has no tendency to be told', async () => {
    const rows = Array.from(data.reader ?? [], (reader, row) =>
      reader === 1 && (data.subject[row] as number) < 120 ? row : -1,
    ).filter((row) => row >= 0);
    const alone = {
      subject: rows.map((row) => data.subject[row] as number),
      time: rows.map((row) => data.time[row] as number),
      category: rows.map((row) => data.category[row] as number),
    };
    const fit = await hiddenPositionFit(alone, { grades: GRADES, statesPerGrade: 1, reading: 'estimated', starts: 1 });
    expect(fit.tendencies).toEqual([{ value: 0, standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN }]);
    expect(fit.spreads).toHaveLength(1);
    // With a single cut both grades are one wide.
    const two = await hiddenPositionFit(
      { ...alone, category: alone.category.map((category) => Math.min(1, category)) },
      { grades: 2, statesPerGrade: 2, reading: 'estimated', starts: 1 },
    );
    expect(two.positions).toEqual([-0.25, 0.25, 0.75, 1.25]);
    expect(fit.spreads[0]?.standardError).toBeGreaterThan(0);
    expect(fit.slip.lower).toBeGreaterThan(0);
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
    const refused: [Partial<Parameters<typeof hiddenPositionFit>[1]>, string[]][] = [
      [{ grades: 1 }, ['grades', 'reading']],
      [{ grades: 2.5 }, ['grades', 'reading']],
      [{ statesPerGrade: 0 }, ['statesPerGrade']],
      [{ statesPerGrade: 13 }, ['statesPerGrade']],
      [{ statesPerGrade: 1.5 }, ['statesPerGrade']],
      [{ reading: { ...reading, cuts: [1, 1] } }, ['reading']],
      [{ reading: { ...reading, cuts: [Number.NaN, 1] } }, ['reading']],
      [{ reading: { ...reading, cuts: [0, 1, 2] } }, ['reading']],
      [{ reading: { ...reading, spreads: [1, 0, 1] } }, ['reading']],
      [{ reading: { ...reading, spreads: [1, 1] } }, ['reading']],
      [{ reading: { ...reading, slip: 1 } }, ['reading']],
      [{ reading: { ...reading, slip: -0.1 } }, ['reading']],
      [{ initial: [0.5, 0.5] }, ['initial']],
      [{ initial: [1.5, -0.5, 0] }, ['initial']],
      [{ initial: [0.5, 0.2, 0.2] }, ['initial']],
      [{ censored: [{ code: 2, states: [0] }] }, ['censored']],
      [{ censored: [{ code: 3, states: [0] }] }, ['censored']],
      [{ censored: [{ code: 0, states: [0] }] }, ['censored']],
      [{ censored: [{ code: 9, states: [] }] }, ['censored']],
      [
        {
          censored: [
            { code: 9, states: [3] },
            { code: 1, states: [-1] },
          ],
        },
        ['censored', 'censored', 'censored'],
      ],
      [{ censored: [{ code: 9, states: [0.5] }] }, ['censored']],
    ];
    for (const [part, names] of refused) {
      const error = await hiddenPositionFit(data, { grades: GRADES, reading, ...part }).catch(
        (thrown: InputError) => thrown,
      );
      expect(error).toBeInstanceOf(InputError);
      expect((error as InputError).problems.map(({ path }) => path?.[1])).toEqual(names);
    }
    await expect(hiddenPositionFit(data, { grades: GRADES, reading, initial: [1, 1, 1] })).rejects.toThrow('initial');
  });
});

import { describe, expect, test } from 'vitest';
import { transitionProbabilities } from '../../src/models/intensities.ts';
import { simulateHiddenMarkov } from '../../src/models/simulate-hidden-markov.ts';
import type { InputError } from '../../src/shared/input-error.ts';

const model = {
  intensities: [
    [0, 0.5, 0.2],
    [0.3, 0, 0.4],
    [0, 0, 0],
  ],
  initial: [0.7, 0.3, 0],
  readings: [
    [
      [0.9, 0.1, 0],
      [0.2, 0.8, 0],
      [0, 0, 1],
    ],
  ],
};
const subjects = 20_000;
const schedule = {
  subject: Array.from({ length: 2 * subjects }, (_, row) => Math.floor(row / 2)),
  time: Array.from({ length: 2 * subjects }, (_, row) => 1.5 * (row % 2)),
};

describe('simulateHiddenMarkov', () => {
  const drawn = simulateHiddenMarkov(model, schedule, { seed: 3 });

  test('states and readings have the probabilities of the model', () => {
    const p = transitionProbabilities(model.intensities, 1.5);
    for (let from = 0; from < 2; from++) {
      const starts = Array.from({ length: subjects }, (_, i) => i).filter((i) => drawn.state[2 * i] === from);
      for (let to = 0; to < 3; to++) {
        const share = starts.filter((i) => drawn.state[2 * i + 1] === to).length / starts.length;
        const expected = p[from]?.[to] as number;
        expect(Math.abs(share - expected)).toBeLessThan(4 * Math.sqrt((expected * (1 - expected)) / starts.length));
      }
    }
    const rows = Array.from(drawn.state.keys()).filter((row) => drawn.state[row] === 1);
    const misread = rows.filter((row) => drawn.category[row] === 0).length / rows.length;
    expect(Math.abs(misread - 0.2)).toBeLessThan(4 * Math.sqrt(0.16 / rows.length));
  });

  test('with an exact end, its times have their density', () => {
    const ended = simulateHiddenMarkov({ ...model, exactEnd: { category: 2, state: 2 } }, schedule, { seed: 3 });
    const times = Array.from(ended.category.keys())
      .filter((row) => ended.category[row] === 2)
      .map((row) => ended.time[row] as number);
    const p = transitionProbabilities(model.intensities, 1.5);
    const expected = 0.7 * (p[0]?.[2] as number) + 0.3 * (p[1]?.[2] as number);
    expect(Math.abs(times.length / subjects - expected)).toBeLessThan(
      4 * Math.sqrt((expected * (1 - expected)) / subjects),
    );
    expect(times.every((time) => time > 0 && time <= 1.5)).toBe(true);
    const half = transitionProbabilities(model.intensities, 0.75);
    const early = (0.7 * (half[0]?.[2] as number) + 0.3 * (half[1]?.[2] as number)) / expected;
    const share = times.filter((time) => time <= 0.75).length / times.length;
    expect(Math.abs(share - early)).toBeLessThan(4 * Math.sqrt((early * (1 - early)) / times.length));
  });

  test('row by row where nothing is left to chance', () => {
    // From 0 at once to 1, and there it stays; reader 0 writes the state, reader 1 the other one.
    const certain = {
      intensities: [
        [0, 1e9],
        [0, 0],
      ],
      initial: [1, 0],
      readings: [
        [
          [1, 0],
          [0, 1],
        ],
        [
          [0, 1],
          [1, 0],
        ],
      ],
    };
    const rows = { subject: [4, 4, 4, 2, 2], time: [5, 5, 7, 1, 3], reader: [0, 1, 1, 1, 0] };
    const found = simulateHiddenMarkov(certain, rows, { seed: 1 });
    expect(Array.from(found.subject)).toEqual(rows.subject);
    expect(Array.from(found.time)).toEqual(rows.time);
    expect(Array.from(found.reader)).toEqual(rows.reader);
    // No time passes between the first two rows.
    expect(Array.from(found.state)).toEqual([0, 0, 1, 0, 1]);
    expect(Array.from(found.category)).toEqual([0, 1, 0, 1, 1]);
    const { reader: _, ...alone } = rows;
    expect(Array.from(simulateHiddenMarkov(certain, alone).category)).toEqual([0, 0, 1, 0, 1]);
    expect(Array.from(simulateHiddenMarkov(certain, alone).reader)).toEqual([0, 0, 0, 0, 0]);
    // The same change as an end with its own category: its time is just after the visit before, and later rows are left out.
    const ended = simulateHiddenMarkov(
      {
        ...certain,
        readings: [
          [
            [1, 0, 0],
            [0, 1, 0],
          ],
          [
            [0, 1, 0],
            [1, 0, 0],
          ],
        ],
        exactEnd: { category: 2, state: 1 },
      },
      { subject: [4, 4, 4, 2, 2], time: [5, 6, 7, 1, 3], reader: [0, 1, 0, 1, 0] },
    );
    expect(Array.from(ended.subject)).toEqual([4, 4, 2, 2]);
    expect(Array.from(ended.category)).toEqual([0, 2, 1, 2]);
    expect(Array.from(ended.state)).toEqual([0, 1, 0, 1]);
    expect(Array.from(ended.reader)).toEqual([0, 1, 1, 0]);
    expect(Array.from(ended.time, (time) => Math.round(time))).toEqual([5, 5, 1, 1]);
    expect(ended.time[1]).toBeGreaterThan(5);
  });

  test('names every fault of a schedule', () => {
    const faults = (part: object): string[] => {
      try {
        simulateHiddenMarkov(model, { subject: [1, 1, 2], time: [0, 1, 0], ...part });
      } catch (error) {
        return (error as InputError).problems.map(({ code, path }) => `${code} ${path?.join('.')}`);
      }
      return [];
    };
    expect(faults({})).toEqual([]);
    expect(faults({ time: [1, 1, 0] })).toEqual([]);
    expect(faults({ time: [1, 0, 0] })).toEqual(['unordered schedule.time.1']);
    expect(faults({ time: [0, Number.NaN, 0] })).toEqual(['unordered schedule.time.1']);
    expect(faults({ reader: [0, 0] })).toEqual(['unequal-columns schedule']);
    expect(faults({ time: [0, 1, 0, 2] })).toEqual(['unequal-columns schedule']);
    expect(faults({ subject: [1, 1, 1], time: [3, 2, 1], reader: [] })).toEqual([
      'unequal-columns schedule',
      'unordered schedule.time.1',
      'unordered schedule.time.2',
    ]);
  });

  test('the seed decides', () => {
    expect(simulateHiddenMarkov(model, schedule, { seed: 3 })).toEqual(drawn);
    expect(simulateHiddenMarkov(model, schedule, { seed: 4 }).category).not.toEqual(drawn.category);
  });

  test('rows out of order are refused', () => {
    expect(() => simulateHiddenMarkov(model, { subject: [1, 1], time: [1, 0] })).toThrow('order the rows');
  });
});

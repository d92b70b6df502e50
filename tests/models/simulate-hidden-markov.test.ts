import { describe, expect, test } from 'vitest';
import { transitionProbabilities } from '../../src/models/intensities.ts';
import { simulateHiddenMarkov } from '../../src/models/simulate-hidden-markov.ts';

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

  test('the seed decides', () => {
    expect(simulateHiddenMarkov(model, schedule, { seed: 3 })).toEqual(drawn);
    expect(simulateHiddenMarkov(model, schedule, { seed: 4 }).category).not.toEqual(drawn.category);
  });

  test('rows out of order are refused', () => {
    expect(() => simulateHiddenMarkov(model, { subject: [1, 1], time: [1, 0] })).toThrow('order the rows');
  });
});

import { describe, expect, test } from 'vitest';
import type { HiddenMarkovModel } from '../../src/models/hidden-markov-model.ts';
import { hiddenStates } from '../../src/models/hidden-states.ts';
import { transitionProbabilities } from '../../src/models/intensities.ts';
import { simulateHiddenMarkov } from '../../src/models/simulate-hidden-markov.ts';
import { expectNear } from '../support/expect-near.ts';
import { everyPath } from '../support/paths.ts';

const model: HiddenMarkovModel = {
  intensities: [
    [0, 0.4, 0, 0.05],
    [0.15, 0, 0.3, 0.1],
    [0, 0.2, 0, 0.3],
    [0, 0, 0, 0],
  ],
  initial: [0.6, 0.3, 0.1, 0],
  readings: [
    [
      [0.85, 0.15, 0, 0],
      [0.15, 0.7, 0.15, 0],
      [0, 0.25, 0.75, 0],
      [0, 0, 0, 1],
    ],
    [
      [0.7, 0.25, 0.05, 0],
      [0.3, 0.6, 0.1, 0],
      [0.05, 0.35, 0.6, 0],
      [0, 0, 0, 1],
    ],
  ],
  exactEnd: { category: 3, state: 3 },
};

/** Thirty subjects with late starts, uneven gaps and both readers; some reach the end. */
const data = simulateHiddenMarkov(
  model,
  {
    subject: Array.from({ length: 150 }, (_, row) => Math.floor(row / 5)),
    time: Array.from(
      { length: 150 },
      (_, row) => 2 + Math.floor(row / 5) + (row % 5) * 0.6 + 0.1 * (row % 3) + 0.003 * row,
    ),
    reader: Array.from({ length: 150 }, (_, row) => (row * 7 + Math.floor(row / 5)) % 2),
  },
  { seed: 12 },
);

interface Enumerated {
  readonly best: number;
  readonly total: number;
  readonly smoothed: number[][];
}

/** All paths of one subject; at the end the state is the end and the density Σ P q enters. */
function enumerate(rows: readonly number[]): Enumerated {
  const at = (column: ArrayLike<number>, v: number): number => column[rows[v] as number] as number;
  const smoothed = rows.map(() => [0, 0, 0, 0]);
  let best = Number.NEGATIVE_INFINITY;
  let total = 0;
  const steps = rows.map((_, v) =>
    v === 0 ? [] : transitionProbabilities(model.intensities, at(data.time, v) - at(data.time, v - 1)),
  );
  for (const path of everyPath(4, rows.length)) {
    let p = model.initial[path[0] as number] as number;
    path.forEach((state, v) => {
      const category = at(data.category, v);
      if (v > 0) p *= steps[v]?.[path[v - 1] as number]?.[state] as number;
      // The state just before an exact end plays the part of the visit's state.
      p *=
        category === 3
          ? state === 3
            ? 0
            : (model.intensities[state]?.[3] as number)
          : (model.readings[at(data.reader as ArrayLike<number>, v)]?.[state]?.[category] as number);
    });
    total += p;
    best = Math.max(best, Math.log(p));
    path.forEach((state, v) => {
      const row = smoothed[v] as number[];
      row[at(data.category, v) === 3 ? 3 : state] = (row[at(data.category, v) === 3 ? 3 : state] as number) + p;
    });
  }
  return { best, total, smoothed: smoothed.map((row) => row.map((p) => p / total)) };
}

describe('hiddenStates', () => {
  const found = hiddenStates(data, model);
  const rowsOf = Array.from({ length: 30 }, (_, who) =>
    Array.from({ length: data.subject.length }, (_, row) => row).filter((row) => data.subject[row] === who),
  );

  test('the most probable path has the highest probability of all paths', () => {
    // The reference program's path function (msm 1.7) does not; enumeration is the reference.
    rowsOf.forEach((rows, who) => {
      expectNear(found.pathLogProbabilities[who] as number, enumerate(rows).best, 1e-11);
    });
  });

  test('the path it returns has the probability it states', () => {
    rowsOf.forEach((rows, who) => {
      let p = Math.log(model.initial[found.mostProbablePath[rows[0] as number] as number] as number);
      rows.forEach((row, v) => {
        const state = found.mostProbablePath[row] as number;
        if (v > 0) {
          const before = found.mostProbablePath[rows[v - 1] as number] as number;
          const step = transitionProbabilities(
            model.intensities,
            (data.time[row] as number) - (data.time[rows[v - 1] as number] as number),
          )[before] as readonly number[];
          if (state === 3) {
            p += Math.log(
              Math.max(...[0, 1, 2].map((s) => (step[s] as number) * (model.intensities[s]?.[3] as number))),
            );
            return;
          }
          p += Math.log(step[state] as number);
        }
        p += Math.log(model.readings[data.reader?.[row] as number]?.[state]?.[data.category[row] as number] as number);
      });
      expectNear(found.pathLogProbabilities[who] as number, p, 1e-11);
    });
  });

  test('smoothed probabilities and the likelihood are sums over paths', () => {
    rowsOf.forEach((rows, who) => {
      const { total, smoothed } = enumerate(rows);
      expectNear(found.logLikelihoods[who] as number, Math.log(total), 1e-11);
      rows.forEach((row, v) => {
        for (let s = 0; s < 4; s++)
          expectNear(found.smoothed[row * 4 + s] as number, smoothed[v]?.[s] as number, 1e-11);
      });
    });
  });

  test('filtered at a visit is smoothed of the history up to it', () => {
    const rows = rowsOf[2] as number[];
    for (let v = 1; v < rows.length; v++) {
      const { smoothed } = enumerate(rows.slice(0, v));
      for (let s = 0; s < 4; s++)
        expectNear(found.filtered[(rows[v - 1] as number) * 4 + s] as number, smoothed[v - 1]?.[s] as number, 1e-11);
    }
  });

  test('one stray reading is less surprising than a change and a misreading', () => {
    const { mostProbablePath } = hiddenStates(
      { subject: [1, 1, 1], time: [0, 1, 2], category: [0, 1, 0] },
      {
        intensities: [
          [0, 0.1],
          [0, 0],
        ],
        initial: [1, 0],
        readings: [
          [
            [0.9, 0.1],
            [0.1, 0.9],
          ],
        ],
      },
    );
    expect(Array.from(mostProbablePath)).toEqual([0, 0, 0]);
  });

  test('impossible readings are refused, with the row', () => {
    expect(() =>
      hiddenStates(
        { subject: [1, 1], time: [0, 1], category: [1, 0] },
        {
          intensities: [
            [0, 0.1],
            [0, 0],
          ],
          initial: [0, 1],
          readings: [
            [
              [1, 0],
              [0, 1],
            ],
          ],
        },
      ),
    ).toThrow('row 0');
  });
});

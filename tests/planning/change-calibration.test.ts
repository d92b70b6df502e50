import { describe, expect, test } from 'vitest';
import { changeProbabilities } from '../../src/models/change-model.ts';
import { ChangeCalibration, changeCalibration } from '../../src/planning/change-calibration.ts';
import { classLocations, knownChange, simulatePairs, THREE_READERS } from '../../src/planning/simulate-change.ts';
import { normal } from '../../src/shared/distributions.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';

/*
 * A small version of `tests/calibration/change-probability.mjs`. Bounds are the targets that 4,000 studies meet (known .015; estimated .05 averaged,
 * .12 median) plus three Monte Carlo standard errors of these few studies.
 */
describe('changeCalibration', () => {
  test.each([
    ['continuum', 1],
    ['continuum', 3],
    ['classes', 1],
    ['classes', 3],
  ] as const)('every number known, %s, %i readings: worst tenth at most .015', async (world, readingsEach) => {
    // 200,000 targets: 20,000 a tenth, standard error of a gap at most .0035.
    const found = await changeCalibration({ world, readingsEach, numbers: 'known', judgedPairs: 200_000, seed: 5 });
    expect(found.chances.weighted.worst).toBeLessThan(0.015);
  });

  test.each([
    ['continuum', 1],
    ['continuum', 3],
    ['classes', 1],
    ['classes', 3],
  ] as const)('estimated, %s, %i readings: both models weighted', async (world, readingsEach) => {
    const found = await changeCalibration({ world, readingsEach, studies: 24, seed: 20260301 });
    expect(found.counts.notConverged).toBe(0);
    const { worst, worstError } = found.chances.weighted;
    // One study's gap scatters by about .1; 24 of them leave about .02.
    expect(worstError).toBeLessThan(0.03);
    expect(worst).toBeLessThan(0.05 + 3 * worstError);
    expect(found.chances.weighted.medianWorst).toBeLessThan(0.12 + 0.03);
    const [anyDifference, , half, high] = found.rules;
    expect(half!.right).toBeGreaterThan(0.45);
    // Right calls are so many of the called, and so many of all that changed.
    const { studies, judgedPairs } = found.counts;
    for (const { called, right, found: finds } of found.rules)
      expect(finds * found.changed * studies * judgedPairs).toBeCloseTo(right * called, 6);
    // What the chances are for: right more often than the naive rule by far.
    expect(high!.right).toBeGreaterThan(2 * anyDifference!.right);
  });

  test('tenths and calls are those of limbs put in order one by one', async () => {
    const options = { world: 'classes', readingsEach: 2, judgedPairs: 3000, seed: 41 } as const;
    const found = await changeCalibration({ ...options, numbers: 'known' });
    const judged = simulatePairs('classes', THREE_READERS, 3000, 2, seededRandom(41, 0));
    const stated = Array.from(
      changeProbabilities(judged.pairs, knownChange('classes', THREE_READERS)).stayed,
      (stayed) => 1 - stayed,
    );
    const order = [...stated.keys()].sort((a, b) => stated[a]! - stated[b]! || a - b);
    const mean = (limbs: number[], of: ArrayLike<number>) =>
      limbs.reduce((sum, limb) => sum + of[limb]!, 0) / limbs.length;
    for (let d = 0; d < 10; d++) {
      const limbs = order.slice(300 * d, 300 * (d + 1));
      expect(found.chances.weighted.tenths[d]!.stated).toBeCloseTo(mean(limbs, stated), 12);
      expect(found.chances.weighted.tenths[d]!.changed).toBeCloseTo(mean(limbs, judged.changed), 12);
    }
    const firstOf = (side: Int32Array, limb: number) => judged.pairs.patterns[side[judged.pairs.pairOfTarget[limb]!]!]!;
    for (let limb = 0; limb < 3000; limb++) {
      expect(firstOf(judged.pairs.firsts, limb).map((cell) => cell % 5)).toContain(judged.before[limb]);
      expect(firstOf(judged.pairs.seconds, limb).map((cell) => cell % 5)).toContain(judged.after[limb]);
    }
    const limbs = [...stated.keys()];
    [
      (limb: number) => judged.before[limb] !== judged.after[limb],
      (limb: number) => Math.abs(judged.before[limb]! - judged.after[limb]!) >= 2,
      (limb: number) => stated[limb]! >= 0.5,
      (limb: number) => stated[limb]! >= 0.8,
    ].forEach((calls, at) => {
      const called = limbs.filter(calls);
      expect(found.rules[at]!.called).toBe(called.length);
      expect(found.rules[at]!.right).toBeCloseTo(mean(called, judged.changed), 12);
    });
  });

  test('a wrong truth is seen: classes judged by the numbers of a continuum, all grades equally likely', () => {
    const judged = simulatePairs('classes', THREE_READERS, 20_000, 3, seededRandom(2));
    const wrong = knownChange('continuum', THREE_READERS);
    const { stayed } = changeProbabilities(judged.pairs, {
      ...wrong,
      first: wrong.first.map(() => 1 / wrong.first.length),
    });
    const order = Array.from(stayed.keys()).sort((a, b) => stayed[b]! - stayed[a]!);
    const gaps = Array.from({ length: 10 }, (_, d) => {
      const part = order.slice(d * 2000, (d + 1) * 2000);
      return Math.abs(part.reduce((sum, i) => sum + 1 - stayed[i]! - judged.changed[i]!, 0)) / 2000;
    });
    expect(Math.max(...gaps)).toBeGreaterThan(0.05);
  });

  test('the known model is the simulated world: grades before and after, and who moves', () => {
    for (const world of ['continuum', 'classes'] as const) {
      const { changed } = simulatePairs(world, THREE_READERS, 100_000, 1, seededRandom(11));
      const { first, transitions, places } = knownChange(world, THREE_READERS);
      const n = first.length;
      let moved = 0;
      for (let j = 0; j < n; j++) {
        let row = 0;
        for (let k = 0; k < n; k++) {
          row += transitions[j * n + k]!;
          if (places.grades[j] !== places.grades[k]) moved += first[j]! * transitions[j * n + k]!;
        }
        expect(row).toBeCloseTo(1, 12);
      }
      expect(first.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 12);
      const share = changed.reduce((sum, truth) => sum + truth, 0) / changed.length;
      expect(Math.abs(share - moved)).toBeLessThan(4 * Math.sqrt((moved * (1 - moved)) / changed.length));
    }
  });

  test('classes lie in the middle of their grades, with the grades’ shares', () => {
    expect(classLocations(THREE_READERS)[1]).toBeCloseTo((-1.4 - 0.65) / 2, 12);
    const { first } = knownChange('classes', THREE_READERS);
    expect(first[0]).toBeCloseTo(normal.cdf(-1.4), 12);
    expect(first[4]).toBeCloseTo(1 - normal.cdf(1), 12);
  });

  test('the same seed gives the same digits, and more studies begin with the same ones', async () => {
    const small = { readingsEach: 1, patients: 20, serialPairs: 60, judgedPairs: 200, seed: 3 };
    const once = await changeCalibration({ ...small, studies: 2 });
    const again = await changeCalibration({ ...small, studies: 2 });
    expect(again).toEqual(once);
    const controller = new AbortController();
    const stopped = await changeCalibration({
      ...small,
      studies: 9,
      signal: controller.signal,
      progress: (share) => {
        if (share > 0.2) controller.abort();
      },
    });
    expect(stopped.counts.studies).toBe(2);
    expect(stopped.chances).toEqual(once.chances);
    expect(stopped.notes.map(({ code }) => code)).toContain('stopped');
    expect(once).toBeInstanceOf(ChangeCalibration);
    expect(once.table.rows).toHaveLength(4);
  });

  test('every option that does not fit is named at once', async () => {
    const wrong = changeCalibration({ readingsEach: 4, patients: 3, studies: 0, seed: 0.5 });
    await expect(wrong).rejects.toBeInstanceOf(InputError);
    const problems = await wrong.catch((error: InputError) => error.problems);
    expect(problems).toHaveLength(4);
    await expect(changeCalibration({ world: 'small moves', numbers: 'known' })).rejects.toThrow('estimated');
  });
});

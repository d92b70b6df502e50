import { beforeAll, describe, expect, it } from 'vitest';
import { type GradeError, measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { changeModelFit } from '../../src/models/change-model.ts';
import { type ReadingDraw, readingBootstrap } from '../../src/models/reading-bootstrap.ts';
import { type ChangeCalls, changeCalls } from '../../src/progression/change-calls.ts';
import { type ChangeIntervalOptions, changeIntervals } from '../../src/progression/change-intervals.ts';
import { chancesOf, continuumWeight, truthsOf } from '../../src/progression/change-probability.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { assessmentsOf } from '../support/assessments-of.ts';
import { simulatedLimbs } from '../support/simulated-limbs.ts';

type Line = Parameters<typeof assessmentsOf>[2][number];
const PLACES = ['left-leg', 'right-leg'].flatMap((limb) =>
  ['popliteal', 'femoral', 'posterior-tibial', 'dorsalis-pedis'].map((site) => [limb, site] as const),
);
const ARMS = ['left-arm', 'right-arm'].flatMap((limb) => ['radial', 'ulnar'].map((site) => [limb, site] as const));
/** Grades of twelve limb-sites, first by A, last by B. */
const READ = [
  [4, 0],
  [3, 1],
  [2, 2],
  [1, 1],
  [0, 0],
  [2, 3],
  [1, 3],
  [4, 4],
  [3, 3],
  [2, 2],
  [1, 1],
  [2, 2],
];
const fileOf = (patientOf: (at: number) => string) =>
  assessmentsOf(
    'pulse-grade',
    'pulse.0-4.normal2',
    READ.flatMap(([first, last], at): Line[] => {
      const [limb, site] = [...PLACES, ...ARMS][at]!;
      return [
        [patientOf(at), 0, 'A', limb, site, first!],
        [patientOf(at), 30, 'B', limb, site, last!],
      ];
    }),
  );

let error: GradeError;
let calls: ChangeCalls;
beforeAll(async () => {
  const { study } = await simulatedLimbs(5, { patients: 20, serial: 1, readingsPerVisit: 1 });
  error = measurementErrorOf(ratingsFrom(study.where({ assessor: ['A', 'B'] }), { sign: 'pulse-grade' })) as GradeError;
});
const intervals = (options: ChangeIntervalOptions) => changeIntervals(calls, error, options);

const redrawn = async (replicates: number, seed: number): Promise<readonly ReadingDraw[]> => {
  const { patterns, continuum, classes } = error.reading!;
  return (await readingBootstrap(patterns, continuum, classes, { replicates, seed })).draws;
};

/** The share of limbs that changed and each limb's chance of it, with the reading models of a redrawn study and each limb counted as often as stated. */
function refitted(draw: ReadingDraw, counts: readonly number[]) {
  const { pairs } = calls.fit!;
  const weights = new Float64Array(pairs.counts.length);
  counts.forEach((count, at) => {
    weights[pairs.pairOfTarget[at]!]! += count;
  });
  const truths = truthsOf(error.reading!, draw);
  const fitOf = (kind: 'continuum' | 'classes') =>
    changeModelFit(pairs, truths[kind], { counts: weights, start: calls.fit![kind].point, pointOnly: true });
  const [one, two] = [fitOf('continuum'), fitOf('classes')];
  const weight = continuumWeight(one, two);
  return {
    share: weight * (one.gradeRose + one.gradeFell) + (1 - weight) * (two.gradeRose + two.gradeFell),
    chances: chancesOf(pairs, one, two).map(({ stayed }) => 1 - stayed),
  };
}

describe('of the limbs of one patient', () => {
  beforeAll(async () => {
    calls = changeCalls(await fileOf(() => 'p'), error);
  });

  it('are percentiles of the redrawn studies: the visits of one patient are always drawn whole', async () => {
    const values = (await redrawn(3, 3)).map((draw) =>
      refitted(
        draw,
        READ.map(() => 1),
      ),
    );
    const ordered = (list: readonly number[]): number[] => [...list].sort((a, b) => a - b);
    const shown = (chance: number): number => Math.min(0.95, Math.max(0.05, chance));
    // The value at p of n has rank p(n + 1), rounded, and not beyond the ends: of 3 at .25 and .75 the first and third, at .4 and .6 the second.
    for (const [confidenceLevel, low, high] of [
      [0.5, 0, 2],
      [0.2, 1, 1],
    ] as const) {
      const result = await intervals({ replicates: 3, seed: 3, confidenceLevel });
      const method = 'patients of study and visits drawn again, 3 replicates, seed 3';
      const shares = ordered(values.map(({ share }) => share));
      expect(result.share.interval).toEqual({
        lower: shares[low],
        upper: shares[high],
        level: confidenceLevel,
        method,
      });
      result.limbs.forEach(({ limb, changed, interval }, at) => {
        const chances = ordered(values.map((value) => value.chances[at]!));
        expect(limb).toBe(calls.limbs[at]);
        expect(changed).toBe(shown(1 - limb.chance!.stayed));
        expect(interval).toEqual({
          lower: shown(chances[low]!),
          upper: shown(chances[high]!),
          level: confidenceLevel,
          method,
        });
      });
      expect([result.kind, result.replicates, result.seed, result.limbs.length]).toEqual([
        'change-intervals',
        3,
        3,
        12,
      ]);
      expect(result.notes.map(({ code }) => code)).toEqual(['not-for-one-person']);
    }
  });

  it('tell how far the work is, and say once when it was stopped, at whichever half', async () => {
    const heard: number[] = [];
    await intervals({ replicates: 2, seed: 3, progress: (share) => heard.push(share) });
    expect(heard).toEqual([0.25, 0.5, 0.75, 1]);
    for (const [share, replicates] of [
      [0.25, 0],
      [0.75, 1],
    ] as const) {
      const stop = new AbortController();
      const result = await intervals({
        replicates: 2,
        seed: 3,
        signal: stop.signal,
        progress: (done) => {
          if (done >= share) stop.abort();
        },
      });
      expect(result.replicates).toBe(replicates);
      expect(result.notes.map(({ code }) => code)).toEqual(['stopped-early', 'not-for-one-person']);
      expect(result.notes[0]!.message).toMatch(/^1 of 2 replicates/);
      if (replicates === 0) expect(result.share.interval.lower).toBeNaN();
    }
  });
});

it('draw patients with all their limbs, and draw again where too few limbs are left', async () => {
  calls = changeCalls(await fileOf((at) => (at < 8 ? 'p' : 'q')), error);
  const seen = new Set<string>();
  for (const seed of [2, 3]) {
    const { share } = await intervals({ replicates: 1, seed });
    expect(share.interval.lower).toBe(share.interval.upper);
    expect(share.interval.level).toBe(0.95);
    const [draw] = await redrawn(1, seed);
    // p twice, or both once; q twice would be eight limb-sites.
    for (const [name, p, q] of [
      ['p twice', 2, 0],
      ['both', 1, 1],
    ] as const) {
      const { share: value } = refitted(
        draw!,
        READ.map((_, at) => (at < 8 ? p : q)),
      );
      if (value === share.interval.lower) seen.add(`${seed} ${name}`);
    }
  }
  expect([...seen].map((one) => one.slice(0, 1))).toEqual(['2', '3']);
  expect(new Set([...seen].map((one) => one.slice(2)))).toEqual(new Set(['p twice', 'both']));
});

it('need chances, and options that are some', async () => {
  const refused = async (given: ChangeCalls, of: object, options = {}): Promise<string> => {
    try {
      await changeIntervals(given, { ...error, ...of } as GradeError, options);
    } catch (problem) {
      if (problem instanceof InputError) return problem.problems[0]!.code;
    }
    return 'nothing';
  };
  const few = changeCalls(await fileOf((at) => (at < 8 ? 'p' : 'q')).then((all) => all.where({ patient: 'q' })), error);
  expect(await refused(few, {})).toBe('no-chances');
  expect(await refused(calls, { reading: undefined })).toBe('no-chances');
  expect(await refused(calls, { kind: 'lengths' })).toBe('no-chances');
  expect(await refused(calls, {}, { replicates: 0 })).toBe('bad-option');
  expect(await refused(calls, {}, { confidenceLevel: 95 })).toBe('bad-option');
  expect(await refused(calls, {}, { seed: 0.5 })).toBe('bad-option');
});

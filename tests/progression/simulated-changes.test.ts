import { beforeAll, describe, expect, it } from 'vitest';
import { type GradeError, measurementErrorOf } from '../../src/measurement-error/measurement-error-of.ts';
import { type ChangeCalls, changeCalls } from '../../src/progression/change-calls.ts';
import { changeIntervals } from '../../src/progression/change-intervals.ts';
import { continuumWeight, truthsOf } from '../../src/progression/change-probability.ts';
import { ratingsFrom } from '../../src/ratings/ratings-from.ts';
import { READERS, simulatedLimbs } from '../support/simulated-limbs.ts';

let error: GradeError;
let calls: ChangeCalls;
let changed: ReadonlyMap<string, number>;
let serial: Awaited<ReturnType<typeof simulatedLimbs>>['serial'];

beforeAll(async () => {
  const made = await simulatedLimbs(20260301, { patients: 60, serial: 400, readingsPerVisit: 2 });
  const found = measurementErrorOf(ratingsFrom(made.study, { sign: 'pulse-grade' }));
  if (found.kind !== 'grades') throw new Error('grades expected');
  error = found;
  serial = made.serial;
  changed = made.changed;
  calls = changeCalls(serial, error);
});

describe('how each assessor reads', () => {
  it('recovers tendencies within their limits (three assessors, 240 findings)', () => {
    const center = READERS.reduce((sum, reader) => sum + reader.tendency, 0) / READERS.length;
    READERS.forEach((reader, at) => {
      const estimate = error.reading!.continuum.tendencies[at]!;
      // Four standard errors: one check in 16,000 would fail by chance.
      expect(Math.abs(estimate.value - (reader.tendency - center))).toBeLessThan(4 * estimate.standardError);
    });
    expect(error.reading!.table.rows.map((row) => row.assessor)).toEqual(['A', 'B', 'C']);
  });

  it('shows how often each grade is read, row by row adding up to one', () => {
    for (const row of error.reading!.matrixOf('B').rows) {
      const shares = error.reading!.grades.map((_, k) => row[`read${k}`] as number);
      expect(shares.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 9);
    }
  });
});

describe('chances of change', () => {
  it('rise, fall and stay add up to one in each model and in their mean', () => {
    for (const { chance } of calls.limbs)
      for (const one of [chance!, chance!.continuum, chance!.classes])
        expect(one.rose + one.fell + one.stayed).toBeCloseTo(1, 9);
  });

  it('weigh both models by their likelihood on the serial readings, which favors the continuum on which these limbs lie', () => {
    const { continuum, classes, continuumWeight: weight } = calls.fit!;
    // w = L₁ / (L₁ + L₂), written out as a ratio of likelihoods.
    const ratio = Math.exp(classes.logLikelihood - continuum.logLikelihood);
    expect(weight).toBeCloseTo(1 / (1 + ratio), 12);
    expect(weight).toBeGreaterThan(0.5);
    for (const { chance } of calls.limbs)
      expect(chance!.fell).toBeCloseTo(weight * chance!.continuum.fell + (1 - weight) * chance!.classes.fell, 12);
    expect(continuumWeight({ logLikelihood: -100 }, { logLikelihood: -100 + Math.log(3) })).toBeCloseTo(0.25, 12);
  });

  it('add up to the number of limbs that did change, within what chance allows', () => {
    const chances = calls.limbs.map((limb) => 1 - limb.chance!.stayed);
    const truth = calls.limbs.filter((limb) => changed.get(limb.series.patient) !== 0).length;
    const expected = chances.reduce((sum, chance) => sum + chance, 0);
    // Spread of the count given the chances, and about ± .1 of 400 for the share that the fit cannot know better.
    const spread = Math.sqrt(chances.reduce((sum, chance) => sum + chance * (1 - chance), 0));
    expect(Math.abs(truth - expected)).toBeLessThan(4 * spread + 0.1 * chances.length);
  });

  it('are right more often than the rule of any difference, and point the right way', () => {
    const likely = calls.limbs.filter((limb) => limb.chance!.rose >= 0.8 || limb.chance!.fell >= 0.8);
    const right = likely.filter((limb) => {
      const truth = changed.get(limb.series.patient)!;
      return limb.chance!.rose >= 0.8 ? truth > 0 : truth < 0;
    });
    const differ = calls.limbs.filter((limb) => limb.call !== 'same reading');
    const differRight = differ.filter((limb) => changed.get(limb.series.patient) !== 0);
    expect(likely.length).toBeGreaterThan(5);
    expect(right.length / likely.length).toBeGreaterThan(0.7);
    expect(differRight.length / differ.length).toBeLessThan(right.length / likely.length);
  });

  it('are not given for assessors whom the study did not see, unless asked for as one more of the kind', () => {
    const strangers = changeCalls(serial.where({ assessor: ['A', 'B'] }), {
      ...error,
      reading: measuredBy(['A', 'C']),
    });
    expect(strangers.notes.map((note) => note.code)).toContain('unknown-assessors');
    const any = changeCalls(
      serial.where({ assessor: ['A', 'B'] }),
      { ...error, reading: measuredBy(['A', 'C']) },
      { unknownAssessors: 'any assessor' },
    );
    expect(any.limbs.every((limb) => limb.chance !== undefined)).toBe(true);
  });

  it('need ten limbs read on two days, and say so', () => {
    const few = changeCalls(serial.where({ patient: ['p0', 'p1', 'p2'] }), error);
    expect(few.fit).toBeUndefined();
    expect(few.notes.map((note) => note.code)).toContain('too-few-pairs');
  });
});

/** The study as if only these assessors had taken part. */
function measuredBy(assessors: readonly string[]): GradeError['reading'] {
  const renamed = error.reading!.assessors.map((code) => (assessors.includes(code) ? code : 'elsewhere'));
  return Object.freeze({
    ...error.reading!,
    assessors: renamed,
    table: undefined as never,
    matrixOf: undefined as never,
  }) as unknown as GradeError['reading'];
}

describe('intervals of the chances', () => {
  it('come from drawing patients again, hold the chance mostly, and are the same for the same seed', async () => {
    const heard: number[] = [];
    const [one, two] = [
      await changeIntervals(calls, error, { replicates: 12, seed: 3, progress: (share) => heard.push(share) }),
      await changeIntervals(calls, error, { replicates: 12, seed: 3 }),
    ];
    // Half for the study, half for the visits, a step a replicate.
    expect(heard.filter((share) => share > 0.5)).toEqual(Array.from({ length: 12 }, (_, at) => 0.5 + (at + 1) / 24));
    expect(one.limbs.map((limb) => limb.interval)).toEqual(two.limbs.map((limb) => limb.interval));
    const held = one.limbs.filter(
      ({ changed: chance, interval }) => interval.lower - 0.02 <= chance && chance <= interval.upper + 0.02,
    );
    expect(held.length / one.limbs.length).toBeGreaterThan(0.7);
    // The share weighs both models as the chances do.
    const { continuum, classes, continuumWeight: weight } = calls.fit!;
    expect(one.share.value).toBeCloseTo(
      weight * (continuum.gradeRose + continuum.gradeFell) + (1 - weight) * (classes.gradeRose + classes.gradeFell),
      12,
    );
    expect(one.share.interval.lower).toBeLessThan(one.share.value);
    expect(one.share.interval.upper).toBeGreaterThan(one.share.value);
    // Shown no nearer to certainty than .05 and .95, chance and limits alike.
    const shown = (chance: number): number => Math.min(0.95, Math.max(0.05, chance));
    for (const { limb, changed: chance } of one.limbs) expect(chance).toBe(shown(1 - limb.chance!.stayed));
    expect(Math.min(...one.limbs.map(({ interval }) => interval.lower))).toBe(0.05);
    expect(Math.max(...one.limbs.map(({ interval }) => interval.upper))).toBe(0.95);
  }, 60_000);

  it('keep what is there when stopped', async () => {
    const stop = new AbortController();
    const some = await changeIntervals(calls, error, {
      replicates: 50,
      signal: stop.signal,
      progress: (share) => {
        if (share > 0.04) stop.abort();
      },
    });
    expect(some.replicates).toBeLessThan(50);
    expect(some.notes.map((note) => note.code)).toContain('stopped-early');
  }, 60_000);
});

// The sum of two independent normal errors: an assessor whose tendency is not known is one without, whose spread has the variance of tendencies added.
it('an assessor whom the study did not see has the middle spread, widened by the variance of the known tendencies', () => {
  const { reading } = error.reading!.continuum;
  const [a, b, c] = Array.from(reading.tendencies) as [number, number, number];
  const between = (a * a + b * b + c * c) / 2;
  const [x, y, z] = Array.from(reading.spreads) as [number, number, number];
  const truths = truthsOf(error.reading!);
  expect(truths.continuum.reading.tendencies.length).toBe(4);
  expect(truths.continuum.reading.tendencies[3]).toBe(0);
  expect(truths.continuum.reading.spreads[3]).toBeCloseTo(Math.sqrt((x * y * z) ** (2 / 3) + between), 12);
  const alone = truthsOf(error.reading!, {
    positions: { ...reading, tendencies: [0.3], spreads: [0.5] },
    classes: error.reading!.classes,
  });
  expect(alone.continuum.reading.spreads[1]).toBeCloseTo(Math.sqrt(0.25 + 0.09), 12);
});

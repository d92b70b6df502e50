import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/shared/random.ts';
import { classSession } from '../../src/teaching/class-session.ts';
import { retrainingEffect } from '../../src/teaching/retraining-effect.ts';
import { type ClassLine, classFile, demoClass } from './class-file.ts';

/** Each learner reads `right` of 4 limbs of each volunteer as the expert does, else one grade higher. */
function round(name: string, volunteers: readonly string[], right: readonly number[]): ClassLine[] {
  return volunteers.flatMap((volunteer) =>
    (['dorsalis-pedis', 'posterior-tibial'] as const).flatMap((site, at) =>
      (['left', 'right'] as const).flatMap((side, on): ClassLine[] => [
        [volunteer, side, site, 'X1', 2, name],
        ...right.map(
          (count, learner): ClassLine => [volunteer, side, site, `L${learner}`, 2 * at + on < count ? 2 : 3, name],
        ),
      ]),
    ),
  );
}

async function sessions(lines: readonly ClassLine[]) {
  const assessments = await classFile(lines);
  return ['1', '2'].map((name) => classSession(assessments, { sign: 'pulse-grade', round: name })) as [
    ReturnType<typeof classSession>,
    ReturnType<typeof classSession>,
  ];
}

describe('before and after retraining', () => {
  it('by hand: new limbs and control limbs apart', async () => {
    const [before, after] = await sessions([
      ...round('1', ['V1', 'V2'], [1, 2, 3]),
      ...round('2', ['V1'], [1, 2, 3]),
      ...round('2', ['V3'], [3, 3, 4]),
    ]);
    const effect = retrainingEffect(before, after);
    expect(effect.newLimbs.limbs).toEqual({ before: 4, after: 4 });
    expect([effect.newLimbs.before, effect.newLimbs.after]).toEqual([0.5, 10 / 12]);
    // Changes 2/4, 1/4, 1/4: mean 1/3, standard error √(Σ(d − 1/3)²/6).
    expect(effect.newLimbs.change.value).toBeCloseTo(1 / 3, 12);
    expect(effect.newLimbs.change.standardError).toBeCloseTo(Math.sqrt((1 / 36 + 2 / 144) / 6), 12);
    expect(effect.controlLimbs!.change.value).toBe(0);
    expect(effect.expectedAnyway).toBe(0);
    expect(effect.sentence).toBe(
      'On new limbs no change is clear: 33 in a hundred more readings were those of the experts (interval -3 to 69).',
    );
  });

  it('expects the chosen to gain anyway as much as they do when nothing changes', async () => {
    // Learners alike or not: true shares .35 to .95, 20 limbs a round, the lowest four chosen; averaged over classes.
    let expected = 0;
    let gained = 0;
    const classes = 40;
    for (let seed = 1; seed <= classes; seed++) {
      const random = seededRandom(seed);
      const truth = Array.from({ length: 12 }, () => 0.35 + 0.6 * random.uniform());
      const lines = (name: string, volunteers: readonly string[]): ClassLine[] =>
        volunteers.flatMap((volunteer) =>
          (['dorsalis-pedis', 'posterior-tibial'] as const).flatMap((site) =>
            (['left', 'right'] as const).flatMap((side): ClassLine[] => [
              [volunteer, side, site, 'X1', 2, name],
              ...truth.map(
                (share, at): ClassLine => [volunteer, side, site, `L${at}`, random.uniform() < share ? 2 : 3, name],
              ),
            ]),
          ),
        );
      const [before, after] = await sessions([
        ...lines('1', ['V1', 'V2', 'V3', 'V4', 'V5']),
        ...lines('2', ['V6', 'V7', 'V8', 'V9', 'V10']),
      ]);
      const chosen = before.learners
        .map((code) => ({
          code,
          right: before.limbs.filter(
            ({ target }) => before.ratings.codes[target * before.ratings.columns + before.ratings.columnOf(code)] === 2,
          ).length,
        }))
        .sort((a, b) => a.right - b.right)
        .slice(0, 4)
        .map(({ code }) => code);
      const effect = retrainingEffect(before, after, { chosen });
      expected += effect.expectedAnyway / classes;
      gained += effect.newLimbs.change.value / classes;
    }
    expect(gained).toBeGreaterThan(0.03);
    expect(Math.abs(expected - gained)).toBeLessThan(0.03);
  }, 60_000);

  it('finds the retraining of the demo class on new limbs', async () => {
    const { assessments } = await demoClass();
    const [before, after] = ['1', '2'].map((name) => classSession(assessments, { sign: 'pulse-grade', round: name }));
    const effect = retrainingEffect(before!, after!);
    expect(effect.newLimbs.change.interval.lower).toBeGreaterThan(0);
    expect(effect.controlLimbs!.limbs).toEqual({ before: 6, after: 6 });
  });

  it('refuses rounds without experts, without new limbs, and learners who were not there', async () => {
    const [before, after] = await sessions([...round('1', ['V1'], [1, 2, 3]), ...round('2', ['V1'], [1, 2, 3])]);
    expect(() => retrainingEffect(before, after, { chosen: ['L9'] })).toThrow(/2 problems/);
    const [alone] = await sessions(
      [...round('1', ['V1'], [1, 2, 3]), ...round('2', ['V2'], [1, 2, 3])].filter(
        ([, , , code, , name]) => code !== 'X1' || name === '2',
      ),
    );
    expect(() => retrainingEffect(alone, after)).toThrow(/No expert read/);
  });
});

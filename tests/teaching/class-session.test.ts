import { describe, expect, it } from 'vitest';
import { classSession, yardstickOf } from '../../src/teaching/class-session.ts';
import { gradeVariety } from '../../src/teaching/grade-variety.ts';
import { hardLimbs } from '../../src/teaching/hard-limbs.ts';
import { type ClassLine, classFile, demoClass, simulatedClass } from './class-file.ts';

const lines: ClassLine[] = [
  // The experts differ on the left foot (1 and 2) and agree on the right one (2).
  ['V9', 'left', 'dorsalis-pedis', 'X1', 1],
  ['V9', 'left', 'dorsalis-pedis', 'X2', 2],
  ['V9', 'right', 'dorsalis-pedis', 'X1', 2],
  ['V9', 'right', 'dorsalis-pedis', 'X2', 2],
  ['V9', 'left', 'dorsalis-pedis', 'L1', 1],
  ['V9', 'left', 'dorsalis-pedis', 'L2', 2],
  ['V9', 'left', 'dorsalis-pedis', 'L3', 3],
  ['V9', 'right', 'dorsalis-pedis', 'L1', 0],
  ['V9', 'right', 'dorsalis-pedis', 'L2', 1],
  // No expert read this one: the class's middle is 1 to 2.
  ['V2', 'left', 'dorsalis-pedis', 'L1', 1],
  ['V2', 'left', 'dorsalis-pedis', 'L2', 2],
];

describe('a class on its limbs', () => {
  it('keeps experts as assessors with a range, knows whose limb it is, and counts what is there', async () => {
    const session = classSession(await classFile(lines), { sign: 'pulse-grade' });
    expect(session.learners).toEqual(['L1', 'L2', 'L3']);
    expect(session.references).toEqual(['X1', 'X2']);
    expect(session.limbs.map(({ volunteer, limb, reference }) => [volunteer, limb, reference])).toEqual([
      ['V9', 'left-leg', { lower: 1, upper: 2, readings: 2 }],
      ['V9', 'right-leg', { lower: 2, upper: 2, readings: 2 }],
      ['V2', 'left-leg', undefined],
    ]);
    expect(session.readings).toEqual({ there: 7, full: 9 });
    expect(yardstickOf(session, session.limbs[2]!)).toMatchObject({ lower: 1, upper: 2 });
  });

  it('refuses rounds pooled, too few learners and a measured sign', async () => {
    const two = await classFile([...lines, ['V9', 'left', 'dorsalis-pedis', 'L1', 1, '2']]);
    expect(() => classSession(two, { sign: 'pulse-grade' })).toThrow(/2 rounds .*not pooled/);
    expect(() => classSession(two, { sign: 'pulse-grade', round: '3' })).toThrow(/choose one of 1, 2/);
    const few = await classFile(lines.filter(([, , , code]) => code !== 'L3'));
    expect(() => classSession(few, { sign: 'pulse-grade' })).toThrow(/nobody's page is private/);
  });
});

describe('hard limbs', () => {
  it('count lower, same and higher than the experts, the hardest first, nobody by code', async () => {
    const hard = hardLimbs(classSession(await classFile(lines), { sign: 'pulse-grade' }));
    expect(hard.limbs.map(({ lower, same, higher, notRead }) => [lower, same, higher, notRead])).toEqual([
      [2, 0, 0, 1],
      [0, 2, 1, 0],
      [0, 2, 0, 1],
    ]);
    expect(hard.limbs.map(({ fromExperts }) => fromExperts)).toEqual([true, true, false]);
    expect(hard.table.toText()).not.toMatch(/L\d/);
    expect(hard.notes.map((note) => note.message).join(' ')).toContain('differ on 1 of 2 limbs');
  });

  it('find a limb that is hard by truth among the first two, in most simulated classes', async () => {
    let found = 0;
    for (let seed = 1; seed <= 8; seed++) {
      const [first, second] = hardLimbs(await simulatedClass(seed, Array(12).fill(0))).limbs;
      if ([first, second].some((limb) => /^V1, left leg, top of the foot/.test(limb!.label))) found++;
    }
    expect(found).toBeGreaterThanOrEqual(5);
  });

  it('find the hard limb of the demo class', async () => {
    const { assessments, truth } = await demoClass();
    const [first] = hardLimbs(classSession(assessments, { sign: 'pulse-grade', round: '1' })).limbs;
    expect(first!.label).toMatch(new RegExp(`^${truth.hardLimb.volunteer}, left leg, top of the foot`));
  });
});

it('warns where over 80 % of readings at a site are one grade, as in healthy volunteers', async () => {
  const healthy = await classFile(
    ['L1', 'L2', 'L3', 'L4', 'X1'].flatMap((code): ClassLine[] =>
      ['V1', 'V2'].flatMap((volunteer): ClassLine[] => [
        [volunteer, 'left', 'posterior-tibial', code, 2],
        [volunteer, 'left', 'dorsalis-pedis', code, volunteer === 'V1' ? 1 : 2],
      ]),
    ),
  );
  const variety = gradeVariety(classSession(healthy, { sign: 'pulse-grade' }));
  expect(variety.alike).toHaveLength(1);
  expect(variety.table.rows.map((row) => row.share)).toEqual([1, 0.5]);
  expect(variety.notes[0]!.message).toContain('practice edema, refill in seconds or girth');
});

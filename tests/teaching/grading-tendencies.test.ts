import { describe, expect, it } from 'vitest';
import { classSession } from '../../src/teaching/class-session.ts';
import { gradingTendencies } from '../../src/teaching/grading-tendencies.ts';
import { type ClassLine, classFile, demoClass, simulatedClass } from './class-file.ts';

describe('tends to grade high or low', () => {
  it('is exact where all read all limbs: the learner’s mean less the class’s', async () => {
    const grades = [
      [1, 1, 2],
      [2, 2, 3],
      [0, 1, 1],
      [2, 3, 4],
      [1, 2, 2],
      [3, 3, 3],
    ];
    const lines = grades.flatMap((row, at): ClassLine[] =>
      row.map((grade, learner) => [
        `V${Math.floor(at / 2)}`,
        at % 2 === 0 ? 'left' : 'right',
        'dorsalis-pedis',
        `L${learner}`,
        grade,
      ]),
    );
    const { tendencies } = gradingTendencies(classSession(await classFile(lines), { sign: 'pulse-grade' }));
    const means = [9 / 6, 12 / 6, 15 / 6];
    tendencies.forEach(({ estimate }, at) => expect(estimate.value).toBeCloseTo(means[at]! - 2, 12));
    // Jackknife of a mean of differences: the usual standard error of these differences over limbs.
    const differences = grades.map((row) => row[0]! - row.reduce((sum, grade) => sum + grade, 0) / 3);
    const mean = differences.reduce((sum, value) => sum + value, 0) / 6;
    const variance = differences.reduce((sum, value) => sum + (value - mean) ** 2, 0) / 5;
    expect(tendencies[0]!.estimate.standardError).toBeCloseTo(Math.sqrt(variance / 6), 12);
  });

  it('takes hard and strong limbs out: whoever read only strong pulses does not grade high for it', async () => {
    const lines: ClassLine[] = [];
    for (let limb = 0; limb < 16; limb++)
      for (let learner = 0; learner < 4; learner++) {
        // The first learner reads only the eight strong limbs, all without error or tendency.
        if (learner === 0 && limb < 8) continue;
        lines.push([
          `V${Math.floor(limb / 2)}`,
          limb % 2 === 0 ? 'left' : 'right',
          'dorsalis-pedis',
          `L${learner}`,
          limb < 8 ? 1 : 3,
        ]);
      }
    const { tendencies } = gradingTendencies(classSession(await classFile(lines), { sign: 'pulse-grade' }));
    for (const { estimate } of tendencies) expect(estimate.value).toBeCloseTo(0, 12);
  });

  it('recovers known tendencies with gaps, and intervals cover them', async () => {
    const known = [0.6, -0.5, ...Array<number>(10).fill(-0.01)];
    let high = 0;
    let low = 0;
    for (let seed = 21; seed <= 26; seed++) {
      const { tendencies } = gradingTendencies(await simulatedClass(seed, known));
      if (tendencies[0]!.estimate.interval.lower > 0) high++;
      if (tendencies[1]!.estimate.interval.upper < 0) low++;
      expect(Math.abs(tendencies[0]!.estimate.value - 0.55)).toBeLessThan(0.35);
    }
    expect(high).toBeGreaterThanOrEqual(5);
    expect(low).toBeGreaterThanOrEqual(5);
  });

  it('says it of the two in the demo class, in the order of the codes', async () => {
    const { assessments, truth } = await demoClass();
    const { tendencies, notes } = gradingTendencies(classSession(assessments, { sign: 'pulse-grade', round: '1' }));
    expect(tendencies.map(({ learner }) => learner)).toEqual(truth.learners.map(({ code }) => code));
    const said = tendencies.filter(({ sentence }) => sentence !== undefined);
    expect(said.find(({ learner }) => learner === 'L05')?.sentence).toMatch(
      /^tends to grade high: 0\.\d\d grades above the class/,
    );
    expect(said.find(({ learner }) => learner === 'L10')?.sentence).toMatch(/^tends to grade low/);
    expect(notes.map(({ code }) => code)).toEqual(['this-class-only', 'many-looks']);
  });

  it('refuses classes whose learners share too few limbs, and those that fall apart', async () => {
    const sheet = (learners: readonly string[], volunteers: readonly string[]): ClassLine[] =>
      volunteers.flatMap((volunteer) =>
        learners.flatMap((code): ClassLine[] => [
          [volunteer, 'left', 'dorsalis-pedis', code, 1],
          [volunteer, 'right', 'dorsalis-pedis', code, 2],
        ]),
      );
    const tendenciesOf = async (lines: ClassLine[]) =>
      gradingTendencies(classSession(await classFile(lines), { sign: 'pulse-grade' }));
    await expect(tendenciesOf(sheet(['L1', 'L2', 'L3'], ['V1', 'V2']))).rejects.toThrow(
      /3 of 3 learners share 6 limbs/,
    );
    await expect(
      tendenciesOf([
        ...sheet(['L1', 'L2', 'L3'], ['V1', 'V2', 'V3']),
        ...sheet(['L4', 'L5', 'L6'], ['V4', 'V5', 'V6']),
      ]),
    ).rejects.toThrow(/falls into groups/);
  });

  it('says no tendency where over 80 % of the readings are one grade', async () => {
    const lines = Array.from({ length: 12 }, (_, limb) =>
      ['L1', 'L2', 'L3', 'L4', 'L5', 'L6', 'L7'].map(
        (code): ClassLine => [
          `V${Math.floor(limb / 2)}`,
          limb % 2 === 0 ? 'left' : 'right',
          'dorsalis-pedis',
          code,
          code === 'L1' ? 3 : 2,
        ],
      ),
    ).flat();
    const { tendencies, notes } = gradingTendencies(classSession(await classFile(lines), { sign: 'pulse-grade' }));
    expect(tendencies[0]!.estimate.value).toBeCloseTo(6 / 7, 12);
    expect(tendencies.every(({ sentence }) => sentence === undefined)).toBe(true);
    expect(notes.map(({ code }) => code)).toContain('nearly-alike');
  });
});

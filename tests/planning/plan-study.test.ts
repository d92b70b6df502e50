import { describe, expect, it } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { captureSheet } from '../../src/planning/capture-sheet.ts';
import { planStudy } from '../../src/planning/plan-study.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { agreementStudy } from '../../src/study/agreement-study.ts';
import { design, plan } from './plan.ts';

describe('planStudy', () => {
  it('puts findings in bedside order: girth before pressing, legs raised last, arms before legs, right before left', () => {
    expect(plan.findings.map(({ sign, site, limb }) => [sign.id, site, limb].filter(Boolean).join(' '))).toEqual([
      'pulse-grade radial right-arm',
      'pulse-grade radial left-arm',
      'pulse-equality radial',
      'ankle-girth right-leg',
      'ankle-girth left-leg',
      'pulse-grade dorsalis-pedis right-leg',
      'pulse-grade dorsalis-pedis left-leg',
      'pitting-edema dorsum-of-hand right-arm',
      'pitting-edema dorsum-of-hand left-arm',
      'pitting-edema sacrum',
      'pitting-edema pretibial-shin right-leg',
      'pitting-edema pretibial-shin left-leg',
      'leg-raised right-leg',
      'leg-raised left-leg',
    ]);
  });

  it('sends every assessor to every patient once, pilot apart', () => {
    expect(plan.examinations).toHaveLength(3 * 8);
    for (const patient of new Set(plan.examinations.map((one) => one.patient))) {
      const own = plan.examinations.filter((one) => one.patient === patient);
      expect(own.map((one) => one.assessor).sort()).toEqual(['A', 'B', 'C']);
      expect(own.map((one) => one.order)).toEqual([1, 2, 3]);
      expect(new Set(own.map((one) => one.phase))).toEqual(new Set([patient.startsWith('T') ? 'pilot' : 'main']));
    }
  });

  it('counts minutes, people and afternoons (3·8 + 2·10 = 44 minutes; 4 an afternoon; 2 + 1 afternoons)', () => {
    expect(plan.effort).toMatchObject({ minutesPerPatient: 44, patientsPerAfternoon: 4, afternoons: 3, invited: 7 });
    expect(plan.effort.readings).toBe(6 * 14 * 3);
    expect(planStudy({ ...design, patientsAtOnce: 3 }).effort).toMatchObject({
      afternoons: 2,
      patientsPerAfternoon: 12,
    });
  });

  it('lets second readings follow turns of their own, after all first ones', () => {
    const twice = planStudy({ ...design, replicates: 2 });
    const own = twice.examinations.filter((one) => one.patient === 'P01');
    expect(own.map((one) => one.replicate)).toEqual([1, 1, 1, 2, 2, 2]);
    expect(own.map((one) => one.order)).toEqual([1, 2, 3, 4, 5, 6]);
  });

  it('sends nobody to two patients at once where as many are examined at once as there are assessors', () => {
    const together = planStudy({ ...design, patients: 12, patientsAtOnce: 3, replicates: 2 });
    const main = together.examinations.filter((one) => one.phase === 'main');
    for (let first = 1; first <= 12; first += 3)
      for (let turn = 1; turn <= 6; turn++) {
        const now = main.filter(
          (one) => one.order === turn && Math.floor((Number(one.patient.slice(1)) - 1) / 3) * 3 + 1 === first,
        );
        expect(new Set(now.map((one) => one.assessor)).size).toBe(3);
      }
    expect(() => planStudy({ ...design, patientsAtOnce: 2 })).toThrow(/1, or 3/);
  });

  it('flows into the study: the sheet is filled, loaded, and studied by the plan without the pilot', async () => {
    const filled = captureSheet(plan)
      .split('\n')
      .map((line) => (line.includes('pulse-grade') ? line.replace(/,,$/, `,${line.length % 3},`) : line))
      .join('\n');
    const assessments = await loadAssessments({ text: filled }, { signs: ['pulse-grade'] });
    const study = await agreementStudy(assessments.where({ phase: 'main' }), {
      ...plan.forStudy,
      signs: ['pulse-grade'],
      replicates: 200,
    });
    expect(study.plan.seed).toBe(4);
    expect(study.ratings('pulse-grade').clusters).toBe(6);
    expect(study.ratings('pulse-grade').assessors).toEqual(['A', 'B', 'C']);
  });

  it('refuses with every problem at once, and what is meant', () => {
    try {
      planStudy({
        ...design,
        patients: 0,
        assessors: ['A'],
        signs: [
          { sign: 'puls-grade', scale: 'x' },
          { sign: 'pitting-edema', scale: 'pit.0-4.hogan', sites: ['shin-bone'], limbs: ['left-leg'] },
        ],
      });
      expect.unreachable('nothing was refused');
    } catch (error) {
      const { problems } = error as InputError;
      expect(error).toBeInstanceOf(InputError);
      expect(problems.map((problem) => problem.code)).toEqual([
        'bad-option',
        'bad-option',
        'unknown-sign',
        'unknown-site',
        'nothing-to-read',
      ]);
      expect(problems[2]!.mend).toContain('pulse-grade');
    }
  });

  it('refuses an afternoon in which no patient can be examined', () => {
    expect(() => planStudy({ ...design, minutesPerAfternoon: 40 })).toThrow(/44 minutes/);
  });
});

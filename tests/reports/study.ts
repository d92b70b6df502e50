import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { captureSheet } from '../../src/planning/capture-sheet.ts';
import { planStudy } from '../../src/planning/plan-study.ts';
import { seededRandom } from '../../src/shared/random.ts';
import type { StudyGroup } from '../../src/study/agreement-plan.ts';
import { agreementStudy } from '../../src/study/agreement-study.ts';

export const plan = planStudy({
  title: 'Foot pulses and ankle girth',
  signs: [
    {
      sign: 'pulse-grade',
      scale: 'pulse.0-4.normal2',
      sites: ['dorsalis-pedis', 'posterior-tibial'],
      limbs: ['right-leg', 'left-leg'],
    },
    { sign: 'ankle-girth', scale: 'girth.ankle' },
  ],
  patients: 14,
  pilotPatients: 2,
  assessors: ['A', 'B', 'C'],
  minutesPerExamination: 5,
  seed: 8,
});

/** The plan's own capture sheet, filled with invented readings, and the study made from it. */
export async function inventedStudy(by: readonly StudyGroup[] = ['side']) {
  const random = seededRandom(3);
  const truth = new Map<string, number>();
  const lines = captureSheet(plan).trimEnd().split('\n');
  const filled = lines.map((line, at) => {
    if (at === 0) return line;
    const [patient, , , , , , , limb, site, sign] = line.split(',') as string[];
    const key = `${patient}/${limb}/${site}/${sign}`;
    if (!truth.has(key)) truth.set(key, random.uniform());
    if (random.uniform() < 0.05) return line.replace(/,,$/, ',,covered');
    const value =
      sign === 'pulse-grade'
        ? Math.max(0, Math.min(4, Math.floor(4 * truth.get(key)!) + random.below(2)))
        : (20 + 6 * truth.get(key)! + 0.3 * random.normal()).toFixed(1);
    return line.replace(/,,$/, `,${value},`);
  });
  const assessments = await loadAssessments({ text: filled.join('\n') });
  return agreementStudy(assessments.where({ phase: 'main' }), {
    ...plan.forStudy,
    by,
    explore: ['limb'],
    signs: ['pulse-grade', 'ankle-girth'],
    weights: 'quadratic',
    replicates: 200,
    amendments: [
      { date: '2026-09-14', reason: 'A referee asked for linear weights.', change: { weights: 'linear', by: [] } },
    ],
  });
}

import { planStudy, type StudyDesign } from '../../src/planning/plan-study.ts';

/** A small study with every kind of finding: graded at sites, measured on a limb, paired, midline, raised legs. */
export const design: StudyDesign = {
  title: 'Pulses, girth and edema',
  signs: [
    { sign: 'leg-raised', scale: 'leg-raised.words' },
    { sign: 'pitting-edema', scale: 'pit.0-4.hogan', sites: ['sacrum', 'pretibial-shin', 'dorsum-of-hand'] },
    { sign: 'ankle-girth', scale: 'girth.ankle' },
    { sign: 'pulse-grade', scale: 'pulse.0-4.normal2', sites: ['dorsalis-pedis', 'radial'] },
    { sign: 'pulse-equality', scale: 'pulse.equality', sites: ['radial'] },
  ],
  patients: 6,
  pilotPatients: 2,
  assessors: ['A', 'B', 'C'],
  minutesPerExamination: 8,
  restMinutes: 10,
  seed: 4,
};

export const plan = planStudy(design);

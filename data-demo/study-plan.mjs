/**
 * The plan that the agreement study was made by, as the planning notebook writes it with its own settings. Forty-two
 * people were planned; forty came.
 */
export function studyPlanFiles(seed) {
  const plan = {
    format: 'plan of an agreement study, 1',
    design: {
      title: 'Agreement of pulse grades',
      signs: [
        {
          sign: 'pulse-grade',
          scale: 'pulse.0-4.normal2',
          sites: ['brachial', 'radial', 'ulnar', 'femoral', 'popliteal', 'posterior-tibial', 'dorsalis-pedis'],
          limbs: ['right-arm', 'left-arm', 'right-leg', 'left-leg'],
        },
      ],
      patients: 42,
      pilotPatients: 4,
      assessors: ['N11', 'N24', 'N37', 'N52'],
      replicates: 1,
      occasions: 1,
      daysBetween: 7,
      minutesPerExamination: 6,
      restMinutes: 5,
      patientsAtOnce: 1,
      minutesPerAfternoon: 180,
      absent: 0.1,
      seed,
    },
    analysis: {
      coefficient: 'conger-kappa',
      weights: 'quadratic',
      by: ['site'],
      confidenceLevel: 0.95,
      replicates: 2000,
      sampleSize:
        '42 patients (invite 47): 114 independent findings to tell kappa 0.60 from 0.40 over 5 grades, 14 findings a patient, design effect 4.90 (Flack and others 1988, 2-sided 0.05, power 0.80). Assumes that findings of one patient are correlated by 0.30, that 5 % of findings are not read by all and that 10 % of patients do not come.',
      amendments: [],
    },
  };
  return { 'study-plan.json': `${JSON.stringify(plan, null, 2)}\n` };
}

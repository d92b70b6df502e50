// The designs on which intervals of agreement are tried: for each number of patients a fraction of all combinations of five
// factors with four levels (an orthogonal array of strength two: every pair of levels of two factors meets equally often).
const LAYOUTS = [
  { limbs: 2, sites: 1 },
  { limbs: 2, sites: 3 },
  { limbs: 2, sites: 7 },
  { limbs: 4, sites: 3 },
];
const ASSESSORS = [2, 3, 5, 12];
/** Grades: evenly spread, the lowest three rare, two grades of which one is rare, three falling. */
const SHARES = [
  { words: 'even', shares: [0.2, 0.2, 0.2, 0.2, 0.2] },
  { words: 'rare low', shares: [0.02, 0.03, 0.05, 0.3, 0.6] },
  { words: 'one in ten', shares: [0.1, 0.9] },
  { words: 'three', shares: [0.6, 0.3, 0.1] },
];
/** Quadratic kappa in the long run; the spread of readings that gives it is found. */
const KAPPAS = [0.2, 0.5, 0.7, 0.9];
const CORRELATIONS = [0, 0.1, 0.3, 0.6];
const GAPS = [0, 0.05, 0.15, 0.3];
const PATIENTS = [12, 20, 30, 60, 200];

/** Multiplication in the field of four elements; addition is exclusive or. */
const TIMES = [
  [0, 0, 0, 0],
  [0, 1, 2, 3],
  [0, 2, 3, 1],
  [0, 3, 1, 2],
];

/** 16 designs for each number of patients, 8 for the largest, whose studies cost most. */
export const AGREEMENT_CELLS = PATIENTS.flatMap((patients, turn) =>
  Array.from({ length: 16 }, (_, run) => {
    const [a, b] = [run >> 2, run & 3];
    // Another assignment of levels for each number of patients.
    const level = (column) => (column + turn) % 4;
    const shares = SHARES[level(a ^ b)];
    const correlation = CORRELATIONS[level(a ^ TIMES[3][b])];
    return {
      design: {
        patients,
        ...LAYOUTS[level(a)],
        assessors: ASSESSORS[level(b)],
        gaps: GAPS[(a + 3 * b + turn) % 4],
      },
      kappa: KAPPAS[level(a ^ TIMES[2][b])],
      grades: shares.words,
      assumptions: {
        shares: shares.shares,
        assessorSpread: 0.1,
        patientShare: correlation,
        limbShare: correlation === 0 ? 0 : 0.1,
      },
    };
  }).filter((_, run) => patients < 200 || run % 2 === (run >> 2) % 2),
);

import { chance } from './chance.mjs';
import { csvText, truthText } from './csv.mjs';

const PATIENTS = 140;
const LEVELS = ['0', '0.5', '1'];
/** The chance, in any thirty days, to move up or down one level from none, controlled and uncontrolled edema. */
const MOVES = { up: [0.02, 0.035, 0], down: [0, 0.03, 0.025] };

/**
 * A clinic's file in its own shape: three columns, irregular visits, three levels of edema
 * (none; gone with diuretics; there in spite of them), no site, no assessor.
 */
export function liverClinicFiles(seed) {
  const random = chance(seed);
  const rows = [];
  const transitions = LEVELS.map(() => LEVELS.map(() => 0));
  for (let id = 1; id <= PATIENTS; id++) {
    let level = random.happens(0.14) ? 1 : random.happens(0.06) ? 2 : 0;
    let day = 0;
    const visits = 1 + random.below(12);
    for (let visit = 0; visit < visits; visit++) {
      rows.push({ id, day, edema: LEVELS[level] });
      if (visit === visits - 1) break;
      const gap = random.pick([
        random.between(150, 210),
        random.between(330, 400),
        random.between(330, 400),
        random.between(60, 700),
      ]);
      const before = level;
      for (let month = 0; month < Math.floor(gap / 30); month++) {
        if (random.happens(MOVES.up[level])) level += 1;
        else if (random.happens(MOVES.down[level])) level -= 1;
      }
      transitions[before][level] += 1;
      day += Math.round(gap);
    }
  }
  const truth = {
    about: 'What is true in liver-clinic-edema.csv; invented by data-demo/make-demo-data.mjs.',
    seed,
    levels: LEVELS,
    movesInThirtyDays: MOVES,
    patients: PATIENTS,
    visits: rows.length,
    transitionsFromRowToColumn: transitions,
  };
  return {
    'liver-clinic-edema.csv': csvText(['id', 'day', 'edema'], rows),
    'liver-clinic-edema.truth.json': truthText(truth),
  };
}

// Patients unchanged, but new assessors read higher: how often is that taken for a change in patients?
import { fromSource } from './from-source.mjs';

const { seededRandom } = await fromSource('shared/random.ts');
const { patientsOrAssessors } = await fromSource('unit-quality/patients-or-assessors.ts');
const { loadAssessments } = await fromSource('assessments/load-assessments.ts');

const SEED = 20260321;
export const WAYS = ['as read', 'same assessors compared', 'assessors as random'];

export const cells = [{ staying: 3 }, { staying: 1 }];
/** Units; each is loaded and fitted whole, about a fifth of a second of processor. */
export const studies = 4000;

export async function run(cell, count) {
  const found = WAYS.map(() => 0);
  for (let unit = 0; unit < count; unit++) {
    const rows = unitWithNewAssessors(seededRandom(SEED, 77_000_000 + 1000 * cell.staying + unit), cell.staying);
    const result = await patientsOrAssessors(await loadAssessments({ rows }), { sign: 'pitting-edema', from: 9 });
    const says = (estimate) => estimate !== undefined && (estimate.interval.lower > 1 || estimate.interval.upper < 1);
    [result.asRead, result.sameAssessors, result.randomAssessors].forEach((estimate, at) => {
      if (says(estimate)) found[at]++;
    });
  }
  return { ...cell, studies: count, found };
}

/** Sixteen periods of fifteen new patients; from the ninth on all but `staying` of the five assessors are new and read half a grade higher. */
function unitWithNewAssessors(random, staying) {
  const habits = Array.from({ length: 9 }, () => 0.3 * random.normal());
  const rows = [];
  for (let period = 1; period <= 16; period++)
    for (let patient = 0; patient < 15; patient++) {
      const depth = 1.4 + 1.1 * random.normal();
      for (let day = 0; day < 3; day++) {
        const person = random.below(5);
        const fresh = period > 8 && person >= staying;
        const reader = fresh ? 4 + person : person;
        const read = depth + habits[reader] + (fresh ? 0.5 : 0) + 0.45 * random.normal();
        rows.push({
          patient: `w${period}-${patient}`,
          stay: `s${period}-${patient}`,
          unit: 'U1',
          day,
          period,
          assessor: `K${reader}`,
          limb: 'left-leg',
          site: 'shin',
          sign: 'pitting-edema',
          scale: 'pit.0-4.hogan',
          value: String([0.5, 1.5, 2.5, 3.5].filter((cut) => read > cut).length),
        });
      }
    }
  return rows;
}

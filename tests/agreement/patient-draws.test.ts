import { expect, it } from 'vitest';
import { PatientDraws } from '../../src/agreement/patient-draws.ts';
import { COLUMNS_AT_ONCE } from '../../src/agreement/weighted-sums.ts';
import { seededRandom } from '../../src/shared/random.ts';

const SEED = 8;

/** How often each patient is drawn in a replicate, by what the class says of its random streams. */
function drawnByHand(replicate: number, patients: number): number[] {
  const random = seededRandom(SEED, Math.floor(replicate / 250));
  const often = new Array<number>(patients).fill(0);
  for (let before = 0; before <= replicate % 250; before++) {
    often.fill(0);
    for (let i = 0; i < patients; i++) often[random.below(patients)]!++;
  }
  return often;
}

function found(draws: PatientDraws, replicate: number, patients: number): number[] {
  const { rows, times } = draws.of(replicate);
  const often = new Array<number>(patients).fill(0);
  rows.forEach((row, at) => {
    expect(often[row]).toBe(0);
    expect(times[at]).toBeGreaterThan(0);
    often[row] = times[at]!;
  });
  return often;
}

it('draws the same patients in whatever order replicates are asked for', () => {
  const draws = new PatientDraws().begin(SEED, 30);
  for (const replicate of [0, 1, 2, 249, 250, 251, 3, 1000, 700, 701, 0])
    expect(found(draws, replicate, 30)).toEqual(drawnByHand(replicate, 30));
  expect(found(draws.begin(SEED, 12), 5, 12)).toEqual(drawnByHand(5, 12));
  expect(found(draws.begin(SEED, 30), 5, 30)).toEqual(drawnByHand(5, 30));
});

it('draws the same where more patients are drawn than it keeps, and again from the beginning', () => {
  const patients = 60_000;
  const draws = new PatientDraws().begin(SEED, patients);
  const first = Int32Array.from(draws.of(0).rows);
  let sum = 0;
  for (let replicate = 0; replicate < 240; replicate++) sum += draws.of(replicate).rows.length;
  // 1 − 1/e of the patients are in a draw.
  expect(sum / 240 / patients).toBeCloseTo(1 - Math.exp(-1), 3);
  expect(found(draws, 240, patients)).toEqual(drawnByHand(240, patients));
  expect(Int32Array.from(draws.of(0).rows)).toEqual(first);
});

it.each([1, 2, 9])(
  'sums the rows of the patients drawn, %s × 4 columns, however rows and draws follow each other',
  (times4) => {
    const patients = 20;
    const columns = COLUMNS_AT_ONCE * times4;
    const random = seededRandom(4);
    const tables = [0, 1].map(() => Float64Array.from({ length: patients * columns }, () => random.normal()));
    const draws = new PatientDraws().begin(SEED, patients);
    const totals = new Float64Array(columns);
    for (const replicate of [0, 1, 260, 1])
      for (const rows of tables) {
        draws.sum(rows, replicate, totals);
        const byHand = new Float64Array(columns);
        drawnByHand(replicate, patients).forEach((often, patient) => {
          for (let column = 0; column < columns; column++) byHand[column]! += often * rows[patient * columns + column]!;
        });
        expect(totals).toEqual(byHand);
        expect(found(draws, replicate, patients)).toEqual(drawnByHand(replicate, patients));
      }
  },
);

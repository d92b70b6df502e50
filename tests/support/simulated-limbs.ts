import type { Assessments } from '../../src/assessments/assessments.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { assessmentsOf } from './assessments-of.ts';

type Line = Parameters<typeof assessmentsOf>[2][number];

/** How three invented assessors read: tendency and scatter on the scale of positions, whose limbs are N(0, 1). */
export const READERS = [
  { code: 'A', tendency: -0.1, spread: 0.35 },
  { code: 'B', tendency: 0.3, spread: 0.45 },
  { code: 'C', tendency: -0.2, spread: 0.4 },
] as const;
const CUTS = [-1.1, -0.3, 0.5, 1.3];
const SITES = ['femoral', 'popliteal', 'posterior-tibial', 'dorsalis-pedis'];

const gradeAt = (position: number): number => CUTS.filter((cut) => position > cut).length;

/** An agreement study and a serial file with known truth: limbs on a continuum, one in five moved by about a grade. */
export async function simulatedLimbs(
  seed: number,
  sizes: { readonly patients: number; readonly serial: number; readonly readingsPerVisit: number },
): Promise<{ study: Assessments; serial: Assessments; changed: ReadonlyMap<string, number> }> {
  const random = seededRandom(seed);
  const read = (position: number, reader: (typeof READERS)[number]): number =>
    gradeAt(position + reader.tendency + reader.spread * random.normal());
  const studyLines: Line[] = [];
  for (let patient = 0; patient < sizes.patients; patient++) {
    const own = random.normal();
    for (const site of SITES) {
      const position = Math.sqrt(0.4) * own + Math.sqrt(0.6) * random.normal();
      for (const reader of READERS)
        studyLines.push([`s${patient}`, 0, reader.code, 'left-leg', site, read(position, reader)]);
    }
  }
  const serialLines: Line[] = [];
  const changed = new Map<string, number>();
  for (let patient = 0; patient < sizes.serial; patient++) {
    const before = random.normal();
    const moves = random.uniform() < 0.2;
    const after = moves ? before + (random.uniform() < 0.75 ? 1 : -1) * (0.6 + 0.6 * random.uniform()) : before;
    changed.set(`p${patient}`, gradeAt(after) - gradeAt(before));
    for (const [day, position] of [
      [0, before],
      [60, after],
    ] as const) {
      const first = random.below(3);
      for (let reading = 0; reading < sizes.readingsPerVisit; reading++) {
        const reader = READERS[(first + reading) % 3]!;
        serialLines.push([`p${patient}`, day, reader.code, 'left-leg', 'popliteal', read(position, reader)]);
      }
    }
  }
  return {
    study: await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', studyLines),
    serial: await assessmentsOf('pulse-grade', 'pulse.0-4.normal2', serialLines),
    changed,
  };
}

import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { type ClassSession, classSession } from '../../src/teaching/class-session.ts';
import { madeDemoData, textOf, truthOf } from '../data-demo/demo-data.ts';

export type ClassLine = readonly [
  volunteer: string,
  side: 'left' | 'right',
  site: string,
  reader: string,
  grade: number | string,
  round?: string,
];

/** A class from short lines; readers whose code begins with X are the experts. */
export function classFile(lines: readonly ClassLine[]) {
  return loadAssessments({
    rows: lines.map(([patient, side, site, assessor, value, round]) => ({
      patient,
      day: 0,
      round: round ?? '1',
      assessor,
      reference: assessor.startsWith('X') ? 'yes' : 'no',
      limb: `${side}-leg`,
      site,
      sign: 'pulse-grade',
      scale: 'pulse.0-4.normal2',
      value: String(value),
    })),
  });
}

const CUTS = [0.5, 1.5, 2.5, 3.5];

/** Twelve learners and two experts on limbs of known strength, with known tendencies in grades and a tenth missing. */
export async function simulatedClass(
  seed: number,
  tendencies: readonly number[],
  volunteers = 6,
  missing = 0.1,
): Promise<ClassSession> {
  const random = seededRandom(seed);
  const readers = [
    ...tendencies.map((tendency, at) => ({ code: `L${String(at + 1).padStart(2, '0')}`, tendency, spread: 0.45 })),
    { code: 'X1', tendency: 0, spread: 0.25 },
    { code: 'X2', tendency: 0, spread: 0.25 },
  ];
  const lines: ClassLine[] = [];
  for (let volunteer = 1; volunteer <= volunteers; volunteer++)
    for (const site of ['posterior-tibial', 'dorsalis-pedis'])
      for (const side of ['left', 'right'] as const) {
        const strength = 1.9 + 0.9 * random.normal();
        // The first volunteer's left foot is hard: everybody but the experts is twice as unsure.
        const factor = volunteer === 1 && side === 'left' && site === 'dorsalis-pedis' ? 3 : 1;
        for (const { code, tendency, spread } of readers) {
          const read = strength + tendency + spread * (code.startsWith('X') ? 1 : factor) * random.normal();
          if (!code.startsWith('X') && random.uniform() < missing) continue;
          lines.push([`V${volunteer}`, side, site, code, CUTS.filter((cut) => read > cut).length]);
        }
      }
  return classSession(await classFile(lines), { sign: 'pulse-grade' });
}

export interface ClassTruth {
  readonly learners: readonly { readonly code: string; readonly tendency: number }[];
  readonly hardLimb: { readonly volunteer: string; readonly limb: string; readonly site: string };
  readonly swappedSides: { readonly learner: string; readonly volunteer: string };
  readonly identicalSheets: { readonly from: string; readonly by: string };
}

let demo: Promise<{ assessments: Awaited<ReturnType<typeof loadAssessments>>; truth: ClassTruth }> | undefined;

/** The demo class with its truth. */
export function demoClass() {
  demo ??= (async () => {
    const files = madeDemoData();
    return {
      assessments: await loadAssessments({ text: textOf(files, 'class-session.csv') }),
      truth: truthOf<ClassTruth>(files, 'class-session'),
    };
  })();
  return demo;
}

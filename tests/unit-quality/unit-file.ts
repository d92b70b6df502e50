import type { Assessments } from '../../src/assessments/assessments.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';

export const SCALE_A = 'pit.0-4.bands-2-4-6-8.long';
const SCALE_B = 'pit.0-4.hogan';

/** One reading of a shin: stay, period, day, side, grade (or a missing reason), and where they matter assessor and scale. */
export type UnitLine = readonly [
  stay: string,
  period: number,
  day: number,
  side: 'left' | 'right',
  value: string,
  more?: { readonly assessor?: string; readonly scale?: string },
];

/** A unit's file from short lines; patient and stay have the same code. */
export function unitFile(lines: readonly UnitLine[]): Promise<Assessments> {
  return loadAssessments({
    rows: lines.map(([stay, period, day, side, value, more]) => ({
      patient: `w${stay}`,
      stay,
      unit: 'U1',
      day,
      period,
      assessor: more?.assessor ?? 'K1',
      limb: `${side}-leg`,
      site: 'shin',
      sign: 'pitting-edema',
      scale: more?.scale ?? SCALE_B,
      value: /^\d$/.test(value) ? value : '',
      missing: /^\d$/.test(value) ? '' : value,
    })),
  });
}

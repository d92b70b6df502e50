import type { Assessments } from '../../src/assessments/assessments.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';

/** Assessments from short lines "patient day assessor limb site value [replicate]", all of one sign and scale. */
export function assessmentsOf(
  sign: string,
  scale: string,
  lines: readonly (readonly [
    patient: string,
    day: number,
    assessor: string,
    limb: string,
    site: string,
    value: string | number,
    replicate?: number,
  ])[],
  more: Readonly<Record<string, string | number>> = {},
): Promise<Assessments> {
  return loadAssessments({
    rows: lines.map(([patient, day, assessor, limb, site, value, replicate]) => ({
      patient,
      day,
      assessor,
      limb,
      site,
      sign,
      scale,
      value: String(value),
      replicate: replicate ?? 1,
      ...more,
    })),
  });
}

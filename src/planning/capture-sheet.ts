import { type Cell, Table } from '../shared/table.js';
import type { StudyPlan } from './plan-study.js';

/**
 * The capture sheet: a CSV with one row for every reading of the study, filled but for what is found, which `loadAssessments` reads as it is.
 *
 * Whoever types fills `value`, or `missing` where there is none; nothing else. Rows stand in the order of the work: patient, turn, then bedside order.
 *
 * @param only one phase, or one assessor's rows. Default everything.
 * @example captureSheet(plan).split('\n').length - 2 // readings of pilot and main phase
 */
export function captureSheet(
  plan: StudyPlan,
  only: { readonly phase?: 'pilot' | 'main'; readonly assessor?: string } = {},
): string {
  const columns = CAPTURE_COLUMNS.map((key) => ({ key, label: key, kind: 'text' }) as const);
  return new Table('', columns, captureRows(plan, only)).toCsv();
}

/** One reading to be made; `value` and `missing` are empty. */
export type CaptureRow = Readonly<Record<(typeof CAPTURE_COLUMNS)[number], Cell>> & { readonly scale: string };

/** The rows of the capture sheet, in the order of the work. */
export function captureRows(
  plan: StudyPlan,
  only: { readonly phase?: 'pilot' | 'main'; readonly assessor?: string },
): readonly CaptureRow[] {
  return plan.examinations
    .filter(({ phase, assessor }) => phase === (only.phase ?? phase) && assessor === (only.assessor ?? assessor))
    .flatMap(({ patient, phase, occasion, day, order, assessor, replicate }) =>
      plan.findings.map(({ sign, scale, limb, site }) => ({
        patient,
        phase,
        occasion,
        day,
        order,
        assessor,
        replicate,
        limb: limb ?? null,
        site: site ?? null,
        sign: sign.id,
        scale: scale.id,
        value: null,
        missing: null,
      })),
    );
}

/** The columns of the capture sheet; `loadAssessments` knows each of them. */
export const CAPTURE_COLUMNS = [
  'patient',
  'phase',
  'occasion',
  'day',
  'order',
  'assessor',
  'replicate',
  'limb',
  'site',
  'sign',
  'scale',
  'value',
  'missing',
] as const;

import { caution, type Note } from '../shared/note.js';
import type { AssessmentColumns, TextColumn } from './assessments.js';

/** A year from 1900 with month and day inside a longer code: `W20260301-2`, `2026-03-01_a`. */
const HIDDEN_DATE = /(?:19|20)\d{2}[-_.]?(?:0[1-9]|1[0-2])[-_.]?(?:0[1-9]|[12]\d|3[01])(?!\d)/;

/**
 * Cautions about codes that say more than they should: dates hidden in them, and patients numbered in the order in
 * which the unit's periods saw them. Both let somebody who knows the unit find a person; neither can be certain, so
 * nothing is refused.
 */
export function codeWarnings(table: AssessmentColumns, rows: number): readonly Note[] {
  const notes: Note[] = [];
  const hidden = (['patient', 'stay', 'occasion', 'assessor', 'unit'] as const).filter((name) =>
    table[name].values.some((code) => HIDDEN_DATE.test(code)),
  );
  if (hidden.length > 0) {
    notes.push(
      caution('date-in-code', `Codes seem to hold dates (${hidden.join(', ')}): give random codes that say nothing.`),
    );
  }
  if (isInAdmissionOrder(table.patient, table.period, rows)) {
    notes.push(
      caution(
        'codes-in-order',
        'Patients seem to be numbered in the order in which the unit saw them, so a code tells when somebody came: give random codes.',
      ),
    );
  }
  return notes;
}

/** Fewer patients or periods can be in order by chance. */
const FEWEST_PATIENTS = 10;
const FEWEST_PERIODS = 3;

function isInAdmissionOrder(patient: TextColumn, period: Float64Array, rows: number): boolean {
  const first = new Float64Array(patient.values.length).fill(Number.POSITIVE_INFINITY);
  for (let row = 0; row < rows; row++) {
    const code = patient.codes[row]!;
    // NaN is no earlier than anything.
    if (code >= 0 && period[row]! < first[code]!) first[code] = period[row]!;
  }
  const seen = [...first.keys()].filter((code) => first[code] !== Number.POSITIVE_INFINITY);
  const numbered = seen.flatMap((code) => {
    const digits = /(\d+)\D*$/.exec(patient.values[code] ?? '')?.[1];
    return digits === undefined ? [] : [{ number: Number(digits), start: first[code]! }];
  });
  if (numbered.length < FEWEST_PATIENTS || numbered.length < seen.length) return false;
  if (new Set(numbered.map(({ start }) => start)).size < FEWEST_PERIODS) return false;
  numbered.sort((a, b) => a.number - b.number);
  const backward = numbered.filter(({ start }, at) => at > 0 && start < (numbered[at - 1]?.start ?? start)).length;
  return backward <= numbered.length / 20;
}

import { guardColumn, ruleOfHeader, ruleOfValue } from './identifier-guard.js';
import type { ColumnTreatment } from './prepare-export.js';
import type { SheetTable } from './sheet-table.js';

const PATIENT = /^(?:patient|pt|patientid|ptid|subject|subjectid|mrn|medicalrecordnumber|recordnumber|hospitalnumber)$/;
const ASSESSOR =
  /^(?:assessor|examiner|nurse|nursename|learner|student|rater|reader|staff|assessorid|assessedby|recordedby|clinician)$/;
const STAY = /^(?:stay|stayid|encounter|encounterid|encounternumber|visitnumber|admissionid|csn)$/;
const AGE = /^(?:age|ageyears|ageinyears|patientage|ageatadmission)$/;

/**
 * What will probably happen to each column of an export, by its name and the forms of its values: a proposal to be
 * confirmed, on the careful side. Sentences and everything that looks like an identifier are left out.
 */
export function suggestTreatment({ table }: SheetTable): Record<string, ColumnTreatment> {
  const suggested: [string, ColumnTreatment][] = [];
  let hasPatient = false;
  for (const { header, values } of table.columns) {
    const key = header.toLowerCase().replaceAll(/[^a-z\d]+/g, '');
    const treatment = treatmentOf(key, header, values, hasPatient);
    if (treatment === 'patient') hasPatient = true;
    suggested.push([header, treatment]);
  }
  return Object.fromEntries(suggested);
}

function treatmentOf(key: string, header: string, values: readonly string[], hasPatient: boolean): ColumnTreatment {
  if (PATIENT.test(key)) return hasPatient ? 'drop' : 'patient';
  if (ASSESSOR.test(key)) return 'assessor';
  if (STAY.test(key)) return 'code';
  if (AGE.test(key)) return 'age';
  // The days from a birth to a first day are an age to the day.
  if (ruleOfHeader(header) === 'birth date' || /birth|^dob/.test(key)) return 'drop';
  const rules = values.map((value) => ruleOfValue(value, true) ?? '');
  const dates = rules.filter((rule) => rule === 'date').length;
  if (ruleOfHeader(header) === 'date' || (dates > 0 && dates >= values.length * 0.8)) return 'date';
  if (isSentences(values)) return 'drop';
  const finding = guardColumn(header, values, 'code');
  return finding.header !== undefined || finding.values.some((list) => list !== undefined) ? 'drop' : 'keep';
}

/** Long or many-worded cells: comments. */
function isSentences(values: readonly string[]): boolean {
  if (values.length === 0) return false;
  const letters = values.reduce((sum, value) => sum + value.length, 0) / values.length;
  const words = values.reduce((sum, value) => sum + value.split(/\s+/).length, 0) / values.length;
  return letters > 20 || words > 3;
}

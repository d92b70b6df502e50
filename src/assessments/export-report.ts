import { ownValue } from '../shared/own-value.js';
import { formatCount } from '../shared/table.js';
import type { ColumnTreatment } from './prepare-export.js';
import type { RandomCodes } from './random-codes.js';

/** Groups of people smaller than this can be found by who knows them. */
const SMALL = 5;

export function reportOf(
  headers: readonly string[],
  columns: Readonly<Record<string, ColumnTreatment>>,
  rows: number,
  lines: readonly (readonly string[])[],
  names: readonly string[],
  coders: ReadonlyMap<string, RandomCodes>,
): string[] {
  const counted = (treatment: ColumnTreatment): number =>
    headers.filter((header) => ownValue(columns, header) === treatment).length;
  const kept = headers.filter((header) => ['keep', 'age'].includes(ownValue(columns, header) ?? ''));
  const patientAt = names.indexOf('patient');
  const report = [
    `${formatCount(rows)} rows.`,
    ...[...coders].map(([header, coder]) => {
      const what =
        ownValue(columns, header) === 'patient'
          ? 'patients'
          : ownValue(columns, header) === 'assessor'
            ? 'assessors'
            : 'others';
      return `Random codes for ${formatCount(coder.size)} ${what}; they are made from nothing in the export.`;
    }),
    `Columns of dates that became days since the patient's first date: ${counted('date')}${counted('date') > 0 ? "; the first of them is also the unit's period" : ''}.`,
    `Columns in which ages of 90 and over became 90+: ${counted('age')}.`,
    `Columns left out: ${counted('drop')}.`,
    `Kept as they are: ${headers.filter((header) => ownValue(columns, header) === 'keep').join(', ') || 'none'}.`,
  ];
  for (const { name, groups, people } of smallGroups(lines, names, kept, patientAt)) {
    report.push(
      `To look at: ${groups} values of "${name}" are of fewer than ${SMALL} patients each (${people} patients in all). Pool them, or leave the column out before sharing.`,
    );
  }
  const combined = smallestGroup(lines, names, kept, patientAt);
  if (combined !== undefined)
    report.push(
      `To look at: taken together, ${kept.join(', ')} single out groups of ${combined.smallest} ${combined.smallest === 1 ? 'patient' : 'patients'} (k = ${combined.smallest}; ${combined.alone} of ${combined.patients} patients share their values with fewer than ${SMALL - 1} others).`,
    );
  report.push(
    'What remains is coded, not anonymous: with the key, or by what somebody knows of a patient, a person can be found. Keep the key apart.',
  );
  return report;
}

/** Columns that describe a person: few values, the same on all rows of a patient. Readings differ from row to row. */
function describesPerson(
  lines: readonly (readonly string[])[],
  place: number,
  patientAt: number,
): Map<string, Set<string>> | undefined {
  const values = new Map<string, string>();
  const patients = new Map<string, Set<string>>();
  for (const line of lines) {
    const [patient = '', value = ''] = [line[patientAt], line[place]];
    const before = values.get(patient);
    if (before !== undefined && before !== value) return undefined;
    values.set(patient, value);
    patients.set(value, (patients.get(value) ?? new Set()).add(patient));
  }
  return patients;
}

function smallGroups(
  lines: readonly (readonly string[])[],
  names: readonly string[],
  kept: readonly string[],
  patientAt: number,
): { name: string; groups: number; people: number }[] {
  return kept.flatMap((name) => {
    const patients = describesPerson(lines, names.indexOf(name), patientAt);
    if (patients === undefined) return [];
    const small = [...patients.values()].filter((group) => group.size < SMALL);
    return small.length === 0
      ? []
      : [{ name, groups: small.length, people: small.reduce((sum, group) => sum + group.size, 0) }];
  });
}

function smallestGroup(
  lines: readonly (readonly string[])[],
  names: readonly string[],
  kept: readonly string[],
  patientAt: number,
): { smallest: number; alone: number; patients: number } | undefined {
  const places = kept
    .map((name) => names.indexOf(name))
    .filter((place) => describesPerson(lines, place, patientAt) !== undefined);
  if (places.length === 0) return undefined;
  const groups = new Map<string, Set<string>>();
  for (const line of lines) {
    const key = places.map((place) => line[place]).join('\u0000');
    groups.set(key, (groups.get(key) ?? new Set()).add(line[patientAt] ?? ''));
  }
  const sizes = [...groups.values()].map((group) => group.size);
  return {
    smallest: sizes.reduce((least, size) => Math.min(least, size), Number.POSITIVE_INFINITY),
    alone: sizes.filter((size) => size < SMALL).reduce((sum, size) => sum + size, 0),
    patients: sizes.reduce((sum, size) => sum + size, 0),
  };
}

import type { Assessments } from '../assessments/assessments.js';
import { refuse } from '../shared/input-error.js';
import type { PatientReadings } from './clustered-proportion-chart.js';

/**
 * The readings of each patient in each period, how many there are and how many reach a grade: what `clusteredProportionChart` takes.
 * Rows without a value do not count; periods run from the first to the last that occurs.
 *
 * @throws InputError `one-scale-needed` (the readings are on several scales, or measured), `unknown-category`, `no-periods`.
 */
export function patientReadings(
  assessments: Assessments,
  options: { readonly sign: string; readonly atLeast: string; readonly unit?: string },
): { readonly rows: readonly PatientReadings[]; readonly periods: readonly number[] } {
  const { sign, unit } = options;
  const readings = assessments.where({ sign, ...(unit === undefined ? {} : { unit }) });
  const [scale, ...others] = readings.scales;
  if (scale?.categories === undefined || others.length > 0)
    throw refuse(
      'one-scale-needed',
      ['assessments'],
      'The readings are not grades of one scale.',
      'choose one with assessments.where({ scale: … }).',
    );
  const from = scale.categories.findIndex(({ value }) => value === options.atLeast);
  if (from < 0)
    throw refuse(
      'unknown-category',
      ['options', 'atLeast'],
      `The scale ${scale.id} has no grade "${options.atLeast}".`,
      `choose one of ${scale.categories.map(({ value }) => value).join(', ')}.`,
    );
  const known = [...readings.period].filter((period) => !Number.isNaN(period));
  if (known.length === 0)
    throw refuse(
      'no-periods',
      ['assessments'],
      'No period is recorded.',
      'give the unit’s numbered periods in the column period.',
    );
  const first = known.reduce((least, period) => Math.min(least, period));
  const last = known.reduce((most, period) => Math.max(most, period));
  const cells = new Map<string, { period: number; patient: number; count: number; readings: number }>();
  for (let row = 0; row < readings.length; row++) {
    const category = readings.category[row]!;
    const period = readings.period[row]!;
    if (category < 0 || Number.isNaN(period) || readings.reference[row] === 1) continue;
    const patient = readings.patient.codes[row]!;
    const key = `${period}/${patient}`;
    const cell = cells.get(key) ?? { period: period - first, patient, count: 0, readings: 0 };
    cell.readings++;
    if (category >= from) cell.count++;
    cells.set(key, cell);
  }
  return { rows: [...cells.values()], periods: Array.from({ length: last - first + 1 }, (_, at) => first + at) };
}

import { InputError, type Problem } from '../shared/input-error.js';
import { caution, information } from '../shared/note.js';
import { type BaselineOptions, baselineOf, type ControlChart, controlChartOf } from './control-chart.js';

/** The readings of one patient in one period. */
export interface PatientReadings {
  /** Index of the period, from 0. */
  readonly period: number;
  readonly patient: string | number;
  /** Readings with the finding. */
  readonly count: number;
  readonly readings: number;
}

/** Patients in the baseline below which the variance between them is mostly noise (common practice, no source). */
const FEW_PATIENTS = 30;

/**
 * Control chart of a share of readings where patients are read several times: limits from the variance between patients.
 *
 * Center p̄ = Σx/Σn over the baseline, x of n readings of a patient in a period. The readings of a patient resemble each other, so the
 * binomial variance is multiplied by the design effect D = Σ (x − p̄n)² / (p̄(1 − p̄) Σn), summed over patients within baseline periods; limits
 * p̄ ± 3 √(D p̄(1 − p̄)/nᵢ), drawn in to 0 … 1. With one reading a patient D is 1 but for the finite baseline.
 *
 * Where each patient can be counted once (the worst reading in the period), count so and use `proportionChart`; this chart is for shares of readings.
 * Patients who stay over several periods make these resemble each other, which no limit repairs.
 * Undefined: limits are `NaN` where the baseline holds no reading, or only one outcome. Missing values: a period without readings has no point.
 *
 * @param rows one a patient and period. @param periods how many periods the series has.
 * @throws InputError `bad-count`, `bad-size`, `count-above-size`, `bad-period`, `patient-twice`, `bad-option`.
 * @example clusteredProportionChart([{ period: 0, patient: 1, count: 2, readings: 4 }, { period: 0, patient: 2, count: 0, readings: 4 }], 1).details.center // 0.25
 * Source: Donner A, Klar N. Design and Analysis of Cluster Randomization Trials, 2000 (variance of a proportion over clusters; from memory).
 */
export function clusteredProportionChart(
  rows: readonly PatientReadings[],
  periods: number,
  options: BaselineOptions = {},
): ControlChart {
  check(rows, periods);
  const baseline = baselineOf(periods, options);
  const inBaseline = new Set(baseline.at);
  const based = rows.filter(({ period }) => inBaseline.has(period));
  const size = based.reduce((sum, { readings }) => sum + readings, 0);
  const center = based.reduce((sum, { count }) => sum + count, 0) / size;
  const designEffect =
    based.reduce((sum, { count, readings }) => sum + (count - center * readings) ** 2, 0) /
    (center * (1 - center) * size);
  const totals = Array.from({ length: periods }, () => ({ count: 0, readings: 0 }));
  for (const { period, count, readings } of rows) {
    totals[period]!.count += count;
    totals[period]!.readings += readings;
  }
  const points = totals.map(({ count, readings }) => {
    const reach = 3 * Math.sqrt((designEffect * center * (1 - center)) / readings);
    return readings === 0
      ? { value: null, center, lower: Number.NaN, upper: Number.NaN }
      : { value: count / readings, center, lower: Math.max(0, center - reach), upper: Math.min(1, center + reach) };
  });
  const patients = new Set(based.map(({ patient }) => patient)).size;
  return controlChartOf(
    'p chart, limits from the variance between patients',
    points,
    baseline,
    { center, designEffect },
    [
      information(
        'readings-resemble',
        `A patient’s readings resemble each other: ${size} readings of ${patients} patients tell as much as ${Math.round(size / designEffect)} of different patients would.`,
      ),
      ...(patients < FEW_PATIENTS
        ? [caution('few-patients', `${patients} patients in the baseline are few: the limits are mostly noise.`)]
        : []),
    ],
  );
}

function check(rows: readonly PatientReadings[], periods: number): void {
  const problems: Problem[] = [];
  const seen = new Set<string>();
  rows.forEach(({ period, patient, count, readings }, at) => {
    const add = (code: string, message: string, expected: string): void => {
      problems.push({ code, path: ['rows', at], message, expected });
    };
    if (!Number.isInteger(period) || period < 0 || period >= periods)
      add('bad-period', 'The period does not lie within the series.', `a whole number from 0 to ${periods - 1}`);
    if (!Number.isInteger(readings) || readings < 1) add('bad-size', `There are ${readings} readings.`, 'at least 1');
    if (!Number.isInteger(count) || count < 0) add('bad-count', `The count is ${count}.`, 'a whole number, 0 or more');
    if (count > readings)
      add('count-above-size', `${count} of ${readings} readings have the finding.`, 'at most all of them');
    const key = `${period}/${typeof patient}/${patient}`;
    if (seen.has(key))
      add('patient-twice', 'The patient has a row in this period already.', 'one row a patient and period');
    seen.add(key);
  });
  if (problems.length > 0) throw new InputError(problems);
}

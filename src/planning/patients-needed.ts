import { information, type Note } from '../shared/note.js';
import { formatCount, formatNumber } from '../shared/table.js';
import { checkPlanning, type SampleSize } from './sample-size.js';

export interface PatientsNeededOptions {
  /** Findings of the sign on each patient: limbs × sites. */
  readonly findingsPerPatient: number;
  /** How alike the agreement on two findings of one patient is: correlation of their contributions to the coefficient, 0 to 1. Default 0.3 (a guess; none is published). */
  readonly correlation?: number;
  /** Share of findings that will not be read by both. Default 0.05. */
  readonly gaps?: number;
  /** Share of patients who will not come. Default 0.1. */
  readonly absent?: number;
}

/** How many patients give the findings that a formula asks for. */
export class PatientsNeeded {
  readonly kind = 'patients-needed';

  constructor(
    /** Patients who have to come. */
    readonly patients: number,
    /** Patients to invite, since some will not come. */
    readonly invited: number,
    /** How many times as many findings as on patients with one each. */
    readonly designEffect: number,
    readonly size: SampleSize,
    readonly options: Required<PatientsNeededOptions>,
    readonly notes: readonly Note[],
  ) {
    Object.freeze(this);
  }

  toString(): string {
    return `${formatCount(this.patients)} patients (invite ${formatCount(this.invited)}): ${formatCount(this.size.findings)} independent findings ${this.size.purpose}, ${this.options.findingsPerPatient} findings a patient, design effect ${formatNumber(this.designEffect)} (${this.size.method}).`;
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

/**
 * Patients needed when each has several findings, which are not as good as findings on that many patients.
 *
 * patients = ⌈n·D / (m(1 − g))⌉, D = 1 + (m − 1)ρ the design effect, n the independent findings of the formula, m the findings of a patient, ρ their
 * correlation, g the share of gaps; invited = ⌈patients / (1 − share absent)⌉.
 *
 * A guessed correlation gives a guessed number: `precisionByPeople` simulates the clustering instead.
 *
 * @throws InputError `bad-option`: every option that does not fit.
 * @example patientsNeeded(kappaSampleSize({ expected: 0.7, ruledOut: 0.4, rates: [0.5, 0.5] }), { findingsPerPatient: 4 }).patients // 32
 * Source: Donner A, Birkett N, Buck C. Am J Epidemiol 1981;114:906–914, doi:10.1093/oxfordjournals.aje.a113261 (design effect; from memory).
 */
export function patientsNeeded(size: SampleSize, options: PatientsNeededOptions): PatientsNeeded {
  const { findingsPerPatient } = options;
  const correlation = options.correlation ?? 0.3;
  const gaps = options.gaps ?? 0.05;
  const absent = options.absent ?? 0.1;
  checkPlanning([
    [
      'findingsPerPatient',
      findingsPerPatient,
      Number.isInteger(findingsPerPatient) && findingsPerPatient >= 1,
      'a whole number, at least 1',
    ],
    ['correlation', correlation, correlation >= 0 && correlation <= 1, 'a number from 0 to 1'],
    ['gaps', gaps, gaps >= 0 && gaps < 1, 'at least 0, less than 1'],
    ['absent', absent, absent >= 0 && absent < 1, 'at least 0, less than 1'],
  ]);
  const designEffect = 1 + (findingsPerPatient - 1) * correlation;
  const patients = Math.ceil((size.findings * designEffect) / (findingsPerPatient * (1 - gaps)) - 1e-9);
  return new PatientsNeeded(
    patients,
    Math.ceil(patients / (1 - absent) - 1e-9),
    designEffect,
    size,
    { findingsPerPatient, correlation, gaps, absent },
    [
      information(
        'assumed-correlation',
        `Assumes that findings of one patient are correlated by ${formatNumber(correlation)}, that ${formatNumber(100 * gaps, 0)} % of findings are not read by all and that ${formatNumber(100 * absent, 0)} % of patients do not come.`,
      ),
    ],
  );
}

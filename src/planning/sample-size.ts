import { InputError, type Problem } from '../shared/input-error.js';
import type { Note } from '../shared/note.js';
import { formatCount } from '../shared/table.js';

/** What a sample size is meant to show: a value above a lowest acceptable one, with a given power. */
export interface TestedSampleSize {
  /** The value that is expected. */
  readonly expected: number;
  /** The value that has to be ruled out. */
  readonly ruledOut: number;
  /** Chance of a false positive. Default 0.05. */
  readonly significance?: number;
  /** Chance to find what is expected. Default 0.8. */
  readonly power?: number;
  /** Default 2. */
  readonly sides?: 1 | 2;
}

export interface SampleSizeFields {
  /** What the size is for, as a clause: "to tell kappa 0.70 from 0.40". */
  readonly purpose: string;
  /** Findings (the same sign on the same limb at the same time) before rounding up. */
  readonly exact: number;
  readonly method: string;
  readonly options: Readonly<Record<string, unknown>>;
  readonly details?: Readonly<Record<string, number>>;
  readonly notes?: readonly Note[];
}

/** How many independent findings a study needs, for what, and by which formula. */
export class SampleSize {
  readonly kind = 'sample-size';
  readonly purpose: string;
  readonly exact: number;
  /** Findings, each on another patient; `patientsNeeded` says how many patients with several findings each. */
  readonly findings: number;
  readonly method: string;
  readonly options: Readonly<Record<string, unknown>>;
  readonly details: Readonly<Record<string, number>>;
  readonly notes: readonly Note[];

  constructor(fields: SampleSizeFields) {
    this.purpose = fields.purpose;
    this.exact = fields.exact;
    // A formula that ends on a whole number must not be pushed above it by its last binary digit.
    this.findings = Math.ceil(fields.exact - 1e-9);
    this.method = fields.method;
    this.options = Object.freeze(fields.options);
    this.details = Object.freeze(fields.details ?? {});
    this.notes = Object.freeze(fields.notes ?? []);
    Object.freeze(this);
  }

  toString(): string {
    const notes = this.notes.map((note) => ` [${note.message}]`).join('');
    return `${formatCount(this.findings)} findings, each on another patient, ${this.purpose} (${this.method})${notes}`;
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

/** What a planning option must be, by its name; `undefined` where the value will do. */
export type PlanningCheck = readonly [name: string, value: number | string, fits: boolean, expected: string];

/** Throws one `InputError` `bad-option` with every option that does not fit. */
export function checkPlanning(checks: readonly PlanningCheck[]): void {
  const problems: Problem[] = checks
    .filter(([, , fits]) => !fits)
    .map(([name, value, , expected]) => ({
      code: 'bad-option',
      path: ['options', name],
      message: `${name} is ${value}.`,
      expected,
    }));
  if (problems.length > 0) throw new InputError(problems);
}

export const FRACTION = 'a number between 0 and 1, ends not included';

export function isFraction(value: number): boolean {
  return value > 0 && value < 1;
}

/** The checked parts that every size with a power shares. */
export function testedParts(options: TestedSampleSize): {
  readonly significance: number;
  readonly power: number;
  readonly sides: 1 | 2;
  readonly checks: readonly PlanningCheck[];
} {
  const significance = options.significance ?? 0.05;
  const power = options.power ?? 0.8;
  const sides = options.sides ?? 2;
  return {
    significance,
    power,
    sides,
    checks: [
      ['significance', significance, isFraction(significance), FRACTION],
      ['power', power, power > significance / sides && power < 1, 'more than the significance, less than 1'],
      ['sides', sides, sides === 1 || sides === 2, '1 or 2'],
      ['expected', options.expected, options.expected > -1 && options.expected < 1, 'a number between −1 and 1'],
      ['ruledOut', options.ruledOut, options.ruledOut > -1 && options.ruledOut < 1, 'a number between −1 and 1'],
      ['ruledOut', options.ruledOut, options.ruledOut !== options.expected, 'another value than expected'],
    ],
  };
}

import type { Counts, Interval } from './estimate.js';
import type { Note } from './note.js';
import { formatNumber } from './table.js';

export interface TestResultFields {
  readonly test: string;
  /** What is compared, as a size with its interval: a p-value never stands alone. */
  readonly effect: { readonly name: string; readonly value: number; readonly interval: Interval };
  readonly statistic: { readonly name: string; readonly value: number };
  readonly degreesOfFreedom: number;
  readonly pValue: number;
  readonly counts: Counts;
  readonly options: Readonly<Record<string, unknown>>;
  readonly details?: Readonly<Record<string, number>>;
  readonly notes?: readonly Note[];
}

/** The result of a test: the effect with its interval first, then statistic, degrees of freedom and p. */
export class TestResult {
  readonly kind = 'test';
  readonly test: string;
  readonly effect: TestResultFields['effect'];
  readonly statistic: TestResultFields['statistic'];
  readonly degreesOfFreedom: number;
  readonly pValue: number;
  readonly counts: Counts;
  readonly options: Readonly<Record<string, unknown>>;
  readonly details: Readonly<Record<string, number>>;
  readonly notes: readonly Note[];

  constructor(fields: TestResultFields) {
    this.test = fields.test;
    this.effect = Object.freeze(fields.effect);
    this.statistic = Object.freeze(fields.statistic);
    this.degreesOfFreedom = fields.degreesOfFreedom;
    this.pValue = fields.pValue;
    this.counts = Object.freeze(fields.counts);
    this.options = Object.freeze(fields.options);
    this.details = Object.freeze(fields.details ?? {});
    this.notes = Object.freeze(fields.notes ?? []);
    Object.freeze(this);
  }

  toString(): string {
    const { name, value, interval } = this.effect;
    const notes = this.notes.map((note) => ` [${note.message}]`).join('');
    return (
      `${this.test}: ${name} ${formatNumber(value)}, ${formatNumber(100 * interval.level, 0)} % interval ` +
      `${formatNumber(interval.lower)} to ${formatNumber(interval.upper)}; ${this.statistic.name} ` +
      `${formatNumber(this.statistic.value)}, p ${this.pValue < 0.001 ? 'below 0.001' : formatNumber(this.pValue, 3)}${notes}`
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

import type { Note } from './note.js';
import { formatCount, formatNumber } from './table.js';

/** An interval with its coverage and the method that made it. Limits are `NaN` when undefined. */
export interface Interval {
  readonly lower: number;
  readonly upper: number;
  readonly level: number;
  readonly method: string;
}

/**
 * What a result rests on. `targets` are the findings that entered, `clusters` the patients,
 * `ratings` the single readings used, `excluded` the targets that could not enter (why is in the notes).
 */
export interface Counts {
  readonly targets: number;
  readonly clusters: number;
  readonly assessors: number;
  readonly ratings: number;
  readonly excluded: number;
}

export interface EstimateFields {
  readonly statistic: string;
  readonly value: number;
  readonly standardError: number;
  readonly interval: Interval;
  readonly counts: Counts;
  /** What was asked for, defaults filled in. */
  readonly options: Readonly<Record<string, unknown>>;
  /** Figures that travel with the estimate, by their full names (for kappa: observed and expected agreement, prevalence, …). */
  readonly details?: Readonly<Record<string, number>>;
  readonly notes?: readonly Note[];
}

/** One row of a results file: an estimate without its structure. */
export type EstimateRow = Readonly<{
  statistic: string;
  value: number;
  standardError: number;
  lower: number;
  upper: number;
  level: number;
  method: string;
  targets: number;
  clusters: number;
  assessors: number;
  ratings: number;
  excluded: number;
  notes: string;
}>;

/**
 * One number and everything needed to defend it: interval, counts, method, options and notes.
 * A value that is not defined is `NaN` with a note that says why, never 0 or 1.
 */
export class Estimate {
  readonly kind = 'estimate';
  readonly statistic: string;
  readonly value: number;
  readonly standardError: number;
  readonly interval: Interval;
  readonly counts: Counts;
  readonly options: Readonly<Record<string, unknown>>;
  readonly details: Readonly<Record<string, number>>;
  readonly notes: readonly Note[];

  constructor(fields: EstimateFields) {
    this.statistic = fields.statistic;
    this.value = fields.value;
    this.standardError = fields.standardError;
    this.interval = Object.freeze(fields.interval);
    this.counts = Object.freeze(fields.counts);
    this.options = Object.freeze(fields.options);
    this.details = Object.freeze(fields.details ?? {});
    this.notes = Object.freeze(fields.notes ?? []);
    Object.freeze(this);
  }

  toRow(): EstimateRow {
    return {
      statistic: this.statistic,
      value: this.value,
      standardError: this.standardError,
      lower: this.interval.lower,
      upper: this.interval.upper,
      level: this.interval.level,
      method: this.interval.method,
      ...this.counts,
      notes: this.notes.map((note) => note.message).join(' '),
    };
  }

  /** One line: value, interval, counts, method, and the notes in brackets. */
  toString(): string {
    const { lower, upper, level, method } = this.interval;
    const interval =
      Number.isNaN(lower) && Number.isNaN(upper)
        ? 'interval not defined'
        : `${formatNumber(100 * level, 0)} % interval ${formatNumber(lower)} to ${formatNumber(upper)}`;
    const { targets, clusters, assessors } = this.counts;
    const counts = [
      `${formatCount(targets)} targets`,
      `${formatCount(clusters)} patients`,
      ...(assessors > 0 ? [`${formatCount(assessors)} assessors`] : []),
    ].join(', ');
    const notes = this.notes.map((note) => ` [${note.message}]`).join('');
    return `${this.statistic} ${formatNumber(this.value)}, ${interval} (${method}; ${counts})${notes}`;
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.toString();
  }
}

import { InputError, type Problem } from '../shared/input-error.js';
import type { ChainData } from './forward-backward.js';

/**
 * What was written about subjects over time, one row a reading, as columns of equal length, in any order.
 * Rows of one subject with the same time are one visit.
 */
export interface SerialReadings {
  /** Any whole number that tells subjects apart. */
  readonly subject: ArrayLike<number>;
  readonly time: ArrayLike<number>;
  /** The category written: 0 … categories − 1, or a code listed in `censored`. */
  readonly category: ArrayLike<number>;
  /** Who read: 0 … readers − 1. Left out: one reader. */
  readonly reader?: ArrayLike<number>;
  /** 1 where the category is the true state (a reference reading), 0 elsewhere. Left out: 0 everywhere. */
  readonly certain?: ArrayLike<number>;
  /** Numbers that change intensities, by name; each holds from its visit to the next. */
  readonly covariates?: Readonly<Record<string, ArrayLike<number>>>;
}

/** A code that says only that the state is one of several, such as "alive, not examined". */
export interface CensoredCode {
  readonly code: number;
  readonly states: readonly number[];
}

/** What the categories mean to the chain. */
export interface CategoryMeaning {
  readonly states: number;
  readonly categories: number;
  readonly readers: number;
  /** The states that a category is known to be when it is written without error. */
  readonly statesOf: (category: number) => readonly number[];
  /** Category and state of an absorbing end whose time is known exactly. */
  readonly exactEnd?: { readonly category: number; readonly state: number };
  readonly censored: readonly CensoredCode[];
}

/** One distinct thing that was read at a visit. */
export type Signature =
  | {
      readonly kind: 'readings';
      /** reader · categories + category of each fallible reading. */
      readonly cells: readonly number[];
      /** States that infallible readings leave possible, or `undefined` for all. */
      readonly possible: readonly number[] | undefined;
    }
  | { readonly kind: 'end'; readonly pattern: number };

export interface CompiledReadings {
  readonly chain: ChainData;
  readonly signatures: readonly Signature[];
  /** Time and covariate pattern of each distinct step. */
  readonly stepTimes: Float64Array;
  readonly stepPatterns: Int32Array;
  /** Distinct combinations of covariate values, in the order of `covariateNames`. */
  readonly patterns: readonly (readonly number[])[];
  readonly covariateNames: readonly string[];
  /** The subject code of each subject, in the order of `chain`. */
  readonly subjects: Float64Array;
  /** Row of the first reading of each visit. */
  readonly visitRows: Int32Array;
  readonly readings: number;
}

/** Sorts readings into visits and finds what is distinct; throws `InputError` with every row that cannot be used. */
export function compileReadings(data: SerialReadings, meaning: CategoryMeaning): CompiledReadings {
  const rows = data.subject.length;
  const problems: Problem[] = [];
  const covariates = Object.entries(data.covariates ?? {});
  const columns: [string, ArrayLike<number> | undefined][] = [
    ['time', data.time],
    ['category', data.category],
    ['reader', data.reader],
    ['certain', data.certain],
    ...covariates.map(([name, column]): [string, ArrayLike<number>] => [`covariates.${name}`, column]),
  ];
  for (const [name, column] of columns) {
    if (column !== undefined && column.length !== rows)
      problems.push({
        code: 'unequal-columns',
        path: [name],
        message: `${name} has ${column.length} entries, but subject has ${rows}.`,
        mend: 'give every column one entry a reading.',
      });
  }
  if (rows === 0) problems.push({ code: 'no-rows', path: ['subject'], message: 'There are no readings.' });
  if (problems.length > 0) throw new InputError(problems);

  const censored = new Map(meaning.censored.map(({ code, states }) => [code, states]));
  for (let row = 0; row < rows; row++) {
    const bad = (column: string, value: unknown, expected: string): void => {
      problems.push({ code: 'bad-value', path: [column, row], message: `${column}[${row}] is ${value}.`, expected });
    };
    const category = data.category[row] as number;
    if (!Number.isFinite(data.subject[row])) bad('subject', data.subject[row], 'a number that names the subject');
    if (!Number.isFinite(data.time[row])) bad('time', data.time[row], 'a finite time');
    if (!censored.has(category) && !(Number.isInteger(category) && category >= 0 && category < meaning.categories))
      bad(
        'category',
        category,
        `a whole number from 0 to ${meaning.categories - 1}, or a code listed in options.censored`,
      );
    if (data.reader !== undefined) {
      const reader = data.reader[row] as number;
      if (!(Number.isInteger(reader) && reader >= 0 && reader < meaning.readers))
        bad('reader', reader, `a whole number from 0 to ${meaning.readers - 1}`);
    }
    for (const [name, column] of covariates)
      if (!Number.isFinite(column[row])) bad(`covariates.${name}`, column[row], 'a finite number');
  }
  if (problems.length > 0) throw new InputError(problems);

  const order = Int32Array.from({ length: rows }, (_, row) => row);
  const comesBefore = (a: number, b: number): number =>
    (data.subject[a] as number) - (data.subject[b] as number) ||
    (data.time[a] as number) - (data.time[b] as number) ||
    a - b;
  let sorted = true;
  for (let row = 1; row < rows && sorted; row++) sorted = comesBefore(row - 1, row) < 0;
  if (!sorted) order.sort(comesBefore);

  const starts: number[] = [];
  const subjects: number[] = [];
  const visitRows: number[] = [];
  const steps: number[] = [];
  const readings: number[] = [];
  const patterns = new Distinct<readonly number[]>();
  const stepKinds = new Distinct<{ readonly time: number; readonly pattern: number }>();
  const signatures = new Distinct<Signature>();
  let lastPattern = 0;
  let lastTime = 0;
  for (let at = 0; at < rows; ) {
    const row = order[at] as number;
    const subject = data.subject[row] as number;
    const time = data.time[row] as number;
    const first = subjects.length === 0 || subjects[subjects.length - 1] !== subject;
    const values = covariates.map(([, column]) => column[row] as number);
    const pattern = patterns.indexOf(values.join(' '), () => values);
    if (first) {
      starts.push(visitRows.length);
      subjects.push(subject);
      steps.push(-1);
    } else {
      // Differences of times carry rounding; without this, equal gaps would count as different ones.
      const gap = (time - lastTime).toPrecision(12);
      const step = { time: Number(gap), pattern: lastPattern };
      steps.push(stepKinds.indexOf(`${gap} ${lastPattern}`, () => step));
    }
    const cells: number[] = [];
    let possible: number[] | undefined;
    let ended = false;
    for (; at < rows; at++) {
      const next = order[at] as number;
      if (data.subject[next] !== subject || data.time[next] !== time) break;
      const category = data.category[next] as number;
      const known =
        censored.get(category) ??
        (category === meaning.exactEnd?.category || (data.certain?.[next] ?? 0) !== 0
          ? meaning.statesOf(category)
          : undefined);
      if (category === meaning.exactEnd?.category) ended = true;
      if (known === undefined) cells.push((data.reader?.[next] ?? 0) * meaning.categories + category);
      else possible = possible === undefined ? [...known] : possible.filter((state) => known.includes(state));
    }
    if (ended) {
      const follows = at < rows && data.subject[order[at] as number] === subject;
      if (follows || cells.length > 0)
        problems.push({
          code: 'reading-after-end',
          path: ['category', row],
          message: `category[${row}] is ${meaning.exactEnd?.category}, the end, but the same subject has other readings at that time or later.`,
          mend: 'correct the order of times, or leave those readings out.',
        });
      if (first)
        problems.push({
          code: 'end-first',
          path: ['category', row],
          message: `category[${row}] is ${meaning.exactEnd?.category}, the end, at the subject's first visit.`,
          mend: 'leave the subject out: nothing was seen before the end.',
        });
      const from = first ? pattern : lastPattern;
      readings.push(signatures.indexOf(`end ${from}`, () => ({ kind: 'end', pattern: from })));
    } else {
      cells.sort((a, b) => a - b);
      possible?.sort((a, b) => a - b);
      const key = `${cells.join(' ')}|${possible?.join(' ') ?? 'all'}`;
      const signature: Signature = { kind: 'readings', cells, possible };
      readings.push(signatures.indexOf(key, () => signature));
    }
    visitRows.push(row);
    lastPattern = pattern;
    lastTime = time;
  }
  starts.push(visitRows.length);
  if (problems.length > 0) throw new InputError(problems);

  return {
    chain: {
      starts: Int32Array.from(starts),
      weights: new Float64Array(subjects.length).fill(1),
      steps: Int32Array.from(steps),
      readings: Int32Array.from(readings),
    },
    signatures: signatures.values,
    stepTimes: Float64Array.from(stepKinds.values, ({ time }) => time),
    stepPatterns: Int32Array.from(stepKinds.values, ({ pattern }) => pattern),
    patterns: patterns.values,
    covariateNames: covariates.map(([name]) => name),
    subjects: Float64Array.from(subjects),
    visitRows: Int32Array.from(visitRows),
    readings: rows,
  };
}

/** The distinct values met so far, numbered in the order of meeting. */
class Distinct<T> {
  readonly values: T[] = [];
  readonly #index = new Map<string, number>();

  indexOf(key: string, make: () => T): number {
    const known = this.#index.get(key);
    if (known !== undefined) return known;
    this.#index.set(key, this.values.length);
    this.values.push(make());
    return this.values.length - 1;
  }
}

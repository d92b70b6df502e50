import { InputError, type Problem } from './input-error.js';

/** How an interval is made. See `src/agreement/interval.ts` for what each one assumes. */
export type IntervalMethod = 'bootstrap' | 'cluster-robust' | 'asymptotic';

/** Options that every statistic with an interval takes. */
export interface IntervalOptions {
  /** Coverage asked for, a fraction between 0 and 1. Default 0.95. */
  readonly confidenceLevel?: number;
  /** Default: `'bootstrap'` where patients are known, else `'asymptotic'`. */
  readonly interval?: IntervalMethod;
  /** Bootstrap replicates. Default 2000. */
  readonly replicates?: number;
  /** Seed of the bootstrap, a whole number. Default 20260301. The same seed gives the same digits. */
  readonly seed?: number;
}

/** Options of long work: how it reports and how it is stopped. */
export interface LongWorkOptions {
  /** Stops the work at its next pause; what is done by then is kept. */
  readonly signal?: AbortSignal;
  /** Called with the share done (0 to 1) and a few words. */
  readonly progress?: (share: number, words: string) => void;
}

export const DEFAULT_CONFIDENCE_LEVEL = 0.95;
const DEFAULT_REPLICATES = 2000;
export const DEFAULT_SEED = 20260301;

export interface CheckedIntervalOptions {
  readonly confidenceLevel: number;
  readonly interval: IntervalMethod | undefined;
  readonly replicates: number;
  readonly seed: number;
}

const INTERVAL_METHODS: readonly IntervalMethod[] = ['bootstrap', 'cluster-robust', 'asymptotic'];

/** The shared options with their defaults; throws `InputError` with every option that is out of range. */
export function checkIntervalOptions(options: IntervalOptions): CheckedIntervalOptions {
  const problems: Problem[] = [];
  const confidenceLevel = options.confidenceLevel ?? DEFAULT_CONFIDENCE_LEVEL;
  const replicates = options.replicates ?? DEFAULT_REPLICATES;
  const seed = options.seed ?? DEFAULT_SEED;
  if (!(confidenceLevel > 0 && confidenceLevel < 1))
    problems.push(badOption('confidenceLevel', `is ${confidenceLevel}`, 'a fraction between 0 and 1, such as 0.95'));
  if (options.interval !== undefined && !INTERVAL_METHODS.includes(options.interval))
    problems.push(badOption('interval', `is "${options.interval}"`, `one of ${INTERVAL_METHODS.join(', ')}`));
  if (!Number.isInteger(replicates) || replicates < 200 || replicates > 1_000_000)
    problems.push(badOption('replicates', `is ${replicates}`, 'a whole number from 200 to 1,000,000'));
  if (!Number.isSafeInteger(seed)) problems.push(badOption('seed', `is ${seed}`, 'a whole number'));
  if (problems.length > 0) throw new InputError(problems);
  return { confidenceLevel, interval: options.interval, replicates, seed };
}

/** One of the allowed words, or an `InputError` that prints them ("You wrote 'square'; choose one of …"). */
export function checkChoice<T extends string>(name: string, value: unknown, allowed: readonly T[]): T {
  if (typeof value === 'string' && (allowed as readonly string[]).includes(value)) return value as T;
  throw new InputError([
    {
      code: 'unknown-choice',
      path: ['options', name],
      message: `You wrote ${JSON.stringify(value)} for ${name}; choose one of ${allowed.join(', ')}.`,
    },
  ]);
}

function badOption(name: string, what: string, expected: string): Problem {
  return { code: 'bad-option', path: ['options', name], message: `${name} ${what}.`, expected };
}

import { refuse } from '../shared/input-error.js';

/** How much a period resembles the one before it. */
export interface Autocorrelation {
  readonly kind: 'autocorrelation';
  readonly lag: number;
  readonly value: number;
  /** Beyond this a series in random order comes in about 1 of 40 on each side: 1.96/√n. */
  readonly limit: number;
  /** Whether the value lies above the limit. */
  readonly resemble: boolean;
  readonly points: number;
}

/** What is said where neighboring periods resemble each other, and from how many points on it is looked for. */
export const RESEMBLANCE = {
  fewest: 12,
  words:
    'Neighboring periods resemble each other more than chance explains. That may be a lasting shift, long stays that count in several periods, or slow drift; the rules then signal more often by chance than stated.',
} as const;

/**
 * Autocorrelation of a series: does a period resemble the one before it?
 *
 * r = Σ (xₜ − x̄)(xₜ₊ₖ − x̄) / Σ (xₜ − x̄)², k the lag, x̄ the mean of the n points. The rules of a run chart take the points as independent; at
 * r = 0.4 they signal by chance on about one chart in four.
 *
 * Undefined (`NaN`): where all points are equal or fewer than lag + 2 are there. Missing values: `null` breaks the chain; pairs over a gap do not enter.
 *
 * @param values one figure a period, in order of time.
 * @throws InputError `bad-value`, `bad-option` (lag no whole number above 0).
 * @example autocorrelation([1, 2, 3, 4, 5, 6, 7, 8]).value // 0.625
 * Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.3.1 (autocorrelation plot) and 1.3.5.12.
 */
export function autocorrelation(
  values: readonly (number | null)[],
  options: { readonly lag?: number } = {},
): Autocorrelation {
  const lag = options.lag ?? 1;
  if (!Number.isInteger(lag) || lag < 1)
    throw refuse('bad-option', ['options', 'lag'], `lag is ${lag}.`, 'give a whole number of periods from 1.');
  values.forEach((value, at) => {
    if (value !== null && !Number.isFinite(value))
      throw refuse(
        'bad-value',
        ['values', at],
        `A figure is ${value}.`,
        'give a number, or null for a period without one.',
      );
  });
  const known = values.filter((value) => value !== null);
  // Off the first, so that values far from 0 keep their digits.
  const first = known[0] ?? 0;
  const mean = known.reduce((sum, value) => sum + (value - first), 0) / known.length;
  const spread = known.reduce((sum, value) => sum + (value - first - mean) ** 2, 0);
  let together = 0;
  for (let at = 0; at + lag < values.length; at++) {
    const [now, later] = [values[at]!, values[at + lag]!];
    if (now !== null && later !== null) together += (now - first - mean) * (later - first - mean);
  }
  const value = known.length < lag + 2 || spread === 0 ? Number.NaN : together / spread;
  const limit = 1.96 / Math.sqrt(known.length);
  return { kind: 'autocorrelation', lag, value, limit, resemble: value > limit, points: known.length };
}

import { studentT } from '../shared/distributions.js';
import type { Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';

export interface SuperiorityOptions {
  /** The patient of each value, where one gives several: `[of the first group, of the second]`. A patient may be in both (before and after). */
  readonly patients?: readonly [readonly (string | number)[], readonly (string | number)[]];
  readonly confidenceLevel?: number;
}

/** How often a value of the first group lies above one of the second. */
export interface Superiority {
  readonly kind: 'superiority';
  /** P(X > Y) + ½ P(X = Y). */
  readonly probability: number;
  /** Cliff's delta: P(X > Y) − P(X < Y). */
  readonly delta: number;
  readonly standardError: number;
  /** Interval of delta; that of the probability is (1 + delta)/2 of its ends. */
  readonly interval: Interval;
  readonly counts: { readonly first: number; readonly second: number; readonly patients: number };
  readonly notes: readonly Note[];
}

/**
 * Probability of superiority and Cliff's delta of two groups of ordered values: the difference in words that need no average of grades.
 *
 * δ = (#(x > y) − #(x < y)) / (mn). Variance of independent values: the unbiased form with floor (1 − δ²)/(mn − 1); interval δ(1 − δ²) ± t √… with its asymmetric form and t on m + n − 2
 * degrees of freedom. With patients: delete-one-patient jackknife on artanh δ, t on patients − 1.
 *
 * Undefined: with complete separation nothing varies; the interval is `NaN` and a note gives the exact chance of separation.
 *
 * @throws InputError `empty-group`, `bad-length`.
 * @example superiority([3, 4, 4], [2, 3, 4]).probability // 0.7222
 * Source: Cliff N. Psychol Bull 1993;114:494–509, doi:10.1037/0033-2909.114.3.494.
 */
export function superiority(
  first: readonly number[],
  second: readonly number[],
  options: SuperiorityOptions = {},
): Superiority {
  const [m, n] = [first.length, second.length];
  if (m === 0 || n === 0) throw refuse('empty-group', [m === 0 ? 'first' : 'second'], 'A group has no values.');
  const { patients } = options;
  if (patients !== undefined && (patients[0].length !== m || patients[1].length !== n))
    throw refuse(
      'bad-length',
      ['options', 'patients'],
      'There is not one patient for each value.',
      'give two lists as long as the groups.',
    );
  const level = options.confidenceLevel ?? 0.95;
  const delta = deltaOf(first, second);
  const clusters = patients === undefined ? m + n : new Set([...patients[0], ...patients[1]]).size;
  const clustered = patients !== undefined && clusters < m + n;
  const counts = { first: m, second: n, patients: clusters };
  const shared = { kind: 'superiority', probability: (1 + delta) / 2, delta, counts } as const;
  if (Math.abs(delta) === 1) {
    const ways = choose(m + n, m);
    return {
      ...shared,
      standardError: 0,
      interval: { lower: Number.NaN, upper: Number.NaN, level, method: 'not defined' },
      notes: [
        caution(
          'complete-separation',
          `The groups do not overlap, so no interval can be made; were all orders equally likely, two-sided p would be ${(2 / ways).toPrecision(2)}.`,
        ),
      ],
    };
  }
  if (clustered) {
    const { standardError, interval } = jackknifed(first, second, patients!, delta, level, clusters);
    return {
      ...shared,
      standardError,
      interval,
      notes: [information('patients-as-units', 'Several values belong to one patient; the interval counts patients.')],
    };
  }
  const variance = unbiasedVariance(first, second, delta);
  const t = studentT.quantile(1 - (1 - level) / 2, m + n - 2);
  const root = t * Math.sqrt(variance) * Math.sqrt((1 - delta * delta) ** 2 + t * t * variance);
  const scale = 1 - delta * delta + t * t * variance;
  return {
    ...shared,
    standardError: Math.sqrt(variance),
    interval: {
      lower: (delta - delta ** 3 - root) / scale,
      upper: (delta - delta ** 3 + root) / scale,
      level,
      method: `asymmetric (Cliff 1993), t with ${m + n - 2} degrees of freedom`,
    },
    notes: [],
  };
}

function deltaOf(first: readonly number[], second: readonly number[]): number {
  let score = 0;
  for (const x of first) for (const y of second) score += Math.sign(x - y);
  return score / (first.length * second.length);
}

function unbiasedVariance(first: readonly number[], second: readonly number[], delta: number): number {
  const [m, n] = [first.length, second.length];
  const rows = first.map((x) => second.reduce((sum, y) => sum + Math.sign(x - y), 0) / n);
  const columns = second.map((y) => first.reduce((sum, x) => sum + Math.sign(x - y), 0) / m);
  const squares = (values: readonly number[]): number => values.reduce((sum, value) => sum + (value - delta) ** 2, 0);
  let cells = 0;
  for (const x of first) for (const y of second) cells += (Math.sign(x - y) - delta) ** 2;
  const variance = (n * n * squares(rows) + m * m * squares(columns) - cells) / (m * n * (m - 1) * (n - 1));
  return Math.max(variance, (1 - delta * delta) / (m * n - 1));
}

function jackknifed(
  first: readonly number[],
  second: readonly number[],
  patients: NonNullable<SuperiorityOptions['patients']>,
  delta: number,
  level: number,
  clusters: number,
): { standardError: number; interval: Interval } {
  const names = [...new Set([...patients[0], ...patients[1]])];
  const without = names.map((name) =>
    deltaOf(
      first.filter((_, at) => patients[0][at] !== name),
      second.filter((_, at) => patients[1][at] !== name),
    ),
  );
  const mean = without.reduce((sum, value) => sum + value, 0) / clusters;
  const standardError = Math.sqrt(
    ((clusters - 1) / clusters) * without.reduce((sum, value) => sum + (value - mean) ** 2, 0),
  );
  const reach = (studentT.quantile(1 - (1 - level) / 2, clusters - 1) * standardError) / (1 - delta * delta);
  return {
    standardError,
    interval: {
      lower: Math.tanh(Math.atanh(delta) - reach),
      upper: Math.tanh(Math.atanh(delta) + reach),
      level,
      method: `patient jackknife, t with ${clusters - 1} degrees of freedom, Fisher scale`,
    },
  };
}

function choose(n: number, k: number): number {
  let ways = 1;
  for (let i = 0; i < k; i++) ways = (ways * (n - i)) / (i + 1);
  return ways;
}

import { beta, normal } from '../shared/distributions.js';
import { caution, type Note } from '../shared/note.js';
import { compileReadings, type SerialReadings } from './chain-data.js';
import { checkConfidenceLevel } from './intensities.js';

/** A share with exact (Clopper–Pearson) and score (Wilson) limits. */
export interface TransitionShare {
  readonly count: number;
  /** `NaN` where nothing left the row's state. */
  readonly share: number;
  readonly exact: { readonly lower: number; readonly upper: number };
  readonly score: { readonly lower: number; readonly upper: number };
}

export interface TransitionShares {
  readonly kind: 'transition-shares';
  /** cells[r][s]: consecutive readings r, then s. */
  readonly cells: readonly (readonly TransitionShare[])[];
  readonly pairs: number;
  readonly subjects: number;
  readonly confidenceLevel: number;
  readonly notes: readonly Note[];
}

/**
 * Which state was written after which, at consecutive visits, with shares of each row and their limits.
 * Share = n_rs / Σₛ n_rs; exact limits from the beta distribution, score limits (p + z²/2n ± z √(p(1−p)/n + z²/4n²)) / (1 + z²/n).
 * A row that nothing left has undefined shares (`NaN`). It mixes gaps of different length and treats a subject's pairs as independent: a
 * description, not a model. Visits with several readings enter with the first in the data's order.
 *
 * @throws InputError as `markovFit` for the readings.
 * @example
 * transitionShares({ subject: [1, 1, 1], time: [0, 1, 2], category: [0, 0, 1] }, { states: 2 }).cells[0][1].share; // 0.5
 *
 * Source: Clopper CJ, Pearson ES. Biometrika 1934;26:404–413, doi:10.1093/biomet/26.4.404; Wilson EB. J Am Stat Assoc 1927;22:209–212,
 * doi:10.1080/01621459.1927.10502953.
 */
export function transitionShares(
  data: SerialReadings,
  options: { readonly states: number; readonly confidenceLevel?: number },
): TransitionShares {
  const { states } = options;
  const level = checkConfidenceLevel(options.confidenceLevel);
  const compiled = compileReadings(data, {
    states,
    categories: states,
    readers: Number.MAX_SAFE_INTEGER,
    statesOf: (category) => [category],
    censored: [],
  });
  const counts = Array.from({ length: states }, () => new Array<number>(states).fill(0));
  let pairs = 0;
  let unequal = false;
  let lastGap: number | undefined;
  compiled.chain.steps.forEach((step, visit) => {
    if (step < 0) return;
    const gap = compiled.stepTimes[step] as number;
    if (lastGap !== undefined && gap !== lastGap) unequal = true;
    lastGap = gap;
    const from = data.category[compiled.visitRows[visit - 1] as number] as number;
    const to = data.category[compiled.visitRows[visit] as number] as number;
    const row = counts[from] as number[];
    row[to] = (row[to] as number) + 1;
    pairs++;
  });
  const z = normal.quantile(0.5 + level / 2);
  const tail = (1 - level) / 2;
  return {
    kind: 'transition-shares',
    cells: counts.map((row) => {
      const n = row.reduce((sum, count) => sum + count, 0);
      return row.map((count) => ({
        count,
        share: n === 0 ? Number.NaN : count / n,
        exact: {
          lower: n === 0 ? Number.NaN : count === 0 ? 0 : beta.quantile(tail, count, n - count + 1),
          upper: n === 0 ? Number.NaN : count === n ? 1 : beta.quantile(1 - tail, count + 1, n - count),
        },
        score: scoreLimits(count, n, z),
      }));
    }),
    pairs,
    subjects: compiled.subjects.length,
    confidenceLevel: level,
    notes: [
      ...(unequal
        ? [
            caution(
              'mixed-gaps',
              'Gaps between visits differ, so these shares describe this schedule only; intensities do not depend on it.',
            ),
          ]
        : []),
      caution('pairs-not-independent', 'Pairs of one subject are counted as if they were independent.'),
    ],
  };
}

function scoreLimits(count: number, n: number, z: number): { lower: number; upper: number } {
  if (n === 0) return { lower: Number.NaN, upper: Number.NaN };
  const p = count / n;
  const center = p + (z * z) / (2 * n);
  const reach = z * Math.sqrt((p * (1 - p)) / n + (z * z) / (4 * n * n));
  const scale = 1 + (z * z) / n;
  return { lower: Math.max(0, (center - reach) / scale), upper: Math.min(1, (center + reach) / scale) };
}

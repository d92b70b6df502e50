import type { Ratings } from '../ratings/ratings.js';
import { chiSquare } from '../shared/distributions.js';
import { Estimate } from '../shared/estimate.js';
import { information } from '../shared/note.js';
import { checkIntervalOptions } from '../shared/options.js';
import { independenceNotes } from './coefficient-estimate.js';
import { oneCategory } from './one-against-others.js';
import { refuseMeasured } from './suitable-ratings.js';
import { twoAssessorsOf } from './two-assessors.js';

export interface KappaGoodnessOfFitIntervalOptions {
  readonly confidenceLevel?: number;
  /** The category to set against all others; needed when the scale has more than two. Default: the second of two. */
  readonly category?: string | number;
  /** The two assessors to compare; needed when the ratings hold more than two. */
  readonly assessors?: readonly [string, string];
}

/**
 * The intraclass kappa of two assessors on a yes-or-no reading with the goodness-of-fit interval of Donner and Eliasziw, which holds its
 * coverage in samples too small for an error of kappa.
 *
 * κ = 1 − x₁ / (2nπ(1 − π)), x₂, x₁, x₀ targets that both, one, neither read as the category, n = x₂ + x₁ + x₀, π = (2x₂ + x₁) / 2n. The interval holds all κ
 * with Σ (xᵢ − nPᵢ)² / nPᵢ ≤ χ²(1), P₂ = π² + π(1 − π)κ, P₁ = 2π(1 − π)(1 − κ), P₀ = (1 − π)² + π(1 − π)κ. This is Scott's pi, not Cohen's kappa: both
 * assessors are taken to have the same prevalence.
 *
 * Undefined (`NaN` with a note) when all readings are alike. Missing values: a target enters when both have read it; the others are counted
 * as `excluded`. Targets are taken as independent: with several a patient the interval is too narrow and a note says so.
 * `details`: prevalence π, both, one, neither.
 *
 * @throws InputError `two-assessors-needed`, `unknown-assessor`, `category-needed`, `unknown-category`, `level-not-suited`, `bad-option`.
 * @example kappaGoodnessOfFitInterval(ratingsOfTable([[45, 7], [8, 40]], { categories: ['no', 'yes'] })).interval.lower // 0.5333
 * Source: Donner A, Eliasziw M. Stat Med 1992;11:1511–1519, doi:10.1002/sim.4780111109; error: Bloch DA, Kraemer HC. Biometrics
 * 1989;45:269–287, doi:10.2307/2532052 (DOI from memory).
 */
export function kappaGoodnessOfFitInterval(
  ratings: Ratings,
  options: KappaGoodnessOfFitIntervalOptions = {},
): Estimate {
  const pair = twoAssessorsOf(ratings, options.assessors, 'kappaGoodnessOfFitInterval');
  refuseMeasured(pair, 'kappaGoodnessOfFitInterval');
  const { confidenceLevel } = checkIntervalOptions(
    options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel },
  );
  const code = oneCategory(pair, options.category, 'kappaGoodnessOfFitInterval');
  const counts: [number, number, number] = [0, 0, 0];
  const patients = new Set<number>();
  for (let target = 0; target < pair.targets; target++) {
    const first = pair.codes[2 * target]!;
    const second = pair.codes[2 * target + 1]!;
    if (first < 0 || second < 0) continue;
    counts[Number(first === code) + Number(second === code)]!++;
    patients.add(pair.clusterOf[target]!);
  }
  const [neither, one, both] = counts;
  const n = neither + one + both;
  const prevalence = (2 * both + one) / (2 * n);
  const spread = prevalence * (1 - prevalence);
  // 0/0 where all readings are alike.
  const kappa = 1 - one / (2 * n * spread);
  const limits = spread > 0 ? limitsOf(counts, kappa, confidenceLevel) : { lower: Number.NaN, upper: Number.NaN };
  return new Estimate({
    statistic: `intraclass kappa of "${pair.categories[code]!.words}"`,
    value: kappa,
    standardError: Math.sqrt(
      ((1 - kappa) * ((1 - kappa) * (1 - 2 * kappa) + (kappa * (2 - kappa)) / (2 * spread))) / n,
    ),
    interval: {
      ...limits,
      level: confidenceLevel,
      method: 'goodness of fit (Donner, Eliasziw 1992), targets taken as independent',
    },
    counts: { targets: n, clusters: patients.size, assessors: 2, ratings: 2 * n, excluded: pair.targets - n },
    options: { category: pair.categories[code]!.value, confidenceLevel },
    details: { prevalence, both, one, neither },
    notes: [
      ...(Number.isNaN(kappa)
        ? [information('not-defined', 'All readings are alike, or no target has both: kappa is not defined.')]
        : []),
      ...independenceNotes(pair, 'asymptotic', { clusters: patients.size, targets: n }),
    ],
  });
}

/** The two κ at which the goodness-of-fit statistic equals its quantile, by bisection from the estimate outwards. */
function limitsOf(
  counts: readonly [number, number, number],
  kappa: number,
  level: number,
): { lower: number; upper: number } {
  const [neither, one, both] = counts;
  const n = neither + one + both;
  const p = (2 * both + one) / (2 * n);
  const spread = p * (1 - p);
  const bound = chiSquare.quantile(level, 1);
  const misfit = (at: number): number => {
    const expected = [(1 - p) ** 2 + spread * at, 2 * spread * (1 - at), p * p + spread * at];
    return expected.reduce((sum, chance, i) => {
      const gap = counts[i]! - n * chance;
      return gap === 0 ? sum : sum + (gap * gap) / (n * Math.max(0, chance));
    }, 0);
  };
  const search = (end: number): number => {
    if (misfit(end) <= bound) return end;
    let inside = kappa;
    let outside = end;
    for (let step = 0; step < 200; step++) {
      const middle = (inside + outside) / 2;
      if (misfit(middle) <= bound) inside = middle;
      else outside = middle;
    }
    return inside;
  };
  return { lower: search(Math.max(-p / (1 - p), -(1 - p) / p)), upper: search(1) };
}

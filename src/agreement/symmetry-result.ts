import type { Ratings } from '../ratings/ratings.js';
import { chiSquare, fisherF } from '../shared/distributions.js';
import { caution, information, type Note } from '../shared/note.js';
import type { IntervalOptions } from '../shared/options.js';
import { TestResult } from '../shared/test-result.js';
import type { ClusterSums, Coefficient } from './coefficient.js';
import { independenceNotes } from './coefficient-estimate.js';
import { largestShift, shareShift, shiftEstimate } from './marginal-shift.js';
import { quadraticForm } from './quadratic-form.js';

export interface SymmetryTestOptions extends IntervalOptions {
  /** The two assessors to compare; needed when the ratings hold more than two. */
  readonly assessors?: readonly [string, string];
}

/** With fewer patients for each degree of freedom the test keeps its level but finds little (calibration of the tests). */
const PATIENTS_PER_DEGREE = 3;

/**
 * p of a chi-square statistic X of rank r. Units (targets, or patients with one each) many and single: chi-square, as published. Patients with
 * several targets: Hotelling's F of their vectors of differences, (K − r)/(rK) · W with r and K − r degrees of freedom, W = X from the
 * centered S, X/(1 − X/K) from the other; `NaN` where K ≤ r.
 */
function pValueOf(
  x: number,
  rank: number,
  patients: number,
  form: { readonly clustered: boolean; readonly centered: boolean },
): { pValue: number; f: number } {
  if (rank === 0) return { pValue: Number.NaN, f: Number.NaN };
  if (!form.clustered) return { pValue: chiSquare.upper(x, rank), f: Number.NaN };
  const wald = form.centered ? x : x < patients ? x / (1 - x / patients) : Number.POSITIVE_INFINITY;
  const f = ((patients - rank) / (rank * patients)) * wald;
  return { pValue: patients > rank ? fisherF.upper(f, rank, patients - rank) : Number.NaN, f };
}

/**
 * The result of a chi-square test on sums of differences over patients: Dᵀ S⁺ D, D the sum of the patients' vectors dₖ and
 * S = Σ dₖ dₖᵀ, or, centered, Σ (dₖ − nₖ D/n)(dₖ − nₖ D/n)ᵀ with nₖ targets of patient k. The pseudo-inverse drops what never varies;
 * the rank of S is the number of degrees of freedom.
 */
export function symmetryResult(fields: {
  readonly test: string;
  readonly pair: Ratings;
  /** Sums: the differences, then the targets of the patient. */
  readonly sums: ClusterSums;
  readonly centered: boolean;
  /** What is shown as the effect where categories have an order. */
  readonly effect: (pair: Ratings) => Coefficient;
  readonly options: IntervalOptions;
  readonly details: Readonly<Record<string, number>>;
  readonly notes: readonly Note[];
}): TestResult {
  const { pair, sums, centered } = fields;
  const order = sums.cells - 1;
  const difference = sums.totals.slice(0, order);
  const n = sums.totals[order]!;
  const spread = new Float64Array(order * order);
  const own = new Float64Array(order);
  for (let cluster = 0; cluster < sums.clusters; cluster++) {
    const at = cluster * sums.cells;
    const share = centered ? sums.perCluster[at + order]! / n : 0;
    for (let i = 0; i < order; i++) own[i] = sums.perCluster[at + i]! - share * difference[i]!;
    for (let i = 0; i < order; i++) for (let j = 0; j < order; j++) spread[i * order + j]! += own[i]! * own[j]!;
  }
  const { value, rank } = n > 0 ? quadraticForm(difference, spread) : { value: 0, rank: 0 };
  const clustered = pair.clustersKnown && sums.clusters < sums.targets;
  const { pValue, f } = pValueOf(value, rank, sums.clusters, { clustered, centered });
  const estimate = shiftEstimate(
    pair,
    pair.level === 'nominal' ? shareShift(pair, largestShift(pair)) : fields.effect(pair),
    fields.options,
  );
  return new TestResult({
    test: fields.test,
    effect: { name: estimate.statistic, value: estimate.value, interval: estimate.interval },
    statistic: { name: 'chi-square', value: rank === 0 ? Number.NaN : value },
    degreesOfFreedom: rank,
    pValue,
    counts: estimate.counts,
    options: estimate.options,
    details: clustered ? { ...fields.details, F: f, denominatorDegrees: sums.clusters - rank } : fields.details,
    notes: [
      ...fields.notes,
      ...(rank === 0
        ? [information('not-defined', 'The two never disagree, or have no target in common: there is nothing to test.')]
        : []),
      ...(rank > 0 && clustered && sums.clusters < PATIENTS_PER_DEGREE * rank
        ? [
            caution(
              'few-patients-for-test',
              `${sums.clusters} patients for ${rank} degrees of freedom: the test can find little; rest on the effect and its interval.`,
            ),
          ]
        : []),
      ...(pair.level === 'nominal'
        ? [
            information(
              'largest-shift',
              'The effect shown is the largest of the categories’ shifts, so its interval is too hopeful.',
            ),
          ]
        : []),
      ...independenceNotes(pair, 'patients', sums),
    ],
  });
}

/** A note that names categories which neither of the two used; they are dropped from a test of their margins. */
export function unusedCategoriesNote(pair: Ratings): Note[] {
  const used = new Uint8Array(pair.categories.length);
  for (let target = 0; target < pair.targets; target++) {
    const first = pair.codes[2 * target]!;
    const second = pair.codes[2 * target + 1]!;
    if (first < 0 || second < 0) continue;
    used[first] = used[second] = 1;
  }
  const unused = pair.categories.filter((_, code) => used[code] === 0);
  if (unused.length === 0) return [];
  return [
    information(
      'unused-categories',
      `Neither used ${unused.map((category) => `"${category.words}"`).join(', ')}; ${unused.length === 1 ? 'it is' : 'they are'} left out of the test.`,
    ),
  ];
}

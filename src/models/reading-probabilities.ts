import { normal } from '../shared/distributions.js';

/** How each assessor turns a position into a grade. */
export interface ReadingParameters {
  /** c₁ < … < c_{q−1}: where one grade ends and the next begins, on the position's scale. */
  readonly cuts: ArrayLike<number>;
  /** bₐ of each assessor: how far above (positive) or below the others he or she grades. */
  readonly tendencies: ArrayLike<number>;
  /** σₐ of each assessor: how far repeat readings of one position scatter. */
  readonly spreads: ArrayLike<number>;
  /** ε: the share of readings that are slips, any grade being as likely as another. */
  readonly slip: number;
}

/** Derivatives by each number of `ReadingParameters` and by the positions. */
export interface ReadingDerivatives {
  readonly cuts: Float64Array;
  readonly tendencies: Float64Array;
  /** By ln σₐ. */
  readonly logSpreads: Float64Array;
  readonly slip: number;
  readonly positions: Float64Array;
}

/**
 * P(Y = k | θ, a), the probability that assessor a writes grade k for a limb at position θ, from
 * P(Y ≤ k | θ, a) = (1 − ε) Φ((c_{k+1} − θ − bₐ)/σₐ) + ε (k + 1)/q.
 * `out` holds them at (a · q + k) · n + i for position i of n.
 */
export function fillReadingProbabilities(
  parameters: ReadingParameters,
  positions: ArrayLike<number>,
  out: Float64Array,
): void {
  const { cuts, tendencies, spreads, slip } = parameters;
  const grades = cuts.length + 1;
  const places = positions.length;
  for (let a = 0; a < tendencies.length; a++) {
    const spread = spreads[a] as number;
    for (let i = 0; i < places; i++) {
      const center = (positions[i] as number) + (tendencies[a] as number);
      let before = Number.NEGATIVE_INFINITY;
      let lower = 0;
      let upperBefore = 1;
      for (let k = 0; k < grades; k++) {
        const z = k < grades - 1 ? ((cuts[k] as number) - center) / spread : Number.POSITIVE_INFINITY;
        // The tail that is small is the one to subtract in, else narrow spreads would leave nothing but rounding.
        const tail = z === Number.POSITIVE_INFINITY ? 0 : normal.upper(Math.abs(z));
        const below = z > 0 ? 1 - tail : tail;
        const above = z > 0 ? tail : 1 - tail;
        const between = before > 0 ? upperBefore - above : below - lower;
        out[(a * grades + k) * places + i] = (1 - slip) * between + slip / grades;
        before = z;
        lower = below;
        upperBefore = above;
      }
    }
  }
}

/**
 * The way back: from N, the derivatives of a log-likelihood by ln P(Y = k | θᵢ, a) (expected counts of
 * readings, laid out as the probabilities are), to its derivatives by the parameters and the positions.
 */
export function readingDerivatives(
  parameters: ReadingParameters,
  positions: ArrayLike<number>,
  probabilities: Float64Array,
  counts: Float64Array,
): ReadingDerivatives {
  const { cuts, tendencies, spreads, slip } = parameters;
  const grades = cuts.length + 1;
  const places = positions.length;
  const byCut = new Float64Array(cuts.length);
  const byTendency = new Float64Array(tendencies.length);
  const byLogSpread = new Float64Array(tendencies.length);
  const byPosition = new Float64Array(places);
  let bySlip = 0;
  for (let a = 0; a < tendencies.length; a++) {
    const spread = spreads[a] as number;
    for (let i = 0; i < places; i++) {
      const center = (positions[i] as number) + (tendencies[a] as number);
      let ratio = ratioAt(probabilities, counts, a * grades * places + i);
      let ratios = ratio;
      for (let k = 0; k + 1 < grades; k++) {
        const next = ratioAt(probabilities, counts, (a * grades + k + 1) * places + i);
        ratios += next;
        if (ratio !== 0 || next !== 0) {
          // Raising cut k moves probability from grade k + 1 to grade k.
          const z = ((cuts[k] as number) - center) / spread;
          const density = normal.density(z);
          const gain = ((1 - slip) * density * (ratio - next)) / spread;
          byCut[k] = (byCut[k] as number) + gain;
          byTendency[a] = (byTendency[a] as number) - gain;
          byPosition[i] = (byPosition[i] as number) - gain;
          byLogSpread[a] = (byLogSpread[a] as number) - gain * z * spread;
        }
        ratio = next;
      }
      if (ratios !== 0 && slip < 1) {
        for (let k = 0; k < grades; k++) {
          const at = (a * grades + k) * places + i;
          const own = ratioAt(probabilities, counts, at);
          // ∂p/∂ε = 1/q − (p − ε/q)/(1 − ε).
          bySlip += own * (1 / grades - ((probabilities[at] as number) - slip / grades) / (1 - slip));
        }
      }
    }
  }
  return { cuts: byCut, tendencies: byTendency, logSpreads: byLogSpread, slip: bySlip, positions: byPosition };
}

function ratioAt(probabilities: Float64Array, counts: Float64Array, at: number): number {
  const count = counts[at] as number;
  return count === 0 ? 0 : count / (probabilities[at] as number);
}

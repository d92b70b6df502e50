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
  // Beyond this the tail, below exp(−z²/2), is lost in the rounding of ε/q.
  const farthest = Math.sqrt(-2 * Math.log((slip / grades) * 2 ** -54));
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
        const tail = Math.abs(z) > farthest ? 0 : normal.upper(Math.abs(z));
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
      let ratio = 0;
      let slipped = 0;
      for (let k = 0; k < grades; k++) {
        const at = (a * grades + k) * places + i;
        const count = counts[at] as number;
        const before = ratio;
        ratio = count === 0 ? 0 : count / (probabilities[at] as number);
        // ∂p/∂ε = 1/q − (p − ε/q)/(1 − ε).
        slipped += ratio * (1 / grades - ((probabilities[at] as number) - slip / grades) / (1 - slip));
        if (k === 0 || (before === 0 && ratio === 0)) continue;
        // Raising the cut between two grades moves probability from the higher to the lower.
        const z = ((cuts[k - 1] as number) - center) / spread;
        const gain = ((1 - slip) * normal.density(z) * (before - ratio)) / spread;
        byCut[k - 1] = (byCut[k - 1] as number) + gain;
        byTendency[a] = (byTendency[a] as number) - gain;
        byPosition[i] = (byPosition[i] as number) - gain;
        byLogSpread[a] = (byLogSpread[a] as number) - gain * z * spread;
      }
      if (slip < 1) bySlip += slipped;
    }
  }
  return { cuts: byCut, tendencies: byTendency, logSpreads: byLogSpread, slip: bySlip, positions: byPosition };
}

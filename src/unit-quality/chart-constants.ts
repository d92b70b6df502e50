import { lnGamma, normal } from '../shared/distributions.js';
import { QUADRATURE } from './run-length.js';

/** Constants of control charts for subgroups of n normal values. */
export interface ChartConstants {
  /** Mean of s / σ. */
  readonly c4: number;
  /** Mean of range / σ, and its standard deviation. */
  readonly d2: number;
  readonly d3: number;
  /** Limits of means from the mean range (A2) and the mean s (A3); of s (B3, B4); of ranges (D3, D4); of single values (E2). */
  readonly A2: number;
  readonly A3: number;
  readonly B3: number;
  readonly B4: number;
  readonly D3: number;
  readonly D4: number;
  readonly E2: number;
}

/**
 * The constants of control charts, computed rather than looked up.
 *
 * c4 = √(2/(n − 1)) Γ(n/2)/Γ((n − 1)/2); d2 = ∫ 1 − Φ(x)ⁿ − (1 − Φ(x))ⁿ dx; d3² = ∫ 2w P(range > w) dw − d2², P(range ≤ w) = n ∫ φ(x)
 * (Φ(x + w) − Φ(x))ⁿ⁻¹ dx;
 * A2 = 3/(d2√n), A3 = 3/(c4√n), B3,4 = 1 ∓ 3√(1 − c4²)/c4, D3,4 = 1 ∓ 3 d3/d2 (not below 0), E2 = 3/d2.
 *
 * @param n values a subgroup, 2 to 100.
 * @example chartConstants(2).d2 // 1.12838 (2/√π)
 * Source: Tippett LHC. Biometrika 1925;17:364–387, doi:10.1093/biomet/17.3-4.364 (range); constants as in any handbook of the field.
 */
export function chartConstants(n: number): ChartConstants {
  const c4 = Math.sqrt(2 / (n - 1)) * Math.exp(lnGamma(n / 2) - lnGamma((n - 1) / 2));
  const { mean: d2, deviation: d3 } = rangeMoments(n);
  const spread = (3 * Math.sqrt(1 - c4 * c4)) / c4;
  return {
    c4,
    d2,
    d3,
    A2: 3 / (d2 * Math.sqrt(n)),
    A3: 3 / (c4 * Math.sqrt(n)),
    B3: Math.max(0, 1 - spread),
    B4: 1 + spread,
    D3: Math.max(0, 1 - (3 * d3) / d2),
    D4: 1 + (3 * d3) / d2,
    E2: 3 / d2,
  };
}

/** Even steps over −9 … 9: for smooth integrands that vanish at both ends the sum is exact to rounding. */
const STEP = 1 / 32;
const HALF = 9 / STEP;
/** No range of a hundred values is wider. */
const WIDEST = 16;

/** Mean and standard deviation of the range of n standard normal values. */
function rangeMoments(n: number): { mean: number; deviation: number } {
  const size = 2 * HALF + 1;
  const below = Float64Array.from({ length: size }, (_, at) => normal.cdf((at - HALF) * STEP));
  const above = below.map((_, at) => below[size - 1 - at]!);
  let mean = 0;
  for (let at = 0; at < size; at++) mean += STEP * (1 - below[at]! ** n - above[at]! ** n);
  // P(range ≤ w) = n ∫ φ(x) (Φ(x + w) − Φ(x))ⁿ⁻¹ dx; mean square = ∫ 2w (1 − P) dw by Gauss–Legendre quadrature, for the integrand ends abruptly at 0.
  const places = below.map((_, at) => (at - HALF) * STEP);
  const density = places.map((x) => normal.density(x));
  let square = 0;
  QUADRATURE.nodes.forEach((node, which) => {
    const w = (WIDEST / 2) * (1 + node);
    let within = 0;
    places.forEach((x, at) => {
      // The smaller tails are subtracted, so that no digit is lost far out.
      const between = x > 0 ? above[at]! - normal.upper(x + w) : normal.cdf(x + w) - below[at]!;
      within += density[at]! * between ** (n - 1);
    });
    square += (WIDEST / 2) * QUADRATURE.weights[which]! * 2 * w * (1 - n * STEP * within);
  });
  return { mean, deviation: Math.sqrt(square - mean * mean) };
}

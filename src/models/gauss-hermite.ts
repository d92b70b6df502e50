import { symmetricEigen } from './linear-algebra.js';

export interface QuadratureRule {
  readonly nodes: Float64Array;
  readonly logWeights: Float64Array;
}

/**
 * The Gauss–Hermite rule: Σ wₖ g(zₖ) = ∫ e^(−z²) g(z) dz for polynomials g of degree up to 2·points − 1.
 * Nodes are the eigenvalues of the Jacobi matrix with √(k/2) beside the diagonal; weights follow from the
 * first entries of its eigenvectors, wₖ = √π v₀ₖ².
 * Source: Golub GH, Welsch JH. Math Comput 1969;23:221–230, doi:10.1090/S0025-5718-69-99647-1.
 */
export function gaussHermite(points: number): QuadratureRule {
  const jacobi = new Float64Array(points * points);
  for (let k = 1; k < points; k++) {
    jacobi[k * points + k - 1] = Math.sqrt(k / 2);
    jacobi[(k - 1) * points + k] = Math.sqrt(k / 2);
  }
  const { values, vectors } = symmetricEigen(jacobi, points);
  // Nodes are symmetric about 0; averaging the two sides removes what rounding left.
  const nodes = values.map((value, k) => (value - (values[points - 1 - k] as number)) / 2);
  return {
    nodes,
    logWeights: nodes.map((_, k) => 0.5 * Math.log(Math.PI) + 2 * Math.log(Math.abs(vectors[k] as number))),
  };
}

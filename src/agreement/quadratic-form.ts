import { symmetricEigen } from '../models/linear-algebra.js';

/**
 * dᵀ S⁺ d with the pseudo-inverse of a symmetric, positive semi-definite S, and the rank of S: a chi-square statistic with its degrees of
 * freedom, however many of the differences d depend on one another or never vary.
 */
export function quadraticForm(d: Float64Array, s: Float64Array): { value: number; rank: number } {
  const order = d.length;
  const { values, vectors } = symmetricEigen(s, order);
  const largest = Math.max(0, ...values);
  let value = 0;
  let rank = 0;
  for (let i = 0; i < order; i++) {
    if (!(values[i]! > 1e-10 * largest)) continue;
    let along = 0;
    for (let k = 0; k < order; k++) along += vectors[k * order + i]! * d[k]!;
    value += (along * along) / values[i]!;
    rank++;
  }
  return { value, rank };
}

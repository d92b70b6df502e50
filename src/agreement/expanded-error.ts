import type { CondensedSums } from './coefficient.js';
import { COLUMNS_AT_ONCE } from './weighted-sums.js';

/** Sums from which every replicate's value and error follow without a second look at its patients. */
export interface ExpandedError {
  /** A row for each patient: its sums x, then the same times its share z, then zeros up to a multiple of `COLUMNS_AT_ONCE`. */
  readonly rows: Float64Array;
  /** The error of a replicate from the totals of these rows. */
  readonly errorOf: (totals: Float64Array) => number;
}

const FEWEST_PATIENTS = 400;
/** The variance of the replicates' Σ z² as a share of its square: so small that their errors scatter by under 7 %. */
const MOST_SCATTER = 1 / 50;

/**
 * The errors of the replicates where many patients carry the error, each by as many.
 *
 * With g the derivatives of the coefficient at the data, z = g · x the share of a patient with sums x, M = Σ x xᵀ and δ = g* − g, the
 * delta method's square of a replicate, Σ times (g* · x)², is (g + 2δ)ᵀ Σ times z x + δᵀ (Σ times x xᵀ) δ. The first term is taken as it is; in
 * the second M stands for the drawn Σ times x xᵀ: a product of three distances that each shrink with √patients. The result is multiplied by
 * the data's own jackknife error over its delta-method error, so that both sides of t mean the same.
 *
 * @returns `undefined` below 400 patients, or where few of them carry the error ((kurtosis − 1)/patients above 1/50): each patient must then be left out.
 * Source: own derivation; held against leaving each patient out in `tests/agreement/expanded-error.test.ts`.
 */
export function expandedError(
  { cells, gradient, perCluster }: Pick<CondensedSums, 'cells' | 'gradient' | 'perCluster'>,
  patients: number,
  standardError: number,
): ExpandedError | undefined {
  if (patients < FEWEST_PATIENTS) return undefined;
  const sums = new Float64Array(cells);
  for (let at = 0; at < perCluster.length; at++) sums[at % cells]! += perCluster[at]!;
  const slopes = gradient(sums);

  const width = COLUMNS_AT_ONCE * Math.ceil((2 * cells) / COLUMNS_AT_ONCE);
  const rows = new Float64Array(patients * width);
  const products = new Float64Array(cells * cells);
  let second = 0;
  let fourth = 0;
  for (let patient = 0; patient < patients; patient++) {
    const own = patient * cells;
    let share = 0;
    for (let i = 0; i < cells; i++) share += slopes[i]! * perCluster[own + i]!;
    second += share ** 2;
    fourth += share ** 4;
    for (let i = 0; i < cells; i++) {
      const sum = perCluster[own + i]!;
      rows[patient * width + i] = sum;
      rows[patient * width + cells + i] = share * sum;
      if (sum !== 0) for (let j = 0; j < cells; j++) products[i * cells + j]! += sum * perCluster[own + j]!;
    }
  }
  if (!(fourth / (second * second) - 1 / patients <= MOST_SCATTER)) return undefined;

  const scale = standardError / Math.sqrt(second);
  const turned = new Float64Array(cells);
  return {
    rows,
    errorOf(totals) {
      const there = gradient(totals.subarray(0, cells));
      let squares = 0;
      for (let i = 0; i < cells; i++) {
        turned[i] = there[i]! - slopes[i]!;
        squares += (there[i]! + turned[i]!) * totals[cells + i]!;
      }
      for (let i = 0; i < cells; i++)
        for (let j = 0; j < cells; j++) squares += turned[i]! * products[i * cells + j]! * turned[j]!;
      return scale * Math.sqrt(Math.max(0, squares));
    },
  };
}

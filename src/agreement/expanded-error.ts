import type { CondensedSums } from './coefficient.js';
import type { DistinctRows } from './leave-each-out.js';

/** Sums from which every replicate's value and error follow without a second look at its patients. */
export interface ExpandedError {
  /** The rows of sums, each with one sum more: the square of its patient's share. */
  readonly rows: Float64Array;
  /** The error of a replicate from the totals of these rows. */
  readonly errorOf: (totals: Float64Array) => number;
}

const FEWEST_PATIENTS = 1000;
/** The variance of the replicates' Σ z² as a share of its square: so small that their errors scatter by under 2.3 %. */
const MOST_SCATTER = 1 / 500;

/**
 * The errors of the replicates where many patients carry the error, each by as many.
 *
 * With g the derivatives of the coefficient at the data, z = g · x the share of a patient with sums x and M = Σ x xᵀ, the delta method's
 * square of a replicate, Σ times (g* · x)², is Σ times z² + 2 δᵀMg + δᵀMδ, δ = g* − g, but for what the drawn Σ times x xᵀ differs from
 * M in the last two terms: a product of two distances that each shrink with √patients. The result is multiplied by the data's own jackknife
 * error over its delta-method error, so that both sides of t mean the same.
 *
 * @returns `undefined` below 1,000 patients, or where few of them carry the error ((kurtosis − 1)/patients above 1/500): each patient must then be left out.
 * Source: own derivation; held against leaving each patient out in `tests/agreement/expanded-error.test.ts`.
 */
export function expandedError(
  { cells, gradient }: Pick<CondensedSums, 'cells' | 'gradient'>,
  { rows, rowOf }: DistinctRows,
  patients: number,
  standardError: number,
): ExpandedError | undefined {
  if (patients < FEWEST_PATIENTS) return undefined;
  const distinct = rows.length / cells;
  const often = new Float64Array(distinct).fill(rowOf === undefined ? 1 : 0);
  rowOf?.forEach((row) => {
    often[row]!++;
  });
  const sums = new Float64Array(cells);
  for (let row = 0; row < distinct; row++)
    for (let i = 0; i < cells; i++) sums[i]! += often[row]! * rows[row * cells + i]!;
  const slopes = gradient(sums);

  const width = cells + 1;
  const extended = new Float64Array(distinct * width);
  const products = new Float64Array(cells * cells);
  let second = 0;
  let fourth = 0;
  for (let row = 0; row < distinct; row++) {
    const own = rows.subarray(row * cells, (row + 1) * cells);
    let share = 0;
    for (let i = 0; i < cells; i++) share += slopes[i]! * own[i]!;
    const square = share * share;
    extended.set(own, row * width);
    extended[row * width + cells] = square;
    second += often[row]! * square;
    fourth += often[row]! * square * square;
    for (let i = 0; i < cells; i++) {
      const weighted = often[row]! * own[i]!;
      if (weighted !== 0) for (let j = 0; j < cells; j++) products[i * cells + j]! += weighted * own[j]!;
    }
  }
  if (!(fourth / (second * second) - 1 / patients <= MOST_SCATTER)) return undefined;

  const scale = standardError / Math.sqrt(second);
  const turned = new Float64Array(cells);
  return {
    rows: extended,
    errorOf(totals) {
      turned.set(gradient(totals.subarray(0, cells)));
      let squares = totals[cells]!;
      for (let i = 0; i < cells; i++) {
        const by = turned[i]! - slopes[i]!;
        let inner = 0;
        for (let j = 0; j < cells; j++) inner += products[i * cells + j]! * (turned[j]! + slopes[j]!);
        squares += by * inner;
      }
      return scale * Math.sqrt(Math.max(0, squares));
    },
  };
}

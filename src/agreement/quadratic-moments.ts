import type { RatingCategory } from '../ratings/ratings.js';
import type { CondensedSums } from './coefficient.js';

/** Where each assessor's counts of the categories stand among the sums of a patient, and the sums beside them. */
export interface CountedSums {
  readonly cells: number;
  readonly disagreement: number;
  /** Targets read twice or more. */
  readonly paired: (sums: Float64Array, at: number) => number;
  readonly counts: number;
  readonly assessors: number;
}

/**
 * Kappa with quadratic weights from moments in place of counts, where every assessor read every target: with scores s on a
 * scale of length 1, n targets, aᵍ = Σ s and b = Σ s² of all readings,
 * pₑ = 1 − 2(n(G − 1) b − Σ over g < h of 2 aᵍaʰ) / (n² G(G − 1)), G assessors. The sums of a patient are then disagreement,
 * targets read twice, n, b, and an aᵍ for each assessor.
 *
 * @returns `undefined` where an assessor left a target out.
 */
export function quadraticMoments(
  perCluster: Float64Array,
  { cells, disagreement, paired, counts, assessors }: CountedSums,
  categories: readonly RatingCategory[],
): CondensedSums | undefined {
  const size = categories.length;
  const scores = categories.map(({ score }) => score);
  const [least, most] = [Math.min(...scores), Math.max(...scores)];
  if (most === least) return undefined;
  const onScale = scores.map((score) => (score - (least + most) / 2) / (most - least));
  const width = 4 + assessors;
  const rows = new Float64Array((perCluster.length / cells) * width);
  for (let from = 0, to = 0; from < perCluster.length; from += cells, to += width) {
    rows[to] = perCluster[from + disagreement]!;
    rows[to + 1] = paired(perCluster, from);
    for (let g = 0; g < assessors; g++) {
      let n = 0;
      for (let k = 0; k < size; k++) {
        const count = perCluster[from + counts + g * size + k]!;
        n += count;
        rows[to + 4 + g]! += count * onScale[k]!;
        rows[to + 3]! += count * onScale[k]! * onScale[k]!;
      }
      if (g === 0) rows[to + 2] = n;
      else if (rows[to + 2] !== n) return undefined;
    }
  }
  const pairs = assessors * (assessors - 1);
  const kappa = (apart: number, twice: number, n: number, b: number, sum: number, squares: number): number => {
    const all = n * n * pairs;
    const room = 2 * (n * (assessors - 1) * b - (sum * sum - squares));
    return room > 1e-12 * all ? (room - (apart * all) / twice) / room : Number.NaN;
  };
  return {
    cells: width,
    perCluster: rows,
    value(sums) {
      let sum = 0;
      let squares = 0;
      for (let g = 4; g < width; g++) {
        sum += sums[g]!;
        squares += sums[g]! * sums[g]!;
      }
      return kappa(sums[0]!, sums[1]!, sums[2]!, sums[3]!, sum, squares);
    },
    leaveEachOut:
      (distinct) =>
      (totals, { rows: list, from, to }, values) => {
        const [apart, twice, n, b] = [totals[0]!, totals[1]!, totals[2]!, totals[3]!];
        for (let i = from; i < to; i++) {
          const at = list[i]! * width;
          let sum = 0;
          let squares = 0;
          for (let g = 4; g < width; g++) {
            const left = totals[g]! - distinct[at + g]!;
            sum += left;
            squares += left * left;
          }
          values[i - from] = kappa(
            apart - distinct[at]!,
            twice - distinct[at + 1]!,
            n - distinct[at + 2]!,
            b - distinct[at + 3]!,
            sum,
            squares,
          );
        }
      },
  };
}

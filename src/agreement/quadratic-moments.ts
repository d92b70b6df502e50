import type { RatingCategory } from '../ratings/ratings.js';
import type { CondensedSums } from './coefficient.js';
import { aboutMean } from './leave-each-out.js';

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
 * scale of length 1, n targets, aᵍ = Σ s and b = Σ s² of all readings, D the disagreement and G assessors,
 * κ = 1 − D n G(G − 1) / R, R = 2(n(G − 1) b − Σ over g ≠ h of aᵍaʰ). The sums of a patient are then D, n, b, and an aᵍ for each assessor.
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
  const width = 3 + assessors;
  const rows = new Float64Array((perCluster.length / cells) * width);
  for (let from = 0, to = 0; from < perCluster.length; from += cells, to += width) {
    const targets = paired(perCluster, from);
    rows[to] = perCluster[from + disagreement]!;
    rows[to + 1] = targets;
    for (let g = 0; g < assessors; g++) {
      let n = 0;
      for (let k = 0; k < size; k++) {
        const count = perCluster[from + counts + g * size + k]!;
        n += count;
        rows[to + 3 + g]! += count * onScale[k]!;
        rows[to + 2]! += count * onScale[k]! * onScale[k]!;
      }
      if (n !== targets) return undefined;
    }
  }
  const pairs = assessors * (assessors - 1);
  /** R of the sums that begin at `at`. */
  const roomOf = (sums: Float64Array, at: number): number => {
    let sum = 0;
    let squares = 0;
    for (let a = at + 3; a < at + width; a++) {
      sum += sums[a]!;
      squares += sums[a]! * sums[a]!;
    }
    return 2 * (sums[at + 1]! * (assessors - 1) * sums[at + 2]! - (sum * sum - squares));
  };
  /** Derivatives of R by n, b and each aᵍ. */
  const roomSlopes = (sums: Float64Array, slopes: Float64Array): void => {
    slopes[1] = 2 * (assessors - 1) * sums[2]!;
    slopes[2] = 2 * (assessors - 1) * sums[1]!;
    let sum = 0;
    for (let a = 3; a < width; a++) sum += sums[a]!;
    for (let a = 3; a < width; a++) slopes[a] = -4 * (sum - sums[a]!);
  };
  const kappa = (apart: number, n: number, room: number): number =>
    room > 1e-12 * n * n * pairs ? 1 - (apart * n * pairs) / room : Number.NaN;
  return {
    cells: width,
    perCluster: rows,
    value: (sums) => kappa(sums[0]!, sums[1]!, roomOf(sums, 0)),
    gradient(sums) {
      const [apart, n] = [sums[0]!, sums[1]!];
      const room = roomOf(sums, 0);
      const slopes = new Float64Array(width);
      roomSlopes(sums, slopes);
      for (let cell = 1; cell < width; cell++) slopes[cell]! *= (apart * n * pairs) / (room * room);
      slopes[0]! -= (n * pairs) / room;
      slopes[1]! -= (apart * pairs) / room;
      return slopes;
    },
    // R is a quadratic form: without a patient's sums x it is R − R′ᵀx + R(x), R′ its derivatives.
    leaveEachOut(distinct) {
      const own = Float64Array.from({ length: distinct.length / width }, (_, row) => roomOf(distinct, row * width));
      const slopes = new Float64Array(width);
      return (totals, { rows: list, times }, patients) => {
        const [apart, n] = [totals[0]!, totals[1]!];
        const room = roomOf(totals, 0);
        roomSlopes(totals, slopes);
        let origin = 0;
        let first = 0;
        let second = 0;
        for (let i = 0; i < list.length; i++) {
          const row = list[i]!;
          const at = row * width;
          // Two sums side by side: one alone waits for itself.
          let odd = 0;
          let even = 0;
          let cell = 1;
          for (; cell + 1 < width; cell += 2) {
            odd += slopes[cell]! * distinct[at + cell]!;
            even += slopes[cell + 1]! * distinct[at + cell + 1]!;
          }
          if (cell < width) odd += slopes[cell]! * distinct[at + cell]!;
          const value = kappa(apart - distinct[at]!, n - distinct[at + 1]!, room - odd - even + own[row]!);
          if (i === 0) origin = value;
          const weighted = times[i]! * (value - origin);
          first += weighted;
          second += weighted * (value - origin);
        }
        return aboutMean(first, second, patients);
      };
    },
  };
}

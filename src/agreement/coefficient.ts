import { alikeReadings } from '../ratings/alike-readings.js';
import type { Ratings } from '../ratings/ratings.js';
import type { LeaveEachOut } from './leave-each-out.js';

/**
 * A coefficient that sees the readings only through sums over targets. That one property gives
 * everything the intervals need: patients can be left out or drawn again by adding and subtracting
 * their sums, so a bootstrap replicate costs patients × cells, never rows.
 *
 * To add a coefficient, say how one target adds to the sums and how the value follows from them
 * (`src/agreement/cohen-kappa.ts` is the model to follow).
 */
export interface Coefficient {
  /** The statistic's name as a reader sees it. */
  readonly name: string;
  /** How many sums the coefficient needs. */
  readonly cells: number;
  /** Adds one target's share to `sums[at … at + cells − 1]`; `false` when the target cannot enter. */
  add(target: number, sums: Float64Array, at: number): boolean;
  /**
   * `add` for readings that stand in another matrix of codes with as many columns; only of a coefficient to which nothing but these readings
   * matters, so that targets of a patient that were read alike can be added at once, `often` times.
   */
  addFrom?(codes: Int32Array): (target: number, sums: Float64Array, at: number, often?: number) => boolean;
  /** The coefficient from the sums; `NaN` when it is not defined. Must not change when all sums are doubled. */
  value(sums: Float64Array): number;
  /** `value` with each patient left out in turn, where that takes less than valuing what is left of all sums. */
  leaveEachOut?(rows: Float64Array): LeaveEachOut;
  /** The same coefficient from fewer sums, where these patients allow it: what a bootstrap draws. */
  condensed?(perCluster: Float64Array): CondensedSums | undefined;
  /** Derivatives of `value` by each sum: the linearization behind the errors of the delta method. */
  gradient(sums: Float64Array): Float64Array;
  /** The derivatives that the published asymptotic error uses, where it holds something fixed that `gradient` lets vary. */
  publishedGradient?(sums: Float64Array): Float64Array;
  /** The scale on which intervals are made: Fisher's z for −1 … 1, logit for 0 … 1, log for positive sizes, or the plain value. */
  readonly scale: 'fisher' | 'logit' | 'log' | 'plain';
  /** Which quantiles of the studentized bootstrap; chosen by the coverage of both (`tests/calibration/agreement.mjs`). */
  readonly bootstrapForm: 'equal-tailed' | 'symmetric';
  /** Divisor and quantile of the asymptotic error; see `asymptoticInterval`. */
  readonly asymptotic: 'normal, divisor n' | 't, divisor n − 1';
  /** In words, what the asymptotic error is and who published it. */
  readonly asymptoticSource: string;
}

/** Fewer sums per patient from which a coefficient follows as well; see `Coefficient`. */
export interface CondensedSums extends Pick<Coefficient, 'cells' | 'value' | 'gradient' | 'leaveEachOut'> {
  readonly perCluster: Float64Array;
}

/** Sums per patient, and what entered. */
export interface ClusterSums {
  readonly cells: number;
  readonly clusters: number;
  /** clusters × cells, row by row; only patients with at least one target that entered. */
  readonly perCluster: Float64Array;
  /** The number of each of these patients in the ratings. */
  readonly clusterAt: Int32Array;
  readonly totals: Float64Array;
  readonly targets: number;
  readonly excluded: number;
}

/** One pass over the targets (all, or those that `keep` accepts): sums per patient and in all. */
export function clusterSums(
  ratings: Ratings,
  coefficient: Pick<Coefficient, 'cells' | 'add' | 'addFrom'>,
  keep?: (target: number) => boolean,
): ClusterSums {
  const { cells } = coefficient;
  const all = new Float64Array(ratings.clusters * cells);
  const entered = new Uint8Array(ratings.clusters);
  const alike = keep === undefined && coefficient.addFrom !== undefined ? alikeReadings(ratings) : undefined;
  const { clusterOf, times } = alike ?? { clusterOf: ratings.clusterOf, times: undefined };
  const add = alike === undefined ? coefficient.add : coefficient.addFrom!(alike.codes);
  const most = alike?.targets ?? ratings.targets;
  let asked = 0;
  let targets = 0;
  for (let target = 0; target < most; target++) {
    if (keep !== undefined && !keep(target)) continue;
    const often = times === undefined ? 1 : times[target]!;
    asked += often;
    const cluster = clusterOf[target]!;
    const at = cluster * cells;
    if (!add(target, all, at, often)) continue;
    entered[cluster] = 1;
    targets += often;
  }
  const clusterAt = new Int32Array(ratings.clusters);
  let clusters = 0;
  for (let cluster = 0; cluster < ratings.clusters; cluster++) {
    if (entered[cluster] === 0) continue;
    if (clusters !== cluster) all.copyWithin(clusters * cells, cluster * cells, (cluster + 1) * cells);
    clusterAt[clusters++] = cluster;
  }
  const perCluster = all.subarray(0, clusters * cells);
  return {
    cells,
    clusters,
    perCluster,
    clusterAt: clusterAt.subarray(0, clusters),
    totals: totalsOf(perCluster, cells),
    targets,
    excluded: asked - targets,
  };
}

/**
 * Sums over patients, each with what its additions rounded away kept beside it: a million targets would otherwise cost a coefficient near 0 seven
 * digits. Source: Neumaier A. Z Angew Math Mech 1974;54:39–51 (from memory).
 */
function totalsOf(perCluster: Float64Array, cells: number): Float64Array {
  const totals = new Float64Array(cells);
  const lost = new Float64Array(cells);
  for (let from = 0; from < perCluster.length; from += cells)
    for (let cell = 0; cell < cells; cell++) {
      const term = perCluster[from + cell]!;
      const before = totals[cell]!;
      const after = before + term;
      lost[cell]! += Math.abs(before) >= Math.abs(term) ? before - after + term : term - after + before;
      totals[cell] = after;
    }
  return totals.map((total, cell) => total + lost[cell]!);
}

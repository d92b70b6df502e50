import type { Ratings } from './ratings.js';

/** Readings of targets, with those of a patient that were read alike by all standing there once. */
export interface AlikeReadings extends Pick<Ratings, 'codes' | 'clusterOf' | 'targets'> {
  /** How many targets each stands for; `undefined`: one. */
  readonly times: Int32Array | undefined;
}

/** Ratings do not change, so what was gathered is kept with them. */
const known = new WeakMap<Ratings, AlikeReadings>();

/**
 * The readings of one target for each patient and pair of grades, and how many there are of it. With two assessors and many targets of a patient
 * these are a tenth of the targets, and what depends on the readings alone is worked out for them only. Elsewhere each target stands
 * for itself.
 */
export function alikeReadings(ratings: Ratings): AlikeReadings {
  const { codes, clusterOf, targets } = ratings;
  const found = known.get(ratings) ?? gather(ratings) ?? { codes, clusterOf, targets, times: undefined };
  known.set(ratings, found);
  return found;
}

/** `undefined` unless two read and patients × pairs of grades are at most a quarter of the targets. */
function gather({ codes, columns, categories, clusterOf, clusters, targets }: Ratings): AlikeReadings | undefined {
  // A reading that is missing is one more grade.
  const base = categories.length + 1;
  if (columns !== 2 || clusters * base * base > targets / 4) return undefined;
  const ways = clusters * base * base;
  const even = new Int32Array(ways);
  const odd = new Int32Array(ways);
  countWays(codes, clusterOf, base, even, odd);

  let count = 0;
  for (let way = 0; way < ways; way++) {
    even[way]! += odd[way]!;
    count += (0 - even[way]!) >>> 31;
  }
  const gathered = { codes: new Int32Array(2 * count), clusterOf: new Int32Array(count), times: new Int32Array(count) };
  let at = 0;
  let way = 0;
  for (let cluster = 0; cluster < clusters; cluster++)
    for (let first = -1; first < base - 1; first++)
      for (let second = -1; second < base - 1; second++) {
        const times = even[way++]!;
        if (times === 0) continue;
        gathered.codes[2 * at] = first;
        gathered.codes[2 * at + 1] = second;
        gathered.clusterOf[at] = cluster;
        gathered.times[at++] = times;
      }
  return { ...gathered, targets: count };
}

/**
 * Adds one to the place of each target's patient and pair of grades: even targets in one table, odd ones in the other, since adding twice to one
 * place waits for the first. The places are worked out in the loop itself: by a function they take half as long again.
 */
function countWays(codes: Int32Array, clusterOf: Int32Array, base: number, even: Int32Array, odd: Int32Array): void {
  const byCluster = base * base;
  const first = base + 1;
  let at = 0;
  let target = 0;
  for (; target + 1 < clusterOf.length; target += 2, at += 4) {
    even[(Math.imul(clusterOf[target]!, byCluster) + Math.imul(codes[at]!, base) + codes[at + 1]! + first) | 0]!++;
    odd[
      (Math.imul(clusterOf[target + 1]!, byCluster) + Math.imul(codes[at + 2]!, base) + codes[at + 3]! + first) | 0
    ]!++;
  }
  if (target < clusterOf.length)
    even[(Math.imul(clusterOf[target]!, byCluster) + Math.imul(codes[at]!, base) + codes[at + 1]! + first) | 0]!++;
}

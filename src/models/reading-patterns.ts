import { InputError, type Problem } from '../shared/input-error.js';

/** Readings of targets by several assessors, one row a reading, as columns of equal length. */
export interface TargetReadings {
  /** Any number that tells targets apart. */
  readonly target: ArrayLike<number>;
  /** 0 … readers − 1. */
  readonly reader: ArrayLike<number>;
  /** 0 … grades − 1. */
  readonly category: ArrayLike<number>;
  /** The patient of each reading's target. Left out: every target is a patient of its own. */
  readonly cluster?: ArrayLike<number>;
}

/**
 * Readings by what is distinct: targets that the same assessors read in the same way share a pattern, and a likelihood is worked out
 * once for each.
 */
export interface ReadingPatterns {
  readonly grades: number;
  readonly readers: number;
  /** reader · grades + category of each reading, ascending. */
  readonly patterns: readonly (readonly number[])[];
  /** How many targets show each pattern. */
  readonly counts: Float64Array;
  /** The pattern and the patient (0 … clusters − 1) of each target. */
  readonly patternOfTarget: Int32Array;
  readonly clusterOfTarget: Int32Array;
  readonly clusters: number;
  readonly targets: number;
  readonly readings: number;
  /** How often each category was written, by anyone. */
  readonly categoryCounts: Float64Array;
}

/** Numbers distinct patterns in the order met: the readings of one, ascending, lead from node to node. */
export class PatternTree {
  readonly patterns: number[][] = [];
  private readonly nodes = new Map<number, number>();
  private readonly patternAt: number[] = [-1];

  /** @param width readers · grades: how many different readings there are */
  constructor(private readonly width: number) {}

  /** The number of the pattern that `cells` holds in places from … to − 1, which are put in ascending order. */
  numberOf(cells: number[] | Int32Array, from: number, to: number): number {
    sortBetween(cells, from, to);
    let node = 0;
    for (let at = from; at < to; at++) {
      const key = node * this.width + (cells[at] as number);
      let next = this.nodes.get(key);
      if (next === undefined) {
        next = this.patternAt.push(-1) - 1;
        this.nodes.set(key, next);
      }
      node = next;
    }
    let pattern = this.patternAt[node] as number;
    if (pattern < 0) {
      pattern = this.patterns.push(Array.from(cells.slice(from, to))) - 1;
      this.patternAt[node] = pattern;
    }
    return pattern;
  }
}

/** By insertion: a target has few readings, most of them in order. */
function sortBetween(cells: number[] | Int32Array, from: number, to: number): void {
  for (let at = from + 1; at < to; at++) {
    const cell = cells[at] as number;
    let hole = at;
    while (hole > from && (cells[hole - 1] as number) > cell) {
      cells[hole] = cells[hole - 1] as number;
      hole--;
    }
    cells[hole] = cell;
  }
}

/** Finds the distinct patterns; throws `InputError` (`unequal-columns`, `no-rows`, `bad-value`, `split-target`) with every fault. */
export function readingPatterns(data: TargetReadings, grades: number, readers?: number): ReadingPatterns {
  const rows = data.target.length;
  const problems: Problem[] = [];
  for (const [name, column] of [
    ['reader', data.reader],
    ['category', data.category],
    ['cluster', data.cluster],
  ] as const)
    if (column !== undefined && column.length !== rows)
      problems.push({
        code: 'unequal-columns',
        path: [name],
        message: `${name} has ${column.length} entries, but target has ${rows}.`,
      });
  if (rows === 0) problems.push({ code: 'no-rows', path: ['target'], message: 'There are no readings.' });
  if (problems.length > 0) throw new InputError(problems);
  let found = readers ?? 1;
  if (readers === undefined)
    for (let row = 0; row < rows; row++) found = Math.max(found, (data.reader[row] as number) + 1);
  const index = new Map<number, number>();
  const cells: number[][] = [];
  const clusterCodes = new Map<number, number>();
  const clusterOf: number[] = [];
  const categoryCounts = new Float64Array(grades);
  for (let row = 0; row < rows; row++) {
    const [target, reader, category] = [data.target[row], data.reader[row], data.category[row]] as [
      number,
      number,
      number,
    ];
    const bad = (column: string, value: number, expected: string): void => {
      problems.push({ code: 'bad-value', path: [column, row], message: `${column}[${row}] is ${value}.`, expected });
    };
    const fits = (value: number, bound: number): boolean => Number.isInteger(value) && value >= 0 && value < bound;
    if (!fits(category, grades)) bad('category', category, `a whole number from 0 to ${grades - 1}`);
    if (!fits(reader, readers ?? Number.MAX_SAFE_INTEGER))
      bad(
        'reader',
        reader,
        readers === undefined ? 'a whole number from 0' : `a whole number from 0 to ${readers - 1}`,
      );
    if (!Number.isFinite(target)) bad('target', target, 'a number that names the target');
    const code = data.cluster?.[row] ?? target;
    if (!Number.isFinite(code)) bad('cluster', code, 'a number that names the patient');
    if (problems.length > 0) continue;
    let at = index.get(target);
    let cluster = clusterCodes.get(code);
    if (cluster === undefined) {
      cluster = clusterCodes.size;
      clusterCodes.set(code, cluster);
    }
    if (at === undefined) {
      at = cells.length;
      index.set(target, at);
      cells.push([]);
      clusterOf.push(cluster);
    } else if (clusterOf[at] !== cluster)
      problems.push({
        code: 'split-target',
        path: ['cluster', row],
        message: `Row ${row} gives its target another patient than an earlier row.`,
      });
    (cells[at] as number[]).push(reader * grades + category);
    categoryCounts[category] = (categoryCounts[category] as number) + 1;
  }
  if (problems.length > 0) throw new InputError(problems);

  const tree = new PatternTree(found * grades);
  const patternOfTarget = Int32Array.from(cells, (own) => tree.numberOf(own, 0, own.length));
  const result = {
    grades,
    readers: found,
    patterns: tree.patterns,
    patternOfTarget,
    clusterOfTarget: Int32Array.from(clusterOf),
    clusters: clusterCodes.size,
    targets: cells.length,
    readings: rows,
    categoryCounts,
  };
  return { ...result, counts: countsOf(result, new Float64Array(clusterCodes.size).fill(1)) };
}

/** How often each pattern counts when each patient counts `clusterWeights` times: one patient bootstrap replicate. */
export function countsOf(
  patterns: Pick<ReadingPatterns, 'patterns' | 'patternOfTarget' | 'clusterOfTarget'>,
  clusterWeights: ArrayLike<number>,
): Float64Array {
  const counts = new Float64Array(patterns.patterns.length);
  for (let t = 0; t < patterns.patternOfTarget.length; t++) {
    const at = patterns.patternOfTarget[t] as number;
    counts[at] = (counts[at] as number) + (clusterWeights[patterns.clusterOfTarget[t] as number] as number);
  }
  return counts;
}

/** Likelihoods whose largest has become smaller than this are divided by it, long before the product of two patterns' would be lost. */
const SMALLEST_LIKELIHOOD = 2 ** -200;

/**
 * For every pattern the likelihood at each of n places, Π P(category | place, reader), divided by a scale whose logarithm is kept
 * apart. `probabilities` is laid out at (reader · grades + category) · n + place.
 */
export function patternLikelihoods(
  patterns: readonly (readonly number[])[],
  probabilities: Float64Array,
  places: number,
): { readonly values: Float64Array; readonly logScale: Float64Array } {
  const values = new Float64Array(patterns.length * places).fill(1);
  const logScale = new Float64Array(patterns.length);
  for (let p = 0; p < patterns.length; p++) {
    const row = p * places;
    for (const cell of patterns[p] as readonly number[]) {
      const column = cell * places;
      let largest = 0;
      for (let i = 0; i < places; i++) {
        const value = (values[row + i] as number) * (probabilities[column + i] as number);
        values[row + i] = value;
        if (value > largest) largest = value;
      }
      if (largest > 0 && largest < SMALLEST_LIKELIHOOD) {
        for (let i = 0; i < places; i++) values[row + i] = (values[row + i] as number) / largest;
        logScale[p] = (logScale[p] as number) + Math.log(largest);
      }
    }
  }
  return { values, logScale };
}

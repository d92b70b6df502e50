import type { Ratings } from '../ratings/ratings.js';
import type { ClusterSums, Coefficient } from './coefficient.js';
import { type GroupsOfSize, oneWayRestricted } from './one-way-restricted.js';

/** How differences are taken; see `limitsOfAgreement`. */
export interface DifferenceOptions {
  readonly trueValue: 'constant' | 'varying';
  readonly center: 'targets' | 'readings';
  readonly components: 'analysis of variance' | 'restricted likelihood';
}

/** The differences of two assessors as sums per patient, and the figures that follow from the sums. */
export interface Differences {
  readonly sums: ClusterSums;
  readonly readings: number;
  readonly repeats: 'none' | 'constant' | 'varying';
  /** What differences are grouped by. */
  readonly group: 'patient' | 'target';
  variances(sums: Float64Array): {
    readonly between: number;
    readonly within: number;
    readonly details: Readonly<Record<string, number>>;
  };
  figures(multiplier: number): Readonly<Record<'bias' | 'spread' | 'lower' | 'upper', Coefficient>>;
}

/** Places in the sums of a group of differences. */
const GROUPS = 0;
const NUMBERS = 1;
const TOTAL = 2;
const BETWEEN = 3;
const WITHIN = 4;
const SQUARED_SIZES = 5;
/** Of each assessor: squares of repeats about their mean, their degrees of freedom, Σ (1 − 1/m), readings, their total. */
const REPEATS = 6;
const PER_ASSESSOR = 5;
const BY_SIZE = REPEATS + 2 * PER_ASSESSOR;
/** Per size of group: groups, Σ T, Σ T²/m. */
const PER_SIZE = 3;

interface Pair {
  readonly group: number;
  readonly difference: number;
  readonly first: readonly number[];
  readonly second: readonly number[];
}

export function differencesOf(pair: Ratings, options: DifferenceOptions): Differences {
  const { pairs, targets, repeats } = pairsOf(pair, options.trueValue);
  const center = mean(pairs.map(({ difference }) => difference));
  const levels = [mean(pairs.flatMap(({ first }) => first)), mean(pairs.flatMap(({ second }) => second))];
  const byGroup = new Map<number, Pair[]>();
  for (const one of pairs) byGroup.set(one.group, [...(byGroup.get(one.group) ?? []), one]);
  const sizes = [...new Set([...byGroup.values()].map(({ length }) => length))].sort((a, b) => a - b);
  const cells = BY_SIZE + PER_SIZE * sizes.length;
  const perCluster = new Float64Array(byGroup.size * cells);
  let row = 0;
  for (const own of byGroup.values()) {
    addGroup(own, perCluster, row * cells, center, levels, sizes);
    row++;
  }
  const totals = new Float64Array(cells);
  for (let at = 0; at < perCluster.length; at++) totals[at % cells]! += perCluster[at]!;

  const variances = (sums: Float64Array) => {
    const numbers = sums[NUMBERS]!;
    const count = sums[GROUPS]!;
    const ofMeans =
      options.components === 'restricted likelihood' ? restricted(sums, sizes) : byAnalysisOfVariance(sums);
    const repeatVariance = (assessor: number): { variance: number; share: number } => {
      const at = REPEATS + assessor * PER_ASSESSOR;
      return sums[at + 1]! > 0
        ? { variance: sums[at]! / sums[at + 1]!, share: sums[at + 2]! / numbers }
        : { variance: 0, share: 0 };
    };
    const [one, two] = [repeatVariance(0), repeatVariance(1)];
    const within = ofMeans.within + (repeats === 'constant' ? one.share * one.variance + two.share * two.variance : 0);
    return {
      between: ofMeans.between,
      within,
      mean: ofMeans.mean,
      details:
        repeats === 'constant'
          ? {
              varianceOfTargetMeans: ofMeans.between + ofMeans.within,
              repeatVarianceFirst: one.variance,
              repeatVarianceSecond: two.variance,
              multiplierFirst: one.share,
              multiplierSecond: two.share,
            }
          : { groups: count },
    };
  };
  const bias = (sums: Float64Array): number => {
    if (options.center === 'readings' && repeats !== 'none') {
      const level = (assessor: number): number => {
        const at = REPEATS + assessor * PER_ASSESSOR;
        return levels[assessor]! + sums[at + 4]! / sums[at + 3]!;
      };
      return level(0) - level(1);
    }
    return options.components === 'restricted likelihood'
      ? center + variances(sums).mean
      : center + sums[TOTAL]! / sums[NUMBERS]!;
  };
  const spread = (sums: Float64Array): number => {
    const { between, within } = variances(sums);
    return Math.sqrt(Math.max(0, between + within));
  };
  const coefficient = (name: string, scale: 'plain' | 'log', value: (sums: Float64Array) => number): Coefficient => ({
    name,
    cells,
    scale,
    value,
    bootstrapForm: 'equal-tailed',
    asymptotic: 't, divisor n − 1',
    asymptoticSource: 'Bland, Altman 1999',
    // Sums are by patient, since squared totals of a patient do not add up over targets; and the intervals used here need no derivative.
    add: () => false,
    gradient: (sums) => new Float64Array(sums.length).fill(Number.NaN),
  });
  return {
    sums: {
      cells,
      clusters: byGroup.size,
      clusterAt: Int32Array.from(byGroup.keys()),
      perCluster,
      totals,
      targets,
      excluded: pair.targets - targets,
    },
    readings: pairs.reduce((sum, { first, second }) => sum + first.length + second.length, 0),
    repeats,
    group: pair.clustersKnown ? 'patient' : 'target',
    variances,
    figures: (multiplier) => ({
      bias: coefficient('bias', 'plain', bias),
      spread: coefficient('standard deviation of differences', 'log', spread),
      lower: coefficient('lower limit of agreement', 'plain', (sums) => bias(sums) - multiplier * spread(sums)),
      upper: coefficient('upper limit of agreement', 'plain', (sums) => bias(sums) + multiplier * spread(sums)),
    }),
  };

  function byAnalysisOfVariance(sums: Float64Array): { mean: number; between: number; within: number } {
    const numbers = sums[NUMBERS]!;
    const count = sums[GROUPS]!;
    const average = sums[TOTAL]! / numbers;
    const betweenSquare = (sums[BETWEEN]! - average * sums[TOTAL]!) / (count - 1);
    // One difference a group: their variance is all there is.
    if (numbers === count) return { mean: average, between: 0, within: betweenSquare };
    const within = sums[WITHIN]! / (numbers - count);
    const effective = (numbers - sums[SQUARED_SIZES]! / numbers) / (count - 1);
    return { mean: average, between: (betweenSquare - within) / effective, within };
  }
}

function restricted(sums: Float64Array, sizes: readonly number[]): { mean: number; between: number; within: number } {
  const bySize: GroupsOfSize[] = sizes.map((size, at) => ({
    size,
    groups: sums[BY_SIZE + PER_SIZE * at]!,
    total: sums[BY_SIZE + PER_SIZE * at + 1]!,
    squares: sums[BY_SIZE + PER_SIZE * at + 2]!,
  }));
  if (sums[NUMBERS]! === sums[GROUPS]!) {
    const average = sums[TOTAL]! / sums[NUMBERS]!;
    return {
      mean: average,
      between: 0,
      within: (sums[BETWEEN]! - average * sums[TOTAL]!) / (sums[NUMBERS]! - 1),
    };
  }
  return oneWayRestricted(bySize, sums[WITHIN]!);
}

function addGroup(
  pairs: readonly Pair[],
  sums: Float64Array,
  at: number,
  center: number,
  levels: readonly number[],
  sizes: readonly number[],
): void {
  const m = pairs.length;
  const average = mean(pairs.map(({ difference }) => difference - center));
  sums[at + GROUPS]!++;
  sums[at + NUMBERS]! += m;
  sums[at + TOTAL]! += m * average;
  sums[at + BETWEEN]! += m * average * average;
  sums[at + SQUARED_SIZES]! += m * m;
  const bySize = at + BY_SIZE + PER_SIZE * sizes.indexOf(m);
  sums[bySize]!++;
  sums[bySize + 1]! += m * average;
  sums[bySize + 2]! += m * average * average;
  for (const { difference, first, second } of pairs) {
    sums[at + WITHIN]! += (difference - center - average) ** 2;
    [first, second].forEach((readings, assessor) => {
      const own = at + REPEATS + assessor * PER_ASSESSOR;
      const level = mean(readings);
      for (const x of readings) {
        sums[own]! += (x - level) ** 2;
        sums[own + 4]! += x - levels[assessor]!;
      }
      sums[own + 1]! += readings.length - 1;
      sums[own + 2]! += 1 - 1 / readings.length;
      sums[own + 3]! += readings.length;
    });
  }
}

function pairsOf(
  pair: Ratings,
  trueValue: 'constant' | 'varying',
): { pairs: Pair[]; targets: number; repeats: 'none' | 'constant' | 'varying' } {
  const again = new Map<string, { replicate: number; number: number }[]>();
  for (const { target, assessor, replicate, number } of pair.repeats)
    if (!Number.isNaN(number)) {
      const key = `${target}/${assessor}`;
      again.set(key, [...(again.get(key) ?? []), { replicate, number }]);
    }
  const pairs: Pair[] = [];
  let targets = 0;
  let withRepeats = false;
  for (let target = 0; target < pair.targets; target++) {
    const x = pair.numbers[2 * target]!;
    const y = pair.numbers[2 * target + 1]!;
    if (Number.isNaN(x) || Number.isNaN(y)) continue;
    targets++;
    const group = pair.clusterOf[target]!;
    const [more, others] = [again.get(`${target}/0`) ?? [], again.get(`${target}/1`) ?? []];
    if (more.length + others.length > 0) withRepeats = true;
    if (trueValue === 'varying') {
      pairs.push({ group, difference: x - y, first: [x], second: [y] });
      for (const { replicate, number } of more) {
        const other = others.find((one) => one.replicate === replicate);
        if (other !== undefined)
          pairs.push({ group, difference: number - other.number, first: [number], second: [other.number] });
      }
      continue;
    }
    const first = [x, ...more.map(({ number }) => number)];
    const second = [y, ...others.map(({ number }) => number)];
    pairs.push({ group, difference: mean(first) - mean(second), first, second });
  }
  return { pairs, targets, repeats: withRepeats ? trueValue : 'none' };
}

/** Running mean, which a large offset does not hurt. */
function mean(values: readonly number[]): number {
  let result = 0;
  values.forEach((value, before) => {
    result += (value - result) / (before + 1);
  });
  return result;
}

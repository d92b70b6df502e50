import type { Ratings } from '../ratings/ratings.js';
import type { ClusterSums, Coefficient } from './coefficient.js';
import { type GroupsOfSize, type OneWayFit, oneWayRestricted } from './one-way-restricted.js';

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
/** With repeats of one value, of each assessor: squares of repeats about their mean, their degrees of freedom, Σ (1 − 1/m), readings, their total. */
const REPEATS = 6;
const PER_ASSESSOR = 5;
/** After these, where the restricted likelihood is asked for, per size of group: groups, Σ T, Σ T²/m. */
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
  for (const one of pairs) {
    const own = byGroup.get(one.group);
    if (own === undefined) byGroup.set(one.group, [one]);
    else own.push(one);
  }
  const isRestricted = options.components === 'restricted likelihood';
  // Sums by size of group are what the restricted likelihood needs, and nothing else.
  const sizes = isRestricted
    ? [...new Set([...byGroup.values()].map(({ length }) => length))].sort((a, b) => a - b)
    : [];
  const bySize = repeats === 'constant' ? REPEATS + 2 * PER_ASSESSOR : REPEATS;
  const cells = bySize + PER_SIZE * sizes.length;
  const perCluster = new Float64Array(byGroup.size * cells);
  let row = 0;
  for (const own of byGroup.values()) {
    addGroup(own, perCluster, row * cells, center);
    if (repeats === 'constant') addRepeats(own, perCluster, row * cells, levels);
    if (isRestricted) addSize(own, perCluster, row * cells + bySize, center, sizes);
    row++;
  }
  const totals = new Float64Array(cells);
  for (let at = 0; at < perCluster.length; at++) totals[at % cells]! += perCluster[at]!;

  /** Variance of an assessor's repeats, and the share of it that a difference of two single readings has beyond that of means. */
  const repeatVariance = (sums: Float64Array, assessor: number): number =>
    sums[REPEATS + assessor * PER_ASSESSOR + 1]! > 0
      ? sums[REPEATS + assessor * PER_ASSESSOR]! / sums[REPEATS + assessor * PER_ASSESSOR + 1]!
      : 0;
  const repeatShare = (sums: Float64Array, assessor: number): number =>
    sums[REPEATS + assessor * PER_ASSESSOR + 2]! / sums[NUMBERS]!;
  const ofMeans = (sums: Float64Array): OneWayFit =>
    isRestricted ? restricted(sums, bySize, sizes) : byAnalysisOfVariance(sums);
  const ofRepeats = (sums: Float64Array): number =>
    repeats === 'constant'
      ? repeatShare(sums, 0) * repeatVariance(sums, 0) + repeatShare(sums, 1) * repeatVariance(sums, 1)
      : 0;
  const variances = (sums: Float64Array) => {
    const { between, within } = ofMeans(sums);
    return {
      between,
      within: within + ofRepeats(sums),
      details:
        repeats === 'constant'
          ? {
              varianceOfTargetMeans: between + within,
              repeatVarianceFirst: repeatVariance(sums, 0),
              repeatVarianceSecond: repeatVariance(sums, 1),
              multiplierFirst: repeatShare(sums, 0),
              multiplierSecond: repeatShare(sums, 1),
            }
          : {},
    };
  };
  const bias = (sums: Float64Array): number => {
    if (options.center === 'readings' && repeats === 'constant') {
      const level = (assessor: number): number => {
        const at = REPEATS + assessor * PER_ASSESSOR;
        return levels[assessor]! + sums[at + 4]! / sums[at + 3]!;
      };
      return level(0) - level(1);
    }
    return center + (isRestricted ? ofMeans(sums).mean : sums[TOTAL]! / sums[NUMBERS]!);
  };
  const spread = (sums: Float64Array): number => {
    const { between, within } = ofMeans(sums);
    return Math.sqrt(Math.max(0, between + within + ofRepeats(sums)));
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
}

function byAnalysisOfVariance(sums: Float64Array): OneWayFit {
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

function restricted(sums: Float64Array, from: number, sizes: readonly number[]): OneWayFit {
  const bySize: GroupsOfSize[] = sizes.map((size, at) => ({
    size,
    groups: sums[from + PER_SIZE * at]!,
    total: sums[from + PER_SIZE * at + 1]!,
    squares: sums[from + PER_SIZE * at + 2]!,
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

function addGroup(pairs: readonly Pair[], sums: Float64Array, at: number, center: number): void {
  const m = pairs.length;
  const average = mean(pairs.map(({ difference }) => difference - center));
  sums[at + GROUPS]!++;
  sums[at + NUMBERS]! += m;
  sums[at + TOTAL]! += m * average;
  sums[at + BETWEEN]! += m * average * average;
  sums[at + SQUARED_SIZES]! += m * m;
  for (const { difference } of pairs) sums[at + WITHIN]! += (difference - center - average) ** 2;
}

function addRepeats(pairs: readonly Pair[], sums: Float64Array, at: number, levels: readonly number[]): void {
  for (const { first, second } of pairs)
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

function addSize(
  pairs: readonly Pair[],
  sums: Float64Array,
  at: number,
  center: number,
  sizes: readonly number[],
): void {
  const m = pairs.length;
  const average = mean(pairs.map(({ difference }) => difference - center));
  const own = at + PER_SIZE * sizes.indexOf(m);
  sums[own]!++;
  sums[own + 1]! += m * average;
  sums[own + 2]! += m * average * average;
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

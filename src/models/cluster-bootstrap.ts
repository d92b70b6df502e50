import { Worker } from 'node:worker_threads';
import type { Interval } from '../shared/estimate.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions, type LongWorkOptions } from '../shared/options.js';
import { seededRandom } from '../shared/random.js';
import { codesOf } from './design-columns.js';

/** One draw of clusters with replacement: a cluster drawn twice enters twice, as two clusters. */
export interface ClusterSample {
  /** Rows of the data, cluster after cluster in the order drawn. */
  readonly rows: Int32Array;
  /** For each of them the number of its draw, 0 … clusters − 1. */
  readonly draws: Int32Array;
}

/** Numbers computed from a sample, always as many; `NaN` for one that is not defined. */
export type SampleStatistic = (sample: ClusterSample) => ArrayLike<number>;

/**
 * A statistic that workers can build for themselves: `module` (an address `import()` takes) exports under
 * `make` a function that turns `data` into the statistic.
 */
export interface PortableStatistic {
  readonly module: string;
  readonly make: string;
  readonly data: unknown;
}

export interface ClusterBootstrapOptions extends LongWorkOptions {
  readonly confidenceLevel?: number;
  /** Default 2000. */
  readonly replicates?: number;
  /** Default 20260301. */
  readonly seed?: number;
  /** Worker threads, for a portable statistic. Default 0: in this thread. The digits do not depend on it. */
  readonly workers?: number;
}

export interface ClusterBootstrap {
  readonly kind: 'cluster-bootstrap';
  /** The statistic of the data as they are. */
  readonly values: Float64Array;
  readonly standardErrors: Float64Array;
  /** Mean of the replicates less the value. */
  readonly biases: Float64Array;
  readonly intervals: readonly Interval[];
  /** Every replicate's numbers, a row a replicate in the order of their seeds; rows of `NaN` failed or were not reached. */
  readonly replicates: Float64Array;
  readonly counts: {
    readonly clusters: number;
    readonly rows: number;
    readonly asked: number;
    readonly done: number;
    /** Replicates whose sample the statistic refused, or in which a number was not defined. */
    readonly failed: number;
  };
  readonly stopped: boolean;
  readonly seed: number;
  readonly notes: readonly Note[];
}

const PAUSE_MILLISECONDS = 40;

/**
 * The bootstrap by clusters: as many clusters as there are, drawn with replacement, each with all its rows.
 * Replicate r draws from stream r of the seed, so the digits are the same in one thread or many. Intervals are
 * percentiles of the replicates, between order statistics (B + 1)p.
 *
 * The percentile interval is short with few clusters (in simulations of agreement coefficients it covered .80–.92
 * at 12 patients, .90–.96 at 60, for a nominal .95).
 * Undefined: an interval from fewer than 200 defined replicates, or where more than 5 % failed, carries a caution.
 *
 * @param clusters the cluster (patient) of every row
 * @param statistic a function of a sample, or a portable one where workers shall share the work
 * @throws InputError `too-few-clusters` below 3, `bad-option`, `missing-group`
 * @example
 * const mean = ({ rows }) => [rows.reduce((sum, row) => sum + data[row], 0) / rows.length];
 * (await clusterBootstrap(patients, mean, { seed: 1 })).intervals[0];
 *
 * Source: Davison AC, Hinkley DV. Bootstrap Methods and their Application. Cambridge 1997, section 3.8,
 * doi:10.1017/CBO9780511802843; Field CA, Welsh AH. J R Stat Soc B 2007;69:369–390,
 * doi:10.1111/j.1467-9868.2007.00593.x.
 */
export async function clusterBootstrap(
  clusters: ArrayLike<number | string>,
  statistic: SampleStatistic | PortableStatistic,
  options: ClusterBootstrapOptions = {},
): Promise<ClusterBootstrap> {
  const { codes, count, confidenceLevel, replicates, seed, workers } = check(clusters, statistic, options);
  const members = membersOf(codes, count);
  const sampleOf = (replicate: number): ClusterSample => {
    const random = seededRandom(seed, replicate);
    return gather(
      members,
      Int32Array.from({ length: count }, () => random.below(count)),
    );
  };
  const everyone = gather(
    members,
    Int32Array.from({ length: count }, (_, cluster) => cluster),
  );
  const local = typeof statistic === 'function' ? statistic : workers > 0 ? undefined : await build(statistic);
  const found: (Float64Array | undefined)[] = new Array(replicates);
  let values: Float64Array;
  if (local !== undefined) {
    values = Float64Array.from(local(everyone));
    await runHere(local, sampleOf, found, options);
  } else {
    values = await runInWorkers(statistic as PortableStatistic, workers, everyone, sampleOf, found, options);
  }
  return summarize(values, found, { clusters: count, rows: codes.length }, confidenceLevel, seed, options.signal);
}

/** A column of the data for a sample. */
export function sampledColumn(column: ArrayLike<number>, sample: ClusterSample): Float64Array {
  return Float64Array.from(sample.rows, (row) => column[row] as number);
}

/**
 * Groups of the data for a sample. Groups that lie in one cluster each (limbs of a patient) become new groups
 * with every draw of it; groups that span clusters (assessors) keep their identity.
 */
export function sampledGroups(
  groups: ArrayLike<number | string>,
  clusters: ArrayLike<number | string>,
  sample: ClusterSample,
): (number | string)[] {
  const home = new Map<number | string, number | string>();
  let nested = true;
  for (let row = 0; row < groups.length && nested; row++) {
    const group = groups[row] as number | string;
    const cluster = clusters[row] as number | string;
    const known = home.get(group);
    if (known === undefined) home.set(group, cluster);
    else nested = known === cluster;
  }
  const { codes, levels } = codesOf(groups);
  return Array.from(sample.rows, (row, at) =>
    nested ? (sample.draws[at] as number) * levels.length + (codes[row] as number) : (groups[row] as number | string),
  );
}

function check(
  clusters: ArrayLike<number | string>,
  statistic: SampleStatistic | PortableStatistic,
  options: ClusterBootstrapOptions,
) {
  const { confidenceLevel, replicates, seed } = checkIntervalOptions({
    ...(options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel }),
    ...(options.replicates === undefined ? {} : { replicates: options.replicates }),
    ...(options.seed === undefined ? {} : { seed: options.seed }),
  });
  const workers = options.workers ?? 0;
  const { codes, levels } = codesOf(clusters);
  const problems: Problem[] = [];
  if (!(Number.isInteger(workers) && workers >= 0 && workers <= 64))
    problems.push({
      code: 'bad-option',
      path: ['options', 'workers'],
      message: `workers is ${workers}.`,
      expected: 'a whole number from 0 to 64',
    });
  else if (workers > 0 && typeof statistic === 'function')
    problems.push({
      code: 'bad-option',
      path: ['options', 'workers'],
      message: 'A function cannot be sent to workers.',
      mend: 'Export a function that makes it from a module and pass { module, make, data }, or leave workers out.',
    });
  if (levels.some((level) => level === undefined || level === null || Number.isNaN(level)))
    problems.push({ code: 'missing-group', path: ['clusters'], message: 'A row has no cluster.' });
  if (levels.length < 3)
    problems.push({
      code: 'too-few-clusters',
      path: ['clusters'],
      message: `There are ${levels.length} clusters to draw from.`,
      expected: 'at least 3, and far more for an interval to be trusted',
    });
  if (problems.length > 0) throw new InputError(problems);
  return { codes, count: levels.length, confidenceLevel, replicates, seed, workers };
}

function membersOf(codes: Int32Array, count: number): Int32Array[] {
  const sizes = new Int32Array(count);
  for (const code of codes) sizes[code] = (sizes[code] as number) + 1;
  const members = Array.from(sizes, (size) => new Int32Array(size));
  const filled = new Int32Array(count);
  codes.forEach((code, row) => {
    (members[code] as Int32Array)[filled[code] as number] = row;
    filled[code] = (filled[code] as number) + 1;
  });
  return members;
}

function gather(members: readonly Int32Array[], drawn: Int32Array): ClusterSample {
  const length = drawn.reduce((sum, cluster) => sum + (members[cluster] as Int32Array).length, 0);
  const rows = new Int32Array(length);
  const draws = new Int32Array(length);
  let at = 0;
  drawn.forEach((cluster, draw) => {
    const own = members[cluster] as Int32Array;
    rows.set(own, at);
    draws.fill(draw, at, at + own.length);
    at += own.length;
  });
  return { rows, draws };
}

async function build({ module, make, data }: PortableStatistic): Promise<SampleStatistic> {
  const exported = (await import(module)) as Record<string, (data: unknown) => SampleStatistic>;
  const maker = exported[make];
  if (maker === undefined) throw new TypeError(`The module of the statistic exports no "${make}".`);
  return maker(data);
}

async function runHere(
  statistic: SampleStatistic,
  sampleOf: (replicate: number) => ClusterSample,
  found: (Float64Array | undefined)[],
  options: LongWorkOptions,
): Promise<void> {
  let resumed = Date.now();
  for (let replicate = 0; replicate < found.length; replicate++) {
    if (options.signal?.aborted === true) return;
    try {
      found[replicate] = Float64Array.from(statistic(sampleOf(replicate)));
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      found[replicate] = Float64Array.of(Number.NaN);
    }
    if (Date.now() - resumed > PAUSE_MILLISECONDS) {
      report(options, replicate + 1, found.length);
      await new Promise((resolve) => setImmediate(resolve));
      resumed = Date.now();
    }
  }
  report(options, found.length, found.length);
}

/** Runs in a worker: plain JavaScript, as a worker knows nothing of how this file was compiled. */
const WORKER_CODE = `
const { parentPort, workerData } = require('node:worker_threads');
const statistic = import(workerData.module).then((exported) => exported[workerData.make](workerData.data));
parentPort.on('message', async ({ replicate, sample }) => {
  try {
    const values = Float64Array.from((await statistic)(sample));
    parentPort.postMessage({ replicate, values });
  } catch (error) {
    parentPort.postMessage({ replicate, refused: error.name === 'InputError', message: String(error.message) });
  }
});
`;

interface WorkerAnswer {
  readonly replicate: number;
  readonly values?: Float64Array;
  readonly refused?: boolean;
  readonly message?: string;
}

/** Hands each worker one sample at a time; returns the statistic of the whole data, asked as replicate −1. */
function runInWorkers(
  statistic: PortableStatistic,
  workers: number,
  everyone: ClusterSample,
  sampleOf: (replicate: number) => ClusterSample,
  found: (Float64Array | undefined)[],
  options: LongWorkOptions,
): Promise<Float64Array> {
  const pool = Array.from(
    { length: workers },
    () => new Worker(WORKER_CODE, { eval: true, workerData: { ...statistic } }),
  );
  const work = new Promise<Float64Array>((resolve, reject) => {
    let whole: Float64Array | undefined;
    let next = -1;
    let open = 0;
    let done = 0;
    const hand = (worker: Worker): void => {
      if (next >= found.length || (options.signal?.aborted === true && next >= 0)) {
        if (open === 0 && whole !== undefined) resolve(whole);
        return;
      }
      const replicate = next++;
      open++;
      worker.postMessage({ replicate, sample: replicate < 0 ? everyone : sampleOf(replicate) });
    };
    for (const worker of pool) {
      worker.on('error', reject);
      worker.on('message', ({ replicate, values, refused, message }: WorkerAnswer) => {
        open--;
        if (values === undefined && (refused !== true || replicate < 0)) {
          reject(new Error(message));
          return;
        }
        if (replicate < 0) whole = values;
        else {
          found[replicate] = values ?? Float64Array.of(Number.NaN);
          report(options, ++done, found.length);
        }
        hand(worker);
      });
      hand(worker);
    }
  });
  return work.finally(() => Promise.all(pool.map((worker) => worker.terminate())));
}

function report(options: LongWorkOptions, done: number, all: number): void {
  options.progress?.(done / all, `${done} of ${all} replicates`);
}

function summarize(
  values: Float64Array,
  found: readonly (Float64Array | undefined)[],
  size: { readonly clusters: number; readonly rows: number },
  confidenceLevel: number,
  seed: number,
  signal: AbortSignal | undefined,
): ClusterBootstrap {
  const width = values.length;
  const replicates = new Float64Array(found.length * width).fill(Number.NaN);
  let done = 0;
  let failed = 0;
  found.forEach((one, replicate) => {
    if (one === undefined) return;
    done++;
    if (one.length === width) replicates.set(one, replicate * width);
    if (one.length !== width || one.some(Number.isNaN)) failed++;
  });
  const intervals: Interval[] = [];
  const standardErrors = new Float64Array(width);
  const biases = new Float64Array(width);
  for (let k = 0; k < width; k++) {
    const defined = Float64Array.from(found, (_, replicate) => replicates[replicate * width + k] as number)
      .filter((value) => !Number.isNaN(value))
      .sort();
    const count = defined.length;
    const mean = defined.reduce((sum, value) => sum + value, 0) / count;
    const squares = defined.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    standardErrors[k] = count > 1 ? Math.sqrt(squares / (count - 1)) : Number.NaN;
    biases[k] = mean - (values[k] as number);
    intervals.push({
      lower: orderStatistic(defined, (1 - confidenceLevel) / 2),
      upper: orderStatistic(defined, (1 + confidenceLevel) / 2),
      level: confidenceLevel,
      method: `percentiles of ${count} replicates of ${size.clusters} clusters, seed ${seed}`,
    });
  }
  const stopped = signal?.aborted === true && done < found.length;
  const notes: Note[] = [];
  if (stopped) notes.push(caution('stopped', `Stopped after ${done} of ${found.length} replicates.`));
  if (done - failed < 200)
    notes.push(
      caution('few-replicates', `Only ${done - failed} replicates are defined: too few for limits in the tails.`),
    );
  if (failed > 0.05 * done)
    notes.push(
      caution(
        'failed-replicates',
        `${failed} of ${done} replicates could not be computed: the interval is about the others.`,
      ),
    );
  else if (failed > 0)
    notes.push(
      information('failed-replicates', `${failed} of ${done} replicates could not be computed and are left out.`),
    );
  if (size.clusters < 30)
    notes.push(
      caution('few-clusters', `Only ${size.clusters} clusters to draw from: percentile intervals are then too short.`),
    );
  return {
    kind: 'cluster-bootstrap',
    values,
    standardErrors,
    biases,
    intervals,
    replicates,
    counts: { ...size, asked: found.length, done, failed },
    stopped,
    seed,
    notes,
  };
}

/** The quantile at p of sorted values, between the order statistics around (B + 1)p; the extremes beyond. */
function orderStatistic(sorted: Float64Array, p: number): number {
  if (sorted.length === 0) return Number.NaN;
  const place = (sorted.length + 1) * p - 1;
  const below = Math.min(Math.max(Math.floor(place), 0), sorted.length - 1);
  const above = Math.min(Math.max(Math.ceil(place), 0), sorted.length - 1);
  const low = sorted[below] as number;
  return low + (Math.min(Math.max(place, 0), sorted.length - 1) - below) * ((sorted[above] as number) - low);
}

import { describe, expect, it } from 'vitest';
import {
  clusterBootstrap,
  type SampleStatistic,
  sampledColumn,
  sampledGroups,
} from '../../src/models/cluster-bootstrap.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

const random = seededRandom(17);
const clusters = Array.from({ length: 200 }, (_, row) => `p${Math.floor(row / 5)}`);
const own = Array.from({ length: 40 }, () => random.normal());
const values = clusters.map((_, row) => (own[Math.floor(row / 5)] as number) + 0.3 * random.normal());
const mean: SampleStatistic = ({ rows }) => [
  rows.reduce((sum, row) => sum + (values[row] as number), 0) / rows.length,
  rows.reduce((most, row) => Math.max(most, values[row] as number), Number.NEGATIVE_INFINITY),
];
const portable = {
  module: new URL('../support/mean-statistic.mjs', import.meta.url).href,
  make: 'meanOf',
  data: { values, refuse: -1 },
};

describe('the cluster bootstrap', () => {
  it('gives the standard error of a mean of cluster means', async () => {
    const found = await clusterBootstrap(clusters, mean, { replicates: 4000, seed: 5 });
    const means = own.map(
      (_, patient) => values.slice(5 * patient, 5 * patient + 5).reduce((sum, value) => sum + value, 0) / 5,
    );
    const center = means.reduce((sum, value) => sum + value, 0) / 40;
    const exact = Math.sqrt(means.reduce((sum, value) => sum + (value - center) ** 2, 0) / 40 / 40);
    expectNear(found.values[0] as number, center, 1e-12);
    // The relative Monte Carlo error of a standard deviation from 4,000 replicates is 1/√8,000; four of them.
    expectNear((found.standardErrors[0] as number) / exact, 1, 4 / Math.sqrt(8000));
    const { lower, upper, method } = found.intervals[0] as (typeof found.intervals)[number];
    expectNear((upper - lower) / (2 * 1.96 * exact), 1, 0.08);
    expect(method).toBe('percentiles of 4000 replicates of 40 clusters, seed 5');
    expect(found.counts).toEqual({ clusters: 40, rows: 200, asked: 4000, done: 4000, failed: 0 });
    expect(found.notes).toEqual([]);
    expect(Math.abs(found.biases[0] as number)).toBeLessThan((4 * exact) / Math.sqrt(4000));
    expect(found.biases[1]).toBeLessThan(0);
  });

  it('sums up its replicates: errors, biases and order statistics around (B + 1)p', async () => {
    // Clusters of 1 to 4 rows; the second number is undefined where row 0 is drawn.
    const uneven = Array.from({ length: 12 }, (_, i) => Array.from({ length: 1 + (i % 4) }, () => i)).flat();
    const statistic: SampleStatistic = ({ rows }) => [
      rows.reduce((sum, row) => sum + (values[row] as number), 0),
      rows.length === uneven.length && !rows.includes(0)
        ? (rows[0] as number)
        : rows.includes(0)
          ? Number.NaN
          : rows.length,
    ];
    const found = await clusterBootstrap(uneven, statistic, { replicates: 250, confidenceLevel: 0.77, seed: 3 });
    const columns = [0, 1].map((k) =>
      Array.from({ length: 250 }, (_, r) => found.replicates[2 * r + k] as number).filter(
        (value) => !Number.isNaN(value),
      ),
    );
    expect(columns[0]).toHaveLength(250);
    const failed = 250 - (columns[1] as number[]).length;
    expect(failed).toBeGreaterThan(100);
    expect(found.counts).toEqual({ clusters: 12, rows: uneven.length, asked: 250, done: 250, failed });
    expectNear(
      found.values[0] as number,
      values.slice(0, uneven.length).reduce((sum, value) => sum + value, 0),
      1e-12,
    );
    const center = (columns[0] as number[]).reduce((sum, value) => sum + value, 0) / 250;
    expectNear(found.biases[0] as number, center - (found.values[0] as number), 1e-12);
    columns.forEach((column, k) => {
      const mean = column.reduce((sum, value) => sum + value, 0) / column.length;
      const squares = column.reduce((sum, value) => sum + (value - mean) ** 2, 0);
      expectNear(found.standardErrors[k] as number, Math.sqrt(squares / (column.length - 1)), 1e-12);
      const sorted = [...column].sort((a, b) => a - b);
      const quantile = (p: number): number => {
        const place = (column.length + 1) * p;
        const [below, part] = [Math.floor(place), place - Math.floor(place)];
        return (1 - part) * (sorted[below - 1] as number) + part * (sorted[below] as number);
      };
      expectNear(found.intervals[k]?.lower as number, quantile(0.115), 1e-12);
      expectNear(found.intervals[k]?.upper as number, quantile(0.885), 1e-12);
      expect(found.intervals[k]?.method).toBe(`percentiles of ${column.length} replicates of 12 clusters, seed 3`);
      expect(found.intervals[k]?.level).toBe(0.77);
    });
    expect(found.notes.map(({ code }) => code)).toEqual(['few-replicates', 'failed-replicates', 'few-clusters']);
    expect(found).toMatchObject({ stopped: false, seed: 3 });
  });

  it('takes the extremes where few replicates are left, and nothing where none are', async () => {
    let call = 0;
    // Three of 200 replicates are defined.
    const three: SampleStatistic = () => {
      call++;
      return [call === 1 || call === 50 || call === 60 || call === 70 ? call : Number.NaN];
    };
    const found = await clusterBootstrap(clusters, three, { replicates: 200 });
    expect(found.counts.failed).toBe(197);
    expect(found.intervals[0]).toMatchObject({ lower: 50, upper: 70 });
    expectNear(found.standardErrors[0] as number, 10, 1e-12);
    const none = await clusterBootstrap(
      clusters,
      ({ draws }) => (draws.length > 0 && call++ < 0 ? [1] : [Number.NaN]),
      {
        replicates: 200,
      },
    );
    expect(none.intervals[0]?.lower).toBeNaN();
    expect(none.standardErrors[0]).toBeNaN();
    expect(none.biases[0]).toBeNaN();
  });

  it.each([
    // Of 1,000, exactly 5 % failed is still information; 200 defined are enough.
    [1000, 50, 30, ['failed-replicates information']],
    [1000, 51, 30, ['failed-replicates caution']],
    [1000, 0, 29, ['few-clusters caution']],
    [208, 8, 30, ['failed-replicates information']],
    [207, 8, 30, ['few-replicates caution', 'failed-replicates information']],
  ] as const)('of %d replicates %d failed, %d clusters', async (replicates, failing, count, expected) => {
    let call = -1;
    const found = await clusterBootstrap(
      Array.from({ length: 2 * count }, (_, row) => row % count),
      () => {
        call++;
        // Refused, or not as many numbers as of the whole data.
        if (call > 0 && call <= failing && call % 2 === 0) throw new InputError([{ code: 'x', message: 'no' }]);
        return call > 0 && call <= failing ? [1, 2] : [call];
      },
      { replicates },
    );
    expect(found.counts).toEqual({
      clusters: count,
      rows: 2 * count,
      asked: replicates,
      done: replicates,
      failed: failing,
    });
    expect(found.notes.map(({ code, severity }) => `${code} ${severity}`)).toEqual(expected);
    expect(found.replicates.filter((value) => Number.isNaN(value))).toHaveLength(failing);
  });

  it('names every fault of its options', async () => {
    const codes = async (work: Promise<unknown>): Promise<string[]> => {
      const error = await work.catch((thrown: InputError) => thrown);
      return (error as InputError).problems.map(({ code, path }) => `${code} ${path?.join('.')}`);
    };
    for (const workers of [-1, 0.5, 65])
      expect(await codes(clusterBootstrap(clusters, mean, { workers }))).toEqual(['bad-option options.workers']);
    expect(await codes(clusterBootstrap([1, Number.NaN], mean, { workers: 1 }))).toEqual([
      'bad-option options.workers',
      'missing-group clusters',
      'too-few-clusters clusters',
    ]);
    for (const gap of [null, undefined])
      expect(await codes(clusterBootstrap([1, 2, 3, gap as unknown as number], mean))).toEqual([
        'missing-group clusters',
      ]);
  });

  it('draws whole clusters, as many as there are, each draw a cluster of its own', async () => {
    let repeated = 0;
    await clusterBootstrap(
      clusters,
      ({ rows, draws }) => {
        expect(rows).toHaveLength(200);
        const homes = Array.from({ length: 40 }, (_, draw) => {
          const own = [...rows].filter((__, at) => draws[at] === draw);
          expect(own.map((row) => row % 5)).toEqual([0, 1, 2, 3, 4]);
          expect(new Set(own.map((row) => clusters[row])).size).toBe(1);
          return clusters[own[0] as number];
        });
        repeated += 40 - new Set(homes).size;
        return [0];
      },
      { replicates: 200 },
    );
    // (1 − 1/40)⁴⁰ = .363 of the clusters are left out of a draw; the first call sees all of them.
    expectNear(repeated / 200 / 40, 0.363, 0.02);
  });

  it('gives the same digits in this thread and in one, two or three workers', async () => {
    const here = await clusterBootstrap(clusters, mean, { replicates: 300 });
    for (const workers of [0, 1, 2, 3]) {
      const there = await clusterBootstrap(clusters, portable, { replicates: 300, workers });
      expect(there.replicates).toEqual(here.replicates);
      expect(there.intervals).toEqual(here.intervals);
    }
    const again = await clusterBootstrap(clusters, mean, { replicates: 300, seed: 1 });
    expect(again.replicates).not.toEqual(here.replicates);
  });

  it('counts samples that the statistic refuses, and passes other failures on', async () => {
    const refusing: SampleStatistic = (sample) => {
      if (sample.rows.includes(7) && sample.rows.length !== new Set(sample.rows).size)
        throw new InputError([{ code: 'x', message: 'no' }]);
      return mean(sample);
    };
    const found = await clusterBootstrap(clusters, refusing, { replicates: 200 });
    // A given patient is in a sample with probability 1 − (1 − 1/40)⁴⁰ = .637.
    expect(found.counts.failed).toBeGreaterThan(100);
    expect(found.counts.failed).toBeLessThan(155);
    expect(found.notes.map(({ code }) => code)).toEqual(['few-replicates', 'failed-replicates']);
    const broken: SampleStatistic = () => {
      throw new RangeError('broken');
    };
    await expect(clusterBootstrap(clusters, broken)).rejects.toThrow('broken');
    await expect(clusterBootstrap(clusters, { ...portable, make: 'nothing' }, { workers: 1 })).rejects.toThrow();
  });

  it('stops when asked and keeps what it has, here and in workers', async () => {
    for (const workers of [0, 2]) {
      const controller = new AbortController();
      const slow: SampleStatistic = (sample) => {
        const until = Date.now() + 5;
        while (Date.now() < until);
        return mean(sample);
      };
      const found = await clusterBootstrap(clusters, workers === 0 ? slow : portable, {
        replicates: 20_000,
        workers,
        signal: controller.signal,
        progress: () => controller.abort(),
      });
      expect(found.stopped).toBe(true);
      expect(found.counts.done).toBeGreaterThan(0);
      expect(found.counts.done).toBeLessThan(20_000);
      expect(found.notes.map(({ code }) => code)).toContain('stopped');
      const whole = await clusterBootstrap(clusters, mean, { replicates: 200 });
      expect(found.replicates[0]).toBe(whole.replicates[0]);
    }
  });

  it('warns where clusters are few and refuses where they are too few', async () => {
    const few = await clusterBootstrap(clusters.slice(0, 50), mean, { replicates: 200 });
    expect(few.notes.map(({ code }) => code)).toEqual(['few-clusters']);
    await expect(clusterBootstrap([1, 1, 2], mean)).rejects.toThrow(InputError);
    await expect(clusterBootstrap(clusters, mean, { workers: 2 })).rejects.toThrow(/cannot be sent/);
    await expect(clusterBootstrap(clusters, mean, { replicates: 10 })).rejects.toThrow(/replicates/);
  });
});

describe('groups of a sample', () => {
  const patients = [1, 1, 2, 2];
  const sample = { rows: Int32Array.of(2, 3, 2, 3), draws: Int32Array.of(0, 0, 1, 1) };

  it('within clusters are new with every draw, across clusters the same', () => {
    expect(new Set(sampledGroups(['a', 'b', 'c', 'd'], patients, sample)).size).toBe(4);
    expect(new Set(sampledGroups(patients, patients, sample)).size).toBe(2);
    expect(sampledGroups(['x', 'y', 'x', 'y'], patients, sample)).toEqual(['x', 'y', 'x', 'y']);
    // Limbs numbered through are nested; a group met again in another cluster, late or early, is not.
    expect(sampledGroups([5, 6, 7, 7], patients, sample)).toEqual([2, 2, 5, 5]);
    expect(sampledGroups([5, 6, 6, 7], patients, sample)).toEqual([6, 7, 6, 7]);
    expect([...sampledColumn([10, 20, 30, 40], sample)]).toEqual([30, 40, 30, 40]);
  });
});

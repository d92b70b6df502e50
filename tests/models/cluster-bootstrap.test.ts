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
    expect([...sampledColumn([10, 20, 30, 40], sample)]).toEqual([30, 40, 30, 40]);
  });
});

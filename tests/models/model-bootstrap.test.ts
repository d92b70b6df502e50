import { describe, expect, it } from 'vitest';
import { clusterBootstrap } from '../../src/models/cluster-bootstrap.ts';
import { linearMixedModel } from '../../src/models/linear-mixed-model.ts';
import { modelBootstrap, modelReplicate } from '../../src/models/model-bootstrap.ts';
import { expectNear } from '../support/expect-near.ts';
import { type ReferenceFits, readReference } from '../support/reference-fits.ts';

const { data } = readReference<ReferenceFits>('mixed-ordinal-models.json');
const random = [
  { name: 'patient', groups: data.patient },
  { name: 'limb', groups: data.limb, within: 'patient' },
  { name: 'assessor', groups: data.assessor },
];
const graded = { response: data.grade, effects: { warm: data.warm } };

describe('the bootstrap of a model', () => {
  it('refits a linear mixed model to drawn patients, assessors kept', async () => {
    const problem = { response: data.length, fixed: { warm: data.warm }, random };
    const found = await modelBootstrap({ model: 'linear-mixed', problem }, data.patient, { replicates: 200 });
    const fit = linearMixedModel(problem);
    expect(found.names).toEqual([
      'fixed.intercept',
      'fixed.warm',
      'deviation.patient',
      'deviation.limb',
      'deviation.assessor',
      'deviation.residual',
    ]);
    expectNear(found.values[1] as number, fit.fixed[1]?.value as number, 1e-12);
    expect(found.counts).toMatchObject({ clusters: 30, rows: 146, done: 200, failed: 0 });
    // Balanced enough for the resampling error to be near that of the curvature.
    const ratio = (found.standardErrors[1] as number) / (fit.fixed[1]?.standardError as number);
    expect(ratio).toBeGreaterThan(0.7);
    expect(ratio).toBeLessThan(1.4);
    const interval = found.intervalOf('deviation.patient');
    expect(interval.lower).toBeLessThan(fit.components[0]?.standardDeviation as number);
    expect(interval.upper).toBeGreaterThan(fit.components[0]?.standardDeviation as number);
    expect(() => found.intervalOf('patient')).toThrow(/There is no "patient"/);
  });

  it.each([
    [
      { model: 'cumulative-link' as const, problem: graded },
      ['threshold.0', 'threshold.1', 'threshold.2', 'fixed.warm'],
    ],
    [
      { model: 'cumulative-link-mixed' as const, problem: { ...graded, random: random.slice(0, 1) } },
      ['threshold.0', 'threshold.1', 'threshold.2', 'fixed.warm', 'deviation.patient'],
    ],
    [
      {
        model: 'logistic-gee' as const,
        problem: {
          response: data.grade.map((grade) => (grade > 1 ? 1 : 0)),
          effects: { warm: data.warm },
          clusters: data.patient,
        },
      },
      ['fixed.intercept', 'fixed.warm'],
    ],
  ])('refits $0.model', async (model, names) => {
    const found = await modelBootstrap(model, data.patient, { replicates: 200 });
    expect(found.names).toEqual(names);
    expect(found.counts.failed).toBeLessThan(20);
    for (const [at, interval] of found.intervals.entries()) {
      expect(interval.lower).toBeLessThan(found.values[at] as number);
      expect(interval.upper).toBeGreaterThan(found.values[at] as number);
    }
  });

  it('is the cluster bootstrap of the statistic that workers build', async () => {
    const model = { model: 'cumulative-link' as const, problem: graded };
    const statistic = modelReplicate({ model, clusters: data.patient });
    const [own, whole] = await Promise.all([
      clusterBootstrap(data.patient, statistic, { replicates: 200, seed: 3 }),
      modelBootstrap(model, data.patient, { replicates: 200, seed: 3 }),
    ]);
    expect(whole.replicates).toEqual(own.replicates);
  });

  it('refuses clusters of another length', async () => {
    await expect(modelBootstrap({ model: 'cumulative-link', problem: graded }, [1, 2])).rejects.toThrow(/2 clusters/);
  });
});

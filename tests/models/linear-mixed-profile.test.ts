import { describe, expect, it } from 'vitest';
import { linearMixedModel } from '../../src/models/linear-mixed-model.ts';
import { linearMixedProfile } from '../../src/models/linear-mixed-profile.ts';
import { expectNear } from '../support/expect-near.ts';
import { type ReferenceFits, readReference } from '../support/reference-fits.ts';

const { data, linear } = readReference<ReferenceFits>('mixed-ordinal-models.json');
const problem = {
  response: data.length,
  fixed: { warm: data.warm },
  random: [
    { name: 'patient', groups: data.patient },
    { name: 'assessor', groups: data.assessor },
  ],
  method: 'ML' as const,
};

describe('profile intervals', () => {
  it('are those of the reference program', async () => {
    const { intervals, notes } = await linearMixedProfile(problem);
    const names = ['deviation.patient', 'deviation.assessor', 'deviation.residual', 'fixed.intercept', 'fixed.warm'];
    expect(intervals.map(({ name }) => name)).toEqual(names);
    // The program reads its limits off a spline through the profile: good to about 1e-4.
    intervals.forEach(({ interval }, at) => {
      expectNear(interval.lower, linear.profileML.lower[at] as number, 1e-4);
      expectNear(interval.upper, linear.profileML.upper[at] as number, 1e-4);
    });
    expect(notes).toEqual([]);
  });

  it('end where the likelihood, refitted beside the limit, has fallen by half the χ² quantile', async () => {
    const { intervals } = await linearMixedProfile(problem, { confidenceLevel: 0.9 });
    const upper = intervals.find(({ name }) => name === 'fixed.warm')?.interval.upper as number;
    const held = linearMixedModel({
      response: data.length.map((value, row) => value - upper * (data.warm[row] as number)),
      random: problem.random,
      method: 'ML',
    });
    // χ² with 1 degree of freedom at .90, a handbook value.
    expectNear(held.criterion - linearMixedModel(problem).criterion, 2.705543454095404, 1e-6);
  });

  it('reach zero where the criterion does not rise enough, and say so', async () => {
    const { intervals, notes } = await linearMixedProfile({
      response: linear.edge.y,
      random: [{ name: 'group', groups: linear.edge.group }],
    });
    const deviation = intervals[0];
    expect(deviation).toMatchObject({ name: 'deviation.group', value: 0, criterion: 'REML' });
    expect(deviation?.interval.lower).toBe(0);
    expect(deviation?.interval.upper).toBeGreaterThan(0.1);
    expect(notes.map(({ code }) => code)).toEqual(['limit-on-boundary']);
    expect(intervals.find(({ name }) => name === 'fixed.intercept')?.criterion).toBe('ML');
  });

  it('cover slope and correlation, in the unit of the slope', async () => {
    const sloped = (unit: number) => {
      const days = data.day.map((day) => day / unit);
      return linearMixedProfile({
        response: data.length,
        random: [{ name: 'patient', groups: data.patient, slope: { name: 'day', values: days } }],
      });
    };
    const [inDays, inWeeks] = await Promise.all([sloped(1), sloped(7)]);
    inDays.intervals.forEach(({ name, interval }, at) => {
      const other = inWeeks.intervals[at]?.interval;
      const unit = name === 'deviation.patient.day' ? 7 : 1;
      expectNear((other?.upper as number) / unit, interval.upper, 1e-5);
      expectNear((other?.lower as number) / unit, interval.lower, 1e-5);
    });
    expect(inDays.intervals.map(({ name }) => name)).toContain('correlation.patient.day');
  });

  it('report progress and stop when asked', async () => {
    const controller = new AbortController();
    const shares: number[] = [];
    const found = await linearMixedProfile(problem, {
      signal: controller.signal,
      progress: (share) => {
        shares.push(share);
        if (shares.length === 2) controller.abort();
      },
    });
    expect(shares).toEqual([0.2, 0.4]);
    expect(found).toMatchObject({ stopped: true });
    expect(found.intervals).toHaveLength(2);
  });
});

import { describe, expect, it } from 'vitest';
import { linearMixedCriterion, linearMixedModel } from '../../src/models/linear-mixed-model.ts';
import { linearMixedProfile } from '../../src/models/linear-mixed-profile.ts';
import { seededRandom } from '../../src/shared/random.ts';
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

/** The least value over variances from .05 to 5, by golden sections. */
function leastOf(criterion: (variance: number) => number): number {
  const golden = (Math.sqrt(5) - 1) / 2;
  let [low, high] = [0.05, 5];
  for (let step = 0; step < 45; step++) {
    const [left, right] = [high - golden * (high - low), low + golden * (high - low)];
    if (criterion(left) < criterion(right)) high = right;
    else low = left;
  }
  return criterion((low + high) / 2);
}

/** A simulated study of twelve people; `study` counts the random streams. */
function nestedStudy(study: number) {
  const random = seededRandom(21261127, study);
  const patient: number[] = [];
  const limb: number[] = [];
  const treated: number[] = [];
  const later: number[] = [];
  const mean: number[] = [];
  for (let person = 0; person < 12; person++) {
    const own = random.normal();
    for (let side = 0; side < 2; side++) {
      const ofLimb = own + 0.7 * random.normal();
      for (let reading = 0; reading < 6; reading++) {
        patient.push(person);
        limb.push(2 * person + side);
        treated.push(person % 2);
        later.push(reading < 3 ? 0 : 1);
        mean.push(ofLimb + 0.5 * (person % 2) + (reading < 3 ? 0 : 0.4));
      }
    }
  }
  return {
    response: mean.map((value) => value + 0.6 * random.normal()),
    fixed: { treated, later },
    random: [
      { name: 'patient', groups: patient },
      { name: 'limb', groups: limb },
    ],
  };
}

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

  it('are found where the criterion levels off just above the threshold', async () => {
    // Twelve people with two limbs read six times: in one of 25 such studies steps toward 0 grew ever shorter and no limit was found.
    const few = nestedStudy(40);
    const { intervals, notes } = await linearMixedProfile(few);
    const { lower } = intervals.find(({ name }) => name === 'deviation.patient')!.interval;
    // The other two variances at their best beside the limit, by a search that knows only the criterion.
    const beside = leastOf((limb) => leastOf((rest) => linearMixedCriterion(few, { patient: lower ** 2, limb }, rest)));
    // χ² with 1 degree of freedom at .95, a handbook value.
    expectNear(beside - linearMixedModel(few).criterion, 3.841458820694124, 1e-6);
    expect(notes).toEqual([]);
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

  it('of a correlation end at ±1 where it is open that far, and say so', async () => {
    // Six patients read four times: a correlation of intercept and slope that little is known of.
    const random = seededRandom(8);
    const groups = Array.from({ length: 24 }, (_, row) => Math.floor(row / 4));
    const day = groups.map((_, row) => row % 4);
    const own = Array.from({ length: 6 }, () => [random.normal(), random.normal()] as const);
    const response = groups.map((group, row) => {
      const [intercept, slope] = own[group] as readonly [number, number];
      return intercept + slope * 0.4 * (day[row] as number) + 0.5 * random.normal();
    });
    const { intervals, notes } = await linearMixedProfile({
      response,
      fixed: { day },
      random: [{ name: 'patient', groups, slope: { name: 'day', values: day } }],
    });
    const found = intervals.find(({ name }) => name === 'correlation.patient.day');
    const { lower, upper } = found!.interval;
    expect(lower).toBeGreaterThanOrEqual(-1);
    expect(upper).toBeLessThanOrEqual(1);
    expect(Math.max(-lower, upper)).toBe(1);
    expect(notes.map(({ message }) => message).join()).toContain('correlation.patient.day stands at the edge');
  });

  it('hold a correlation also where intercepts vary less than residuals', async () => {
    const random = seededRandom(14);
    const groups = Array.from({ length: 120 }, (_, row) => Math.floor(row / 6));
    const day = groups.map((_, row) => (row % 6) - 2.5);
    const own = Array.from({ length: 20 }, () => [0.6 * random.normal(), 0.5 * random.normal()] as const);
    const response = groups.map((group, row) => {
      const [intercept, slope] = own[group] as readonly [number, number];
      return intercept + slope * (day[row] as number) + random.normal();
    });
    const problem = { response, random: [{ name: 'patient', groups, slope: { name: 'day', values: day } }] };
    const { intervals } = await linearMixedProfile(problem);
    const fit = linearMixedModel(problem);
    const [component] = fit.components;
    // The slope's error stands third in the covariance of the components: variance, covariance, slope variance, residual.
    expect(component?.slope?.standardError).toBe(Math.sqrt(fit.componentCovariance[2 * 5] as number));
    expect(component?.standardError).toBe(Math.sqrt(fit.componentCovariance[0] as number));
    const value = (name: string): number => intervals.find((one) => one.name === name)?.value as number;
    expect(value('deviation.patient')).toBeLessThan(value('deviation.residual'));
    expectNear(value('deviation.patient'), component?.standardDeviation as number, 1e-6);
    expectNear(value('deviation.patient.day'), component?.slope?.standardDeviation as number, 1e-6);
    expectNear(value('correlation.patient.day'), component?.slope?.correlation as number, 1e-5);
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
    expect(found.notes.map(({ message }) => message)).toEqual(['Stopped after 2 of 5 parameters.']);
  });
});

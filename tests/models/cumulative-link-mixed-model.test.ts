import { describe, expect, it } from 'vitest';
import {
  type CumulativeLinkMixedFit,
  type CumulativeLinkMixedProblem,
  cumulativeLinkMixedLogLikelihood,
  cumulativeLinkMixedModel,
  cumulativeLinkMixedModelLong,
} from '../../src/models/cumulative-link-mixed-model.ts';
import { cumulativeLinkModel } from '../../src/models/cumulative-link-model.ts';
import { symmetricInverse } from '../../src/models/linear-algebra.ts';
import { numericalHessian } from '../../src/models/optimize.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';
import { type ReferenceFits, readReference } from '../support/reference-fits.ts';
import { wine } from '../support/wine.ts';

const reference = readReference<ReferenceFits>('mixed-ordinal-models.json');
const { data, ordinal } = reference;
const judge = { name: 'judge', groups: wine.judge };
const bitterness: CumulativeLinkMixedProblem = {
  response: wine.response,
  effects: { warm: wine.warm, contact: wine.contact },
  random: [judge],
};
const patient = { name: 'patient', groups: data.patient };
const assessor = { name: 'assessor', groups: data.assessor };
const limb = { name: 'limb', groups: data.limb, within: 'patient' };
const graded = { response: data.grade, effects: { warm: data.warm, day: data.day } };

function coefficients(fit: CumulativeLinkMixedFit): number[] {
  return [...fit.thresholds, ...fit.effects.map(({ value }) => value)];
}

describe('bitterness of wine by nine judges', () => {
  it('Laplace: the published fit', () => {
    const fit = cumulativeLinkMixedModel(bitterness);
    expect(fit.convergence).toMatchObject({ converged: true, hessianPositiveDefinite: true });
    expectNear(fit.logLikelihood, -81.565412776871, 1e-10);
    expectAllNear(
      coefficients(fit),
      [-1.62367725767552, 1.51335488096563, 4.2285191790575, 6.08876900299322, 3.06300338800271, 1.83490093127708],
      1e-5,
    );
    expectNear(fit.components[0]?.standardDeviation as number, 1.13114331398667, 1e-5);
  });

  it.each<[string, CumulativeLinkMixedProblem, number]>([
    ['judges', bitterness, 6],
    ['patients, limbs and assessors', { ...graded, random: [patient, limb, assessor] }, 5],
  ])('standard errors come from the curvature at the maximum: %s', (_, problem, fixed) => {
    const fit = cumulativeLinkMixedModel(problem);
    const deviations = fit.components.map(({ standardDeviation }) => standardDeviation);
    const value = (point: Float64Array): number =>
      -cumulativeLinkMixedLogLikelihood(
        problem,
        point.slice(0, fixed),
        Object.fromEntries(fit.components.map(({ term }, k) => [term, point[fixed + k] as number])),
      );
    const order = fixed + deviations.length;
    const inverse = symmetricInverse(numericalHessian({ value }, [...coefficients(fit), ...deviations]), order);
    const error = (k: number): number => Math.sqrt(inverse?.[k * (order + 1)] as number);
    expectAllNear(
      [...fit.thresholdErrors, ...fit.effects.map(({ standardError }) => standardError)],
      Array.from({ length: fixed }, (__, k) => error(k)),
      1e-5,
    );
    // Delta method: var(s²) = 4 s² var(s).
    expectAllNear(
      fit.components.map(({ standardError }) => standardError),
      deviations.map((deviation, k) => 2 * deviation * error(fixed + k)),
      1e-4,
    );
  });

  it('a slope: likelihood at its own estimates, and errors of both variances', () => {
    // Forty invented patients read eight times by four assessors, with intercepts and slopes of their own: the correlation is inside.
    const random = seededRandom(61);
    const groups = Array.from({ length: 320 }, (_, row) => Math.floor(row / 8));
    const day = groups.map((_, row) => 10 * (row % 8) - 35);
    const readers = groups.map((_, row) => (row * 5 + Math.floor(row / 8)) % 4);
    const own = groups.map(() => [1.2 * random.normal(), 0.05 * random.normal()] as const);
    const others = [-0.6, 0.7, -0.3, 0.4];
    const late = groups.map((group) => group % 2);
    const response = groups.map((group, row) => {
      const u = random.uniform();
      const [intercept, slope] = own[group] as readonly [number, number];
      const latent =
        intercept + slope * (day[row] as number) + (others[readers[row] as number] as number) + Math.log(u / (1 - u));
      return [-1.5, 0, 1.5].filter((threshold) => latent > threshold).length;
    });
    const problem = {
      response,
      effects: { late, day },
      random: [
        { name: 'patient', groups, slope: { name: 'day', values: day } },
        { name: 'assessor', groups: readers },
      ],
    };
    const fit = cumulativeLinkMixedModel(problem);
    expect(fit.convergence.converged).toBe(true);
    const [first, other] = fit.components;
    const slope = first?.slope as NonNullable<typeof first>['slope'] & object;
    expectNear(
      slope.covariance,
      slope.correlation * (first?.standardDeviation as number) * slope.standardDeviation,
      1e-12,
    );
    const point = [
      ...coefficients(fit),
      first?.standardDeviation as number,
      slope.standardDeviation,
      slope.correlation,
      other?.standardDeviation as number,
    ];
    const value = (p: Float64Array): number =>
      -cumulativeLinkMixedLogLikelihood(problem, p.slice(0, 5), {
        patient: [p[5] as number, (p[6] as number) / 50, p[7] as number],
        assessor: p[8] as number,
      });
    // The slope's deviation in fiftieths, so that differences suit all.
    const scaled = point.map((x, k) => (k === 6 ? 50 * x : x));
    expectNear(-value(Float64Array.from(scaled)), fit.logLikelihood, 1e-9);
    expect(Math.abs(slope.correlation)).toBeLessThan(0.98);
    const inverse = symmetricInverse(numericalHessian({ value }, scaled), 9) as Float64Array;
    const error = (k: number): number => Math.sqrt(inverse[k * 10] as number);
    expectNear((first?.standardError as number) / (2 * (first?.standardDeviation as number) * error(5)), 1, 1e-3);
    expectNear(slope.standardError / (2 * slope.standardDeviation * (error(6) / 50)), 1, 1e-3);
    expectNear((other?.standardError as number) / (2 * (other?.standardDeviation as number) * error(8)), 1, 1e-3);
    expectNear(fit.effects[1]?.standardError as number, error(4), 1e-5);
  });

  it('counts, assumptions and the numbers of a fit', () => {
    const fit = cumulativeLinkMixedModel({ ...bitterness, random: [judge], quadraturePoints: 5 });
    expect(fit.counts.rows).toBe(wine.response.length);
    expect(fit.counts.weight).toBe(wine.response.length);
    expect(fit.counts.groups).toEqual({ judge: 9 });
    expect(fit.counts.grades).toEqual(
      [0, 1, 2, 3, 4].map((grade) => wine.response.filter((own) => own === grade).length),
    );
    expect(fit.parameters).toBe(4 + 2 + 1);
    expect(fit.assumptions.join()).toContain('integrated with 5 adaptive points');
    expect(fit.assumptions.join()).toContain('same at every threshold');
    const { effects: _, ...plain } = bitterness;
    const bare = cumulativeLinkMixedModel(plain);
    expect(bare.assumptions.join()).toContain('Laplace');
    expect(bare.assumptions.join()).not.toContain('same at every threshold');
  });

  it.each<[keyof ReferenceFits['wine'], CumulativeLinkMixedProblem]>([
    ['quadrature', { ...bitterness, quadraturePoints: 10 }],
    ['probit', { ...bitterness, quadraturePoints: 5, link: 'probit' }],
    ['crossed', { response: wine.response, random: [judge, { name: 'bottle', groups: wine.bottle }] }],
    ['slope', { ...bitterness, random: [{ ...judge, slope: { name: 'warm', values: wine.warm } }] }],
  ])('the reference program’s maximum: %s', (key, problem) => {
    const expected = reference.wine[key];
    const fit = cumulativeLinkMixedModel(problem);
    expectNear(fit.logLikelihood, expected.logLik, 1e-10);
    const covariances = fit.components.flatMap(({ variance, slope }) =>
      slope === undefined ? [variance] : [variance, slope.covariance, slope.variance],
    );
    // Where the program's own search stopped: about the root of its gradient tolerance.
    expectAllNear(covariances, Object.values(expected.covariances).flat(), 2e-5);
  });

  it('says that bottles do not vary once temperature and contact are in', () => {
    const fit = cumulativeLinkMixedModel({ ...bitterness, random: [judge, { name: 'bottle', groups: wine.bottle }] });
    expectNear(fit.logLikelihood, -81.565412776871, 1e-10);
    expect(fit.convergence.converged).toBe(true);
    expect(fit.notes.map(({ code }) => code)).toEqual(['variance-at-zero']);
    expect(fit.components[1]).toMatchObject({ variance: 0, onBoundary: true });
    const alone = cumulativeLinkMixedModel(bitterness);
    expectAllNear(
      fit.effects.map(({ standardError }) => standardError),
      alone.effects.map(({ standardError }) => standardError),
      1e-5,
    );
  });
});

describe('the reference program on readings with gaps', () => {
  it.each<[keyof ReferenceFits['ordinal'], CumulativeLinkMixedProblem, number]>([
    ['quadrature', { ...graded, random: [patient], quadraturePoints: 9 }, 1e-8],
    ['probitQuadrature', { ...graded, random: [patient], quadraturePoints: 9, link: 'probit' }, 1e-8],
    ['crossed', { ...graded, random: [patient, assessor] }, 1e-8],
    ['nested', { ...graded, random: [patient, limb, assessor] }, 1e-8],
    // Its single-term Laplace path leaves the modes short of their maxima: its value is off by some 1e-6.
    ['laplace', { ...graded, random: [patient] }, 1e-7],
  ])('%s', (key, problem, tolerance) => {
    const expected = ordinal[key];
    const fit = cumulativeLinkMixedModel(problem);
    expect(fit.convergence.converged).toBe(true);
    expectNear(fit.logLikelihood, expected.logLik, tolerance);
    expectAllNear(coefficients(fit), expected.coefficients, 2e-4);
    const names: Record<string, string> = { P: 'patient', A: 'assessor', L: 'limb' };
    for (const [name, deviation] of Object.entries(expected.deviations))
      expectNear(fit.components.find(({ term }) => term === names[name])?.standardDeviation as number, deviation, 5e-4);
    if (key === 'crossed') {
      const effects = fit.effectsOfGroups.assessor;
      const order = [1, 2, 3, 4, 5].map((level) => effects?.levels.indexOf(level) as number);
      expectAllNear(
        order.map((at) => effects?.intercepts[at] as number),
        expected.firstEffects.A as number[],
        2e-4,
      );
      expectAllNear(
        order.map((at) => (effects?.interceptDeviations[at] as number) ** 2),
        expected.firstVariances.A as number[],
        2e-4,
      );
    }
    // Its errors come from rough differences, good in these cases only; the others are checked by our own above.
    if (key !== 'laplace' && key !== 'nested')
      expectAllNear(
        [...fit.thresholdErrors, ...fit.effects.map(({ standardError }) => standardError)],
        expected.errors,
        1e-3,
      );
  });
});

describe('recovery', () => {
  it('is right on average with quadrature: 40 studies of 40 patients, 6 readings each', () => {
    const thresholds = [-1.5, 0, 1.5];
    const names = ['τ₀', 'τ₁', 'τ₂', 'β', 's'];
    const truth = [...thresholds, 0.7, 1.2];
    const found: number[][] = [];
    for (let study = 0; study < 40; study++) {
      const random = seededRandom(97, study);
      const groups = Array.from({ length: 240 }, (_, row) => Math.floor(row / 6));
      const effects = Array.from({ length: 40 }, () => 1.2 * random.normal());
      const late = groups.map((_, row) => row % 2);
      const response = groups.map((group, row) => {
        const u = random.uniform();
        const latent = 0.7 * (late[row] as number) + (effects[group] as number) + Math.log(u / (1 - u));
        return thresholds.filter((threshold) => latent > threshold).length;
      });
      const fit = cumulativeLinkMixedModel({
        response,
        effects: { late },
        random: [{ name: 'patient', groups }],
        quadraturePoints: 7,
      });
      expect(fit.convergence.converged).toBe(true);
      found.push([...coefficients(fit), fit.components[0]?.standardDeviation as number]);
    }
    truth.forEach((value, k) => {
      const mean = found.reduce((sum, one) => sum + (one[k] as number), 0) / found.length;
      const variance = found.reduce((sum, one) => sum + ((one[k] as number) - mean) ** 2, 0) / (found.length - 1);
      // Maximum likelihood carries a bias of the order of 1/patients beside the Monte Carlo error.
      expect(Math.abs(mean - value), names[k]).toBeLessThan(4 * Math.sqrt(variance / found.length) + 0.03);
    });
  });
});

describe('awaited', () => {
  it('gives the same digits, and stops when asked', async () => {
    expect(await cumulativeLinkMixedModelLong(bitterness)).toEqual(cumulativeLinkMixedModel(bitterness));
    const controller = new AbortController();
    const stopped = await cumulativeLinkMixedModelLong(bitterness, {
      signal: controller.signal,
      progress: (share) => share > 0 && controller.abort(),
    });
    expect(stopped.convergence).toMatchObject({ converged: false, stoppedBy: 'signal' });
    expect(stopped.notes.map(({ code }) => code)).toEqual(['not-converged']);
  });
});

describe('edges', () => {
  it('is the model without random effects where the variance is zero', () => {
    const groups = data.grade.map((_, row) => row % 7);
    const balanced = { response: data.grade.map((_, row) => Math.floor(row / 7) % 4), effects: { warm: data.warm } };
    const fit = cumulativeLinkMixedModel({ ...balanced, random: [{ name: 'day', groups }] });
    expect(fit.components[0]).toMatchObject({ variance: 0, standardError: Number.NaN });
    expectNear(fit.logLikelihood, cumulativeLinkModel(balanced).logLikelihood, 1e-10);
    expect(fit.convergence.converged).toBe(true);
  });

  it('says that the grades are separated', () => {
    const groups = Array.from({ length: 40 }, (_, row) => row % 8);
    const x = groups.map((_, row) => (row < 20 ? 0 : 1));
    const response = x.map((value, row) => 2 * value + (row % 2));
    const fit = cumulativeLinkMixedModel({ response, effects: { x }, random: [{ name: 'patient', groups }] });
    expect(fit.convergence.converged).toBe(false);
    expect(fit.notes.map(({ code }) => code)).toContain('separated');
  });

  it.each<[string, CumulativeLinkMixedProblem, string]>([
    ['quadrature over two terms', { ...graded, random: [patient, assessor], quadraturePoints: 5 }, 'bad-option'],
    ['no point', { ...graded, random: [patient], quadraturePoints: 0 }, 'bad-option'],
    ['101 points', { ...graded, random: [patient], quadraturePoints: 101 }, 'bad-option'],
    [
      'quadrature over a slope',
      { ...graded, random: [{ ...patient, slope: { name: 'day', values: data.day } }], quadraturePoints: 2 },
      'bad-option',
    ],
    ['half a point', { ...graded, random: [patient], quadraturePoints: 1.5 }, 'bad-option'],
    ['no random term', { ...graded, random: [] }, 'no-random-term'],
    ['one group', { ...graded, random: [{ name: 'x', groups: data.grade.map(() => 1) }] }, 'one-group'],
    ['half grades', { ...graded, response: data.grade.map((grade) => grade / 2), random: [patient] }, 'not-a-grade'],
  ])('refuses %s', (_, problem, code) => {
    try {
      cumulativeLinkMixedModel(problem);
      expect.unreachable();
    } catch (error) {
      expect(error).toBeInstanceOf(InputError);
      expect((error as InputError).problems.map((one) => one.code)).toEqual([code]);
    }
  });
});

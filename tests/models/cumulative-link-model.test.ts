import { describe, expect, it } from 'vitest';
import { type CumulativeLinkProblem, CumulativeLinkRows } from '../../src/models/cumulative-link.ts';
import {
  cumulativeLinkLogLikelihood,
  cumulativeLinkModel,
  negativeLogLikelihood,
} from '../../src/models/cumulative-link-model.ts';
import { numericalGradient, numericalHessian } from '../../src/models/optimize.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';
import { referenceData } from '../support/optional.ts';
import { type ReferenceFits, readReference, readTable } from '../support/reference-fits.ts';
import { wine } from '../support/wine.ts';

const { data, ordinal } = readReference<ReferenceFits>('mixed-ordinal-models.json');
const problem: CumulativeLinkProblem = { response: data.grade, effects: { warm: data.warm, day: data.day } };

describe('published examples', () => {
  it('bitterness of wine', () => {
    const fit = cumulativeLinkModel({ response: wine.response, effects: { warm: wine.warm, contact: wine.contact } });
    expect(fit.convergence).toMatchObject({ converged: true, hessianPositiveDefinite: true });
    expectNear(fit.logLikelihood, -86.4919233656491, 1e-12);
    expectAllNear(
      fit.effects.map(({ value }) => value),
      [2.50310200789956, 1.52779765809535],
      1e-9,
    );
    expectAllNear(fit.thresholds, [-1.34438341126502, 1.25080879841678, 3.4668869264749, 5.00640420427088], 1e-9);
    expectAllNear(
      [...fit.thresholdErrors, ...fit.effects.map(({ standardError }) => standardError)],
      [
        0.517102045324353, 0.437880202961645, 0.597760424608545, 0.730906343667084, 0.528680100824929,
        0.476622629648342,
      ],
      1e-6,
    );
  });

  const folder = referenceData();
  it.runIf(folder !== undefined)('satisfaction with housing, from frequencies', () => {
    const table = readTable(`${folder}data/housing.csv`);
    const is = (name: string, level: string): number[] =>
      (table[name] as string[]).map((value) => (value === level ? 1 : 0));
    const fit = cumulativeLinkModel({
      response: (table.Sat as string[]).map((level) => ['Low', 'Medium', 'High'].indexOf(level)),
      weights: (table.Freq as string[]).map(Number),
      effects: {
        influenceMedium: is('Infl', 'Medium'),
        influenceHigh: is('Infl', 'High'),
        apartment: is('Type', 'Apartment'),
        atrium: is('Type', 'Atrium'),
        terrace: is('Type', 'Terrace'),
        contactHigh: is('Cont', 'High'),
      },
    });
    expectNear(-2 * fit.logLikelihood, 3479.14929905895, 1e-12);
    expectAllNear(
      fit.effects.map(({ value }) => value),
      [0.566393737905927, 1.28881911037226, -0.572350002041979, -0.36618637068895, -1.0910146589696, 0.36028400456913],
      1e-6,
    );
    expectAllNear(fit.thresholds, [-0.496135138197093, 0.690708259263148], 1e-6);
    expectAllNear(
      [...fit.thresholdErrors, ...fit.effects.map(({ standardError }) => standardError)],
      [
        0.124847242877451, 0.125471937849649, 0.104652781364007, 0.12715614456774, 0.119238008596592, 0.155173332018792,
        0.15148601856096, 0.0955357950023712,
      ],
      1e-6,
    );
  });
});

describe('the reference program', () => {
  it.each([
    ['logit', 'plain'],
    ['probit', 'probit'],
  ] as const)('%s', (link, key) => {
    const expected = ordinal[key];
    const fit = cumulativeLinkModel({ ...problem, link });
    expectNear(fit.logLikelihood, expected.logLik, 1e-11);
    // Its own search stops at a gradient of about 1e-6.
    expectAllNear([...fit.thresholds, ...fit.effects.map(({ value }) => value)], expected.coefficients, 1e-6);
    expectAllNear(
      [...fit.thresholdErrors, ...fit.effects.map(({ standardError }) => standardError)],
      expected.errors,
      1e-6,
    );
  });

  it('an effect that varies by threshold', () => {
    const fit = cumulativeLinkModel({ response: data.grade, effects: { day: data.day }, varying: { warm: data.warm } });
    expectNear(fit.logLikelihood, ordinal.varying.logLik, 1e-11);
    expect(fit.varying[0]?.values).toHaveLength(3);
    expect(fit.convergence.converged).toBe(true);
  });
});

describe('the likelihood', () => {
  it('is the product of the probabilities', () => {
    const parameters = [-1, 0.2, 1.5, 0.6, 0.01];
    const F = (x: number): number => 1 / (1 + Math.exp(-x));
    const byHand = data.grade.reduce((sum, grade, row) => {
      const shift = 0.6 * (data.warm[row] as number) + 0.01 * (data.day[row] as number);
      const upper = grade === 3 ? 1 : F((parameters[grade] as number) - shift);
      const lower = grade === 0 ? 0 : F((parameters[grade - 1] as number) - shift);
      return sum + Math.log(upper - lower);
    }, 0);
    expectNear(cumulativeLinkLogLikelihood(problem, parameters), byHand, 1e-12);
    expect(cumulativeLinkLogLikelihood(problem, [1, 0.2, 1.5, 0, 0])).toBe(Number.NEGATIVE_INFINITY);
  });

  it.each(['logit', 'probit'] as const)('has exact first and second derivatives, %s', (link) => {
    const rows = new CumulativeLinkRows({
      response: data.grade,
      effects: { day: data.day.map((day) => day / 90) },
      varying: { warm: data.warm },
      weights: data.warm.map((_, row) => (row % 3) / 2),
      link,
    });
    const objective = negativeLogLikelihood(rows);
    const at = Float64Array.of(-1, 0.2, 1.5, 0.4, 0.3, 0.1, -0.2);
    expectAllNear(objective.gradient(at), numericalGradient(objective.value, at), 1e-8);
    expectAllNear(
      objective.hessian(at),
      numericalHessian({ value: objective.value, gradient: objective.gradient }, at),
      1e-8,
    );
  });

  it('reverses with the scale, and counts a weight of two as two rows', () => {
    const fit = cumulativeLinkModel(problem);
    const reversed = cumulativeLinkModel({ ...problem, response: data.grade.map((grade) => 3 - grade) });
    expectNear(reversed.logLikelihood, fit.logLikelihood, 1e-12);
    expectAllNear(
      reversed.effects.map(({ value }) => -value),
      fit.effects.map(({ value }) => value),
      1e-9,
    );
    const twice = cumulativeLinkModel({ ...problem, weights: data.grade.map(() => 2) });
    expectNear(twice.logLikelihood, 2 * fit.logLikelihood, 1e-12);
    expectAllNear(
      twice.effects.map(({ standardError }) => standardError * Math.SQRT2),
      fit.effects.map(({ standardError }) => standardError),
      1e-8,
    );
  });

  it('has its closed form for a two by two table, as the docstring says', () => {
    const fit = cumulativeLinkModel({
      response: [0, 1, 0, 1],
      weights: [3, 1, 1, 3],
      effects: { late: [0, 0, 1, 1] },
    });
    expectNear(fit.effects[0]?.value as number, Math.log(9), 1e-10);
    expectNear(fit.effects[0]?.standardError as number, Math.sqrt(1 + 1 / 3 + 1 / 3 + 1), 1e-10);
  });
});

describe('edges', () => {
  it('gives grades never seen no room, and says so', () => {
    const fit = cumulativeLinkModel({ ...problem, response: data.grade.map((grade) => 2 * grade + 1), categories: 9 });
    const plain = cumulativeLinkModel(problem);
    expectNear(fit.logLikelihood, plain.logLikelihood, 1e-12);
    const [t0, t1, t2] = plain.thresholds as unknown as [number, number, number];
    expect([...fit.thresholds]).toEqual([Number.NEGATIVE_INFINITY, t0, t0, t1, t1, t2, t2, Number.POSITIVE_INFINITY]);
    expect(fit.notes[0]?.message).toBe('Grades 0, 2, 4, 6, 8 never occurred, so they have no threshold of their own.');
  });

  it.each<[string, number[], number[]]>([
    ['completely', [0, 0, 0, 1, 1, 1, 2, 2], [0, 0, 0, 1, 1, 1, 2, 2]],
    ['in one grade only', [0, 0, 0, 1, 1, 1, 0, 1], [0, 0, 0, 1, 1, 0, 0, 0]],
  ])('says that a column separates the grades %s', (_, response, x) => {
    const fit = cumulativeLinkModel({ response, effects: { x } });
    expect(fit.convergence.converged).toBe(false);
    expect(fit.notes.map(({ code }) => code)).toEqual(['separated']);
    expect(fit.effects[0]?.standardError).toBeNaN();
  });

  it('does not call a strong effect separated', () => {
    const x = Array.from({ length: 400 }, (_, row) => row / 100);
    const response = x.map((value, row) => (value + (row % 7 === 0 ? 0.35 : 0) > 2 ? 1 : 0) ^ (row === 130 ? 1 : 0));
    const fit = cumulativeLinkModel({ response, effects: { x } });
    expect(fit.effects[0]?.value).toBeGreaterThan(3);
    expect(fit.convergence.converged).toBe(true);
  });

  it.each<[string, CumulativeLinkProblem, string[]]>([
    ['half grades', { response: [0, 1, 0.5, 2] }, ['not-a-grade']],
    ['a grade above the scale', { response: [0, 1, 2, 3, 1, 1], categories: 3 }, ['not-a-grade']],
    ['one grade', { response: [1, 1, 1, 1] }, ['one-grade']],
    ['tiny data', { response: [0, 1, 2], effects: { x: [0, 1, 0] } }, ['too-few-rows']],
    ['a constant column', { response: [0, 1, 0, 1], effects: { x: [1, 1, 1, 1] } }, ['collinear-column']],
    [
      'negative weights and missing values',
      { response: [0, 1], weights: [1, -1], effects: { x: [Number.NaN, 1] } },
      ['not-finite', 'negative-weight'],
    ],
    [
      'a column both fixed and varying',
      { response: [0, 1, 0, 1, 1], effects: { x: [0, 1, 1, 0, 1] }, varying: { y: [0, 1, 1, 0, 1] } },
      ['collinear-column'],
    ],
  ])('refuses %s', (_, wrong, codes) => {
    expect(() => cumulativeLinkModel(wrong)).toThrowError(InputError);
    try {
      cumulativeLinkModel(wrong);
    } catch (error) {
      expect((error as InputError).problems.map(({ code }) => code)).toEqual(codes);
    }
  });
});

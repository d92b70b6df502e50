import { describe, expect, it } from 'vitest';
import { CumulativeLinkRows, type Link } from '../../src/models/cumulative-link.ts';
import { CumulativeLinkMixedCriterion } from '../../src/models/cumulative-link-mixed-criterion.ts';
import { numericalGradient } from '../../src/models/optimize.ts';
import { checkTerms, type RandomTerm, RandomTerms } from '../../src/models/random-terms.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';
import { type ReferenceFits, readReference } from '../support/reference-fits.ts';

const { data } = readReference<ReferenceFits>('mixed-ordinal-models.json');
const count = data.grade.length;
const patient: RandomTerm = { name: 'patient', groups: data.patient };
const limb: RandomTerm = { name: 'limb', groups: data.limb, within: 'patient' };
const assessor: RandomTerm = { name: 'assessor', groups: data.assessor };

function criterionOf(
  random: readonly RandomTerm[],
  points: number,
  link: Link = 'logit',
): CumulativeLinkMixedCriterion {
  const rows = new CumulativeLinkRows({
    response: data.grade,
    effects: { day: data.day.map((day) => day / 90) },
    varying: { warm: data.warm },
    weights: data.warm.map((_, row) => 1 + (row % 2)),
    link,
  });
  return new CumulativeLinkMixedCriterion(rows, new RandomTerms(count, checkTerms(random, count, [], true)), points);
}

const fixed = [-1.2, -0.4, 1.4, 0.4, 0.9, 0.8, 1.1];

describe('the gradient', () => {
  it.each<[string, RandomTerm[], number, Link, number[]]>([
    ['one intercept', [patient], 1, 'logit', [1.7]],
    ['one intercept at zero', [patient], 1, 'logit', [0]],
    ['one intercept, probit', [patient], 1, 'probit', [1.1]],
    ['adaptive quadrature', [patient], 7, 'logit', [1.7]],
    ['adaptive quadrature, probit', [patient], 6, 'probit', [0.9]],
    ['crossed', [patient, assessor], 1, 'logit', [1.7, 0.8]],
    ['nested and crossed, probit', [patient, limb, assessor], 1, 'probit', [0.4, 0.9, 0.5]],
    ['a slope', [{ ...patient, slope: { name: 'day', values: data.day } }, assessor], 1, 'logit', [1.5, 0.3, 0.6, 0.7]],
  ])('matches differences: %s', (_, random, points, link, theta) => {
    const criterion = criterionOf(random, points, link);
    const at = Float64Array.of(...fixed, ...theta);
    expectAllNear(
      criterion.gradient(at),
      numericalGradient((p) => criterion.value(p), at),
      2e-8,
    );
  });
});

describe('the approximations', () => {
  /** ln ∫ Π P(yᵢ | su) φ(u) du of every patient by the trapezoidal rule on ±12, exact to rounding for such integrands. */
  const integrated = (deviation: number): number => {
    const F = (x: number): number => 1 / (1 + Math.exp(-x));
    let total = 0;
    for (const own of new Set(data.patient)) {
      let integral = 0;
      for (let step = -1200; step <= 1200; step++) {
        const u = step / 100;
        let density = Math.exp(-u * u * 0.5) / Math.sqrt(2 * Math.PI);
        data.patient.forEach((p, row) => {
          if (p !== own) return;
          const grade = data.grade[row] as number;
          const warm = data.warm[row] as number;
          const shift = (0.4 * (data.day[row] as number)) / 90 + deviation * u;
          const upper = grade === 3 ? 1 : F((fixed[grade] as number) - (fixed[4 + grade] as number) * warm - shift);
          const lower = grade === 0 ? 0 : F((fixed[grade - 1] as number) - (fixed[3 + grade] as number) * warm - shift);
          density *= (upper - lower) ** (1 + (row % 2));
        });
        integral += density / 100;
      }
      total += Math.log(integral);
    }
    return total;
  };

  it('close in on the integral as points are added; Laplace’s is the one-point rule', () => {
    const exact = -integrated(1.7);
    const at = Float64Array.of(...fixed, 1.7);
    const gaps = [1, 3, 7, 15, 31].map((points) => Math.abs(criterionOf([patient], points).value(at) - exact));
    expect(gaps[0]).toBeGreaterThan(0.01);
    expect(gaps[0]).toBeLessThan(2);
    for (let k = 1; k < gaps.length; k++) expect(gaps[k]).toBeLessThan((gaps[k - 1] as number) / 4);
    expect(gaps[4]).toBeLessThan(1e-8);
  });

  it('are exact without random effects, and the same from wherever a point is reached', () => {
    const criterion = criterionOf([patient, assessor], 1);
    const none = Float64Array.of(...fixed, 0, 0);
    const some = Float64Array.of(...fixed, 1.3, 0.4);
    const first = criterion.value(some);
    expectNear(criterion.value(none), criterionOf([patient], 9).value(Float64Array.of(...fixed, 0)), 1e-12);
    expectNear(criterion.value(some), first, 1e-13);
    expect(criterion.value(Float64Array.of(1, 0, ...fixed.slice(2), 1, 1))).toBe(Number.POSITIVE_INFINITY);
  });
});

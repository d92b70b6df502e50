import { describe, expect, it } from 'vitest';
import { type DesignColumns, readDesign } from '../../src/models/design-columns.ts';
import { cholesky, logDeterminant, solveCholesky } from '../../src/models/linear-algebra.ts';
import { LinearMixedCriterion } from '../../src/models/linear-mixed-criterion.ts';
import { linearMixedCriterion } from '../../src/models/linear-mixed-model.ts';
import { numericalGradient } from '../../src/models/optimize.ts';
import { checkTerms, type RandomTerm, RandomTerms } from '../../src/models/random-terms.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { expectNear } from '../support/expect-near.ts';
import { type ReferenceFits, readReference } from '../support/reference-fits.ts';

const { data } = readReference<ReferenceFits>('mixed-ordinal-models.json');
const rows = data.length.length;
const random: RandomTerm[] = [
  { name: 'patient', groups: data.patient, slope: { name: 'day', values: data.day } },
  { name: 'limb', groups: data.limb, within: 'patient' },
  { name: 'assessor', groups: data.assessor },
];
const problem = { response: data.length, fixed: { warm: data.warm, day: data.day }, random };

/** −2 ln L from the definition: the density of y ~ N(Xβ, V) with V written out, β at its best. */
function denseCriterion(restricted: boolean, residual: number): number {
  const limb = data.limb.map((side, row) => `${data.patient[row]}${side}`);
  const v = new Float64Array(rows * rows);
  for (let i = 0; i < rows; i++)
    for (let j = 0; j < rows; j++) {
      const [a, b] = [data.day[i] as number, data.day[j] as number];
      v[i * rows + j] =
        (data.patient[i] === data.patient[j] ? 2 - 0.005 * (a + b) + 0.0004 * a * b : 0) +
        (limb[i] === limb[j] ? 0.4 : 0) +
        (data.assessor[i] === data.assessor[j] ? 0.3 : 0) +
        (i === j ? residual : 0);
    }
  expect(cholesky(v, rows)).toBe(true);
  const x = [new Float64Array(rows).fill(1), Float64Array.from(data.warm), Float64Array.from(data.day)];
  const solved = x.map((column) => {
    const out = Float64Array.from(column);
    solveCholesky(v, rows, out);
    return out;
  });
  const dot = (a: ArrayLike<number>, b: ArrayLike<number>): number =>
    Array.from(a).reduce((sum, value, at) => sum + value * (b[at] as number), 0);
  const information = Float64Array.from(x.flatMap((left) => solved.map((right) => dot(left, right))));
  const beta = Float64Array.from(solved.map((column) => dot(column, data.length)));
  expect(cholesky(information, 3)).toBe(true);
  solveCholesky(information, 3, beta);
  const residuals = Float64Array.from(data.length);
  x.forEach((column, k) => {
    for (let row = 0; row < rows; row++)
      residuals[row] = (residuals[row] as number) - (beta[k] as number) * (column[row] as number);
  });
  const whitened = Float64Array.from(residuals);
  solveCholesky(v, rows, whitened);
  const degrees = rows - (restricted ? 3 : 0);
  return (
    degrees * Math.log(2 * Math.PI) +
    logDeterminant(v, rows) +
    dot(residuals, whitened) +
    (restricted ? logDeterminant(information, 3) : 0)
  );
}

describe('the criterion', () => {
  it.each(['REML', 'ML'] as const)('is the %s density with V written out, at fixed variances', (method) => {
    const value = linearMixedCriterion(
      { ...problem, method },
      { patient: [2, -0.005, 0.0004], limb: 0.4, assessor: 0.3 },
      0.7,
    );
    expectNear(value, denseCriterion(method === 'REML', 0.7), 1e-11);
  });

  it('keeps its digits when the response stands far from zero', () => {
    const components = { patient: [2, -0.005, 0.0004] as const, limb: 0.4, assessor: 0.3 };
    const far = data.length.map((value) => value + 2 ** 20);
    expectNear(
      linearMixedCriterion({ ...problem, response: far }, components, 0.7),
      linearMixedCriterion(problem, components, 0.7),
      1e-11,
    );
  });

  it('refuses what is no covariance, all at once', () => {
    expect(() => linearMixedCriterion(problem, { patient: [1, 5, 1], limb: -1 }, 0)).toThrowError(
      /residual variance[\s\S]*"limb"[\s\S]*"assessor"|residual variance[\s\S]*"patient"/,
    );
  });
});

describe.each([true, false])('its gradient (restricted: %s)', (restricted) => {
  const terms = new RandomTerms(rows, checkTerms(random, rows, [], false));
  const design: DesignColumns = readDesign('fixed', problem.fixed, rows, true, []);
  const criterion = new LinearMixedCriterion(terms, design, Float64Array.from(data.length), restricted);

  it.each([
    ['inside', [0.9, 1.4, 0.3, 0.5, 0.6]],
    ['where an entry is zero', [0, 1.4, 0, 0.5, 0]],
  ])('matches differences %s', (_, entries) => {
    const theta = Float64Array.from(entries);
    expectAllNear(
      criterion.gradient(theta).theta,
      numericalGradient((p) => criterion.value(p), theta),
      1e-7,
    );
    const full = criterion.gradient(theta, 0.6);
    expectAllNear(
      full.theta,
      numericalGradient((p) => criterion.value(p, 0.6), theta),
      1e-7,
    );
    const [byScale] = numericalGradient(([s]) => criterion.value(theta, 0.6 * Math.exp(2 * (s as number))), [0]);
    expectNear(full.scale, byScale as number, 1e-8);
    expectAllNear(
      criterion.logSquaresGradient(theta),
      numericalGradient((p) => Math.log(criterion.penalizedSquares(p)), theta),
      1e-8,
    );
  });
});

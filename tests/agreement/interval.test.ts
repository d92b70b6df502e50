import { describe, expect, it } from 'vitest';
import { type Coefficient, clusterSums } from '../../src/agreement/coefficient.ts';
import { fleissCoefficient } from '../../src/agreement/fleiss-kappa.ts';
import {
  asymptoticError,
  asymptoticInterval,
  asymptoticShares,
  bootstrapInterval,
  clusterRobustInterval,
  jackknifeShares,
  linearClusterShares,
  linearizedClusterError,
  quantileOf,
  replicateStatistics,
  studentizedLimits,
} from '../../src/agreement/interval.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';

const random = seededRandom(31);
const rows = Array.from({ length: 96 }, () => {
  const truth = random.below(3);
  return [0, 1, 2].map(() => (random.uniform() < 0.75 ? truth : random.below(3)));
});
const ratings = ratingsOf(rows, { categories: [0, 1, 2], clusters: rows.map((_, at) => at % 24) });
const coefficient = fleissCoefficient(ratings, {});
const sums = clusterSums(ratings, coefficient);
const value = coefficient.value(sums.totals);
const options = { confidenceLevel: 0.95, replicates: 2000, seed: 5, interval: undefined } as const;
const rootOfSquares = (shares: Iterable<number>): number =>
  Math.sqrt([...shares].reduce((sum, share) => sum + share * share, 0));

describe('shares of the error', () => {
  it('of patients sum in squares to the jackknife and to the linearized error', () => {
    const { standardError } = clusterRobustInterval(coefficient, sums, options);
    expect(rootOfSquares(jackknifeShares(coefficient, sums))).toBeCloseTo(standardError, 12);
    expect(rootOfSquares(linearClusterShares(coefficient, sums))).toBeCloseTo(
      linearizedClusterError(coefficient, sums),
      12,
    );
  });

  it('of targets sum in squares to the asymptotic error, with divisor n − 1 where that is published', () => {
    const shares: number[] = [];
    asymptoticShares(coefficient, ratings, sums, undefined, (_target, share) => shares.push(share));
    expect(rootOfSquares(shares)).toBeCloseTo(asymptoticError(coefficient, ratings, sums, 'n − 1'), 12);
    expect(asymptoticError(coefficient, ratings, sums, 'n − 1')).toBeCloseTo(
      asymptoticError(coefficient, ratings, sums, 'n') * Math.sqrt(96 / 95),
      12,
    );
  });
});

describe('studentized bootstrap', () => {
  const { standardError } = clusterRobustInterval(coefficient, sums, options);
  const studentized = replicateStatistics(coefficient, sums, options, { value, standardError });
  const limits = (form: Coefficient['bootstrapForm']): { lower: number; upper: number } =>
    studentizedLimits(coefficient, { value, standardError, studentized, form }, 0.95)!;

  it('symmetric: as far on both sides on the Fisher scale, by the .95 quantile of |t|', () => {
    const { lower, upper } = limits('symmetric');
    expect(Math.atanh(upper) - Math.atanh(value)).toBeCloseTo(Math.atanh(value) - Math.atanh(lower), 12);
    const reach = quantileOf(studentized.map(Math.abs).sort(), 0.95);
    expect((Math.atanh(upper) - Math.atanh(value)) * (1 - value * value)).toBeCloseTo(reach * standardError, 12);
  });

  it('equal-tailed: the upper quantile of t makes the lower limit', () => {
    const { lower, upper } = limits('equal-tailed');
    const sorted = studentized.slice().sort();
    const below = ((Math.atanh(value) - Math.atanh(lower)) * (1 - value * value)) / standardError;
    const above = ((Math.atanh(upper) - Math.atanh(value)) * (1 - value * value)) / standardError;
    expect(below).toBeCloseTo(quantileOf(sorted, 0.975), 9);
    expect(above).toBeCloseTo(-quantileOf(sorted, 0.025), 9);
  });

  it('is what the interval of the coefficient is made of', () => {
    expect(bootstrapInterval(coefficient, sums, options).interval).toMatchObject(limits(coefficient.bootstrapForm));
  });

  it('gives way to the jackknife, and says so, where most samples agree throughout', () => {
    const nearly = ratingsOf(
      Array.from({ length: 16 }, (_, at) => [at % 2, at === 0 ? 1 : at % 2]),
      { clusters: Array.from({ length: 16 }, (_, at) => at) },
    );
    const one = fleissCoefficient(nearly, {});
    const { interval, notes } = bootstrapInterval(one, clusterSums(nearly, one), options);
    expect(notes.map((note) => note.code)).toContain('bootstrap-not-usable');
    expect(interval.method).toContain('patient jackknife');
  });
});

it('takes quantiles between order statistics at (n + 1)p', () => {
  const sorted = Float64Array.from({ length: 199 }, (_, at) => at + 1);
  expect(quantileOf(sorted, 0.025)).toBeCloseTo(5, 9);
  expect(quantileOf(sorted, 0.5)).toBeCloseTo(100, 9);
  expect(quantileOf(Float64Array.of(1, 2), 0.5)).toBeCloseTo(1.5, 12);
  expect(quantileOf(Float64Array.of(1, 2), 0.99)).toBe(2);
});

it('speaks of limits above 1 only where 1 is the most there can be', () => {
  const codes = (scale: Coefficient['scale']): string[] => {
    const high: Coefficient = { ...coefficient, scale, value: () => 0.99 };
    return asymptoticInterval(high, ratings, sums, options).notes.map((note) => note.code);
  };
  expect(codes('fisher')).toEqual(['limit-beyond-one']);
  expect(codes('logit')).toEqual(['limit-beyond-one']);
  expect(codes('plain')).toEqual([]);
  expect(codes('log')).toEqual([]);
});

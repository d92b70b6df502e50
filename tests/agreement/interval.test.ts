import { describe, expect, it } from 'vitest';
import { agreementCoefficient } from '../../src/agreement/agreement-coefficient.ts';
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
import { specificCoefficient } from '../../src/agreement/specific-agreement.ts';
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

it('takes quantiles between two neighbors of many, and at the ends the last there is', () => {
  // Ten numbers: the rank is 11p − 1 from 0. At .3 it is 2.3: 4 and three tenths of the way to 9.
  const squares = Float64Array.from({ length: 10 }, (_, at) => at * at);
  expect(quantileOf(squares, 0.3)).toBeCloseTo(5.5, 12);
  expect(quantileOf(squares, 0.85)).toBeCloseTo(64 + 0.35 * 17, 12);
  expect(quantileOf(squares, 0.05)).toBe(0);
  expect(quantileOf(squares, 0.95)).toBe(81);
  expect(quantileOf(squares, 1)).toBe(81);
  expect(quantileOf(squares, 0)).toBe(0);
  const endless = Float64Array.of(1, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY);
  expect(quantileOf(endless, 0.6)).toBe(Number.POSITIVE_INFINITY);
  expect(quantileOf(endless, 0.3)).toBe(Number.POSITIVE_INFINITY);
  expect(quantileOf(new Float64Array(0), 0.5)).toBeNaN();
});

describe('why there is no interval', () => {
  const made = (rows: number[][], clusters: number[], kind: 'jackknife' | 'bootstrap') => {
    const given = ratingsOf(rows, { categories: [0, 1, 2], clusters });
    const one = fleissCoefficient(given, {});
    const own = clusterSums(given, one);
    return (kind === 'jackknife' ? clusterRobustInterval : bootstrapInterval)(one, own, options);
  };
  const codes = (rows: number[][], clusters: number[], kind: 'jackknife' | 'bootstrap'): string[] =>
    made(rows, clusters, kind).notes.map(({ code }) => code);
  for (const kind of ['jackknife', 'bootstrap'] as const)
    it(`of the ${kind}`, () => {
      const agree = [
        [0, 0],
        [1, 1],
        [2, 2],
        [1, 1],
      ];
      expect(codes(agree, [1, 2, 3, 4], kind)).toEqual(['no-variation']);
      // Two patients with the same readings: nothing varies, though readings differ.
      const twice = [
        [0, 0],
        [1, 2],
        [0, 0],
        [1, 2],
      ];
      expect(codes(twice, [1, 1, 2, 2], kind)).toEqual(['no-variation']);
      expect(made(twice, [1, 1, 2, 2], kind).standardError).toBe(0);
      // One patient alone.
      expect(codes(twice, [1, 1, 1, 1], kind)).toEqual(['no-interval']);
      expect(made(twice, [1, 1, 1, 1], kind).standardError).toBeNaN();
      // No value, no interval, and the note on the value says why.
      expect(
        codes(
          [
            [0, 0],
            [0, 0],
          ],
          [1, 2],
          kind,
        ),
      ).toEqual([]);
      const { lower, upper, level } = made(agree, [1, 2, 3, 4], kind).interval;
      expect([lower, upper, level]).toEqual([Number.NaN, Number.NaN, 0.95]);
    });

  it('one patient more gives one', () => {
    const { interval } = made(
      [
        [0, 0],
        [1, 2],
        [0, 0],
        [1, 1],
      ],
      [1, 1, 2, 2],
      'jackknife',
    );
    expect(interval.lower).toBeLessThan(interval.upper);
  });
});

it('the jackknife has at most K − 1 degrees of freedom, and fewer where one patient outweighs the others', () => {
  const degreesOf = (perPatient: readonly number[]): number => {
    // Shares of agreeing targets of ten: patients are what differs.
    const given = ratingsOf(
      perPatient.flatMap((agreeing) => Array.from({ length: 10 }, (_, at) => [0, at < agreeing ? 0 : 1])),
      { categories: [0, 1], clusters: perPatient.flatMap((_, patient) => new Array<number>(10).fill(patient)) },
    );
    const share = agreementCoefficient('percent-agreement').coefficient(given, {});
    const { interval } = clusterRobustInterval(share, clusterSums(given, share), options);
    return Number(interval.method.match(/t with ([\d.]+) degrees/)![1]);
  };
  // Two values, half of the patients each: kurtosis 1.
  expect(degreesOf([5, 5, 5, 7, 7, 7])).toBe(5);
  // One of six apart: squares 25/36 and five times 1/36, kurtosis 6 · (625 + 5)/(30)² = 4.2: 10/3.2.
  expect(degreesOf([5, 5, 5, 5, 5, 9])).toBeCloseTo(10 / 3.2, 1);
});

it('says how many samples left the coefficient undefined, and gives way where half of them do', () => {
  // The second grade was read in four of ten patients alone, who agree on it to different degrees: .6¹⁰ = .6 % of the samples have none of them.
  const given = ratingsOf(
    Array.from({ length: 30 }, (_, at) => (at < 12 ? [1, at % 3 === 0 || at === 4 || at === 8 ? 0 : 1] : [0, 0])),
    { categories: [0, 1], clusters: Array.from({ length: 30 }, (_, at) => Math.floor(at / 3)) },
  );
  const one = specificCoefficient(given, 1);
  const of = (coefficient: Coefficient) =>
    bootstrapInterval(coefficient, clusterSums(given, coefficient), {
      ...options,
      confidenceLevel: 0.8,
      replicates: 1000,
    });
  const { notes, interval } = of(one);
  expect(notes.map(({ code }) => code)).toEqual(['undefined-replicates']);
  const count = Number(notes[0]!.message.match(/^(\d+) of 1000 /)![1]);
  expect(count).toBeGreaterThan(0);
  expect(count).toBeLessThan(60);
  expect(interval.method).toBe('studentized patient bootstrap, symmetric, logit scale, 1000 replicates, seed 5');
  // Defined for the 18 readings of it and those without one patient alone (13 or 14): seldom the number of a sample.
  const { leaveEachOut: _quick, ...slow } = one;
  const within = (least: number, most: number): Coefficient => ({
    ...slow,
    value: (sums) => (sums[1]! < least || sums[1]! > most ? Number.NaN : one.value(sums)),
  });
  expect(of(within(4, 99)).notes.map(({ code }) => code)).toEqual(['undefined-replicates']);
  const most = of(within(13, 18));
  expect(most.notes.map(({ code }) => code)).toEqual(['bootstrap-not-usable']);
  expect(most.interval.method).toMatch(/^patient jackknife/);
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

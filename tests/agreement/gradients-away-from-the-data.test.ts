import { expect, it } from 'vitest';
import { type AgreementCoefficient, agreementCoefficient } from '../../src/agreement/agreement-coefficient.ts';
import { type Coefficient, clusterSums } from '../../src/agreement/coefficient.ts';
import { concordanceCoefficient } from '../../src/agreement/concordance-correlation.ts';
import { fleissCoefficient } from '../../src/agreement/fleiss-kappa.ts';
import { type IntraclassForm, intraclassAnalysis } from '../../src/agreement/intraclass-correlation.ts';
import { lightCoefficient } from '../../src/agreement/light-kappa.ts';
import { meanDifference, netShareHigher, shareShift } from '../../src/agreement/marginal-shift.ts';
import { oneWayDerivatives, oneWayTable } from '../../src/agreement/one-way-table.ts';
import { specificCoefficient } from '../../src/agreement/specific-agreement.ts';
import type { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';

// At the data themselves sums of centered numbers are 0, and much of a derivative with them. Here patients count unequally, as in a sample drawn again.
const random = seededRandom(77);
const SCORES = [0, 1, 2, 4];
const rowsOf = (gaps: boolean, assessors: number): (number | null)[][] =>
  Array.from({ length: 36 }, () => {
    const truth = random.below(4);
    return Array.from({ length: assessors }, () =>
      gaps && random.uniform() < 0.2 ? null : SCORES[random.uniform() < 0.6 ? truth : random.below(4)]!,
    );
  });
const clusters = Array.from({ length: 36 }, (_, at) => Math.floor(at / 3));
const gaps = ratingsOf(rowsOf(true, 3), { categories: SCORES, clusters });
const whole = ratingsOf(rowsOf(false, 3), { categories: SCORES, clusters });
const two = ratingsOf(rowsOf(false, 2), { categories: SCORES, clusters });

const named = (name: AgreementCoefficient, choice: object = {}) => agreementCoefficient(name).coefficient(gaps, choice);
const ofTwo = (name: AgreementCoefficient, choice: object = {}) => agreementCoefficient(name).coefficient(two, choice);
const intraclass = (ratings: Ratings, form: Omit<IntraclassForm, 'unit'>): Coefficient =>
  intraclassAnalysis(ratings, { ...form, unit: 'single' }, 'test').coefficient;
const OWN = [
  [1, 0.5, 0.25, 0],
  [0.5, 1, 0.75, 0.125],
  [0.25, 0.75, 1, 0.5],
  [0, 0.125, 0.5, 1],
];

const CASES: readonly (readonly [string, Ratings, Coefficient])[] = [
  ['percent agreement', gaps, named('percent-agreement', { within: 1 })],
  ['specific agreement', gaps, specificCoefficient(gaps, 2)],
  ['Cohen, identity', two, ofTwo('cohen-kappa')],
  ['Cohen, linear', two, ofTwo('cohen-kappa', { weights: 'linear' })],
  ['Cohen, own', two, ofTwo('cohen-kappa', { weights: OWN })],
  ['Scott, radical', two, ofTwo('scott-pi', { weights: 'radical' })],
  ['Conger, identity', gaps, named('conger-kappa')],
  ['Conger, ordinal', gaps, named('conger-kappa', { weights: 'ordinal' })],
  ['Fleiss, quadratic', gaps, named('fleiss-kappa', { weights: 'quadratic' })],
  ['Fleiss, pairs', gaps, fleissCoefficient(gaps, { weights: 'linear', counting: 'pair-weighted' })],
  ['Brennan–Prediger', gaps, named('brennan-prediger', { weights: 'linear' })],
  ['Gwet', gaps, named('gwet-agreement', { weights: 'linear' })],
  ['Light', gaps, named('light-kappa', { weights: 'linear' })],
  ['Light, listwise', gaps, lightCoefficient(gaps, { weights: 'identity', missing: 'listwise' })],
  ['alpha, nominal', gaps, named('krippendorff-alpha', { metric: 'nominal' })],
  ['alpha, ordinal', gaps, named('krippendorff-alpha', { metric: 'ordinal' })],
  ['alpha, interval', gaps, named('krippendorff-alpha', { metric: 'interval' })],
  ['alpha, ratio', gaps, named('krippendorff-alpha', { metric: 'ratio' })],
  ['intraclass, one-way', gaps, intraclass(gaps, { model: 'one-way' })],
  ['intraclass, agreement', whole, intraclass(whole, { model: 'two-way', definition: 'agreement' })],
  ['intraclass, consistency', whole, intraclass(whole, { model: 'two-way', definition: 'consistency' })],
  ['concordance of two', two, concordanceCoefficient(two, 'n')],
  ['concordance of three', whole, concordanceCoefficient(whole, 'n')],
  ['mean difference', two, meanDifference(two)],
  ['share of a grade', two, shareShift(two, 1)],
  ['share read higher', two, netShareHigher(two)],
];

/** Sums in which each patient counts with a weight of its own. */
function weighted(ratings: Ratings, coefficient: Coefficient): Float64Array {
  const { perCluster, cells, clusters: patients } = clusterSums(ratings, coefficient);
  const sums = new Float64Array(cells);
  for (let patient = 0; patient < patients; patient++)
    for (let cell = 0; cell < cells; cell++)
      sums[cell]! += (1 + 0.8 * Math.sin(3 * patient)) * perCluster[patient * cells + cell]!;
  return sums;
}

it.each(CASES)('%s', (_name, ratings, coefficient) => {
  const sums = weighted(ratings, coefficient);
  // For many targets: n where the value itself has n − 1.
  const of = (at: Float64Array): number => coefficient.value(at.map((sum) => 1e9 * sum));
  const gradient = coefficient.gradient(sums);
  expect(gradient).toHaveLength(sums.length);
  const size = Math.max(...gradient.map(Math.abs));
  let along = 0;
  sums.forEach((sum, cell) => {
    along += gradient[cell]! * sum;
    if (sum === 0) return;
    const step = 1e-5 * Math.max(1, Math.abs(sum));
    const at = (moved: number): number => of(sums.map((one, which) => (which === cell ? one + moved : one)));
    expect(Math.abs(gradient[cell]! - (at(step) - at(-step)) / (2 * step)), `sum ${cell}`).toBeLessThan(1e-5 * size);
  });
  expect(Math.abs(along)).toBeLessThan(1e-9 * size * ratings.targets);
});

it('doubling every sum leaves each coefficient as it is, but for n − 1', () => {
  for (const [name, ratings, coefficient] of CASES) {
    const sums = weighted(ratings, coefficient);
    const many = coefficient.value(sums.map((sum) => 1e9 * sum));
    expectNear(coefficient.value(sums.map((sum) => 2e9 * sum)), many, 1e-7);
    expect(Math.abs(coefficient.value(sums) - many), name).toBeLessThan(0.1);
  }
});

// Three groups: 1, 3 | 4, 5, 6 | 8, off their mean or not. Squares between Σ T²/m − T²/N and within, n₀ = (N − Σm²/N)/(n − 1).
it('the one-way table is the same wherever the numbers lie, and its derivatives are its own', () => {
  const groups = [[1, 3], [4, 5, 6], [8]];
  const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;
  const sumsAt = (center: number): Float64Array => {
    const all = groups.map((group) => group.map((x) => x - center));
    const add = (of: (group: number[]) => number): number => all.reduce((sum, group) => sum + of(group), 0);
    return Float64Array.of(
      3,
      6,
      add((group) => group.length * mean(group)),
      add((group) => group.length * mean(group) ** 2),
      add((group) => group.reduce((sum, x) => sum + (x - mean(group)) ** 2, 0)),
      add((group) => group.length ** 2),
    );
  };
  const grand = 27 / 6;
  const between = (2 * (2 - grand) ** 2 + 3 * (5 - grand) ** 2 + (8 - grand) ** 2) / 2;
  const effective = (6 - 14 / 6) / 2;
  for (const center of [0, 4.5, -3]) {
    const table = oneWayTable(sumsAt(center));
    expectNear(table.betweenMeanSquare, between, 1e-12);
    expectNear(table.withinMeanSquare, 4 / 3, 1e-12);
    expectNear(table.effectiveReadings, effective, 1e-12);
    expectNear(table.betweenVariance, (between - 4 / 3) / effective, 1e-12);
    expect(table).toMatchObject({ targets: 3, readings: 6, betweenDegrees: 2, withinDegrees: 3 });
    // With n for n − 1: (Σ T²/m − T²/N − n·within)/N.
    const sums = sumsAt(center);
    const parts = (at: Float64Array): { between: number; within: number } => {
      const within = at[4]! / (at[1]! - at[0]!);
      return { between: (at[3]! - at[2]! ** 2 / at[1]! - within * at[0]!) / at[1]!, within };
    };
    const found = oneWayDerivatives(sums);
    expectNear(found.between, parts(sums).between, 1e-12);
    expectNear(found.within, parts(sums).within, 1e-12);
    sums.forEach((_, cell) => {
      const moved = (by: number) => parts(sums.map((one, which) => (which === cell ? one + by : one)));
      expectNear(found.byBetween[cell]!, (moved(1e-5).between - moved(-1e-5).between) / 2e-5, 1e-7);
      expectNear(found.byWithin[cell]!, (moved(1e-5).within - moved(-1e-5).within) / 2e-5, 1e-7);
    });
  }
});

import { describe, expect, it } from 'vitest';
import { logRankTest } from '../../src/progression/log-rank-test.ts';
import { chiSquare } from '../../src/shared/distributions.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { expectNear } from '../support/expect-near.ts';
import { problemsIn } from '../support/problems-in.ts';

const random = seededRandom(19);
const entries = Array.from({ length: 48 }, () => random.below(2) * random.below(5));
const times = entries.map((entry) => entry + 1 + random.below(12));
const events = times.map(() => random.uniform() < 0.65);
const groups = times.map((_, at) => ['old', 'new', 'none'][at % 3]!);
const wards = times.map(() => random.below(3));

/**
 * Observed and expected events, score and covariance, limb by limb: each event draws one of those at risk in its stratum; d of n drawn without replacement have
 * covariance d(n − d)/(n − 1) · share · ([same group] − share); weights S(t−)^ρ within the stratum.
 */
function byDefinition(names: readonly string[], of: readonly string[], rho: number, strata: readonly number[]) {
  const observed = names.map(() => 0);
  const expected = names.map(() => 0);
  const score = names.map(() => 0);
  const covariance = names.map(() => names.map(() => 0));
  for (const stratum of new Set(strata)) {
    let survival = 1;
    const rows = times.flatMap((_, row) => (strata[row] === stratum ? [row] : []));
    const when = [...new Set(rows.filter((row) => events[row]).map((row) => times[row]!))].sort((a, b) => a - b);
    for (const time of when) {
      const risk = rows.filter((row) => entries[row]! < time && times[row]! >= time);
      const dead = rows.filter((row) => times[row] === time && events[row]);
      const [n, d] = [risk.length, dead.length];
      const share = names.map((name) => risk.filter((row) => of[row] === name).length / n);
      const weight = survival ** rho;
      names.forEach((name, g) => {
        const here = dead.filter((row) => of[row] === name).length;
        observed[g]! += here;
        expected[g]! += d * share[g]!;
        score[g]! += weight * (here - d * share[g]!);
        names.forEach((_, h) => {
          if (n > 1)
            covariance[g]![h]! += weight ** 2 * ((d * (n - d)) / (n - 1)) * share[g]! * ((g === h ? 1 : 0) - share[h]!);
        });
      });
      survival *= (n - d) / n;
    }
  }
  return { observed, expected, score, covariance };
}

describe('two groups', () => {
  const pairs = groups.map((group) => (group === 'none' ? 'new' : group));

  it.each([
    [0, undefined, 'log-rank test'],
    [1, undefined, 'weighted log-rank test, rho 1'],
    [0.5, wards, 'weighted log-rank test, rho 0.5, stratified'],
    [0, wards, 'log-rank test, stratified'],
  ] as const)('rho %d, strata %j: every field', (rho, strata, name) => {
    const { observed, expected, score, covariance } = byDefinition(
      ['old', 'new'],
      pairs,
      rho,
      strata ?? times.map(() => 0),
    );
    const test = logRankTest({ times, events, entries }, pairs, {
      rho,
      confidenceLevel: 0.8,
      ...(strata === undefined ? {} : { strata }),
    });
    const variance = covariance[1]![1]!;
    const statistic = score[1]! ** 2 / variance;
    expect(test.test).toBe(name);
    expect(test.statistic).toEqual({ name: 'chi-square', value: expect.closeTo(statistic, 10) });
    expect(test.degreesOfFreedom).toBe(1);
    expectNear(test.pValue, chiSquare.upper(statistic, 1), 1e-10);
    expect(test.details).toEqual({
      'observed old': observed[0],
      'expected old': expect.closeTo(expected[0]!, 10),
      'observed new': observed[1],
      'expected new': expect.closeTo(expected[1]!, 10),
    });
    // One step from equality; normal quantile of .9 (any table).
    const reach = 1.2815515655446004 / Math.sqrt(variance);
    expect(test.effect).toEqual({
      name: 'hazard ratio, new against old',
      value: expect.closeTo(Math.exp(score[1]! / variance), 10),
      interval: {
        lower: expect.closeTo(Math.exp(score[1]! / variance - reach), 9),
        upper: expect.closeTo(Math.exp(score[1]! / variance + reach), 9),
        level: 0.8,
        method: 'one step from equality',
      },
    });
    expect(test.counts).toEqual({ targets: 48, clusters: 48, assessors: 0, ratings: 48, excluded: 0 });
    expect(test.options).toEqual({ rho, groups: ['old', 'new'], confidenceLevel: 0.8 });
    expect(test.notes).toEqual([]);
  });

  it('turned round, has the same statistic and the ratio the other way up', () => {
    const test = logRankTest({ times, events }, pairs);
    const order = times.map((_, at) => at).sort((a, b) => (pairs[b]! < pairs[a]! ? 1 : pairs[b]! > pairs[a]! ? -1 : 0));
    const back = logRankTest(
      { times: order.map((at) => times[at]!), events: order.map((at) => events[at]!) },
      order.map((at) => pairs[at]!),
    );
    expect(back.effect.name).toBe('hazard ratio, old against new');
    expectNear(back.statistic.value, test.statistic.value, 1e-10);
    expectNear(back.effect.value * test.effect.value, 1, 1e-10);
    expectNear(test.effect.interval.level, 0.95, 0);
  });
});

it('three groups: uᵀV⁻¹u over two of them, and no ratio', () => {
  const { observed, expected, score, covariance } = byDefinition(['old', 'new', 'none'], groups, 0, wards);
  const test = logRankTest({ times, events, entries }, groups, { strata: wards });
  const [a, b, d] = [covariance[1]![1]!, covariance[1]![2]!, covariance[2]![2]!];
  const form = (score[1]! ** 2 * d - 2 * score[1]! * score[2]! * b + score[2]! ** 2 * a) / (a * d - b * b);
  expectNear(test.statistic.value, form, 1e-10);
  expect(test.degreesOfFreedom).toBe(2);
  expectNear(test.pValue, chiSquare.upper(form, 2), 1e-10);
  expect(test.effect.name).toBe('hazard ratio of several groups');
  expect([test.effect.value, test.effect.interval.lower, test.effect.interval.upper]).toEqual([
    Number.NaN,
    Number.NaN,
    Number.NaN,
  ]);
  expect(Object.values(test.details)).toEqual(
    [0, 1, 2].flatMap((g) => [observed[g]!, expect.closeTo(expected[g]!, 10)]),
  );
});

it('is not defined, and says so, where no event happened with more than one group at risk', () => {
  const test = logRankTest({ times: [1, 2, 5], events: [false, false, true] }, ['a', 'b', 'a']);
  expect([test.statistic.value, test.pValue, test.effect.value]).toEqual([Number.NaN, Number.NaN, Number.NaN]);
  expect(test.notes.map(({ code }) => code)).toEqual(['not-defined']);
  // The last at risk has nobody to be compared with: its event adds nothing.
  const two = logRankTest({ times: [1, 2, 3], events: [true, true, true] }, ['a', 'b', 'a']);
  // Day 1: 1 of 3, ⅔ in a; day 2: 1 of 2, ½; day 3: alone. U(b) = −⅓ + ½ + 0, V = 2/9 + 1/4.
  expectNear(two.statistic.value, (1 / 6) ** 2 / (2 / 9 + 1 / 4), 1e-12);
  expectNear(two.effect.value, Math.exp(1 / 6 / (2 / 9 + 1 / 4)), 1e-12);
});

it('says that limbs of one patient count as independent, and how many patients there are', () => {
  const patients = times.map((_, at) => at % 30);
  const test = logRankTest({ times, events, patients }, groups);
  expect(test.notes.map(({ code }) => code)).toEqual(['assumes-independent-limbs']);
  expect([test.counts.clusters, test.counts.targets]).toEqual([30, 48]);
});

it('refuses one group, and groups that are not as many as the times', () => {
  expect(problemsIn(() => logRankTest({ times: [1, 2], events: [true, false] }, ['a', 'a']))).toEqual([
    'one-group groups',
  ]);
  expect(problemsIn(() => logRankTest({ times: [1, 2], events: [true, false] }, ['a']))).toEqual(['bad-length groups']);
});

import { describe, expect, it } from 'vitest';
import { limitsOfAgreement } from '../../src/agreement/limits-of-agreement.ts';
import { Ratings } from '../../src/ratings/ratings.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import type { Estimate } from '../../src/shared/estimate.ts';
import { expectJackknife } from '../support/expect-jackknife.ts';
import { expectNear } from '../support/expect-near.ts';
import { withRepeats } from '../support/with-repeats.ts';

// Unequal repeats, patients with one to three findings, a finding read by one alone and one by nobody, all far from 0.
const REPEATED = withRepeats(
  [
    [[101, 104], [99]],
    [[107], [103, 105, 108]],
    [
      [95, 96, 100],
      [97, 92],
    ],
    [[110], [104]],
    [
      [99, 101],
      [94, 95],
    ],
    [[103], []],
    [
      [106, 103],
      [106, 107],
    ],
    [[], []],
    [[98], [99, 95]],
    [
      [102, 101, 105],
      [98, 97],
    ],
    [[104], [100]],
  ],
  ['a', 'a', 'b', 'c', 'c', 'c', 'd', 'd', 'e', 'f', 'f'],
);
const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;
const squaresAbout = (values: readonly number[]): number => values.reduce((sum, x) => sum + (x - mean(values)) ** 2, 0);

/** Between and within groups by the one-way analysis of variance, n₀ for unequal numbers. */
function componentsOf(groups: readonly (readonly number[])[]): { between: number; within: number } {
  const all = groups.flat();
  const within = groups.reduce((sum, group) => sum + squaresAbout(group), 0) / (all.length - groups.length);
  const square =
    groups.reduce((sum, group) => sum + group.length * (mean(group) - mean(all)) ** 2, 0) / (groups.length - 1);
  const effective =
    (all.length - groups.reduce((sum, { length }) => sum + length ** 2, 0) / all.length) / (groups.length - 1);
  return { between: (square - within) / effective, within };
}

describe('repeat readings, written out', () => {
  /** Both assessors' readings of each finding that both have read, with its patient. */
  const findings = [
    { patient: 'a', first: [101, 104], second: [99] },
    { patient: 'a', first: [107], second: [103, 105, 108] },
    { patient: 'b', first: [95, 96, 100], second: [97, 92] },
    { patient: 'c', first: [110], second: [104] },
    { patient: 'c', first: [99, 101], second: [94, 95] },
    { patient: 'd', first: [106, 103], second: [106, 107] },
    { patient: 'e', first: [98], second: [99, 95] },
    { patient: 'f', first: [102, 101, 105], second: [98, 97] },
    { patient: 'f', first: [104], second: [100] },
  ];
  const byPatient = (differences: readonly { patient: string; d: number }[]): number[][] =>
    [...new Set(differences.map(({ patient }) => patient))].map((patient) =>
      differences.filter((one) => one.patient === patient).map(({ d }) => d),
    );
  const options = { interval: 'cluster-robust', multiplier: 2 } as const;

  it('of one value: variance of means, and what single readings add to it', () => {
    const limits = limitsOfAgreement(REPEATED, options);
    const differences = findings.map(({ patient, first, second }) => ({ patient, d: mean(first) - mean(second) }));
    const { between, within } = componentsOf(byPatient(differences));
    const ofRepeats = (which: 'first' | 'second'): { variance: number; share: number } => ({
      variance:
        findings.reduce((sum, one) => sum + squaresAbout(one[which]), 0) /
        findings.reduce((sum, one) => sum + one[which].length - 1, 0),
      share: mean(findings.map((one) => 1 - 1 / one[which].length)),
    });
    const [first, second] = [ofRepeats('first'), ofRepeats('second')];
    const added = first.share * first.variance + second.share * second.variance;
    const deviation = Math.sqrt(between + within + added);
    const bias = mean(differences.map(({ d }) => d));
    expectNear(limits.bias.value, bias, 1e-12);
    expectNear(limits.standardDeviation.value, deviation, 1e-12);
    expectNear(limits.lower.value, bias - 2 * deviation, 1e-12);
    expectNear(limits.upper.value, bias + 2 * deviation, 1e-12);
    expect(limits.counts).toEqual({ targets: 9, clusters: 6, assessors: 2, ratings: 32, excluded: 2 });
    for (const estimate of [limits.bias, limits.upper]) expect(estimate.counts).toEqual(limits.counts);
    const near: Readonly<Record<string, number>> = {
      betweenVariance: between,
      withinVariance: within + added,
      varianceOfTargetMeans: between + within,
      repeatVarianceFirst: first.variance,
      repeatVarianceSecond: second.variance,
      multiplierFirst: first.share,
      multiplierSecond: second.share,
    };
    for (const [key, value] of Object.entries(near)) expectNear(limits.details[key]!, value, 1e-12);
    expect(limits.notes.map(({ code }) => code).slice(0, 3)).toEqual([
      'few-patients',
      'repeats-of-one-value',
      'these-assessors',
    ]);
    expect(limits.options).toMatchObject({
      coverage: 0.95,
      multiplier: 2,
      limitInterval: 'exact',
      trueValue: 'constant',
      center: 'targets',
      components: 'analysis of variance',
      interval: 'cluster-robust',
    });
  });

  it('about the mean of all readings, where asked: all that the first read less all that the second read', () => {
    const limits = limitsOfAgreement(REPEATED, { ...options, center: 'readings' });
    const level = (which: 'first' | 'second'): number => mean(findings.flatMap((one) => one[which]));
    expectNear(limits.bias.value, level('first') - level('second'), 1e-12);
    expectNear(limits.upper.value - limits.bias.value, limits.bias.value - limits.lower.value, 1e-12);
    expect(limits.options.center).toBe('readings');
  });

  it('of a value that changes: paired by replicate, those without a partner left out', () => {
    const limits = limitsOfAgreement(REPEATED, { ...options, trueValue: 'varying' });
    const differences = findings.flatMap(({ patient, first, second }) =>
      first.slice(0, second.length).map((x, at) => ({ patient, d: x - second[at]! })),
    );
    const { between, within } = componentsOf(byPatient(differences));
    expectNear(limits.bias.value, mean(differences.map(({ d }) => d)), 1e-12);
    expectNear(limits.standardDeviation.value, Math.sqrt(between + within), 1e-12);
    expectNear(limits.details.betweenVariance!, between, 1e-12);
    expectNear(limits.details.withinVariance!, within, 1e-12);
    expect(limits.details).not.toHaveProperty('multiplierFirst');
    expect(limits.counts).toMatchObject({ targets: 9, ratings: 2 * differences.length });
    expect(limits.notes.map(({ code }) => code)).toContain('repeats-of-a-changing-value');
    // A repeat of which only the number of the reading differs has no partner.
    const { subject: _none, ...rest } = REPEATED;
    const apart = new Ratings({
      ...rest,
      repeats: REPEATED.repeats.map((one) => ({ ...one, replicate: one.replicate + 10 * one.assessor })),
    });
    const alone = limitsOfAgreement(apart, { ...options, trueValue: 'varying' });
    expect(alone.counts.ratings).toBe(18);
    expectNear(alone.bias.value, mean(findings.map(({ first, second }) => first[0]! - second[0]!)), 1e-12);
  });

  it('a repeat that is missing is none', () => {
    const { subject: _none, ...rest } = ratingsOf([
      [1, 2],
      [5, 3],
      [4, 4],
    ]);
    const nothing = { target: 0, assessor: 0, replicate: 2, code: -1, number: Number.NaN };
    const limits = limitsOfAgreement(new Ratings({ ...rest, repeats: [nothing] }));
    expect(limits.notes.map(({ code }) => code)).not.toContain('repeats-of-one-value');
    expect(limits.counts.ratings).toBe(6);
    expect(limits.options.interval).toBe('asymptotic');
  });

  describe.each([
    ['of one value', {}],
    ['about the mean of readings', { center: 'readings' }],
    ['of a changing value', { trueValue: 'varying' }],
    ['by the restricted likelihood', { components: 'restricted likelihood' }],
    [
      'by the restricted likelihood, of a changing value',
      { components: 'restricted likelihood', trueValue: 'varying' },
    ],
  ] as const)('%s', (_what, choice) => {
    it('every interval leaves each patient out', () => {
      const of =
        (which: 'bias' | 'standardDeviation' | 'lower' | 'upper') =>
        (ratings: Ratings): Estimate =>
          limitsOfAgreement(ratings, { ...options, ...choice })[which];
      expectJackknife(REPEATED, of('bias'), 'plain', 1e-7);
      expectJackknife(REPEATED, of('standardDeviation'), 'log', 1e-7);
      expectJackknife(REPEATED, of('lower'), 'plain', 1e-7);
      expectJackknife(REPEATED, of('upper'), 'plain', 1e-7);
    });
  });

  it('the restricted likelihood of one difference a patient is their plain variance', () => {
    const rows = [
      [101, 99],
      [107, 103],
      [95, 97],
      [110, 104],
    ];
    const limits = limitsOfAgreement(ratingsOf(rows, { clusters: [1, 2, 3, 4] }), {
      components: 'restricted likelihood',
    });
    const differences = rows.map(([x, y]) => x! - y!);
    expectNear(limits.standardDeviation.value ** 2, squaresAbout(differences) / 3, 1e-12);
    expectNear(limits.bias.value, mean(differences), 1e-12);
    expect(limits.details.betweenVariance).toBe(0);
    expect(limits.options.interval).toBe('cluster-robust');
  });
});

it('repeats by one of the two alone: the other’s variance is 0, and adds nothing', () => {
  const limits = limitsOfAgreement(
    withRepeats([
      [[1, 3], [2]],
      [[6, 5], [4]],
      [[8], [9]],
    ]),
    { interval: 'cluster-robust' },
  );
  // Of the first: (2 + ½)/2, of two findings of three half; differences of means 0, 1.5 and −1.
  expectNear(limits.details.repeatVarianceFirst!, 1.25, 1e-12);
  expect([limits.details.repeatVarianceSecond, limits.details.multiplierSecond]).toEqual([0, 0]);
  expectNear(limits.details.multiplierFirst!, 1 / 3, 1e-12);
  expectNear(limits.standardDeviation.value ** 2, squaresAbout([0, 1.5, -1]) / 2 + 1.25 / 3, 1e-12);
});

it('one repeat alone has a variance: half its squared difference', () => {
  const { details } = limitsOfAgreement(
    withRepeats([
      [[1, 4], [2]],
      [[6], [4]],
      [[8], [9]],
    ]),
    { interval: 'cluster-robust' },
  );
  expectNear(details.repeatVarianceFirst!, 4.5, 1e-12);
  expectNear(details.multiplierFirst!, 1 / 6, 1e-12);
});

it('one difference a patient, by either method: the intervals leave each patient out', () => {
  const ratings = ratingsOf(
    [
      [101, 99],
      [107, 103],
      [95, 97],
      [110, 104],
      [99, 100],
    ],
    { clusters: [1, 2, 3, 4, 5] },
  );
  for (const components of ['analysis of variance', 'restricted likelihood'] as const) {
    const of =
      (which: 'bias' | 'standardDeviation' | 'lower') =>
      (given: Ratings): Estimate =>
        limitsOfAgreement(given, { components, interval: 'cluster-robust' })[which];
    expectJackknife(ratings, of('bias'), 'plain');
    expectJackknife(ratings, of('standardDeviation'), 'log');
    expectJackknife(ratings, of('lower'), 'plain');
  }
});

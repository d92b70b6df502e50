import { describe, expect, it } from 'vitest';
import { percentAgreement, percentCoefficient } from '../../src/agreement/percent-agreement.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { ratingsOfCase } from '../support/case-ratings.ts';
import { expectNear } from '../support/expect-near.ts';
import { hasItsGradient } from '../support/gradient.ts';
import { keepsTheLaws } from '../support/laws.ts';
import { publishedCases } from '../support/published-cases.ts';

describe('intervals of a proportion', () => {
  for (const one of publishedCases('agreement', /^prop-ci-/))
    it(`${one.id}: ${one.source}`, () => {
      const { x, n } = one.data;
      const ratings = ratingsOfTable(
        [
          [x, n - x],
          [0, 0],
        ],
        { categories: [0, 1] },
      );
      const wilson = percentAgreement(ratings);
      const exact = percentAgreement(ratings, { proportionInterval: 'clopper-pearson' });
      expectNear(wilson.value, one.expected.p, one.tolerance);
      expectNear(wilson.interval.lower, one.expected.wilsonLower, one.tolerance);
      expectNear(wilson.interval.upper, one.expected.wilsonUpper, one.tolerance);
      expectNear(exact.interval.lower, one.expected.cpLower, one.tolerance);
      expectNear(exact.interval.upper, one.expected.cpUpper, one.tolerance);
    });
});

it('many assessors with gaps: Gwet 2008, doi:10.1348/000711006X126600', () => {
  const [one] = publishedCases('agreement', /^percent-agreement-multirater/);
  const share = percentAgreement(ratingsOfCase(one!));
  expectNear(share.value, one!.expected.pa, one!.tolerance);
  expectNear(share.standardError, one!.expected.se, one!.tolerance);
  expectNear(share.interval.lower, one!.expected.ciLower, one!.tolerance);
  expectNear(share.interval.upper, one!.expected.ciUpperUncapped, one!.tolerance);
  expect(share.notes.map((note) => note.code)).toContain('limit-beyond-one');
});

it('says nothing of a limit above 1 where Wilson’s interval has none', () => {
  const share = percentAgreement(ratingsOf([...new Array<number[]>(9).fill([1, 1]), [0, 1]], { categories: [0, 1] }));
  expect(share.interval.upper).toBeLessThan(1);
  expect(share.notes.map((note) => note.code)).not.toContain('limit-beyond-one');
});

it('a target that nobody read changes nothing, not even the asymptotic error', () => {
  const rows = [
    [0, 0, 1],
    [1, 1, null],
    [0, null, null],
    [1, 1, 1],
    [0, 1, 1],
  ];
  const plain = percentAgreement(ratingsOf(rows));
  const unread = percentAgreement(ratingsOf([...rows, [null, null, null]]));
  expect(unread.value).toBe(plain.value);
  expect(unread.standardError).toBe(plain.standardError);
});

it('two assessors, three categories: .89 with error .03128898 (Gwet, table convention)', () => {
  const [one] = publishedCases('agreement', /^gwet-3x3-pa$/);
  const share = percentAgreement(ratingsOfCase(one!));
  expectNear(share.value, one!.expected.coefficient, one!.tolerance);
  expectNear(share.standardError, one!.expected.seTableConvention_n, one!.tolerance);
});

describe('laws', () => {
  hasItsGradient((ratings) => percentCoefficient(ratings, 1));
  keepsTheLaws((ratings) => percentAgreement(ratings), { assessors: 3, gaps: false, lowest: 0, duplicable: false });

  it('never falls when more grades apart count as agreeing, and is 1 across the scale', () => {
    const rows = [
      [0, 3],
      [1, 1],
      [2, 0],
      [3, 2],
    ];
    const within = (grades: number): number =>
      percentAgreement(ratingsOf(rows, { categories: [0, 1, 2, 3] }), { within: grades }).value;
    expect([0, 1, 2, 3].map(within)).toEqual([0.25, 0.5, 0.75, 1]);
  });
});

it('gives a one-sided interval with patients as trials when all agree', () => {
  const share = percentAgreement(
    ratingsOf(
      [
        [0, 0],
        [1, 1],
        [1, 1],
        [2, 2],
      ],
      { clusters: ['a', 'a', 'b', 'c'] },
    ),
  );
  expect(share.value).toBe(1);
  // 1 − .05^(1/3): the exact lower limit for three successes in three trials.
  expect(share.interval.lower).toBeCloseTo(0.05 ** (1 / 3), 12);
  expect(share.interval.upper).toBe(1);
  expect(share.notes.map(({ code }) => code)).toContain('one-sided');
  const none = percentAgreement(
    ratingsOf(
      [
        [0, 1],
        [1, 2],
      ],
      { clusters: ['a', 'b'], categories: [0, 1, 2] },
    ),
  );
  // Upper limit of none of two: 1 − .05^(1/2).
  expect(none.interval.lower).toBe(0);
  expect(none.interval.upper).toBeCloseTo(1 - Math.sqrt(0.05), 12);
  expect(none.notes.map(({ code }) => code)).toContain('one-sided');
});

it('is not defined when no target was read twice', () => {
  const share = percentAgreement(
    ratingsOf([
      [0, null],
      [null, 1],
    ]),
  );
  expect(share.value).toBeNaN();
  expect(share.notes.map((note) => note.code)).toContain('not-defined');
});

describe('asymptotic intervals, written out', () => {
  const rows = (agree: number, all: number): number[][] =>
    Array.from({ length: all }, (_, at) => (at < agree ? [1, 1] : [0, 1]));
  const z = 1.6448536269514722;
  it.each([
    [7, 10],
    [1, 12],
    [30, 31],
  ])('%i of %i: Wilson and Clopper–Pearson at .9', (agree, n) => {
    const p = agree / n;
    const ratings = ratingsOf(rows(agree, n), { categories: [0, 1] });
    const wilsonMade = percentAgreement(ratings, { confidenceLevel: 0.9 });
    // Wilson: the two p₀ with (p − p₀)² = z²p₀(1 − p₀)/n.
    for (const limit of [wilsonMade.interval.lower, wilsonMade.interval.upper])
      expectNear((p - limit) ** 2, (z * z * limit * (1 - limit)) / n, 1e-12);
    expectNear(wilsonMade.standardError, Math.sqrt((p * (1 - p)) / n), 1e-12);
    expect(wilsonMade.interval.method).toBe('Wilson, targets taken as independent');
    const exact = percentAgreement(ratings, { confidenceLevel: 0.9, proportionInterval: 'clopper-pearson' });
    // Clopper–Pearson: as many or more at the lower limit, as many or fewer at the upper, with chance .05.
    const chance = (x: number, at: number): number => {
      let ways = 1;
      for (let i = 0; i < x; i++) ways = (ways * (n - i)) / (i + 1);
      return ways * at ** x * (1 - at) ** (n - x);
    };
    const sum = (from: number, to: number, at: number): number =>
      Array.from({ length: to - from + 1 }, (_, i) => chance(from + i, at)).reduce((total, one) => total + one, 0);
    expectNear(sum(agree, n, exact.interval.lower), 0.05, 1e-9);
    expectNear(sum(0, agree, exact.interval.upper), 0.05, 1e-9);
    expect(exact.interval.method).toBe('Clopper–Pearson, targets taken as independent');
    expect(exact.options).toMatchObject({ within: 0, proportionInterval: 'clopper-pearson', interval: 'asymptotic' });
  });

  it('none or all of ten agree: to the ends', () => {
    const of = (agree: number, proportionInterval: 'wilson' | 'clopper-pearson') =>
      percentAgreement(ratingsOf(rows(agree, 10), { categories: [0, 1] }), { proportionInterval });
    const none = of(0, 'clopper-pearson').interval;
    expect(none.lower).toBe(0);
    // (1 − p)¹⁰ = .025.
    expectNear(none.upper, 1 - 0.025 ** 0.1, 1e-9);
    const all = of(10, 'clopper-pearson').interval;
    expectNear(all.lower, 0.025 ** 0.1, 1e-9);
    expect(all.upper).toBe(1);
    for (const agree of [0, 10]) expect(of(agree, 'wilson').notes.map(({ code }) => code)).toContain('one-sided');
    expect(of(7, 'wilson').notes.map(({ code }) => code)).not.toContain('one-sided');
  });

  // Gwet 2008: aₜ = (n/n₂) · the target's share, 0 where it was read once; √(Σ (aₜ − p)²/(n(n − 1))).
  it('with gaps, or three assessors: t by Gwet', () => {
    const shares = [1 / 3, 1, 0, 1, 1 / 3];
    const given = [
      [0, 0, 1],
      [1, 1, null],
      [0, null, null],
      [1, 1, 1],
      [0, 1, 1],
      [null, 1, 0],
      [null, null, null],
    ];
    const made = percentAgreement(ratingsOf(given, { categories: [0, 1] }), { confidenceLevel: 0.9 });
    const own = [shares[0]!, 1, 0, 1, shares[4]!, 0];
    const twice = 5;
    const p = own.reduce((sum, x) => sum + x, 0) / twice;
    expectNear(made.value, p, 1e-12);
    const error = Math.sqrt(own.reduce((sum, x) => sum + ((x * 6) / twice - p) ** 2, 0) / (6 * 5));
    expectNear(made.standardError, error, 1e-12);
    // t of five degrees of freedom at .95: 2.0150 (any table).
    expectNear(made.interval.lower, p - 2.015048372669157 * error, 1e-9);
    expectNear(made.interval.upper, p + 2.015048372669157 * error, 1e-9);
    // Two assessors with a gap take the same road.
    const two = percentAgreement(
      ratingsOf(
        [
          [0, 0],
          [0, 1],
          [1, null],
          [1, 1],
        ],
        { categories: [0, 1] },
      ),
    );
    expect(two.interval.method).toBe('asymptotic t (Gwet 2008), targets taken as independent');
    const three = percentAgreement(
      ratingsOf(
        [
          [0, 0, 0],
          [0, 1, 1],
          [1, 1, 0],
        ],
        { categories: [0, 1] },
      ),
    );
    expect(three.interval.method).toBe('asymptotic t (Gwet 2008), targets taken as independent');
  });

  it('one-sided with patients: 1 − α^(1/K)', () => {
    const of = (agree: boolean) =>
      percentAgreement(
        ratingsOf(
          Array.from({ length: 12 }, () => (agree ? [1, 1] : [0, 1])),
          { categories: [0, 1], clusters: Array.from({ length: 12 }, (_, at) => at % 6) },
        ),
        { confidenceLevel: 0.9 },
      );
    expectNear(of(true).interval.lower, 0.1 ** (1 / 6), 1e-12);
    expect(of(true).interval.upper).toBe(1);
    expectNear(of(false).interval.upper, 1 - 0.1 ** (1 / 6), 1e-12);
    expect(of(false).interval.lower).toBe(0);
    expect(of(false).standardError).toBe(0);
    expect(of(false).interval).toMatchObject({ level: 0.9, method: 'exact one-sided, patients as trials' });
    expect(of(true).notes.map(({ code }) => code)).not.toContain('no-variation');
  });
});

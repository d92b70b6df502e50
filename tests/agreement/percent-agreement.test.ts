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

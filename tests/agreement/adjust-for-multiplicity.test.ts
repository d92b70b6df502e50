import { describe, expect, it } from 'vitest';
import { adjustForMultiplicity } from '../../src/agreement/adjust-for-multiplicity.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { expectAllNear } from '../support/expect-all-near.ts';
import { publishedCases } from '../support/published-cases.ts';
import { refuses } from '../support/refusals.ts';

describe('15 p-values of Benjamini and Hochberg 1995, doi:10.1111/j.2517-6161.1995.tb02031.x (R 4.2.2, p.adjust)', () => {
  const [one] = publishedCases('progression', /^bh-1995$/);
  const { data, expected } = one!;

  it('Holm', () => {
    const adjusted = adjustForMultiplicity(data.p);
    expectAllNear(adjusted, expected.holm, 1e-9);
    expect(adjusted.filter((p) => p <= 0.05)).toHaveLength(expected.rejectHolm);
  });

  it('Benjamini–Hochberg, in any order', () => {
    const adjusted = adjustForMultiplicity(data.p, { method: 'benjamini-hochberg' });
    expectAllNear(adjusted, expected.bh, 1e-9);
    expect(adjusted.filter((p) => p <= 0.05)).toHaveLength(expected.rejectBH);
    const turned = adjustForMultiplicity([...data.p].reverse(), { method: 'benjamini-hochberg' });
    expectAllNear([...turned].reverse(), expected.bh, 1e-9);
  });
});

it('keeps undefined p-values and does not count them', () => {
  expect(adjustForMultiplicity([0.02, Number.NaN, 0.03])).toEqual([0.04, Number.NaN, 0.04]);
});

it('of one p-value is that p-value, and of none nothing', () => {
  for (const method of ['holm', 'benjamini-hochberg'] as const) {
    expect(adjustForMultiplicity([0.2], { method })).toEqual([0.2]);
    expect(adjustForMultiplicity([], { method })).toEqual([]);
  }
});

refuses([
  ['a p-value above 1', () => adjustForMultiplicity([0.5, 1.2]), 'bad-p-value'],
  ['an unknown method', () => adjustForMultiplicity([0.5], { method: 'none' as 'holm' }), 'unknown-choice'],
]);

it('0 and 1 are p-values, and what lies beyond is refused, every one at once', () => {
  expect(adjustForMultiplicity([1, 0, 0.5])).toEqual([1, 0, 1]);
  expect(adjustForMultiplicity([1, 0, 0.5], { method: 'benjamini-hochberg' })).toEqual([1, 0, 0.75]);
  // The docstring's example, in the order given.
  expect(adjustForMultiplicity([0.01, 0.04, 0.03])).toEqual([0.03, 0.06, 0.06]);
  try {
    adjustForMultiplicity([0.5, -0.1, Number.NaN, 1.1]);
    expect.unreachable();
  } catch (error) {
    expect((error as InputError).problems.map(({ code, path }) => [code, path])).toEqual([
      ['bad-p-value', ['pValues', 1]],
      ['bad-p-value', ['pValues', 3]],
    ]);
  }
  expect(() => adjustForMultiplicity([0.5], { method: 'bonferroni' as 'holm' })).toThrow(/bonferroni/);
});

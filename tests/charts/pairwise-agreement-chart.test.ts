import { describe, expect, it } from 'vitest';
import { PairwiseAgreement } from '../../src/agreement/pairwise-agreement.ts';
import { pairwiseAgreementChart } from '../../src/charts/pairwise-agreement-chart.ts';
import { contrast } from '../../src/charts/theme.ts';
import { estimateOf, pulsePairs, pulseRatings } from './examples.ts';
import { rowsWith } from './spec-data.ts';

function pairs(values: readonly number[], half: number): PairwiseAgreement {
  return new PairwiseAgreement(
    ['A', 'B', 'C', 'D'],
    pulsePairs()
      .pairs.slice(0, values.length)
      .map(({ assessors }, at) => ({
        assessors,
        estimate: estimateOf('kappa', values[at]!, values[at]! - half, values[at]! + half, { targets: 9, clusters: 6 }),
      })),
    [],
  );
}

describe('pairwiseAgreementChart', () => {
  it('says that no pair can be told from the others only when all intervals share a value', () => {
    expect(pairwiseAgreementChart(pulseRatings(), pairs([0.4, 0.5, 0.6], 0.1)).title).toMatch(/^No pair/);
    expect(pairwiseAgreementChart(pulseRatings(), pairs([0.4, 0.5, 0.6], 0.09)).title).toBe(
      'Agreement of pairs of assessors lies between 0.40 and 0.60',
    );
  });

  it('has each pair once, in the order of the codes', () => {
    const cells = rowsWith(pairwiseAgreementChart(pulseRatings(), pulsePairs()), 'across', 'down');
    expect(cells.map((cell) => `${cell.across}${cell.down}`)).toEqual(['AB', 'AC', 'AD', 'BC', 'BD', 'CD']);
  });

  it('has text that reads on every cell, and no color for what is not defined', () => {
    for (const theme of ['light', 'dark'] as const)
      for (const cell of rowsWith(
        pairwiseAgreementChart(pulseRatings(), pairs([0.05, 0.25, 0.45, 0.65, 0.85, Number.NaN], 0.1), { theme }),
        'fill',
      )) {
        expect(contrast(cell.color as string, cell.fill as string)).toBeGreaterThanOrEqual(4.5);
        if (cell.value === 'not defined') expect(cell.interval).toBe('');
      }
  });
});

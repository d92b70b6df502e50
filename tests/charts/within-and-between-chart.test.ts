import { describe, expect, it } from 'vitest';
import { withinAndBetweenChart } from '../../src/charts/within-and-between-chart.ts';
import { estimateOf, pulseAgreement, pulseWithin } from './examples.ts';
import { rowsWith } from './spec-data.ts';

describe('withinAndBetweenChart', () => {
  it('makes a statement only when the intervals over all sites lie apart', () => {
    expect(withinAndBetweenChart(pulseWithin(), pulseAgreement()).title).toBe(
      'One assessor reading twice agrees more than two assessors do',
    );
    const near = { ...pulseWithin(), pooled: estimateOf('kappa', 0.75, 0.7, 0.8, { targets: 90, clusters: 22 }) };
    expect(withinAndBetweenChart(near, pulseAgreement()).title).toMatch(/\?$/);
  });

  it('draws both at every site, told apart by shape too, and one alone where there is one', () => {
    const rows = rowsWith(withinAndBetweenChart(pulseWithin(), pulseAgreement()), 'place', 'shape');
    expect(rows.filter((row) => row.place === 'groin (femoral artery)').map((row) => [row.shape, row.people])).toEqual([
      ['circle', '36'],
      ['diamond', '22'],
    ]);
    expect(rows.filter((row) => row.place === 'top of the foot (dorsalis pedis artery)')).toHaveLength(1);
  });
});

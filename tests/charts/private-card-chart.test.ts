import { describe, expect, it } from 'vitest';
import { privateCardChart } from '../../src/charts/private-card-chart.ts';
import { learnerCard } from './examples.ts';
import { rowsWith } from './spec-data.ts';

describe('privateCardChart', () => {
  const chart = privateCardChart(learnerCard());

  it('draws the reference with its own width and leaves out what was not read', () => {
    const bars = rowsWith(chart, 'left', 'right', 'bottom', 'top').filter((row) =>
      String(row.words).includes('reference'),
    );
    const height = (at: number) => (bars[at]!.bottom as number) - (bars[at]!.top as number);
    expect(height(4)).toBe(height(0) + 40);
    expect(rowsWith(chart, 'x', 'y', 'words')).toHaveLength(7);
  });

  it('counts what lies within the reference unless a tendency is clear', () => {
    expect(chart.title).toBe('You read what the reference read on 4 of 7 limbs');
    const tendency = 'You tend to read one step higher at the top of the foot';
    expect(privateCardChart({ ...learnerCard(), tendency }).title).toBe(tendency);
  });

  it('ranks nobody', () => {
    expect(JSON.stringify(chart.spec)).not.toMatch(/\b(rank|percentile|pass(ed)?|fail(ed)?|score)\b/i);
  });
});

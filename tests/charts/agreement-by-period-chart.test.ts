import { describe, expect, it } from 'vitest';
import { agreementByPeriodChart } from '../../src/charts/agreement-by-period-chart.ts';
import { pulseByRound } from './examples.ts';
import { rowsWith } from './spec-data.ts';

describe('agreementByPeriodChart', () => {
  it('names what lies apart from all together', () => {
    expect(agreementByPeriodChart(pulseByRound()).title).toBe('Assessors agreed less in round 1 than in all together');
  });

  it('says so when nothing does', () => {
    const alike = { ...pulseByRound(), rows: pulseByRound().rows.slice(1) };
    expect(agreementByPeriodChart(alike).title).toBe(
      'Agreement in none of these can be told from that of all together',
    );
  });

  it('joins no dots and has people under each', () => {
    const chart = agreementByPeriodChart(pulseByRound());
    expect(JSON.stringify(chart.spec)).not.toContain('"line"');
    expect(rowsWith(chart, 'people').map((row) => row.people)).toEqual([
      '20 people',
      '22 people',
      '21 people',
      '18 people',
    ]);
  });
});

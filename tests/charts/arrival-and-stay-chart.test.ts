import { describe, expect, it } from 'vitest';
import { arrivalAndStayChart } from '../../src/charts/arrival-and-stay-chart.ts';
import { edemaArrivals } from './examples.ts';
import { rowsWith, subtitleOf } from './spec-data.ts';

describe('arrivalAndStayChart', () => {
  const chart = arrivalAndStayChart(edemaArrivals());

  it('draws both shares with their intervals and counts', () => {
    const dots = rowsWith(chart, 'value', 'lower', 'upper');
    expect(dots.filter((dot) => dot.shape === 'circle').map((dot) => dot.value)).toEqual([
      7 / 14,
      6 / 15,
      8 / 16,
      7 / 13,
      6 / 15,
      9 / 17,
    ]);
    expect(rowsWith(chart, 'newDuringStay')[0]).toMatchObject({
      onArrival: ['7', 'of 14'],
      newDuringStay: ['1', 'of 9'],
    });
  });

  it('says how many stays are in neither', () => {
    expect(subtitleOf(chart)).toContain('4 stays without a reading on arrival are in neither');
  });

  it('breaks the line where there is nothing to count', () => {
    const [segment] = edemaArrivals().segments;
    const empty = {
      count: 0,
      outOf: 0,
      interval: { lower: Number.NaN, upper: Number.NaN, level: 0.95, method: 'Wilson' },
    };
    const gap = arrivalAndStayChart({
      ...edemaArrivals(),
      segments: [
        {
          ...segment!,
          periods: segment!.periods.map((period, at) => (at === 2 ? { ...period, newDuringStay: empty } : period)),
        },
      ],
    });
    const runs = rowsWith(gap, 'run')
      .filter((dot) => dot.shape === 'diamond')
      .map((dot) => dot.run);
    expect(new Set(runs).size).toBe(2);
    expect(JSON.stringify(gap.spec)).not.toContain('NaN');
  });
});

import { describe, expect, it } from 'vitest';
import { LimitsOfAgreement, limitsOfAgreement } from '../../src/agreement/limits-of-agreement.ts';
import { differencesChart, type PairLimits } from '../../src/charts/differences-chart.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { estimateOf, pulseRatings } from './examples.ts';
import { rowsWith } from './spec-data.ts';

const readings = ratingsOf(
  [
    [20, 21],
    [20, 21],
    [25.5, 25],
    [22, null],
  ],
  { assessors: ['A', 'B'], level: 'ratio' },
);

function limits(lower: number, upper: number): readonly PairLimits[] {
  const counts = { targets: 3, clusters: 3, assessors: 2 };
  return [
    {
      assessors: ['A', 'B'],
      limits: new LimitsOfAgreement({
        ...limitsOfAgreement(readings),
        bias: estimateOf('bias', (lower + upper) / 2, lower, upper, counts),
        lower: estimateOf('lower limit of agreement', -2, -2.5, -1.5, counts),
        upper: estimateOf('upper limit of agreement', 1, 0.5, 1.5, counts),
      }),
    },
  ];
}

describe('differencesChart', () => {
  it('draws the first minus the second against their mean, equal findings as one dot', () => {
    const dots = rowsWith(differencesChart(readings, limits(-0.2, 0.4)), 'mean', 'difference');
    expect(dots).toMatchObject([
      { mean: 20.5, difference: -1, findings: 2 },
      { mean: 25.25, difference: 0.5, findings: 1 },
    ]);
  });

  it('says who reads more only when the interval of the mean leaves out 0', () => {
    expect(differencesChart(readings, limits(0.1, 0.7)).title).toMatch(/^A reads more than B on average;/);
    expect(differencesChart(readings, limits(-0.7, -0.1)).title).toMatch(/^A reads less than B on average;/);
    expect(differencesChart(readings, limits(-0.2, 0.4)).title).toBe(
      'Most differences lie between −2.0 and +1.0 (A minus B)',
    );
  });

  it('has a band for each of its three lines', () => {
    const lines = rowsWith(differencesChart(readings, limits(-0.2, 0.4)), 'lower', 'upper', 'value');
    expect(lines.map((line) => [line.lower, line.value, line.upper])).toEqual([
      [0.5, 1, 1.5],
      [-0.2, 0.1, 0.4].map((value) => expect.closeTo(value, 12)),
      [-2.5, -2, -1.5],
    ]);
  });

  it('does not subtract grades', () => {
    expect(() => differencesChart(pulseRatings(), limits(0, 1))).toThrow(InputError);
    expect(() => differencesChart(readings, [])).toThrow(InputError);
  });

  it('has no correlation on it', () => {
    expect(JSON.stringify(differencesChart(readings, limits(0, 1)).spec)).not.toMatch(/correl|regress/i);
  });
});

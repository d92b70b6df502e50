import { describe, expect, it } from 'vitest';
import { habitBarsChart } from '../../src/charts/habit-bars-chart.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { TestResult } from '../../src/shared/test-result.ts';
import { marginalTest, pulseRatings } from './examples.ts';
import { rowsWith, subtitleOf } from './spec-data.ts';

const rows = [
  [0, 1, 1],
  [1, 1, null],
  [2, 1, 2],
  [2, 2, 2],
];
const options = { categories: [0, 1, 2], assessors: ['A10', 'B', 'A2'], clusters: [1, 1, 2, 3] };

describe('habitBarsChart', () => {
  it('counts only what every assessor read', () => {
    const chart = habitBarsChart(ratingsOf(rows, options));
    const of = (assessor: string) =>
      rowsWith(chart, 'grade')
        .filter((row) => row.assessor === assessor)
        .map((row) => Math.round(3 * ((row.to as number) - (row.from as number))));
    expect(of('A10')).toEqual([1, 0, 2]);
    expect(of('B')).toEqual([0, 2, 1]);
    expect(of('A2')).toEqual([0, 1, 2]);
    expect(subtitleOf(chart)).toContain('3 findings of 3 patients, each read by all 3 assessors');
  });

  it('stands in the order of the codes, never of the results', () => {
    const json = JSON.stringify(habitBarsChart(ratingsOf(rows, options)).spec);
    expect(json).toContain('"domain":["A2","A10","B"]');
  });

  it('makes a statement only where a test supports it', () => {
    const ratings = pulseRatings();
    expect(habitBarsChart(ratings).title).toMatch(/\?$/);
    expect(habitBarsChart(ratings, { marginalTest: marginalTest() }).title).toMatch(/differently/);
    const weak = new TestResult({ ...marginalTest(), pValue: 0.4 });
    expect(habitBarsChart(ratings, { marginalTest: weak }).title).toMatch(/\?$/);
  });

  it('refuses when nothing was read by all', () => {
    const apart = ratingsOf(
      [
        [1, null],
        [null, 2],
      ],
      { categories: [1, 2] },
    );
    expect(() => habitBarsChart(apart)).toThrow(InputError);
  });
});

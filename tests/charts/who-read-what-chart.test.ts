import { describe, expect, it } from 'vitest';
import { contrast } from '../../src/charts/theme.ts';
import { whoReadWhatChart } from '../../src/charts/who-read-what-chart.ts';
import { ratingsOf } from '../../src/ratings/ratings-of.ts';
import { ratingsOfTable } from '../../src/ratings/ratings-of-table.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { pulseRatings } from './examples.ts';
import { rowsWith, subtitleOf } from './spec-data.ts';

function code(draw: () => unknown): string | undefined {
  try {
    draw();
  } catch (error) {
    return error instanceof InputError ? error.problems[0]!.code : String(error);
  }
  return undefined;
}

describe('whoReadWhatChart', () => {
  const counts = [
    [38, 5, 0, 1],
    [33, 11, 3, 0],
    [10, 14, 5, 6],
    [3, 7, 3, 10],
  ];
  const table = ratingsOfTable(counts, { categories: [1, 2, 3, 4] });

  it('prints a number in every square, in the rows and columns of the table', () => {
    const cells = rowsWith(whoReadWhatChart(table), 'first', 'second');
    expect(cells.map((cell) => Number(cell.count))).toEqual(counts.flat());
    expect(cells[4]).toMatchObject({ first: '2', second: '1' });
  });

  it('counts the diagonal and its neighbors in the title', () => {
    expect(whoReadWhatChart(table).title).toMatch(/ read the same on 64 of 149 findings, one step apart on 64$/);
    expect(subtitleOf(whoReadWhatChart(table))).toMatch(/ read higher than \S+ on 15, lower on 70\./);
  });

  it('rings the diagonal, its neighbors, and an empty square on the diagonal', () => {
    const cells = rowsWith(whoReadWhatChart(pulseRatings(), { assessors: ['A', 'C'] }), 'ring');
    const ring = (first: string, second: string) =>
      cells.find((cell) => cell.first === first && cell.second === second)!.ring;
    expect([ring('2', '2'), ring('2', '3'), ring('1', '3'), ring('4', '4')]).toEqual(['same', 'near', 'far', 'empty']);
  });

  it('knows no steps where the kinds have no order', () => {
    const kinds = ratingsOf(
      [
        ['felt', 'heard'],
        ['felt', 'felt'],
        ['absent', 'heard'],
      ],
      { categories: ['felt', 'heard', 'absent'], level: 'nominal' },
    );
    const chart = whoReadWhatChart(kinds);
    expect(rowsWith(chart, 'ring').some((cell) => cell.ring === 'near')).toBe(false);
    expect(JSON.stringify(chart.spec.title)).not.toMatch(/one step|higher/);
  });

  it('has text that reads on every square', () => {
    for (const theme of ['light', 'dark'] as const)
      for (const cell of rowsWith(whoReadWhatChart(table, { theme }), 'fill'))
        expect(contrast(cell.text as string, cell.fill as string)).toBeGreaterThanOrEqual(4.5);
  });

  it('keeps grades apart that have the same words', () => {
    const sameWords = ratingsOf([[1, 2]], {
      categories: [1, 2].map((value) => ({ value, words: 'no words given' })),
    });
    expect(rowsWith(whoReadWhatChart(sameWords), 'ring')).toHaveLength(4);
  });

  it('refuses what it cannot draw', () => {
    expect(code(() => whoReadWhatChart(pulseRatings()))).toBe('two-assessors-needed');
    expect(code(() => whoReadWhatChart(pulseRatings(), { assessors: ['A', 'X'] }))).toBe('unknown-assessor');
    const many = ratingsOf([[1, 2]], { categories: Array.from({ length: 13 }, (_, at) => at) });
    expect(code(() => whoReadWhatChart(many))).toBe('too-many-categories');
  });
});

import { describe, expect, it } from 'vitest';
import { transitionsChart } from '../../src/charts/transitions-chart.ts';
import { pulseError, pulseTransitions } from './change-examples.ts';
import { rowsWith, subtitleOf } from './spec-data.ts';

describe('transitionsChart', () => {
  const chart = transitionsChart(pulseTransitions(), { error: pulseError() });
  const cell = (from: string, to: string) =>
    rowsWith(chart, 'count').find((row) => row.from === from && row.to === to)!;

  it('writes every count in its square and frames the diagonal', () => {
    const cells = rowsWith(chart, 'count');
    expect(cells).toHaveLength(25);
    expect(cells.filter((row) => row.same).map((row) => row.count)).toEqual(['11', '24', '88', '6', '0']);
    expect(cell('2', '1').count).toBe('31');
    expect(cell('1', '2').count).toBe('6');
  });

  it('says how many are the same, higher and lower, and how many the same assessors alone would give', () => {
    // By hand: 11 + 24 + 88 + 6 = 129 the same, 3 + 6 + 9 = 18 higher, the other 58 lower.
    expect(chart.title).toContain('in 129 of 205 pairs, higher in 18, lower in 58');
    expect(transitionsChart(pulseTransitions()).title).toMatch(/lower in 58$/);
  });

  it('puts beside each count what assessors alone would give', () => {
    // By hand: "normal" stands in 28 × 2 + 6 + 4 ordered pairs, 6 with "diminished": 132 · 6/66 = 12, and 132 · 56/66 = 112.
    expect(cell('2', '1').expected).toBe('(12)');
    expect(cell('2', '2').expected).toBe('(112)');
    // 14 pairs begin with "absent", of whose 14 ordered readings 2 were read "diminished" by the other.
    expect(cell('0', '1').expected).toBe('(2.0)');
    expect(subtitleOf(chart)).toContain('agreement study (30 patients)');
  });

  it('expects nothing of a grade that the study never read, and does not call it 0', () => {
    expect(cell('4', '2').expected).toBe('');
    // Read, and never so by the other: none expected, which is known.
    expect(cell('2', '0').expected).toBe('(0)');
    expect(chart.title).not.toContain('assessors alone');
    const without = pulseTransitions().counts.map((row, at) => (at === 4 ? row.map(() => 0) : row));
    const all = transitionsChart({ ...pulseTransitions(), counts: without, transitions: 204 }, { error: pulseError() });
    // By hand: 14 · 12/14 + 39 · 24/32 + 132 · 56/66 + 19 · 4/8 = 12 + 29.25 + 112 + 9.5 = 162.75.
    expect(all.title).toContain('assessors alone would give about 163 the same');
  });

  it('asks, where there is no pair', () => {
    const none = pulseTransitions().counts.map((row) => row.map(() => 0));
    expect(transitionsChart({ ...pulseTransitions(), counts: none, transitions: 0 }).title).toMatch(/\?$/);
  });

  it('refuses the error of another scale', () => {
    const error = pulseError();
    const other = { ...error, subject: { ...error.subject!, scale: 'pulse.0-3.normal2' } };
    expect(() => transitionsChart(pulseTransitions(), { error: other })).toThrow(/not that of a sign graded on this/);
  });
});

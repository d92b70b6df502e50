import { describe, expect, it } from 'vitest';
import { shareByPeriodChart } from '../../src/charts/share-by-period-chart.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { edemaShare, shareWithRun } from './examples.ts';
import { rowsWith, subtitleOf } from './spec-data.ts';

describe('shareByPeriodChart', () => {
  const chart = shareByPeriodChart(edemaShare());
  const dots = rowsWith(chart, 'run', 'value');

  it('draws the share of those assessed, with its interval', () => {
    expect(dots[0]).toMatchObject({ at: 0.5, value: 6 / 16 });
    for (const dot of dots) expect([typeof dot.lower, typeof dot.upper]).toEqual(['number', 'number']);
  });

  it('never joins dots over a hidden period or a change of scale', () => {
    const runs = [...new Set(dots.map((dot) => dot.run))].map((run) => dots.filter((dot) => dot.run === run).length);
    expect(runs).toEqual([3, 2, 5]);
  });

  it('has the counts under every dot and the completeness beneath', () => {
    const labels = rowsWith(chart, 'label', 'count');
    expect(labels[0]).toMatchObject({ label: 'Jan', count: '6', outOf: 'of 16' });
    expect(rowsWith(chart, 'done')[0]).toMatchObject({ words: 'Jan: 16 of 18 patients assessed (89 %).' });
  });

  it('gives a hidden period away neither in the strip nor in the sums', () => {
    expect(JSON.stringify(chart.spec)).not.toMatch(/Apr: |3 of 12/);
    expect(subtitleOf(chart)).toContain('154 of 178 patients assessed');
  });

  it('draws a middle line only where there is one', () => {
    expect(new Set(rowsWith(chart, 'middle').map((row) => row.text))).toEqual(new Set(['40 %']));
  });

  it('asks in its title unless a rule supports a sentence', () => {
    expect(chart.title).toMatch(/\?$/);
    const sentence = 'The last eight periods lie above the middle line';
    expect(shareByPeriodChart({ ...edemaShare(), sentence }).title).toBe(sentence);
  });

  it('marks what a rule points out by shape and in words', () => {
    const [first, ...others] = edemaShare().segments;
    const [period, ...periods] = first!.periods;
    const signal = 'Eighth period in a row above the middle line.';
    const marked = shareByPeriodChart({
      ...edemaShare(),
      segments: [{ ...first!, periods: [{ ...period!, signal }, ...periods] }, ...others],
    });
    expect(rowsWith(marked, 'signal')[0]).toMatchObject({ signal: 'yes' });
    expect(JSON.stringify(marked.spec)).toContain('a rule says: unlikely by chance');
  });

  it('takes its sentence and its marks from the run rules', () => {
    const chart = shareByPeriodChart(...shareWithRun());
    expect(chart.title).toMatch(/^9 periods in a row lie above the middle line/);
    const marked = rowsWith(chart, 'signal').filter((row) => row.signal === 'yes');
    expect(marked.map((row) => row.at)).toEqual([15.5, 16.5, 17.5, 18.5, 19.5, 20.5, 21.5, 22.5, 23.5]);
    expect(() => shareByPeriodChart(edemaShare(), { runs: [] })).toThrow(InputError);
  });

  it('leaves a dot out where nobody was assessed', () => {
    const nobody = shareByPeriodChart({
      ...edemaShare(),
      segments: [
        {
          scaleLabel: 'x',
          finding: 'y',
          periods: [
            {
              label: 'Jan',
              count: 0,
              assessed: 0,
              due: 4,
              interval: { lower: Number.NaN, upper: Number.NaN, level: 0.95, method: 'Wilson' },
            },
          ],
        },
      ],
    });
    expect(rowsWith(nobody, 'run')).toHaveLength(0);
    expect(JSON.stringify(nobody.spec)).not.toMatch(/NaN/);
  });
});

import { describe, expect, it } from 'vitest';
import { agreementBySiteChart } from '../../src/charts/agreement-by-site-chart.ts';
import type { AgreementByGroup } from '../../src/study/agreement-study.ts';
import { estimateOf, pulseAgreement } from './examples.ts';
import { rowsWith, subtitleOf } from './spec-data.ts';

function sites(
  rows: readonly (readonly [site: string, value: number, lower: number, upper: number])[],
): AgreementByGroup {
  return {
    ...pulseAgreement(),
    rows: rows.map(([value, agreement, lower, upper]) => ({
      value,
      label: value,
      estimate: estimateOf('kappa', agreement, lower, upper, { targets: 60, clusters: 30 }),
    })),
    pooled: estimateOf('kappa', 0.7, 0.65, 0.75, { targets: 180, clusters: 30 }),
  };
}

describe('agreementBySiteChart', () => {
  it('names the site of least agreement only when its interval lies below all others', () => {
    const apart = sites([
      ['femoral', 0.8, 0.7, 0.9],
      ['popliteal', 0.3, 0.1, 0.5],
      ['radial', 0.75, 0.65, 0.85],
    ]);
    expect(agreementBySiteChart(apart).title).toBe('Assessors agree least at the popliteal');
  });

  it('names sites below the whole when they cannot be told from each other', () => {
    const two = sites([
      ['radial', 0.8, 0.7, 0.9],
      ['femoral', 0.4, 0.2, 0.6],
      ['popliteal', 0.3, 0.1, 0.5],
    ]);
    expect(agreementBySiteChart(two).title).toBe(
      'Assessors agree less at the femoral and at the popliteal than over all sites together',
    );
  });

  it('asks when the intervals support no sentence', () => {
    const alike = sites([
      ['femoral', 0.7, 0.5, 0.9],
      ['popliteal', 0.6, 0.4, 0.8],
    ]);
    expect(agreementBySiteChart(alike).title).toBe('How far do assessors agree on pulse grade at each site?');
  });

  it('speaks of places as people do', () => {
    expect(agreementBySiteChart(pulseAgreement()).title).toBe(
      'Assessors agree less behind the knee than over all sites together',
    );
  });

  it('keeps the order of the body, headings apart, whatever the values', () => {
    const chart = agreementBySiteChart(pulseAgreement());
    const labels = [...rowsWith(chart, 'place', 'detail'), ...rowsWith(chart, 'heading')].filter(
      (row) => !('value' in row),
    );
    const fromTheTop = [...labels].sort((first, second) => (first.y as number) - (second.y as number));
    expect(fromTheTop.map((row) => row.place ?? row.heading)).toEqual([
      'Arms',
      'inside of the elbow',
      'wrist, thumb side',
      'wrist, little-finger side',
      'Legs',
      'groin',
      'behind the knee',
      'inner ankle',
      'top of the foot',
      'All sites together',
    ]);
  });

  it('always has 0 and 1 on its axis, and room for what lies below 0', () => {
    const high = agreementBySiteChart(sites([['radial', 0.9, 0.85, 0.95]]));
    expect(JSON.stringify(high.spec)).toContain('"domain":[0,1]');
    const low = agreementBySiteChart(sites([['radial', 0.1, -0.31, 0.5]]));
    expect(JSON.stringify(low.spec)).toContain('"domain":[-0.4,1]');
    for (const chart of [high, low]) expect(JSON.stringify(chart.spec)).toContain('as by chance');
  });

  it('does not speak of chance where 0 means something else', () => {
    const percent = { ...sites([['radial', 0.9, 0.85, 0.95]]), chanceCorrected: false };
    expect(JSON.stringify(agreementBySiteChart(percent).spec)).not.toContain('as by chance');
  });

  it('draws no dot without its interval and says why a value is missing', () => {
    const chart = agreementBySiteChart(pulseAgreement());
    const rows = rowsWith(chart, 'smallPrint');
    expect(rows.filter((row) => row.value === null)).toMatchObject([
      { lower: null, upper: null, text: 'not defined', smallPrint: 'one grade only, or none', people: '6' },
    ]);
    for (const row of rows.filter((each) => each.value !== null)) {
      expect(row.lower).toBeTypeOf('number');
      expect(row.upper).toBeTypeOf('number');
    }
    expect(chart.description).toContain('Not defined at the top of the foot.');
  });

  it('prints no adjective', () => {
    const json = JSON.stringify(agreementBySiteChart(pulseAgreement()).spec);
    expect(json).not.toMatch(/\b(poor|slight|fair|moderate|substantial|good|excellent|almost perfect)\b/i);
  });

  it('says what was counted and how', () => {
    expect(subtitleOf(agreementBySiteChart(pulseAgreement()))).toBe(
      'Pulse grade, 0 to 4, where 2 is normal: 512 findings, 40 patients, 3 assessors Quadratic weighted kappa with 95 % intervals (studentized patient bootstrap); the band is the interval of all sites together',
    );
  });
});

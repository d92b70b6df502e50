import { describe, expect, it } from 'vitest';
import { funnelChart } from '../../src/charts/funnel-chart.ts';
import { funnel } from '../../src/unit-quality/funnel.ts';
import { edemaFunnel } from './examples.ts';
import { rowsWith } from './spec-data.ts';

const words = { what: 'Edema', counted: 'patients' };

describe('funnelChart', () => {
  it('names a unit only when it lies outside its outer limits', () => {
    expect(funnelChart(...edemaFunnel()).title).toBe(
      'No unit lies further from the others than chance explains for its size',
    );
    const far = funnelChart(funnel([5, 6, 5, 38], [40, 42, 39, 41]), { ...words, units: ['W', 'X', 'Y', 'Z'] });
    expect(far.title).toBe('Z lies further from all units together than chance explains');
    const alike = funnelChart(funnel([9, 10, 11], [40, 42, 39]), { ...words, units: ['W', 'X', 'Y'] });
    expect(alike.title).toMatch(/^No unit/);
  });

  it('keeps the order of the codes and leaves out a unit without anyone assessed', () => {
    const chart = funnelChart(funnel([9, 0, 11], [40, 0, 39]), { ...words, units: ['W', 'X', 'Y'] });
    expect(rowsWith(chart, 'unit').map((row) => row.unit)).toEqual(['W', 'Y']);
  });

  it('says in the picture that it is no ranking', () => {
    expect(funnelChart(...edemaFunnel()).caution).toContain('not ranked');
  });
});

import { describe, expect, it } from 'vitest';
import { hardLimbsChart } from '../../src/charts/hard-limbs-chart.ts';
import { classSession } from './examples.ts';
import { rowsWith, subtitleOf } from './spec-data.ts';

describe('hardLimbsChart', () => {
  const { hard } = classSession();
  const chart = hardLimbsChart(hard);

  it('has one mark for each reading and the count beside them', () => {
    const readings = hard.limbs.reduce((sum, limb) => sum + limb.lower + limb.same + limb.higher, 0);
    expect(rowsWith(chart, 'x', 'y').filter((row) => Object.keys(row).length === 2)).toHaveLength(readings);
    expect(rowsWith(chart, 'text', 'words').map((row) => row.text)).toEqual(
      hard.limbs.flatMap((limb) => [limb.lower, limb.same, limb.higher].map(String)),
    );
  });

  it('stands in the order given, hardest first, with the scale in the margin', () => {
    expect(rowsWith(chart, 'label').map((row) => row.label)).toEqual(
      hard.limbs.map((limb) => limb.label.replace(' (dorsalis pedis artery)', '')),
    );
    expect(subtitleOf(chart)).toContain("The scale's words: 0: absent; 1: weak or thready;");
  });

  it('says where the class itself is the yardstick', () => {
    const [first, ...others] = hard.limbs;
    const own = hardLimbsChart({ ...hard, limbs: [{ ...first!, fromExperts: false }, ...others] });
    expect(subtitleOf(own)).toContain('held against the middle of the class');
    expect(subtitleOf(chart)).not.toContain('middle of the class');
  });

  it('says that it shows the first of many', () => {
    const many = Array.from({ length: 40 }, (_, at) => ({ ...hard.limbs[0]!, label: `V${at}` }));
    const long = hardLimbsChart({ ...hard, limbs: many });
    expect(subtitleOf(long)).toContain('40 limbs, hardest first, the first 24 shown');
    expect(rowsWith(long, 'label')).toHaveLength(24);
  });
});

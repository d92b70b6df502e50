import { expect, it } from 'vitest';
import { hardLimbsChart } from '../../src/charts/hard-limbs-chart.ts';
import { renderSvg } from '../../src/charts/render.ts';
import { classSession } from '../../src/teaching/class-session.ts';
import { hardLimbs } from '../../src/teaching/hard-limbs.ts';
import { demoClass } from '../teaching/class-file.ts';
import { rowsWith } from './spec-data.ts';

it('has a triangle a reading off the experts, the scale’s words in the margin, and nobody’s code', async () => {
  const { assessments } = await demoClass();
  const hard = hardLimbs(classSession(assessments, { sign: 'pulse-grade', round: '1' }));
  const chart = hardLimbsChart(hard, { most: 5 });
  const five = hard.limbs.slice(0, 5);
  expect(rowsWith(chart, 'limb', 'shape')).toHaveLength(
    five.reduce((sum, { lower, higher }) => sum + lower + higher, 0),
  );
  expect(rowsWith(chart, 'limb', 'same').map(({ same }) => same)).toEqual(five.map(({ same }) => String(same)));
  expect(chart.title).toMatch(/^Hardest limb: V3, left leg/);
  expect(`${JSON.stringify(chart.spec)}${chart.description}`).not.toMatch(/\b[LX]\d\d?\b/);
  expect(await renderSvg(chart)).toContain('2: normal, as expected');
  expect(() => hardLimbsChart(hard, { most: 0 })).toThrow(/whole number of limbs/);
});

it('asks instead of naming a limb where the interval leaves doubt', async () => {
  const { assessments } = await demoClass();
  const hard = hardLimbs(classSession(assessments, { sign: 'pulse-grade', round: '1' }));
  expect(hardLimbsChart({ ...hard, limbs: hard.limbs.slice(-3) }).title).toBe('Which limbs are hard to read?');
});

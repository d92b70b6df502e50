import { expect, it } from 'vitest';
import { beforeAndAfterChart } from '../../src/charts/before-and-after-chart.ts';
import { renderSvg } from '../../src/charts/render.ts';
import { classSession } from '../../src/teaching/class-session.ts';
import { retrainingEffect } from '../../src/teaching/retraining-effect.ts';
import { demoClass } from '../teaching/class-file.ts';
import { rowsWith } from './spec-data.ts';

it('has new and control limbs as two panels, with what was expected anyway, and no code', async () => {
  const { assessments } = await demoClass();
  const [before, after] = ['1', '2'].map((round) => classSession(assessments, { sign: 'pulse-grade', round }));
  const effect = retrainingEffect(before!, after!, { chosen: ['L05', 'L10', 'L03'] });
  const chart = beforeAndAfterChart(effect);
  const svg = await renderSvg(chart);
  for (const words of ['On new limbs', 'limbs read in both rounds', 'expected anyway']) expect(svg).toContain(words);
  expect(`${JSON.stringify(chart.spec)}${chart.description}`).not.toMatch(/\bL\d\d\b/);
  const ends = rowsWith(chart, 'at', 'value').filter(
    (row) => row.at === 1 && row.text === undefined && row.words === undefined,
  );
  expect(ends[0]!.value).toBeCloseTo(effect.newLimbs.before + effect.expectedAnyway, 12);
  expect(ends[1]!.value).toBeCloseTo(effect.controlLimbs!.before, 12);
});

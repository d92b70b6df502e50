import { expect, it } from 'vitest';
import { classCarpetChart } from '../../src/charts/class-carpet-chart.ts';
import { renderSvg } from '../../src/charts/render.ts';
import { classCarpet } from '../../src/teaching/class-carpet.ts';
import { classSession } from '../../src/teaching/class-session.ts';
import { demoClass } from '../teaching/class-file.ts';
import { rowsWith } from './spec-data.ts';

it('has one mark for each reading, three shapes and a dash, and neither code nor total', async () => {
  const { assessments } = await demoClass();
  const carpet = classCarpet(classSession(assessments, { sign: 'pulse-grade', round: '1' }), { seed: 1 });
  const chart = classCarpetChart(carpet);
  const cells = rowsWith(chart, 'down', 'shape');
  expect(cells).toHaveLength(carpet.rows.length * carpet.limbs.length);
  for (const [mark, shape] of [
    ['lower', 'triangle-down'],
    ['same', 'circle'],
    ['higher', 'triangle-up'],
  ])
    expect(cells.filter((cell) => cell.shape === shape)).toHaveLength(
      carpet.rows.flat().filter((one) => one === mark).length,
    );
  expect(`${JSON.stringify(chart.spec)}${chart.description}`).not.toMatch(/\b[LX]\d\d?\b/);
  expect(await renderSvg(chart)).toContain('so a row is nobody');
});

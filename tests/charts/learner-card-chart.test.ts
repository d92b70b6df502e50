import { expect, it } from 'vitest';
import { learnerCardChart } from '../../src/charts/learner-card-chart.ts';
import { renderSvg } from '../../src/charts/render.ts';
import { classSession } from '../../src/teaching/class-session.ts';
import { learnerCard } from '../../src/teaching/learner-card.ts';
import { demoClass } from '../teaching/class-file.ts';
import { rowsWith } from './spec-data.ts';

it('draws own readings, the experts’ range and most of the others, and nobody’s code', async () => {
  const { assessments } = await demoClass();
  const card = learnerCard(classSession(assessments, { sign: 'pulse-grade', round: '1' }), 'L05');
  const chart = learnerCardChart(card);
  const own = card.limbs.filter(({ own: reading }) => reading !== undefined);
  expect(rowsWith(chart, 'limb', 'at')).toHaveLength(own.length);
  expect(rowsWith(chart, 'limb', 'at')[0]).toMatchObject({ limb: own[0]!.label, at: own[0]!.own });
  const [experts] = rowsWith(chart, 'limb', 'left').filter(({ left, right }) => Number(right) - Number(left) < 0.5);
  expect(experts!.left).toBeCloseTo(card.limbs.find(({ label }) => label === experts!.limb)!.experts!.lower - 0.2, 12);
  expect(`${JSON.stringify(chart.spec)}${chart.description}`).not.toMatch(/\b[LX]\d\d?\b/);
  expect(await renderSvg(chart)).toContain('most of the others');
});

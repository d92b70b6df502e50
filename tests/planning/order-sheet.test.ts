import { expect, it } from 'vitest';
import { orderSheet } from '../../src/planning/order-sheet.ts';
import { planStudy } from '../../src/planning/plan-study.ts';
import { design, plan } from './plan.ts';

it('has a row a patient with every turn, prints its seed, and says what disturbs what', () => {
  const sheet = orderSheet(plan);
  expect(sheet.rows).toHaveLength(8);
  expect(sheet.rows.filter((row) => row.phase === 'pilot')).toHaveLength(2);
  for (const row of sheet.rows) expect([row.turn1, row.turn2, row.turn3].sort()).toEqual(['A', 'B', 'C']);
  const text = sheet.toText();
  for (const words of [
    /seed 4/,
    /Girth is measured here, before/,
    /neighboring marked spot/,
    /out of earshot/,
    /Last of all/,
    /rests 10 minutes/,
  ])
    expect(text).toMatch(words);
  expect(text).not.toMatch(/Modified Allen/);
});

it('marks second readings', () => {
  const sheet = orderSheet(planStudy({ ...design, replicates: 2 }));
  expect(sheet.rows[0]!.turn4).toMatch(/^[ABC] again$/);
});

import { expect, it } from 'vitest';
import { ACTS, actOf } from '../../src/planning/order-of-acts.ts';
import { codebook } from '../../src/signs/codebook.ts';

it('has girth before pressing, pulses before cuffs, and the raised leg last', () => {
  expect(actOf('ankle-girth')).toBeLessThan(actOf('pitting-edema'));
  expect(actOf('pulse-grade')).toBeLessThan(actOf('ankle-pressure'));
  expect(actOf('leg-raised')).toBe(ACTS.length - 1);
});

it('knows every sign that presses, occludes or raises', () => {
  const idsOf = (act: string) => codebook.filter((sign) => ACTS[actOf(sign.id)]!.id === act).map((sign) => sign.id);
  expect(idsOf('pressing')).toEqual(codebook.map((sign) => sign.id).filter((id) => /^pit|edema/.test(id)));
  expect(idsOf('hand-occlusion')).toEqual(['allen-test']);
  expect(idsOf('raising')).toEqual([
    'leg-raised',
    'buerger-angle',
    'leg-lowered',
    'dependent-rubor',
    'color-return',
    'venous-filling',
  ]);
  expect(idsOf('cuff').every((id) => /pressure|index/.test(id))).toBe(true);
});

import { expect, it } from 'vitest';
import { ACTS, actOf } from '../../src/planning/order-of-acts.ts';
import { codebook } from '../../src/signs/codebook.ts';

it('has girth before pressing, pulses before cuffs, and the raised leg last', () => {
  expect(actOf('ankle-girth')).toBeLessThan(actOf('pitting-edema'));
  expect(actOf('pulse-grade')).toBeLessThan(actOf('ankle-pressure'));
  expect(actOf('leg-raised')).toBe(ACTS.length - 1);
});

it('knows every sign that presses, occludes or raises', () => {
  const disturbing = codebook.filter((sign) => actOf(sign.id) > 0).map((sign) => sign.id);
  expect(disturbing.filter((id) => /pit|edema/.test(id))).toEqual(
    codebook.map((sign) => sign.id).filter((id) => /^pit|edema/.test(id)),
  );
  expect(disturbing).toContain('allen-test');
});

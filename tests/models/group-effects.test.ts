import { expect, it } from 'vitest';
import { groupEffects } from '../../src/models/group-effects.ts';
import { checkTerms, type RandomTerm, RandomTerms } from '../../src/models/random-terms.ts';

it('effects and deviations of every group, slopes where there are any, deviations times the scale', () => {
  const list: RandomTerm[] = [
    { name: 'limb', groups: [7, 7, 8, 8, 9, 9], slope: { name: 'day', values: [0, 1, 0, 2, 1, 3] } },
    { name: 'reader', groups: ['a', 'b', 'a', 'b', 'b', 'a'] },
  ];
  const terms = new RandomTerms(6, checkTerms(list, 6, [], false));
  const theta = Float64Array.of(0.9, 0.2, 0.7, 1.1);
  const spherical = Float64Array.from({ length: terms.order }, (_, k) => k - 3.5);
  const scaled = new Float64Array(terms.design.length);
  terms.scaleDesign(theta, scaled);
  const factor = new Float64Array(terms.pattern.size);
  terms.information(scaled, undefined, factor);
  expect(terms.pattern.factor(factor)).toBe(true);
  const inverse = terms.pattern.selectedInverse(factor);
  const found = groupEffects(terms, terms.blocks, theta, spherical, inverse, 1.5);
  expect(Object.keys(found)).toEqual(['limb', 'reader']);
  for (const block of terms.blocks) {
    const own = found[block.name];
    const values = terms.effectsOf(block, theta, spherical);
    const deviations = terms.deviationsOf(block, theta, inverse);
    const every = (of: Float64Array, place: number, factor: number): number[] =>
      Array.from(of, (value) => factor * value).filter((_, k) => k % block.width === place);
    expect(own?.levels).toEqual(block.levels);
    expect([...(own?.intercepts ?? [])]).toEqual(every(values, 0, 1));
    expect([...(own?.interceptDeviations ?? [])]).toEqual(every(deviations, 0, 1.5));
    if (block.width === 1) {
      expect(own?.slopes).toBeUndefined();
      expect(own?.slopeDeviations).toBeUndefined();
    } else {
      expect([...(own?.slopes ?? [])]).toEqual(every(values, 1, 1));
      expect([...(own?.slopeDeviations ?? [])]).toEqual(every(deviations, 1, 1.5));
    }
  }
});

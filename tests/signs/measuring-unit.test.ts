import { expect, test } from 'vitest';
import { convertUnit, unitCodeOf, unitsLike } from '../../src/signs/measuring-unit.ts';

test.each([
  [10, '[in_i]', 'cm', 25.4], // the inch is defined as 2.54 cm
  [98.6, '[degF]', 'Cel', 37],
  [37, 'Cel', '[degF]', 98.6],
  [247, 'mm', 'cm', 24.7],
  [1.5, 'min', 's', 90],
  [100, 'mm[Hg]', 'kPa', 13.3322], // 1 mmHg = 133.322 Pa
])('%d %s in %s', (value, from, to, expected) => {
  expect(convertUnit(value, from, to)).toBeCloseTo(expected, 4);
});

test('units of different things have no conversion', () => {
  expect(convertUnit(1, 's', 'cm')).toBeUndefined();
  expect(unitsLike('cm')).toEqual(['mm', 'm', '[in_i]']);
});

test.each([
  ['mmHg', 'mm[Hg]'],
  ['sec', 's'],
  ['C', 'Cel'],
  ['mL', 'mL'],
  ['ml', 'mL'],
  ['furlong', undefined],
])('%s is %s', (word, code) => {
  expect(unitCodeOf(word)).toBe(code);
});

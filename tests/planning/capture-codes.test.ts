import { expect, it } from 'vitest';
import { captureCodes } from '../../src/planning/capture-codes.ts';
import { plan } from './plan.ts';

it('lists every grade in words, the range of measured signs, and the reasons', () => {
  const { rows } = captureCodes(plan);
  const of = (sign: string) => rows.filter((row) => row.sign === sign && row.column === 'value');
  expect(of('Pulse strength').map((row) => row.write)).toEqual(['0', '1', '2', '3', '4']);
  expect(of('Girth of the ankle')).toHaveLength(1);
  expect(of('Girth of the ankle')[0]!.words).toMatch(/^in cm, \d/);
  expect(rows.filter((row) => row.column === 'missing')).toHaveLength(7);
});

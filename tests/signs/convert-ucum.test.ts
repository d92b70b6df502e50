import { expect, test } from 'vitest';
import { convertUcum } from '../../src/signs/convert-ucum.ts';

// Definitions of UCUM (ucum.org/ucum, tables 3 to 12): foot 12 inches of 2.54 cm, kelvin 273.15 above the degree Celsius,
// meter of mercury 133.322 kPa, hour 60 minutes, hertz once a second.
test.each([
  [1.25, '[ft_i]', 38.1, 'cm'],
  [2.47, 'dm', 24.7, 'cm'],
  [310.15, 'K', 37, 'Cel'],
  [0.12, 'm[Hg]', 120, 'mm[Hg]'],
  [0.5, 'h', 1800, 's'],
  [1.2, 'Hz', 72, '/min'],
  [1, 'dL', 100, 'mL'],
])('%d %s is %d %s', async (value, code, converted, unit) => {
  expect(await convertUcum(value, code)).toEqual({ value: converted, unit });
});

test.each(['foo', 'sec', 'kg', '[pH]', '', '10*3'])('%s is no unit of what is measured here', async (code) => {
  expect(await convertUcum(1, code)).toBeUndefined();
});

import fc from 'fast-check';
import { expect, test } from 'vitest';
import { plainNumber } from '../../src/assessments/plain-number.ts';

test.each([
  ['24.0', '24'],
  ['2.50', '2.5'],
  ['1e-7', '0.0000001'],
  ['1.5e+3', '1500'],
  ['-1.25E1', '-12.5'],
  ['1e22', '10000000000000000000000'],
  ['-0.0', '0'],
  ['0', '0'],
  ['007', '7'],
  ['12345678901234567890123', '12345678901234567890123'],
  ['NaN', 'NaN'],
  ['P1', 'P1'],
])('%s is %s', (written, plain) => expect(plainNumber(written)).toBe(plain));

test('every finite number keeps its value and needs no exponent', () => {
  fc.assert(
    fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (number) => {
      const plain = plainNumber(String(number));
      expect(plain).toMatch(/^-?(?:0|[1-9]\d*)(?:\.\d*[1-9])?$/);
      expect(Number(plain)).toBe(number + 0);
    }),
  );
});

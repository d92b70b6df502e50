import { expect, test } from 'vitest';
import { ownValue } from '../../src/shared/own-value.ts';

test('what every object has is no value of a record', () => {
  for (const word of ['constructor', '__proto__', 'toString'])
    expect(ownValue<unknown>({ a: 1 }, word)).toBeUndefined();
  expect(ownValue(JSON.parse('{"__proto__":1}') as Record<string, number>, '__proto__')).toBe(1);
  expect(ownValue(undefined, 'a')).toBeUndefined();
});

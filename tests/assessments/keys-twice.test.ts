import fc from 'fast-check';
import { expect, it } from 'vitest';
import { keysTwice } from '../../src/assessments/keys-twice.ts';

it('finds a name given twice wherever it stands, and however it is written', () => {
  expect(keysTwice('{"a": [{"b": 1, "b": 2}]}')).toEqual([['a', 0, 'b']]);
  expect(keysTwice('[{"c": [1, 2], "d": {"e": [], "f": {}}}, {"g": 1, "h": 2, "g" : 3}]')).toEqual([[1, 'g']]);
  expect(keysTwice('{"a": 1, "\\u0061": 2}')).toEqual([['a']]);
  expect(keysTwice('{"a": {"b": 1}, "c": {"b": 1}, "a": {"b": 1}, "a": 1}')).toEqual([['a'], ['a']]);
});

it('takes no text for a name', () => {
  expect(keysTwice('{"a": "x", "b": "x", "c": ["a", "a", "b:"], "d": "\\"a\\":"}')).toEqual([]);
  expect(keysTwice('"a"')).toEqual([]);
  expect(keysTwice('{"__proto__": 1, "constructor": 2}')).toEqual([]);
});

it('finds none in what JSON.stringify writes, and one where one is put in', () => {
  fc.assert(
    fc.property(fc.json(), fc.string(), (json, name) => {
      expect(keysTwice(json)).toEqual([]);
      const key = JSON.stringify(name);
      expect(keysTwice(`[${json}, {${key}: ${json},\n ${key}\t: ${json}}]`)).toEqual([[1, name]]);
    }),
    { seed: 20260301 },
  );
});

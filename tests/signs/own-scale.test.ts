import { expect, test } from 'vitest';
import { InputError } from '../../src/shared/input-error.ts';
import { type OwnScale, ownScale } from '../../src/signs/own-scale.ts';

const good: OwnScale = {
  id: 'clinic.edema.0-2',
  sign: 'edema-overall',
  label: 'none, with treatment, despite treatment',
  level: 'ordinal',
  categories: [
    { value: '0', words: 'none' },
    { value: '1', words: 'with treatment' },
    { value: '2', words: 'despite treatment' },
  ],
};

test('a plain object becomes a scale; scores count up from 0', () => {
  const scale = ownScale(good);
  expect(scale.categories?.map(({ score }) => score)).toEqual([0, 1, 2]);
  expect(scale.direction).toBe('none');
  expect(scale.source).toBe('own scale, no source given');
});

test('every fault is told at once', () => {
  let problems: readonly { code: string }[] = [];
  try {
    ownScale({
      id: 'pulse.binary',
      sign: 'edema',
      label: ' ',
      level: 'ordinal',
      categories: [
        { value: '0', words: 'none', score: 1 },
        { value: '0', words: '', score: 0 },
      ],
      range: { lowest: 3, highest: 1 },
      normal: ['7'],
    });
  } catch (error) {
    problems = (error as InputError).problems;
  }
  expect(problems.map(({ code }) => code).sort()).toEqual(
    [
      'bad-categories',
      'bad-categories',
      'bad-label',
      'bad-normal',
      'bad-range',
      'bad-scores',
      'scale-id-taken',
      'unknown-sign',
    ].sort(),
  );
});

test('a measured scale needs a unit and takes no categories', () => {
  expect(() => ownScale({ ...good, level: 'ratio' })).toThrow(InputError);
  expect(
    ownScale({ id: 'clinic.refill', sign: 'capillary-refill', label: 'seconds', level: 'ratio', unit: 's' }).unit,
  ).toBe('s');
});

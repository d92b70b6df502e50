import { expect, test } from 'vitest';
import type { InputError } from '../../src/shared/input-error.ts';
import { codebook, scaleOf } from '../../src/signs/codebook.ts';
import { mapCategory, oneScale, safeMappings } from '../../src/signs/scale-mapping.ts';

const valuesOf = (id: string): string[] => scaleOf(id).categories?.map(({ value }) => value) ?? [];

// Common practice, no source: what differently numbered pulse grades have in common.
test.each([
  ['pulse.0-3.normal2', ['below', 'below', 'normal', 'above']],
  ['pulse.0-4.normal2', ['below', 'below', 'normal', 'above', 'above']],
  ['pulse.0-4.normal3', ['below', 'below', 'below', 'normal', 'above']],
])('%s to below, normal, above', (from, expected) => {
  expect(valuesOf(from).map((value) => mapCategory(from, 'pulse.below-normal-above', value))).toEqual(expected);
});

test('the words of a scale agree with where its normal grade is mapped', () => {
  for (const id of ['pulse.0-3.normal2', 'pulse.0-4.normal2', 'pulse.0-4.normal3'])
    for (const value of valuesOf(id))
      expect(mapCategory(id, 'pulse.below-normal-above', value) === 'normal', `${id} ${value}`).toBe(
        scaleOf(id).normal?.categories?.includes(value),
      );
});

test('0 to 4 with 2 normal goes to 0 to 3, and not back', () => {
  expect(
    valuesOf('pulse.0-4.normal2').map((value) => mapCategory('pulse.0-4.normal2', 'pulse.0-3.normal2', value)),
  ).toEqual(['0', '1', '2', '3', '3']);
  expect(() => mapCategory('pulse.0-3.normal2', 'pulse.0-4.normal2', '3')).toThrow(/no safe way/);
});

test('2 normal and 3 normal do not line up in either direction', () => {
  expect(() => mapCategory('pulse.0-4.normal2', 'pulse.0-4.normal3', '2')).toThrow(/do not line up/);
  expect(() => mapCategory('pulse.0-4.normal3', 'pulse.0-4.normal2', '2')).toThrow(/do not line up/);
});

test('every safe mapping covers the categories of its source and lands on its target', () => {
  for (const scale of codebook.flatMap((sign) => sign.scales)) {
    for (const mapping of safeMappings(scale.id)) {
      expect(Object.keys(mapping.categories).sort(), mapping.to).toEqual([...valuesOf(scale.id)].sort());
      for (const target of Object.values(mapping.categories)) expect(valuesOf(mapping.to)).toContain(target);
      // A safe way never turns the order round.
      const scores = valuesOf(scale.id).map(
        (value) =>
          scaleOf(mapping.to).categories?.find((category) => category.value === mapping.categories[value])?.score ??
          Number.NaN,
      );
      if (scale.level === 'ordinal') expect([...scores].sort((a, b) => a - b)).toEqual(scores);
    }
  }
});

test('pooling two scales is refused, and the scales they share are offered', () => {
  let problem: { code: string; mend?: string } | undefined;
  try {
    oneScale([scaleOf('pulse.0-4.normal2'), scaleOf('pulse.0-4.normal3')]);
  } catch (error) {
    problem = (error as InputError).problems[0];
  }
  expect(problem?.code).toBe('scales-differ');
  expect(problem?.mend).toContain('pulse.binary');
  expect(problem?.mend).toContain('pulse.below-normal-above');
  expect(problem?.mend).not.toContain('pulse.0-3.normal2');
  expect(oneScale([scaleOf('pulse.binary'), scaleOf('pulse.binary')]).id).toBe('pulse.binary');
  expect(() => oneScale([])).toThrow(/no readings/);
  expect(() => oneScale([scaleOf('refill.seconds.finger'), scaleOf('refill.seconds.toe')])).toThrow(
    /one scale at a time/,
  );
});

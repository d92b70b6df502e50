import { expect, test } from 'vitest';
import type { InputError } from '../../src/shared/input-error.ts';
import { codebook, scaleOf, signOf } from '../../src/signs/codebook.ts';
import { siteOf, sites } from '../../src/signs/site.ts';

const scales = codebook.flatMap((sign) => sign.scales);

test('every sign and every scale has its own id, and a scale knows its sign', () => {
  expect(new Set(codebook.map(({ id }) => id)).size).toBe(codebook.length);
  expect(new Set(scales.map(({ id }) => id)).size).toBe(scales.length);
  for (const sign of codebook) for (const scale of sign.scales) expect(scale.sign).toBe(sign.id);
});

test('graded scales have categories in rising order of their scores, measured ones a unit and a range', () => {
  for (const scale of scales) {
    if (scale.level === 'nominal' || scale.level === 'ordinal') {
      const scores = scale.categories?.map(({ score }) => score) ?? [];
      expect(scores.length, scale.id).toBeGreaterThan(1);
      expect(
        [...scores].sort((a, b) => a - b),
        scale.id,
      ).toEqual(scores);
      expect(new Set(scores).size, scale.id).toBe(scores.length);
      for (const normal of scale.normal?.categories ?? [])
        expect(
          scale.categories?.map(({ value }) => value),
          scale.id,
        ).toContain(normal);
    } else {
      expect(scale.unit, scale.id).toMatch(/\S/);
      expect(scale.range?.lowest ?? Number.NaN, scale.id).toBeLessThan(scale.range?.highest ?? Number.NaN);
    }
    expect(scale.source, scale.id).not.toBe('');
    for (const limit of scale.limits) expect(limit.source, scale.id).not.toBe('');
  }
});

test('the sites of every sign exist and lie where the sign says', () => {
  for (const sign of codebook) {
    for (const id of sign.sites) expect(siteOf(id).region, `${sign.id} ${id}`).not.toBe('midline');
    for (const id of sign.midlineSites) expect(siteOf(id).region, `${sign.id} ${id}`).toBe('midline');
    for (const scale of sign.scales)
      for (const id of scale.sites ?? []) expect([...sign.sites, ...sign.midlineSites], scale.id).toContain(id);
  }
});

test('no word stands for two sites', () => {
  const words = sites.flatMap((site) => [
    ...new Set([site.id, site.label, ...site.aliases].map((word) => word.toLowerCase())),
  ]);
  expect(new Set(words).size).toBe(words.length);
});

// Armstrong 2010 (0–3), two physical-examination texts (0–4, 2 normal), Clinical Methods 1990 (0–4, 3 normal).
test.each([
  ['pulse.0-3.normal2', '3', 'full, bounding'],
  ['pulse.0-4.normal2', '3', 'increased, full'],
  ['pulse.0-4.normal3', '3', 'normal'],
])('the digit is not the finding: on %s a %s is %s', (id, value, words) => {
  expect(scaleOf(id).categories?.find((category) => category.value === value)?.words).toBe(words);
});

test('not felt with Doppler not used is its own state, outside the order', () => {
  expect(scaleOf('pulse.detection4').level).toBe('nominal');
  expect(scaleOf('pulse.detection4').categories?.map(({ value }) => value)).toContain('not-felt-doppler-not-used');
  expect(scaleOf('pulse.detection3').categories?.map(({ value }) => value)).not.toContain('not-felt-doppler-not-used');
});

test('trace is a category between 0 and 1', () => {
  expect(scaleOf('pit.0-4.hogan.trace').categories?.map(({ value, score }) => [value, score])).toEqual([
    ['0', 0],
    ['trace', 0.5],
    ['1', 1],
    ['2', 2],
    ['3', 3],
    ['4', 4],
  ]);
});

test('finger and toe refill are on different scales', () => {
  expect(scaleOf('refill.seconds.finger').sites).not.toContain('great-toe');
  expect(scaleOf('refill.seconds.toe').sites).toContain('great-toe');
});

test('the codebook cannot be changed', () => {
  expect(() => {
    (scaleOf('pulse.binary').categories as unknown as { value: string }[])[0]!.value = '9';
  }).toThrow(TypeError);
});

test('an unknown id is refused with the nearest one', () => {
  const refusal = (action: () => unknown): InputError => {
    try {
      action();
    } catch (error) {
      return error as InputError;
    }
    throw new Error('was not refused');
  };
  expect(refusal(() => signOf('pulse-grad')).problems[0]).toMatchObject({
    code: 'unknown-sign',
    mend: 'did you mean "pulse-grade"?',
  });
  expect(refusal(() => scaleOf('pulse.0-4.normal')).problems[0]?.code).toBe('unknown-scale');
  expect(refusal(() => siteOf('dorsalis')).problems[0]?.code).toBe('unknown-site');
});

import { expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { codebook } from '../../src/signs/codebook.ts';
import type { Scale, Sign } from '../../src/signs/sign.ts';
import { siteOf } from '../../src/signs/site.ts';

/** Every value a scale can hold: each category by value and by words, or the ends and the middle of the range. */
function valuesOf(scale: Scale): readonly (string | number)[] {
  if (scale.categories !== undefined) return scale.categories.flatMap(({ value, words }) => [value, words]);
  const { lowest, highest } = scale.range ?? { lowest: 0, highest: 1 };
  return [lowest, highest, Number(((lowest + highest) / 2).toFixed(2))];
}

/** A place for each reading: its sites one after the other, a limb where the sign has one. */
function placesOf(sign: Sign, scale: Scale): { site?: string; limb?: string }[] {
  const sites = scale.sites ?? [...sign.sites, ...sign.midlineSites];
  if (sites.length === 0) return sign.limbs.length === 0 ? [{}] : sign.limbs.map((limb) => ({ limb }));
  return sites.map((site) => {
    const { region } = siteOf(site);
    return sign.isPaired === true || region === 'midline' ? { site } : { site, limb: `left-${region}` };
  });
}

const rows = codebook.flatMap((sign) =>
  sign.scales.flatMap((scale) =>
    placesOf(sign, scale).flatMap((place, placeAt) =>
      valuesOf(scale).map((value, at) => ({
        patient: `P${placeAt}`,
        assessor: 'A',
        replicate: at + 1,
        ...place,
        sign: sign.id,
        scale: scale.id,
        value,
      })),
    ),
  ),
);

test('every sign on every scale at every site goes through rows, file, table and frame unchanged', async () => {
  const loaded = await loadAssessments({ rows });
  expect(loaded.length).toBe(rows.length);
  expect(new Set(loaded.sign.values).size).toBe(codebook.length);
  const scales = new Map(codebook.flatMap((sign) => sign.scales).map((scale) => [scale.id, scale]));
  loaded.toRows().forEach((row, at) => {
    const written = rows[at]?.value;
    const scale = scales.get(row.scale ?? '');
    const expected =
      scale?.categories?.find(({ value, words }) => value === written || words === written)?.value ?? written;
    expect(row.value, `${row.scale} ${written}`).toBe(expected);
  });
  const header = ['patient', 'assessor', 'replicate', 'site', 'limb', 'sign', 'scale', 'value'] as const;
  const lines = rows.map((row) =>
    header.map((name) => `"${String((row as Record<string, unknown>)[name] ?? '').replaceAll('"', '""')}"`).join(','),
  );
  const fingerprint = loaded.fingerprint();
  expect((await loadAssessments({ text: [header.join(','), ...lines].join('\n') })).fingerprint()).toBe(fingerprint);
  expect((await loadAssessments({ rows: loaded.toRows() })).fingerprint()).toBe(fingerprint);
  expect((await loadAssessments({ text: loaded.toCsv() })).fingerprint()).toBe(fingerprint);
  expect((await loadAssessments({ frame: await loaded.toFrame() })).fingerprint()).toBe(fingerprint);
});

import { expect, test } from 'vitest';
import { codebook } from '../../src/signs/codebook.ts';
import { codebookPage } from '../../src/signs/codebook-page.ts';
import { categoryCodes, limbCodes, signCodes, siteCodes } from '../../src/signs/terminology.ts';

const page = codebookPage();

test('every sign and every scale is on the page, in words', () => {
  for (const sign of codebook) {
    expect(page).toContain(`## ${sign.label}\n`);
    expect(page).toContain(sign.words);
    for (const scale of sign.scales) expect(page).toContain(`<small>${scale.id}</small>`);
  }
});

test('the wordings of the pulse scales stand beside each other, normal in bold', () => {
  const line = page.split('\n').find((text) => text.startsWith('| 3 | full, bounding'));
  expect(line).toBe('| 3 | full, bounding | increased, full | **normal** | no words given |  |  |');
});

test('codes belong to signs, sites and categories that exist', () => {
  const scales = codebook.flatMap((sign) => sign.scales);
  for (const id of Object.keys(signCodes)) expect(codebook.map((sign) => sign.id)).toContain(id);
  for (const [id, codes] of Object.entries(categoryCodes))
    for (const value of Object.keys(codes))
      expect(scales.find((scale) => scale.id === id)?.categories?.map((category) => category.value)).toContain(value);
  const codes = [
    ...Object.values(siteCodes).flatMap(({ unsided, left, right }) => [unsided?.code, left.code, right.code]),
    ...Object.values(limbCodes).map(({ code }) => code),
  ];
  expect(new Set(codes).size).toBe(codes.length);
});

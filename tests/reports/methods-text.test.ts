import { expect, it } from 'vitest';
import { methodsText } from '../../src/reports/methods-text.ts';
import { inventedStudy, plan } from './study.ts';

it('holds every number a referee asks for, from plan and study', async () => {
  const study = await inventedStudy();
  const text = methodsText(study, { plan, sampleSize: '14 people, by simulation.' });
  for (const words of [
    '3 assessors each examined every person once',
    'Latin squares, seed 8',
    '10 minutes of rest',
    '2 people of a pilot were kept apart',
    '14 people, by simulation.',
    'pulse.0-4.normal2, 5 grades',
    '56 findings of 14 people',
    'quadratic weights',
    '200 replicates, seed 8',
    'Amended 2026-09-14: A referee asked for linear weights.',
    'in the unit of the sign',
    `limb-perfusion ${study.libraryVersion}`,
    study.fingerprint,
  ])
    expect(text).toContain(words);
});

it('says nothing of a plan it was not given', async () => {
  const text = methodsText(await inventedStudy());
  expect(text).not.toMatch(/Latin|rest in between|Sample size/);
});

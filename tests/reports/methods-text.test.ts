import { expect, it } from 'vitest';
import { methodsText } from '../../src/reports/methods-text.ts';
import { Estimate } from '../../src/shared/estimate.ts';
import { AgreementStudy } from '../../src/study/agreement-study.ts';
import { inventedStudy, plan } from './study.ts';

it('holds every number a referee asks for, from plan and study', async () => {
  const study = await inventedStudy();
  const text = methodsText(study, { plan, sampleSize: '14 people, by simulation.' });
  for (const words of [
    'By the plan 3 assessors each examine every person once',
    'Latin squares, seed 8',
    '10 minutes of rest',
    '2 people of a pilot kept apart',
    '14 people, by simulation.',
    'pulse.0-4.normal2, 5 grades',
    '56 findings of 14 people',
    'quadratic weights',
    '200 replicates, seed 8',
    'Amended 2026-09-14: A referee asked for linear weights.',
    'in the unit of the sign',
    'Primary coefficient computed: Pulse strength: Conger kappa, quadratic weights; Girth of the ankle: ',
    `limb-perfusion ${study.packageVersion}`,
    study.fingerprint,
  ])
    expect(text).toContain(words);
});

it('says nothing of a plan it was not given', async () => {
  const text = methodsText(await inventedStudy());
  expect(text).not.toMatch(/Latin|rest in between|Sample size/);
});

it('says for how many results the bootstrap gave way to another interval', async () => {
  const study = await inventedStudy();
  const asked = study.results.map((result) => ({
    ...result,
    primary: new Estimate({
      ...result.primary,
      interval: { ...result.primary.interval, method: 'studentized patient bootstrap' },
    }),
  }));
  const given = (results: typeof asked) =>
    methodsText(Object.assign(Object.create(AgreementStudy.prototype), study, { results }));
  expect(given(asked)).not.toContain('could not be used');
  const [first, ...rest] = asked;
  const replaced = {
    ...first!,
    primary: new Estimate({
      ...first!.primary,
      interval: { ...first!.primary.interval, method: 'patient jackknife, t with 6.1 degrees of freedom' },
    }),
  };
  expect(given([replaced, ...rest])).toContain(
    `For 1 of ${asked.length} results the bootstrap could not be used and another interval is given (patient jackknife, t)`,
  );
});

import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { gradedKappaSampleSize } from '../../src/planning/graded-kappa-sample-size.ts';
import { patientsNeeded } from '../../src/planning/patients-needed.ts';
import { planStudy } from '../../src/planning/plan-study.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { loadPlan, planFile } from '../../src/study/plan-file.ts';
import { madeDemoData, textOf } from '../data-demo/demo-data.ts';
import { design, plan } from '../planning/plan.ts';
import { codeOf, type Notebook } from '../support/notebook.ts';

const analysis = { coefficient: 'gwet-agreement', weights: 'linear', by: ['site'], explore: ['side'] } as const;
const problemsOf = (text: string) =>
  loadPlan({ text }).then(
    () => [],
    (error: InputError) => error.problems.map(({ code, path }) => `${code} ${(path ?? []).join('.')}`),
  );

describe('a plan in a file', () => {
  it('comes back as it was: turns, signs, scales, seed, questions, reasons of the sample size', async () => {
    const back = await loadPlan({ text: planFile(plan, { ...analysis, sampleSize: '6 people, because.' }) });
    expect(back.plan).toEqual(plan);
    expect(back.sampleSize).toBe('6 people, because.');
    expect(back.analysis).toMatchObject({ ...plan.forStudy, ...analysis, replicates: 2000, confidenceLevel: 0.95 });
    expect(back.analysis).not.toHaveProperty('sampleSize');
  });

  it('names the sites where every sign does, and leaves them open where one has none of its own', async () => {
    const signs = [{ sign: 'pulse-grade', scale: 'pulse.0-4.normal2', sites: ['radial', 'dorsalis-pedis'] }];
    const whole = await loadPlan({ text: planFile(planStudy({ ...design, signs }), analysis) });
    expect(whole.analysis.sites).toEqual(['radial', 'dorsalis-pedis']);
    expect((await loadPlan({ text: planFile(plan, analysis) })).analysis).not.toHaveProperty('sites');
  });

  it('is the same text again, and tells by its fingerprint when it was changed', async () => {
    const text = planFile(plan, analysis);
    expect(planFile((await loadPlan({ text })).plan, analysis)).toBe(text);
    const { planFingerprint } = await loadPlan({ text });
    const changed = await loadPlan({ text: text.replace('"linear"', '"quadratic"') });
    expect(planFingerprint).toMatch(/^[0-9a-f]{64}$/);
    expect(changed.planFingerprint).not.toBe(planFingerprint);
  });

  it('refuses what is no plan, and every fault of one at once', async () => {
    expect(await problemsOf('patient,day')).toEqual(['no-plan source']);
    expect(await problemsOf('{"format":"other"}')).toEqual(['no-plan source']);
    const text = planFile(plan, analysis)
      .replace('"gwet-agreement"', '"gwet"')
      .replace('"weights"', '"weigths"')
      .replace('"ankle-girth"', '"ankel-girth"');
    expect(await problemsOf(text)).toEqual([
      'unknown-setting analysis.weigths',
      'unknown-choice plan.coefficient',
      'unknown-sign signs.2.sign',
    ]);
    await expect(loadPlan('nowhere.json')).rejects.toThrow(/no such file/);
  });
});

describe('the demo plan', () => {
  it('is what the study notebook reads, and what its study is made by', () => {
    const text = readFileSync(new URL('../../notebooks/agreement-of-pulse-grades.ipynb', import.meta.url), 'utf8');
    const code = codeOf(JSON.parse(text) as Notebook).join('\n');
    expect(code).toContain("plan: '../data-demo/generated/study-plan.json'");
    expect(code).toMatch(
      /const planned = .*await loadPlan\(settings\.plan\);\s*const analysis = planned\?\.analysis \?\?/,
    );
    expect(code).toContain('await agreementStudy(mainPhase, analysis)');
  });

  it('is what the planning notebook writes with its own settings', () => {
    const notebook = JSON.parse(
      readFileSync(new URL('../../notebooks/plan-a-study.ipynb', import.meta.url), 'utf8'),
    ) as Notebook;
    const [cell = ''] = codeOf(notebook).filter((code) => code.includes('checkSettings('));
    const written = /checkSettings\(\s*(\{[\s\S]*?\n {2}\}),/.exec(cell)![1]!;
    const settings = new Function(`return (${written});`)();
    const shares = settings.shares.split(' ').map((percent: string) => Number(percent) / 100);
    const size = gradedKappaSampleSize({
      expected: settings.expectedAgreement,
      ruledOut: settings.lowestAcceptable,
      shares,
    });
    const needed = patientsNeeded(size, { findingsPerPatient: 2 * settings.sites.length });
    const planned = planStudy({
      title: settings.title,
      signs: [{ sign: settings.sign, scale: settings.scale, sites: settings.sites, limbs: settings.limbs }],
      patients: settings.people,
      pilotPatients: settings.pilotPeople,
      assessors: settings.assessors.split(' '),
      replicates: settings.readTwice ? 2 : 1,
      minutesPerExamination: settings.minutesPerExamination,
      restMinutes: settings.restMinutes,
      minutesPerAfternoon: settings.minutesPerAfternoon,
      seed: settings.seed,
    });
    const text = planFile(planned, {
      coefficient: 'conger-kappa',
      weights: settings.weights,
      by: ['site'],
      sampleSize: `${needed} ${needed.notes[0]!.message}`,
    });
    expect(textOf(madeDemoData(), 'study-plan.json')).toBe(text);
  });
});

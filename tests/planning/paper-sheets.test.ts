import { describe, expect, it } from 'vitest';
import { outsideReferences } from '../../src/command/execute-notebooks.ts';
import { paperSheets } from '../../src/planning/paper-sheets.ts';
import { planStudy } from '../../src/planning/plan-study.ts';
import { design, plan } from './plan.ts';

describe('paperSheets', () => {
  it('has a sheet an assessor and patient, and needs nothing outside itself', () => {
    const page = paperSheets(plan);
    expect(page.match(/<section>/g)).toHaveLength(24);
    expect(outsideReferences(page)).toEqual([]);
    expect(paperSheets(plan, { patient: 'P01', assessor: 'B' }).match(/<section>/g)).toHaveLength(1);
    expect(page.match(/<strong>Pilot<\/strong>/g)).toHaveLength(6);
  });

  it('stands in bedside order, right and left side by side, with one field where there is no side', () => {
    const sheet = paperSheets(plan, { patient: 'P01', assessor: 'B' });
    const places = [
      'wrist, thumb side',
      'Girth of the ankle',
      'top of the foot',
      'Press for edema',
      'back of the hand',
      'sacrum',
      'shin',
      'Raise and lower',
    ];
    const at = places.map((words) => sheet.indexOf(words));
    expect(at).toEqual([...at].sort((a, b) => a - b));
    expect(at).not.toContain(-1);
    expect(sheet).toContain('<th>Right</th><th>Left</th>');
    expect(sheet).toMatch(/sacrum<\/td><td class="read" colspan="2">/);
    // Findings without a side: pulse equality and sacrum.
    expect(sheet.match(/colspan="2"/g)).toHaveLength(2);
    expect(sheet.match(/<td class="read">/g)).toHaveLength(12);
  });

  it('shows no other assessor, and no title as markup', () => {
    const sheet = paperSheets(planStudy({ ...design, title: '<b>Pulses & girth</b>' }), { assessor: 'B' });
    expect(sheet).not.toMatch(/Assessor <strong>[AC]/);
    expect(sheet).toContain('&lt;b&gt;Pulses &amp; girth');
  });
});

it('leaves the field of a side empty that is not read', () => {
  const left = planStudy({ ...design, signs: [{ sign: 'ankle-girth', scale: 'girth.ankle', limbs: ['left-leg'] }] });
  expect(paperSheets(left, { patient: 'P01', assessor: 'B' })).toMatch(
    /<td>Girth of the ankle<\/td><td class="read"><\/td><td class="read">________ cm<\/td>/,
  );
});

import { inspect } from 'node:util';
import { expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { MISSING_REASONS } from '../../src/assessments/missing-reason.ts';

const rows = [
  {
    patient: 'SECRET-1',
    assessor: 'NURSE-7',
    limb: 'left-leg',
    site: 'DP',
    sign: 'pulse-grade',
    scale: 'pulse.0-3.normal2',
    value: 2,
    unit: 'W1',
    day: 0,
  },
  {
    patient: 'SECRET-1',
    assessor: 'NURSE-8',
    limb: 'left-leg',
    site: 'DP',
    sign: 'pulse-grade',
    scale: 'pulse.0-3.normal2',
    value: 1,
    unit: 'W1',
    day: 0,
  },
  {
    patient: 'SECRET-2',
    assessor: 'NURSE-7',
    limb: 'right-leg',
    site: 'PT',
    sign: 'pulse-grade',
    scale: 'pulse.0-3.normal2',
    missing: 'covered',
    unit: 'W2',
    day: 3,
  },
  {
    patient: 'SECRET-2',
    assessor: 'NURSE-7',
    site: 'sacrum',
    sign: 'pitting-edema',
    scale: 'pit.0-4.hogan',
    unit: 'W2',
    day: 3,
  },
];
const load = () => loadAssessments({ rows });

test('prints counts, never an id', async () => {
  const printed = inspect(await load());
  expect(printed).toBe(
    [
      '4 assessments of 2 patients (2 limbs) by 2 assessors',
      'Signs: pitting-edema, pulse-grade',
      'Scales: 0 to 4+ by depth (2, 3–4, 5–6, 8 mm) and recovery (15 s, 1 min) (pit.0-4.hogan); 0 to 3, where 2 is normal (pulse.0-3.normal2)',
      'Without a value: covered 1, left blank 1',
    ].join('\n'),
  );
  expect(printed).not.toMatch(/SECRET|NURSE/);
});

test('where keeps order and forgets the words that no longer occur', async () => {
  const assessments = await load();
  const chosen = assessments.where({ unit: 'W2', assessor: ['NURSE-7', 'NURSE-8'] });
  expect(chosen.length).toBe(2);
  expect(chosen.patient.values).toEqual(['SECRET-2']);
  expect(chosen.assessor.values).toEqual(['NURSE-7']);
  expect(chosen.scales.map(({ id }) => id)).toEqual(['pit.0-4.hogan', 'pulse.0-3.normal2']);
  expect(chosen.where({ sign: 'pitting-edema' }).scales.map(({ id }) => id)).toEqual(['pit.0-4.hogan']);
  expect(chosen.where({ patient: 'SECRET-1' }).length).toBe(0);
  expect(assessments.where({}).fingerprint()).toBe(assessments.fingerprint());
});

test('a part loaded alone has the fingerprint of the same part of the whole', async () => {
  const part = await loadAssessments({ rows: rows.filter(({ unit }) => unit === 'W2') });
  const assessments = await load();
  expect(part.fingerprint()).toBe(assessments.where({ unit: 'W2' }).fingerprint());
  const other = await loadAssessments({ rows: rows.map((row) => ({ ...row, day: row.day + 1 })) });
  expect(other.fingerprint()).not.toBe(assessments.fingerprint());
});

test('rowsAt takes rows in the order given', async () => {
  const assessments = await load();
  const reversed = assessments.rowsAt(Int32Array.of(3, 2, 1, 0));
  expect(reversed.toRows()).toEqual(assessments.toRows().reverse());
});

test('cannot be changed by assignment', async () => {
  const assessments = (await load()) as { length: number };
  expect(() => {
    assessments.length = 0;
  }).toThrow(TypeError);
});

test('a frame with every missing reason loads as the same assessments', async () => {
  const missing = MISSING_REASONS.map((reason, at) => ({
    ...rows[0],
    value: undefined,
    replicate: at + 2,
    missing: reason,
  }));
  const assessments = await loadAssessments({ rows: [...rows, ...missing] });
  const again = await loadAssessments({ frame: await assessments.toFrame() });
  expect(again.toRows()).toEqual(assessments.toRows());
  expect(again.fingerprint()).toBe(assessments.fingerprint());
});

test('a frame holds the same cells', async () => {
  const assessments = await load();
  const frame = await assessments.toFrame();
  expect(frame.shape[0]).toBe(4);
  expect(frame.columns).toEqual(Object.keys(assessments.toRows()[0] ?? {}));
});

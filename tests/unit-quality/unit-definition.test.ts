import { expect, it } from 'vitest';
import { patientReadings } from '../../src/unit-quality/patient-readings.ts';
import { unitDefinition } from '../../src/unit-quality/unit-definition.ts';
import { SCALE_A, unitFile } from './unit-file.ts';

const file = unitFile([
  ['s1', 1, 0, 'left', '2', { scale: SCALE_A }],
  ['s1', 2, 3, 'right', '4'],
  ['s2', 2, 0, 'left', '1'],
  ['s2', 2, 1, 'left', '2'],
  ['s2', 2, 2, 'left', 'refused'],
]);
const options = { sign: 'pitting-edema', atLeast: '2' } as const;

it('is a card that says what counts, over what, on which scale and what never counts', async () => {
  const text = unitDefinition(await file, { ...options, version: 3 }).toText();
  expect(text).toContain('definition 3');
  expect(text).toContain('what was there on arrival never counts as new');
  expect(text).toContain('never as normal');
  expect(text).toMatch(/pit\.0-4\.bands-2-4-6-8\.long\), period 1; then .*pit\.0-4\.hogan\), period 2/);
  expect(text).toContain('after the change of scale');
  const assessments = await file;
  expect(() => unitDefinition(assessments, { ...options, atLeast: '5' })).toThrow(/no grade "5"/);
});

it('counts readings by patient and period on one scale only', async () => {
  const assessments = await file;
  const { rows, periods } = patientReadings(assessments.where({ scale: 'pit.0-4.hogan' }), options);
  expect(periods).toEqual([2]);
  expect(rows.map(({ count, readings }) => [count, readings])).toEqual([
    [1, 1],
    [1, 2],
  ]);
  expect(() => patientReadings(assessments, options)).toThrow(/not grades of one scale/);
});

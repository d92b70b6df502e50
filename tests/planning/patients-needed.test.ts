import { expect, it } from 'vitest';
import { kappaSampleSize } from '../../src/planning/kappa-sample-size.ts';
import { patientsNeeded } from '../../src/planning/patients-needed.ts';
import { refuses } from '../support/refusals.ts';

const size = kappaSampleSize({ expected: 0.7, ruledOut: 0.4, rates: [0.5, 0.5] });

it('multiplies by the design effect and divides by the findings of a patient (64·1.9/(4·0.95) = 32)', () => {
  const needed = patientsNeeded(size, { findingsPerPatient: 4 });
  expect(needed.designEffect).toBeCloseTo(1.9, 12);
  expect(needed.patients).toBe(32);
  expect(needed.invited).toBe(36);
});

it('is the number of findings where each patient has one, and where all findings of a patient say the same', () => {
  expect(patientsNeeded(size, { findingsPerPatient: 1, gaps: 0, absent: 0 }).patients).toBe(64);
  expect(patientsNeeded(size, { findingsPerPatient: 8, correlation: 1, gaps: 0, absent: 0 }).patients).toBe(64);
  expect(patientsNeeded(size, { findingsPerPatient: 8, correlation: 0, gaps: 0, absent: 0 }).patients).toBe(8);
});

it('says what it assumes', () => {
  expect(patientsNeeded(size, { findingsPerPatient: 4 }).notes[0]!.message).toMatch(/correlated by 0\.30.*5 %.*10 %/);
});

refuses([
  ['half a finding', () => patientsNeeded(size, { findingsPerPatient: 0.5 }), 'bad-option'],
  ['a correlation above 1', () => patientsNeeded(size, { findingsPerPatient: 2, correlation: 1.2 }), 'bad-option'],
]);

import { expect, test } from 'vitest';
import { guardColumn, ruleOfValue } from '../../src/assessments/identifier-guard.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import type { InputError } from '../../src/shared/input-error.ts';
import { identifyingValues, innocentValues } from './identifier-examples.ts';

test('more than 99 in 100 identifying values are caught', () => {
  const missed = identifyingValues.filter(([, value]) => ruleOfValue(value) === undefined);
  expect(identifyingValues.length).toBeGreaterThanOrEqual(300);
  expect(missed.length / identifyingValues.length, JSON.stringify(missed.slice(0, 40))).toBeLessThan(0.01);
});

test('fewer than 1 in 100 innocent values are refused', () => {
  const refused = innocentValues.filter((value) => ruleOfValue(value) !== undefined);
  expect(innocentValues.length).toBeGreaterThanOrEqual(300);
  expect(refused.length / innocentValues.length, JSON.stringify(refused)).toBeLessThan(0.01);
});

test('none is echoed: not by the guard, not by loading, wherever it stands', async () => {
  for (const [, value] of identifyingValues) {
    expect(JSON.stringify(guardColumn('notes', [value], 'not read'))).not.toContain(JSON.stringify(value).slice(1, -1));
  }
  const cell = (value: string): string => `"${value.replaceAll('"', '""')}"`;
  for (const columns of [
    'value,comment',
    'comment,value',
    'missing,comment',
    'site,comment',
    'sign,comment',
    'scale,comment',
    'limb,comment',
    'day,comment',
  ]) {
    const text = [
      `patient,${columns}`,
      ...identifyingValues.slice(0, 100).map(([, value], at) => `P${at},${cell(value)},${cell(value)}`),
    ].join('\n');
    const constants = Object.fromEntries(
      [
        ['sign', 'pulse-grade'],
        ['scale', 'pulse.binary'],
        ['site', 'DP'],
        ['limb', 'L'],
        ['value', '1'],
      ].filter(
        ([name]) => !columns.split(',').includes(name ?? '') && !(name === 'value' && columns.startsWith('missing')),
      ),
    );
    let error: InputError | undefined;
    try {
      await loadAssessments({ text }, { constants });
    } catch (caught) {
      error = caught as InputError;
    }
    const told = `${error?.message} ${JSON.stringify(error?.problems)}`;
    expect(error?.problems.filter(({ code }) => code === 'identifier-value').length).toBeGreaterThanOrEqual(198);
    for (const [, value] of identifyingValues.slice(0, 100)) expect(told, columns).not.toContain(value);
  }
});

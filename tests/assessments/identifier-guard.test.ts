import { expect, test } from 'vitest';
import { guardColumn, ruleOfHeader, ruleOfValue } from '../../src/assessments/identifier-guard.ts';
import { categoryCodes, limbCodes, methodCodes, sideCodes, signCodes, siteCodes } from '../../src/signs/terminology.ts';

test.each([
  'Name',
  'patient_name',
  'Last Name',
  'MRN',
  'DOB',
  'Date of birth',
  'Home Address',
  'ZIP',
  'Phone',
  'cell phone',
  'E-mail',
  'SSN',
  'Account Number',
  'device serial',
  'visit date',
  'IP',
])('a column named %s is refused', (header) => {
  expect(ruleOfHeader(header)).toBeDefined();
});

test.each([
  'patient',
  'pt',
  'leg',
  'day',
  'assessor',
  'dp_A',
  'pop_B',
  'learner',
  'volunteer',
  'unit',
  'room_c',
  'site',
])('a column named %s passes', (header) => {
  expect(ruleOfHeader(header)).toBeUndefined();
});

test.each([
  ['2026-03-01', 'date'],
  ['2026-03-01T08:30:00Z', 'date'],
  ['3/1/2026', 'date'],
  ['01.03.26', 'date'],
  ['3-Feb', 'date'],
  ['Feb 3', 'date'],
  ['12 January 2026', 'date'],
  ['20260301', 'date'],
  ['202603010830', 'date'],
  ['someone@example.org', 'e-mail address'],
  ['https://example.org/a', 'web address'],
  ['192.0.2.17', 'network address'],
  ['2001:db8::1', 'network address'],
  ['000-12-3456', 'social security number'],
  ['(555) 010-1234', 'telephone or fax number'],
  ['555-010-1234', 'telephone or fax number'],
  ['+44 1632 960123', 'telephone or fax number'],
  ['MRN4417823', 'record, plan or account number'],
  ['XK4417823', 'long number'],
  ['441782344', 'long number'],
  // As a code of SNOMED CT, but with a wrong check digit.
  ['792817005', 'long number'],
  ['24781000205104', 'long number'],
])('%s breaks the rule: %s', (value, rule) => {
  expect(ruleOfValue(value)).toBe(rule);
});

// Words of the bedside and codes of terminologies that look like identifiers and are none.
test.each([
  'A01',
  'RN-07',
  'N123456',
  'DP',
  'PT',
  'AT',
  'RA',
  'LA',
  'May',
  '792817008',
  '24781000205105',
  '86547008',
  '44963-7',
  '90',
  '-365',
  '2/4',
  '1-2',
  '3/3',
  '2+',
  '<2',
  '10234',
  'P01',
  '0D',
  '24.7',
  '2,5',
  'left-leg',
])('%s passes', (value) => {
  expect(ruleOfValue(value)).toBeUndefined();
});

test('every code of the terminology tables passes', () => {
  const tables = JSON.stringify([siteCodes, limbCodes, sideCodes, methodCodes, signCodes, categoryCodes]);
  const codes = [...tables.matchAll(/"code":"([^"]+)"/g)].map((match) => match[1] ?? '');
  expect(codes.length).toBeGreaterThan(30);
  for (const code of codes) expect(ruleOfValue(code), code).toBeUndefined();
});

test('an age over 89 is refused in a column of ages, 90 elsewhere is not', () => {
  expect(
    guardColumn('age', ['45', '91']).values.map((list) => list?.[0]?.message.includes('age over 89') ?? false),
  ).toEqual([false, true]);
  expect(guardColumn('vessel age', ['91']).values).toEqual([undefined]);
  expect(guardColumn('angle', ['90']).values).toEqual([undefined]);
});

test('nothing that is refused is repeated', () => {
  for (const value of ['2026-03-01', 'someone@example.org', '441782344', '555-010-1234', '000-12-3456']) {
    const inColumn = JSON.stringify(guardColumn('code', [value]));
    expect(inColumn).toContain('identifier-value');
    expect(inColumn).not.toContain(value);
    const asHeader = JSON.stringify(guardColumn(value, []));
    expect(asHeader).toContain('identifier-column');
    expect(asHeader).not.toContain(value);
  }
});

import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import type { LoadOptions } from '../../src/assessments/load-options.ts';
import { problemsOf, refusalsOf } from '../support/problems-of.ts';

const SNOMED = 'http://snomed.info/sct';
const LOINC = 'http://loinc.org';
const LOCAL = 'http://example.org/codes';
const coded = (...codings: readonly (readonly [string, string])[]) => ({
  coding: codings.map(([system, code]) => ({ system, code })),
});
/** A foreign Observation: strength of the left dorsalis pedis pulse. */
const pulse = {
  resourceType: 'Observation',
  status: 'final',
  code: coded([LOCAL, 'PULSE']),
  subject: { reference: 'Patient/p1' },
  performer: [{ reference: 'Practitioner/a1' }],
  bodySite: coded([SNOMED, '792817008']),
  valueCodeableConcept: coded([LOCAL, 'TWO']),
};
const refill = {
  ...pulse,
  code: coded([LOINC, '44963-7']),
  bodySite: coded([LOCAL, 'GREAT-TOE-L']),
  valueCodeableConcept: undefined,
};
const options: LoadOptions = {
  scales: {
    'pulse-grade': 'pulse.0-3.normal2',
    'capillary-refill': 'refill.seconds.toe',
    'pitting-edema': 'pit.0-4.hogan',
  },
  fhir: {
    codes: {
      [`${LOCAL}|PULSE`]: { sign: 'pulse-grade' },
      [`${LOCAL}|TWO`]: { value: '2' },
      [`${LOCAL}|GREAT-TOE-L`]: { site: 'great-toe', side: 'left' },
      [`${LOCAL}|DRESSED`]: { missing: 'covered' },
    },
  },
};
const text = (...resources: readonly object[]) => ({
  text: resources.map((resource) => JSON.stringify(resource)).join('\n'),
});
const load = (...resources: readonly object[]) => loadAssessments(text(...resources), options);
const rowOf = async (resource: object) => (await load(resource)).toRows()[0];

describe('what an Observation says', () => {
  test('confirmed codes and the codes of the user', async () => {
    expect(await rowOf(pulse)).toMatchObject({
      patient: 'p1',
      assessor: 'a1',
      sign: 'pulse-grade',
      scale: 'pulse.0-3.normal2',
      site: 'dorsalis-pedis',
      limb: 'left-leg',
      value: '2',
    });
  });

  test.each([
    [{ value: 2.5, system: 'http://unitsofmeasure.org', code: 's', unit: 'seconds' }, 2.5, null],
    [{ value: 2500, system: 'http://unitsofmeasure.org', code: 'ms' }, 2.5, null],
    [{ value: 0.05, system: 'http://unitsofmeasure.org', code: 'min' }, 3, null],
    [{ value: 15, comparator: '>', system: 'http://unitsofmeasure.org', code: 's' }, 15, '>'],
    [{ value: 2, comparator: '<=', unit: 'sec' }, 2, '<='],
  ])('the quantity %j', async (valueQuantity, value, comparator) => {
    expect(await rowOf({ ...refill, valueQuantity })).toMatchObject({ value, comparator });
  });

  // UCUM's own definitions: a foot is 12 × 2.54 cm.
  test.each([
    [1.25, '[ft_i]', 38.1],
    [0.381, 'm', 38.1],
    [381, 'mm', 38.1],
    [3.81, 'dm', 38.1],
  ])('%d %s around the calf', async (value, code, centimeters) => {
    const girth = {
      ...pulse,
      code: coded([LOCAL, 'CALF']),
      bodySite: coded([SNOMED, '32153003']),
      valueCodeableConcept: undefined,
      valueQuantity: { value, system: 'http://unitsofmeasure.org', code },
    };
    const codes = { [`${LOCAL}|CALF`]: { sign: 'calf-girth' } };
    expect((await loadAssessments(text(girth), { fhir: { codes } })).number[0]).toBe(centimeters);
  });

  test.each(['ordinalValue', 'itemWeight'])('a grade by its %s', async (name) => {
    const extension = [{ url: `http://hl7.org/fhir/StructureDefinition/${name}`, valueDecimal: 3 }];
    const valueCodeableConcept = { coding: [{ system: LOCAL, code: 'OTHER', extension }] };
    expect(await rowOf({ ...pulse, valueCodeableConcept })).toMatchObject({ value: '3' });
  });

  test.each([
    [{ valueInteger: 1 }, '1'],
    [{ valueString: '1+' }, '1'],
    [{ valueQuantity: { value: 1, unit: '{score}', system: 'http://unitsofmeasure.org', code: '{score}' } }, '1'],
    [{ valueQuantity: { value: 1 } }, '1'],
  ])('a grade as %j', async (value, grade) => {
    expect(await rowOf({ ...pulse, valueCodeableConcept: undefined, ...value })).toMatchObject({ value: grade });
  });

  test('a grade by the confirmed code of edema', async () => {
    const edema = {
      ...pulse,
      code: coded([SNOMED, '284521000']),
      bodySite: coded([LOCAL, 'SHIN'], [SNOMED, '7771000']),
    };
    const codes = { [`${LOCAL}|SHIN`]: { site: 'pretibial-shin' } };
    const loaded = await loadAssessments(text({ ...edema, valueCodeableConcept: coded([SNOMED, '421605005']) }), {
      ...options,
      fhir: { codes },
    });
    expect(loaded.toRows()[0]).toMatchObject({ sign: 'pitting-edema', value: '2', limb: 'left-leg' });
  });

  test.each([
    ['http://terminology.hl7.org/CodeSystem/data-absent-reason', 'not-performed', 'not-assessed'],
    ['http://terminology.hl7.org/CodeSystem/data-absent-reason', 'asked-declined', 'refused'],
    [LOCAL, 'DRESSED', 'covered'],
  ])('no value, because %s %s', async (system, code, missing) => {
    const absent = { ...pulse, valueCodeableConcept: undefined, dataAbsentReason: coded([system, code]) };
    expect(await rowOf(absent)).toMatchObject({ value: null, missing });
  });

  test('neither value nor reason is a cell left blank', async () => {
    expect(await rowOf({ ...pulse, valueCodeableConcept: undefined })).toMatchObject({ value: null, missing: null });
  });

  test('several sites or signs in the components of one Observation', async () => {
    const panel = {
      ...pulse,
      bodySite: undefined,
      valueCodeableConcept: undefined,
      component: [
        { code: coded([SNOMED, '792817008']), valueCodeableConcept: coded([LOCAL, 'TWO']) },
        { code: coded([SNOMED, '214811007']), valueInteger: 0 },
        { code: coded([SNOMED, '214912001']), dataAbsentReason: coded([LOCAL, 'DRESSED']) },
      ],
    };
    expect((await load(panel)).toRows().map(({ limb, site, value, missing }) => [limb, site, value, missing])).toEqual([
      ['left-leg', 'dorsalis-pedis', '2', null],
      ['right-leg', 'posterior-tibial', '0', null],
      ['left-leg', 'posterior-tibial', null, 'covered'],
    ]);
    const signs = {
      ...refill,
      code: coded([LOCAL, 'LIMB EXAMINATION']),
      component: [{ code: coded([LOINC, '44963-7']), valueQuantity: { value: 2, unit: 's' } }],
    };
    expect((await load(signs)).toRows()[0]).toMatchObject({ sign: 'capillary-refill', site: 'great-toe', value: 2 });
    const bad = {
      ...panel,
      component: [...panel.component.slice(0, 1), { code: coded([SNOMED, '214811007']), valueInteger: 7 }],
    };
    expect(await refusalsOf(text(bad), options)).toEqual(['1 component[1].value[x] off-scale']);
  });

  test('the method by its code or its words, the assessor, and the stay', async () => {
    const one = { ...pulse, method: coded([SNOMED, '113011001']), encounter: { reference: 'Encounter/s1' } };
    expect(await rowOf(one)).toMatchObject({ method: 'palpation', stay: 's1' });
    expect(await rowOf({ ...pulse, method: { text: 'two fingers' } })).toMatchObject({ method: 'two fingers' });
    const uuid = 'c757873d-ec9a-4326-a141-556f43239520';
    expect(await rowOf({ ...pulse, subject: { reference: `urn:uuid:${uuid}` } })).toMatchObject({ patient: uuid });
  });
});

/** The example Observation/blood-pressure-dar of FHIR R4, hl7.org/fhir/R4/observation-example-bloodpressure-dar.html (CC0), retyped. */
const published = {
  resourceType: 'Observation',
  id: 'blood-pressure-dar',
  meta: { profile: ['http://hl7.org/fhir/StructureDefinition/vitalsigns'] },
  identifier: [{ system: 'urn:ietf:rfc:3986', value: 'urn:uuid:187e0c12-8dd2-67e2-99b2-bf273c878281' }],
  status: 'final',
  category: [coded(['http://terminology.hl7.org/CodeSystem/observation-category', 'vital-signs'])],
  code: { ...coded([LOINC, '85354-9']), text: 'Blood pressure systolic & diastolic' },
  subject: { reference: 'Patient/example' },
  effectiveDateTime: '2012-09-17',
  performer: [{ reference: 'Practitioner/example' }],
  interpretation: [{ ...coded(['http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation', 'L']) }],
  bodySite: coded([SNOMED, '368209003']),
  component: [
    {
      code: coded([LOINC, '8480-6'], [SNOMED, '271649006'], ['http://acme.org/devices/clinical-codes', 'bp-s']),
      valueQuantity: { value: 107, unit: 'mmHg', system: 'http://unitsofmeasure.org', code: 'mm[Hg]' },
    },
    {
      code: coded([LOINC, '8462-4']),
      dataAbsentReason: coded(['http://terminology.hl7.org/CodeSystem/data-absent-reason', 'not-performed']),
    },
  ],
};

describe('the published blood pressure with an absent part', () => {
  const arm = { [`${SNOMED}|368209003`]: { limb: 'right-arm', site: 'brachial' } };

  test('is refused for what it tells and what is not known', async () => {
    expect(await refusalsOf(text(published))).toEqual([
      '1 identifier identifier-element',
      '1 effectiveDateTime identifier-element',
      '1 interpretation identifier-element',
      '1 bodySite unknown-code',
      '1 component[1].code unknown-code',
      '1 code unknown-code',
      '1 component[1].code sign-missing',
      '1 bodySite site-missing',
    ]);
  });

  test('is read with a code map: the systolic pressure as it stands, the other passed over', async () => {
    const loaded = await loadAssessments(text(published), {
      fhir: { codes: { ...arm, [`${LOINC}|8462-4`]: 'leave-out' }, identifying: 'leave-out', dates: 'to-days' },
    });
    expect(loaded.toRows()).toMatchObject([
      {
        patient: 'example',
        assessor: 'example',
        sign: 'brachial-pressure',
        limb: 'right-arm',
        site: 'brachial',
        value: 107,
        day: 0,
      },
    ]);
    expect(loaded.notes.map(({ code }) => code)).toEqual(
      expect.arrayContaining(['other-codes', 'elements-left-out', 'dates-to-days']),
    );
  });

  test('and its absent part keeps its reason', async () => {
    const codes = {
      ...arm,
      [`${LOINC}|8480-6`]: 'leave-out',
      [`${LOINC}|8462-4`]: { sign: 'brachial-pressure' },
    } as const;
    const loaded = await loadAssessments(text(published), {
      fhir: { codes, identifying: 'leave-out', dates: 'to-days' },
    });
    expect(loaded.toRows()).toMatchObject([{ value: null, missing: 'not-assessed' }]);
  });
});

describe('what is refused', () => {
  const quantity = (more: object) => ({ ...refill, valueQuantity: { value: 2, ...more } });
  test.each([
    [{ ...pulse, status: 'preliminary' }, 'status status-not-final'],
    [{ ...pulse, status: 'entered-in-error' }, 'status status-not-final'],
    [{ ...pulse, modifierExtension: [{ url: 'x' }] }, 'modifierExtension modifier-extension'],
    [{ ...pulse, code: coded([LOINC, '8867-4']) }, 'code unknown-code'],
    [{ ...pulse, code: { text: 'Pulse strength' } }, 'code unknown-code'],
    [{ ...pulse, bodySite: coded([SNOMED, '80768000']) }, 'bodySite unknown-code'],
    [{ ...pulse, bodySite: coded([SNOMED, '792817008'], [SNOMED, '24028007']) }, 'bodySite two-codes'],
    [{ ...pulse, valueCodeableConcept: coded([LOCAL, 'THREE']) }, 'valueCodeableConcept unknown-code'],
    [{ ...pulse, valueCodeableConcept: coded([SNOMED, '421605005']) }, 'valueCodeableConcept value-not-of-sign'],
    [{ ...pulse, valueInteger: 1 }, 'valueInteger two-codes'],
    [{ ...pulse, dataAbsentReason: coded([LOCAL, 'DRESSED']) }, 'dataAbsentReason value-and-missing'],
    [{ ...pulse, valueCodeableConcept: undefined, valueRange: { low: { value: 1 } } }, 'valueRange value-type'],
    [{ ...pulse, valueCodeableConcept: undefined, valueDateTime: '2026-03-01' }, 'valueDateTime value-type'],
    [quantity({ comparator: 'ad', unit: 's' }), 'valueQuantity unknown-comparator'],
    [quantity({ comparator: '~', unit: 's' }), 'value[x] unknown-comparator'],
    [quantity({ system: 'http://example.org/units', code: 's' }), 'valueQuantity unit-system'],
    [quantity({ system: 'http://unitsofmeasure.org', code: 'sec' }), 'valueQuantity unit-does-not-fit'],
    [quantity({ system: 'http://unitsofmeasure.org', code: 'cm' }), 'value[x] unit-does-not-fit'],
    // A pitting grade by its code is no length, nor is a number without unit a length on another scale.
    [quantity({ system: 'http://unitsofmeasure.org', code: '{score}' }), 'value[x] unit-does-not-fit'],
    [{ ...pulse, subject: undefined }, 'subject patient-missing'],
    [{ ...pulse, component: {} }, 'component not-a-list'],
    [{ ...pulse, performer: { reference: 'Practitioner/a1' } }, 'performer not-a-list'],
    [{ ...pulse, encounter: 'Encounter/s1' }, 'encounter reference-unreadable'],
    [{ ...pulse, method: 'palpation' }, 'method unknown-code'],
    [{ ...pulse, subject: { reference: 'Group/g1' } }, 'subject reference-unreadable'],
    [{ ...pulse, subject: { reference: '#p1' } }, 'subject reference-unreadable'],
    [{ ...pulse, performer: [{ reference: 'Organization/o1' }] }, 'performer reference-unreadable'],
    [{ ...pulse, performer: [...pulse.performer, ...pulse.performer] }, 'performer several-performers'],
    [
      { ...pulse, extension: [{ url: 'urn:limb-perfusion:assessment', extension: [{ url: 'x' }] }] },
      'extension unknown-extension',
    ],
  ])('%j', async (resource, refusal) => {
    expect(await refusalsOf(text(resource), options)).toContain(`1 ${refusal}`);
  });

  test('a public code that is unknown is named, a local one is not', async () => {
    const unknown = await problemsOf(
      text({ ...pulse, code: coded([LOINC, '8867-4']) }, { ...pulse, code: coded([LOCAL, 'JANE DOE']) }),
      options,
    );
    const messages = unknown.filter(({ code }) => code === 'unknown-code').map(({ message }) => message);
    expect(messages[0]).toContain('http://loinc.org|8867-4');
    expect(messages[1]).not.toContain('JANE');
  });

  test('two kinds of performer could be one person', async () => {
    const other = { ...pulse, subject: { reference: 'Patient/p2' }, performer: [{ reference: 'PractitionerRole/a1' }] };
    expect(await refusalsOf(text(pulse, other), options)).toEqual(['- performer two-kinds-of-performer']);
  });

  test('wrong options', async () => {
    const wrong = { codes: { PULSE: { sign: 'x', patient: 'y' } }, dates: 'keep', other: 1 } as never;
    expect(await refusalsOf(text(pulse), { fhir: wrong })).toEqual([
      '- - unknown-choice',
      '- - unknown-option',
      '- - bad-code',
      '- - unknown-column',
    ]);
  });

  test('a name given twice, of which the last value alone would be read, at its line or place', async () => {
    const line = JSON.stringify(pulse);
    const again = line.replace('"status":"final"', '"status":"final","bodySite":{},"bodySite":{"text":"x","text":"y"}');
    const twice = again.replace(/"bodySite":\{"coding".*?\]\},/, '');
    expect(JSON.parse(twice)).toMatchObject({ status: 'final' });
    const refused = await refusalsOf({ text: [line, '', twice].join('\n') }, options);
    expect(refused.filter((each) => each.endsWith('key-twice'))).toEqual([
      '3 bodySite key-twice',
      '3 bodySite key-twice',
    ]);
    const bundle = `{"resourceType":"Bundle","type":"collection","entry":[{"resource":${line}},{"resource":${line.replace('p1', 'p2').replace('"coding"', '"coding":[],"coding"')}}]}`;
    expect(await refusalsOf({ text: bundle }, options)).toEqual(['2 code key-twice']);
    expect(await refusalsOf({ text: bundle.replace('"entry"', '"entry":[],"entry"') }, options)).toEqual([
      '1 Bundle key-twice',
      '2 code key-twice',
    ]);
    const array = `[${line},\n${line.replace('"status"', '"JANE DOE":1,"JANE DOE":2,"status"')}]`;
    const [told] = (await problemsOf({ text: array }, options)).filter(({ code }) => code === 'key-twice');
    expect([told?.row, told?.column]).toEqual([2, 'another element']);
  });

  test('lines that are no resource, at their line', async () => {
    const lines = [JSON.stringify(pulse), '', '{"resourceType":', '7'];
    expect(await refusalsOf({ text: lines.join('\n') }, options)).toEqual([
      '3 resourceType row-unreadable',
      '4 resourceType row-unreadable',
    ]);
    expect(await refusalsOf({ text: '{"resourceType":\n"Bundle"' })).toEqual(['- - file-unreadable']);
  });
});

/** An Observation with everything in it that can identify people. */
const telling = {
  ...pulse,
  id: 'o1',
  meta: { lastUpdated: '2026-03-01T10:00:00Z', profile: ['http://example.org/p'] },
  identifier: [{ value: 'SECRET-1' }],
  text: { status: 'generated', div: '<div>SECRET-2</div>' },
  note: [{ text: 'SECRET-3' }],
  contained: [{ resourceType: 'Patient', name: [{ family: 'SECRET-4' }] }],
  extension: [{ url: 'http://example.org/x', valueString: 'SECRET-5' }],
  effectiveDateTime: '2026-03-01T10:00:00Z',
  issued: '2026-03-01T10:00:00Z',
  SECRET: 'SECRET-6',
  subject: {
    reference: 'https://ehr.example.org/fhir/Patient/p1',
    display: 'SECRET-7',
    identifier: { value: 'SECRET-8' },
  },
  performer: [{ reference: 'Practitioner/a1', display: 'SECRET-9' }],
};
const bundle = {
  resourceType: 'Bundle',
  type: 'searchset',
  link: [{ relation: 'self', url: 'http://ehr.example.org/SECRET' }],
  entry: [
    { fullUrl: 'http://ehr.example.org/Patient/p1', resource: { resourceType: 'Patient', birthDate: '1950-01-01' } },
    { resource: telling },
    { resource: { ...telling, bodySite: coded([SNOMED, '792816004']) } },
    { resource: { resourceType: 'SECRET', id: '1' } },
  ],
};
const ELEMENTS = [
  'Bundle.link',
  'Bundle.entry.fullUrl',
  'Patient',
  'meta',
  'identifier',
  'text',
  'note',
  'contained',
  'extension',
  'effectiveDateTime',
  'issued',
  'an element that FHIR does not define here',
  'subject.display',
  'subject.identifier',
  'subject.reference with an address',
  'performer.display',
  'another resource',
];

describe('what can identify people', () => {
  test('is refused, counted and never shown', async () => {
    const problems = await problemsOf(text(bundle), options);
    expect(problems.map(({ column }) => column).sort()).toEqual([...ELEMENTS].sort());
    expect(new Set(problems.map(({ code }) => code))).toEqual(new Set(['identifier-element']));
    const note = problems.find(({ column }) => column === 'note');
    expect([note?.row, note?.message]).toEqual([2, expect.stringContaining('It occurs 2 times')]);
    expect(JSON.stringify(problems)).not.toMatch(/SECRET|2026-|1950|ehr/);
  });

  test('is left out where the user says so, and counted', async () => {
    const loaded = await loadAssessments(text(bundle), {
      ...options,
      fhir: { ...options.fhir, identifying: 'leave-out' },
    });
    expect(loaded.length).toBe(2);
    const { code, message } = loaded.notes[0] ?? {};
    expect(code).toBe('elements-left-out');
    for (const element of ELEMENTS) expect(message).toContain(`${element} (`);
    expect(message).toContain('note (2)');
    expect(JSON.stringify([loaded.toRows(), loaded.notes])).not.toMatch(/SECRET|2026-|1950|ehr/);
  });

  test('a record number in a reference is refused by the guard of every column', async () => {
    const numbered = { ...pulse, subject: { reference: 'Patient/123456789' } };
    expect(await refusalsOf(text(numbered), options)).toEqual(['1 subject identifier-value']);
  });
});

test('files that break off or are not in UTF-8 are refused in words', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'observations-'));
  try {
    const many = Array.from({ length: 3000 }, (_, at) => ({
      ...pulse,
      subject: { reference: `Patient/${at * 7919}` },
    }));
    const packed = gzipSync(text(...many).text);
    await writeFile(join(folder, 'cut.gz'), packed.subarray(0, packed.length - 2000));
    expect(await refusalsOf(join(folder, 'cut.gz'), options)).toEqual(['- - file-unreadable']);
    await writeFile(join(folder, 'latin.ndjson'), Buffer.from(text(pulse).text.replace('p1', 'p\xfc'), 'latin1'));
    expect(await refusalsOf(join(folder, 'latin.ndjson'), options)).toEqual(['- - file-encoding']);
  } finally {
    await rm(folder, { recursive: true });
  }
});

describe('times', () => {
  let folder = '';
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'observations-'));
  });
  afterAll(() => rm(folder, { recursive: true }));
  const dated = (patient: string, effectiveDateTime: string) => ({
    ...pulse,
    subject: { reference: `Patient/${patient}` },
    effectiveDateTime,
  });
  const toDays: LoadOptions = { ...options, fhir: { ...options.fhir, dates: 'to-days' } };

  test('dates become days since the first of each patient, over all files', async () => {
    const later = [dated('p1', '2024-03-01T23:30:00-08:00'), dated('p2', '2024-01-05')];
    const earlier = [dated('p1', '2024-02-28'), dated('p3', '2023-12-31T00:00:00Z')];
    await writeFile(join(folder, 'a.ndjson'), text(...later).text);
    await writeFile(join(folder, 'b.ndjson.gz'), gzipSync(text(...earlier).text));
    const loaded = await loadAssessments(join(folder, '*.n*'), toDays);
    // 2024 is a leap year: 28 February to 1 March are two days.
    expect(loaded.toRows().map(({ patient, day }) => [patient, day])).toEqual([
      ['p1', 2],
      ['p2', 0],
      ['p1', 0],
      ['p3', 0],
    ]);
    expect(loaded.notes.map(({ code }) => code)).toContain('dates-to-days');
  });

  test('performers of two kinds are seen over all files', async () => {
    const other = { ...pulse, subject: { reference: 'Patient/p2' }, performer: [{ reference: 'PractitionerRole/a1' }] };
    await writeFile(join(folder, 'one'), text(pulse).text);
    await writeFile(join(folder, 'two'), text(other).text);
    const paths = ['one', 'two'].map((name) => join(folder, name));
    expect(await refusalsOf(paths, options)).toEqual(['- performer two-kinds-of-performer']);
  });

  test.each(['2024-02', '2024', 'March 1st', '2024-13-01'])('%s is no whole date', async (date) => {
    expect(await refusalsOf(text(dated('p1', date)), toDays)).toEqual(['1 effective[x] not-a-date']);
  });

  test('a period is never turned into a day', async () => {
    const during = { ...pulse, effectivePeriod: { start: '2024-01-01' } };
    expect(await refusalsOf(text(during), toDays)).toEqual(['1 effectivePeriod identifier-element']);
  });

  test('a date beside an offset of ours is refused', async () => {
    const extension = [{ url: 'urn:limb-perfusion:assessment', extension: [{ url: 'day', valueDecimal: 3 }] }];
    expect(await refusalsOf(text({ ...dated('p1', '2024-01-01'), extension }), toDays)).toEqual([
      '1 effective[x] two-days',
    ]);
    expect((await load({ ...pulse, extension })).day[0]).toBe(3);
  });
});

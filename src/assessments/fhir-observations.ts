import type { CodeableConcept, Extension, Observation, Quantity, Reference } from 'fhir/r4.js';
import { information, type Note } from '../shared/note.js';
import { checkChoice } from '../shared/options.js';
import { signOf } from '../signs/codebook.js';
import type { Scale } from '../signs/sign.js';
import type { AssessmentRow, Assessments } from './assessments.js';
import {
  type Coding,
  EXTENSION_COLUMNS,
  methodCodings,
  missingCodings,
  ORDINAL_EXTENSIONS,
  OWN_EXTENSION,
  OWN_PEOPLE,
  OWN_SYSTEM,
  placeCodings,
  signCodings,
  UCUM,
  valueCodings,
} from './fhir-codes.js';

export interface FhirObservationsOptions {
  /** The release of FHIR. They differ in the extension that holds a grade's number. Default `'R4'`. */
  readonly release?: 'R4' | 'R5';
}

/** Assessments as FHIR resources, in their order. */
export interface FhirObservations {
  readonly release: 'R4' | 'R5';
  readonly observations: readonly { readonly resourceType: 'Observation' }[];
  /** Which codes are of our own, because no confirmed code covers them. */
  readonly notes: readonly Note[];
  /** One resource a line. */
  toNdjson(): string;
  /** A Bundle of the type collection. */
  toBundle(): string;
}

/**
 * Assessments as FHIR Observations, one an assessment; loading them again with `loadAssessments` gives the same
 * assessments. Sign, place, method, category and missing reason carry our own code (systems that begin with
 * `urn:limb-perfusion:`) and beside it the confirmed code of LOINC or SNOMED CT where there is one. Measured values are
 * quantities with UCUM units. What FHIR has no element for (day offset, scale, replicate, …) stands in one extension,
 * `urn:limb-perfusion:assessment`, with an inner extension for each column.
 *
 * There is no effective time: an offset is no calendar date, and FHIR knows no other. Patients, stays and assessors
 * are references to codes; a code that no FHIR id can spell is an identifier of `urn:limb-perfusion:code`.
 *
 * For up to some hundred thousand rows: the text is made in memory.
 *
 * @throws InputError `unknown-choice`
 * @example fhirObservations(assessments, { release: 'R5' }).toNdjson()
 */
export function fhirObservations(assessments: Assessments, options: FhirObservationsOptions = {}): FhirObservations {
  const release = checkChoice('release', options.release ?? 'R4', ['R4', 'R5']);
  const scales = new Map(assessments.scales.map((scale) => [scale.id, scale]));
  const observations = assessments
    .toRows()
    .map((row) => Object.freeze(observationOf(row, scales.get(row.scale ?? ''), release)));
  return Object.freeze({
    release,
    observations: Object.freeze(observations),
    notes: Object.freeze(ownCodeNotes(observations)),
    toNdjson: () => observations.map((observation) => `${JSON.stringify(observation)}\n`).join(''),
    toBundle: () =>
      JSON.stringify({
        resourceType: 'Bundle',
        type: 'collection',
        entry: observations.map((resource) => ({ resource })),
      }),
  });
}

function observationOf(row: AssessmentRow, scale: Scale | undefined, release: 'R4' | 'R5'): Observation {
  const { sign, patient, stay, assessor, limb, site, method, missing } = row;
  return {
    resourceType: 'Observation',
    extension: [{ url: OWN_EXTENSION, extension: extensionsOf(row) }],
    status: 'final',
    code: { coding: [...signCodings(sign ?? '', signOf(sign ?? '').label)] },
    ...(patient === null ? {} : { subject: referenceTo('Patient', patient) }),
    ...(stay === null ? {} : { encounter: referenceTo('Encounter', stay) }),
    ...(assessor === null ? {} : { performer: [referenceTo('Practitioner', assessor)] }),
    ...(limb === null && site === null ? {} : { bodySite: { coding: [...placeCodings(limb, site)] } }),
    ...(method === null ? {} : { method: methodOf(method) }),
    ...(missing === null ? {} : { dataAbsentReason: { coding: [...missingCodings(missing)] } }),
    ...readingOf(row, scale, release),
  };
}

function extensionsOf(row: AssessmentRow): Extension[] {
  const names = Object.keys(EXTENSION_COLUMNS) as (keyof typeof EXTENSION_COLUMNS)[];
  return names.flatMap((url) => (row[url] === null ? [] : [{ url, [EXTENSION_COLUMNS[url]]: row[url] }]));
}

function readingOf(
  { value, comparator }: AssessmentRow,
  scale: Scale | undefined,
  release: 'R4' | 'R5',
): { readonly valueQuantity?: Quantity; readonly valueCodeableConcept?: CodeableConcept } {
  if (value === null || scale === undefined) return {};
  const category = scale.categories?.find((one) => one.value === value);
  if (category === undefined) {
    const unit = scale.unit ?? '1';
    return {
      valueQuantity: {
        value: Number(value),
        ...(comparator === null ? {} : { comparator: comparator as '<' | '<=' | '>=' | '>' }),
        unit,
        system: UCUM,
        code: unit,
      },
    };
  }
  const [own, ...others] = valueCodings(scale.id, category.value, category.words);
  const ordinal =
    scale.level === 'ordinal'
      ? { extension: [{ url: ORDINAL_EXTENSIONS[release], valueDecimal: category.score }] }
      : {};
  return { valueCodeableConcept: { coding: [{ ...own, ...ordinal }, ...others] } };
}

/** The words of a method are a code only where FHIR can spell them as one. */
function methodOf(method: string): CodeableConcept {
  return /^\S+( \S+)*$/.test(method) ? { coding: [...methodCodings(method)] } : { text: method };
}

function referenceTo(type: string, code: string): Reference {
  return /^[A-Za-z\d.-]{1,64}$/.test(code)
    ? { reference: `${type}/${code}` }
    : { type, identifier: { system: OWN_PEOPLE, value: code } };
}

function ownCodeNotes(observations: readonly Observation[]): Note[] {
  const lacking = new Map<string, Set<string>>();
  const look = (kind: string, concept: CodeableConcept | undefined): void => {
    const [own, ...others] = (concept?.coding ?? []) as Coding[];
    if (own === undefined || others.length > 0) return;
    const codes = lacking.get(kind) ?? new Set();
    lacking.set(kind, codes.add(own.system.startsWith(`${OWN_SYSTEM}scale:`) ? own.system : own.code));
  };
  for (const { code, bodySite, method, valueCodeableConcept } of observations) {
    look('signs', code);
    look('places', bodySite);
    look('methods', method);
    look('grades', valueCodeableConcept);
  }
  return [...lacking].map(([kind, codes]) =>
    information(
      'own-codes',
      `No confirmed code covers these ${kind}; they are written with codes of our own, which other systems do not know: ${[...codes].sort().join(', ')}.`,
    ),
  );
}

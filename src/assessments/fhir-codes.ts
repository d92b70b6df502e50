import { codebook } from '../signs/codebook.js';
import {
  type Code,
  categoryCodes,
  limbCodes,
  methodCodes,
  sideCodes,
  signCodes,
  siteCodes,
} from '../signs/terminology.js';
import type { InputColumn } from './input-columns.js';
import { MISSING_REASONS, type MissingReason } from './missing-reason.js';

/** The code systems and the extension of our own. What no confirmed code covers is written with these. */
export const OWN_SYSTEM = 'urn:limb-perfusion:';
/** One extension of an Observation, with one inner extension for each column that FHIR has no element for. */
export const OWN_EXTENSION = `${OWN_SYSTEM}assessment`;
/** Codes that no FHIR id can spell are written as identifiers of these systems. */
export const OWN_PEOPLE = `${OWN_SYSTEM}code`;
export const UCUM = 'http://unitsofmeasure.org';
const DATA_ABSENT = 'http://terminology.hl7.org/CodeSystem/data-absent-reason';

/** Extensions of a coding that hold the number of a grade: R4's, and the name it has since R5. */
export const ORDINAL_EXTENSIONS = {
  R4: 'http://hl7.org/fhir/StructureDefinition/ordinalValue',
  R5: 'http://hl7.org/fhir/StructureDefinition/itemWeight',
} as const;

/** The columns for which FHIR has no element, with the type of value in which each is written. */
export const EXTENSION_COLUMNS = {
  unit: 'valueString',
  day: 'valueDecimal',
  period: 'valueDecimal',
  occasion: 'valueString',
  round: 'valueString',
  phase: 'valueString',
  replicate: 'valueDecimal',
  order: 'valueDecimal',
  blinded: 'valueBoolean',
  reference: 'valueBoolean',
  scale: 'valueString',
  position: 'valueString',
  landmark: 'valueString',
  heldSeconds: 'valueDecimal',
  angleDegrees: 'valueDecimal',
  recordedLimit: 'valueDecimal',
} as const satisfies { readonly [name in InputColumn]?: string };

/** What a code stands for, in the columns of a file. */
export type CodeMeaning = { readonly [name in (typeof CODED_COLUMNS)[number]]?: string };

export const CODED_COLUMNS = [
  'sign',
  'site',
  'limb',
  'side',
  'scale',
  'value',
  'missing',
  'method',
  'position',
  'landmark',
] as const satisfies readonly InputColumn[];

export interface KnownCode extends CodeMeaning {
  /** The only sign that a value belongs to. */
  readonly ofSign?: string;
  /** Says less than a code of ours beside it. */
  readonly isBroad?: boolean;
}

export interface Coding {
  readonly system: string;
  readonly code: string;
  readonly display?: string;
}

/** HL7's reason beside ours: the nearest that is not narrower. */
const ABSENT_CODES: { readonly [reason in MissingReason]: string } = {
  'not-assessed': 'not-performed',
  'out-of-time': 'not-performed',
  'not-assessable': 'not-performed',
  covered: 'not-performed',
  'part-absent': 'not-applicable',
  refused: 'asked-declined',
  unsure: 'unknown',
};

/** What a coding stands for by our own systems and by the confirmed codes, or `undefined`. */
export function knownCode(system: string, code: string): KnownCode | undefined {
  return system.startsWith(OWN_SYSTEM)
    ? ownCode(system.slice(OWN_SYSTEM.length), code)
    : confirmed.get(`${system}|${code}`);
}

function ownCode(system: string, code: string): KnownCode | undefined {
  if (system === 'sign' || system === 'method') return { [system]: code };
  if (system === 'missing-reason') return { missing: code };
  if (system === 'place') {
    const [limb = '', site = ''] = code.split('/');
    return { ...(limb === '' ? {} : { limb }), ...(site === '' ? {} : { site }) };
  }
  return system.startsWith('scale:') ? { scale: system.slice(6), value: code } : undefined;
}

const confirmed: ReadonlyMap<string, KnownCode> = new Map([
  ...Object.entries(signCodes).flatMap(([sign, codes]) => codes.map((code) => entry(code, { sign }))),
  ...Object.entries(siteCodes).flatMap(([site, { unsided, left, right }]) => [
    ...(unsided === undefined ? [] : [entry(unsided, { site })]),
    entry(left, { site, side: 'left' }),
    entry(right, { site, side: 'right' }),
  ]),
  ...Object.entries(limbCodes).map(([limb, code]) => entry(code, { limb })),
  entry(sideCodes.left, { side: 'left' }),
  entry(sideCodes.right, { side: 'right' }),
  ...Object.entries(methodCodes).map(([method, code]) => entry(code, { method })),
  ...categoryEntries(),
  [`${DATA_ABSENT}|not-performed`, { missing: 'not-assessed', isBroad: true }] as const,
  [`${DATA_ABSENT}|asked-declined`, { missing: 'refused', isBroad: true }] as const,
]);

function entry({ system, code }: Code, meaning: KnownCode): readonly [string, KnownCode] {
  return [`${system}|${code}`, meaning];
}

/** Codes of categories. One that belongs to several scales of its sign says the grade and not the scale. */
function categoryEntries(): (readonly [string, KnownCode])[] {
  const all = Object.entries(categoryCodes).flatMap(([scale, codes]) =>
    Object.entries(codes).map(([value, code]) => ({ scale, value, code })),
  );
  return all.map(({ scale, value, code }) => {
    const sign = codebook.find(({ scales }) => scales.some(({ id }) => id === scale))?.id ?? '';
    const isOneScale = all.filter((other) => other.code.code === code.code).length === 1;
    return entry(code, { ofSign: sign, ...(isOneScale ? { scale, value } : { value: gradeText(value) }) });
  });
}

/** A number that can only be a grade, never a measured value: `2+`. */
export function gradeText(grade: string): string {
  return `${grade}+`;
}

export function signCodings(sign: string, label: string): readonly Coding[] {
  return [{ system: `${OWN_SYSTEM}sign`, code: sign, display: label }, ...(signCodes[sign] ?? []).map(codingOf)];
}

/** A limb and a site as one place; with the confirmed code where there is one for this side. */
export function placeCodings(limb: string | null, site: string | null): readonly Coding[] {
  const side = limb?.startsWith('left') === true ? 'left' : 'right';
  const sided = site === null ? undefined : siteCodes[site];
  const code = site === null ? limbCodes[limb ?? ''] : limb === null ? sided?.unsided : sided?.[side];
  return [
    { system: `${OWN_SYSTEM}place`, code: site === null ? (limb ?? '') : `${limb ?? ''}/${site}` },
    ...(code === undefined ? [] : [codingOf(code)]),
  ];
}

export function valueCodings(scale: string, value: string, words: string): readonly Coding[] {
  const code = categoryCodes[scale]?.[value];
  const own = { system: `${OWN_SYSTEM}scale:${scale}`, code: value, display: words };
  return [own, ...(code === undefined ? [] : [codingOf(code)])];
}

export function methodCodings(method: string): readonly Coding[] {
  const code = methodCodes[method];
  return [{ system: `${OWN_SYSTEM}method`, code: method }, ...(code === undefined ? [] : [codingOf(code)])];
}

export function missingCodings(missing: string): readonly Coding[] {
  const reason = MISSING_REASONS.find((known) => known === missing) ?? 'not-assessed';
  return [
    { system: `${OWN_SYSTEM}missing-reason`, code: missing },
    { system: DATA_ABSENT, code: ABSENT_CODES[reason] },
  ];
}

function codingOf({ system, code, label }: Code): Coding {
  return { system, code, display: label };
}

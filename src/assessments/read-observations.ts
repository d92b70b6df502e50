import { basename } from 'node:path';
import { Readable } from 'node:stream';
import type { Problem } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { convertUcum } from '../signs/convert-ucum.js';
import { unitCodeOf } from '../signs/measuring-unit.js';
import {
  EXTENSION_COLUMNS,
  gradeText,
  type KnownCode,
  knownCode,
  ORDINAL_EXTENSIONS,
  OWN_EXTENSION,
  OWN_PEOPLE,
  UCUM,
} from './fhir-codes.js';
import { type Fields, fieldsOf, listOf, resourcesOf } from './fhir-resources.js';
import { INPUT_COLUMNS, type InputColumn } from './input-columns.js';
import type { FhirOptions, LoadOptions } from './load-options.js';
import { plainNumber } from './plain-number.js';
import { type RawTable, tidyColumn, WordList } from './raw-table.js';
import { openFile } from './source-form.js';
import { isTerminologyCode } from './terminology-code.js';

/** What is known only when all files of a load are read. */
export class AcrossFiles {
  /** The first day of each patient: day 0 of the offsets. */
  readonly firstDays = new Map<string, number>();
  /** How performers are written. */
  readonly performers = new Set<string>();
}

/** What Observations hold. The table is made once every file is read, because day offsets count from a patient's first day. */
export interface ReadObservations {
  readonly table: () => RawTable;
  readonly notes: readonly Note[];
}

/**
 * Reads FHIR Observations of R4 or R5: NDJSON with one resource a line, a Bundle, or an array of resources. Each value
 * and each component becomes a row of our columns; all checks come after, as for any file. Codes: our own, confirmed
 * ones, and those of `options.fhir.codes`. The row of a problem is the line of NDJSON or the place in the Bundle.
 *
 * What can identify people (identifiers, names beside references, dates, notes, narratives, contained or other
 * resources, extensions that are not ours) is refused with its number, or left out where
 * `options.fhir.identifying` says so; it is never repeated.
 */
export async function readObservations(
  source: { readonly path: string; readonly isGzip: boolean } | { readonly text: string },
  options: LoadOptions,
  across: AcrossFiles,
): Promise<ReadObservations> {
  const open = (): Readable =>
    'path' in source ? openFile(source.path, source.isGzip) : Readable.from([Buffer.from(source.text)]);
  const reader = new ObservationReader(options.fhir ?? {}, across);
  let read = 0;
  const told = {
    identifying: (element: string, at: number) => reader.identifying(element, at),
    twice: (element: string, at: number) => reader.twice(element, at),
  };
  for await (const { resource, row } of resourcesOf(open, told)) {
    await reader.read(resource, row);
    if (++read % 1000 === 0) options.signal?.throwIfAborted();
  }
  options.signal?.throwIfAborted();
  options.progress?.(0.3, 'read');
  return reader.finish('path' in source ? basename(source.path) : undefined);
}

type Finding = Partial<Record<InputColumn, string>>;

const FINAL = ['final', 'amended', 'corrected'];
/** Elements that hold no finding and nothing about people. */
const PLAIN_ELEMENTS = ['resourceType', 'status', 'id', 'language', 'implicitRules', 'category'];
const READ_ELEMENTS = [
  'code',
  'subject',
  'encounter',
  'performer',
  'bodySite',
  'method',
  'component',
  'dataAbsentReason',
];
/** Elements that FHIR defines and that can identify people or say what we have no column for. Others are not named. */
const OTHER_ELEMENTS =
  /^(?:identifier|basedOn|partOf|focus|issued|interpretation|note|text|contained|specimen|device|referenceRange|hasMember|derivedFrom|meta|extension|instantiates(?:Canonical|Reference)|triggeredBy|bodyStructure|effective(?:DateTime|Period|Timing|Instant))$/;
const OTHER_RESOURCES =
  /^(?:Patient|RelatedPerson|Person|Practitioner|PractitionerRole|Organization|Location|Encounter|EpisodeOfCare|Device|Specimen|Condition|Procedure|DiagnosticReport|BodyStructure|Provenance|OperationOutcome)$/;
/** Where each column stands in an Observation; the rest stand in our extension. */
const ELEMENTS: { readonly [name in InputColumn]?: string } = {
  patient: 'subject',
  stay: 'encounter',
  assessor: 'performer',
  sign: 'code',
  site: 'bodySite',
  limb: 'bodySite',
  side: 'bodySite',
  value: 'value[x]',
  valueUnit: 'value[x]',
  comparator: 'value[x]',
  missing: 'dataAbsentReason',
  method: 'method',
};
/** Problems of one kind beyond this many are counted only. */
const LISTED = 1000;
const DAY_MILLISECONDS = 86_400_000;

class ObservationReader {
  readonly #codes: ReadonlyMap<string, KnownCode | 'leave-out'>;
  readonly #options: FhirOptions;
  readonly #columns = new Map<InputColumn, { words: WordList; codes: number[] }>();
  readonly #places: { readonly row: number; readonly component: number }[] = [];
  /** Days since 1970 of each row, where dates are turned into offsets. */
  readonly #dates: number[] = [];
  readonly #identifying = new Map<string, { count: number; row: number }>();
  readonly #problems: Problem[] = [];
  readonly #problemCounts = new Map<string, number>();
  readonly #across: AcrossFiles;
  #leftOut = 0;

  constructor(options: FhirOptions, across: AcrossFiles) {
    this.#options = options;
    this.#across = across;
    this.#codes = new Map(Object.entries(options.codes ?? {}));
  }

  /** Something that can identify people, by the name that FHIR gives it. */
  identifying(element: string, row: number): void {
    const known = this.#identifying.get(element);
    if (known === undefined) this.#identifying.set(element, { count: 1, row });
    else known.count++;
  }

  /** A name given twice in an element; an element that FHIR does not know is not named. */
  twice(element: string, row: number): void {
    const isKnown = [...PLAIN_ELEMENTS, ...READ_ELEMENTS, 'extension', 'Bundle', 'Bundle.entry'].includes(element);
    const name = /^value[A-Z]/.test(element) ? 'value[x]' : isKnown ? element : 'another element';
    this.report(row, 'key-twice', name, 'A name is given twice here.', 'give each value a name of its own.');
  }

  report(row: number, code: string, element: string, message: string, mend?: string): void {
    const count = (this.#problemCounts.get(code) ?? 0) + 1;
    this.#problemCounts.set(code, count);
    if (count <= LISTED)
      this.#problems.push({ code, row, column: element, message, ...(mend === undefined ? {} : { mend }) });
  }

  async read(resource: unknown, row: number): Promise<void> {
    const fields = fieldsOf(resource);
    if (fields === undefined) {
      this.report(row, 'row-unreadable', 'resourceType', 'This is no FHIR resource that can be read.');
      return;
    }
    const type = String(fields.resourceType);
    if (type !== 'Observation') {
      this.identifying(OTHER_RESOURCES.test(type) ? type : 'another resource', row);
      return;
    }
    this.#lookAround(fields, row);
    if (this.#isLeftOut(fields.code)) return;
    if (!FINAL.includes(String(fields.status)))
      this.report(
        row,
        'status-not-final',
        'status',
        'The Observation is not final.',
        `only ${FINAL.join(', ')} are read; take the others out.`,
      );
    if (fields.modifierExtension !== undefined) this.#modified(row, 'modifierExtension');
    for (const name of ['component', 'performer', 'extension'])
      if (fields[name] !== undefined && !Array.isArray(fields[name]))
        this.report(row, 'not-a-list', name, 'FHIR writes this element as a list.', 'put it in brackets.');
    const shared = this.#sharedFinding(fields, row);
    const date = this.#dateOf(fields, row);
    if (!Number.isNaN(date) && shared.day !== undefined)
      this.report(row, 'two-days', 'effective[x]', 'There is a date and a day offset.', 'keep one of the two.');
    const components = listOf(fields.component).map((one) => fieldsOf(one) ?? {});
    const hasOwn = hasValue(fields) || components.length === 0;
    const knownSign = this.#concept(shared, fields.code, 'code', row, components.length > 0 && !hasOwn);
    if (hasOwn) await this.#emit(shared, fields, row, -1, date);
    for (const [at, component] of components.entries()) {
      this.#lookAroundComponent(component, row);
      if (this.#isLeftOut(component.code)) continue;
      const element = `component[${at}].code`;
      const finding = { ...shared };
      const own: Finding = {};
      this.#concept(own, component.code, element, row, false);
      if (own.sign !== undefined) delete finding.sign;
      else if (!knownSign) this.#unknownCode(row, 'code', undefined);
      this.#merge(finding, own, element, row);
      await this.#emit(finding, component, row, at, date);
    }
  }

  finish(name: string | undefined): ReadObservations {
    this.#registerDays();
    const leaveOut = this.#options.identifying === 'leave-out';
    const problems = leaveOut ? [] : [...this.#identifying].map(identifyingProblem);
    const rest = [...this.#problemCounts].flatMap(([code, count]): Problem[] =>
      count > LISTED ? [{ code, message: `${count - LISTED} more Observations have a problem of this kind.` }] : [],
    );
    if (this.#places.length === 0 && problems.length + this.#problems.length === 0)
      rest.push({ code: 'no-assessments', message: 'There is no Observation to read.' });
    const left = [...this.#identifying].map(([element, { count }]) => `${element} (${count})`);
    const dated = this.#dates.filter((day) => !Number.isNaN(day)).length;
    return {
      table: () => this.#table(name, [...problems, ...this.#problems, ...rest, ...this.#performerProblems()]),
      notes: [
        ...(this.#leftOut > 0
          ? [information('other-codes', `Readings of other codes that were left out, as asked for: ${this.#leftOut}.`)]
          : []),
        ...(leaveOut && left.length > 0
          ? [caution('elements-left-out', `Left out as asked, because it can identify people: ${left.join(', ')}.`)]
          : []),
        ...(dated > 0
          ? [
              caution(
                'dates-to-days',
                "Dates were turned into days since each patient's first date among the Observations that were loaded; other files can begin on another day.",
              ),
            ]
          : []),
      ],
    };
  }

  /** Told once for the whole load. */
  #performerProblems(): readonly Problem[] {
    const { performers } = this.#across;
    if (performers.size < 2) return [];
    const ways = [...performers].sort().join(', ');
    performers.clear();
    return [
      {
        code: 'two-kinds-of-performer',
        column: 'performer',
        message: `Performers are written in several ways (${ways}), so that two people could share a code, or one could have two.`,
        mend: 'write all performers as references to Practitioner.',
      },
    ];
  }

  #table(name: string | undefined, problems: readonly Problem[]): RawTable {
    const rows = this.#places.length;
    for (const name of ['patient', 'sign', 'value'] as const) this.#column(name);
    const patients = this.#columns.get('patient');
    if (this.#dates.some((day) => !Number.isNaN(day))) {
      const days = this.#column('day');
      for (const [row, day] of this.#dates.entries()) {
        const first = this.#across.firstDays.get(patients?.words.words[patients.codes[row] ?? -1] ?? '');
        if (!Number.isNaN(day) && first !== undefined) days.codes[row] = days.words.codeOf(String(day - first));
      }
    }
    return {
      ...(name === undefined ? {} : { name }),
      rows,
      columns: INPUT_COLUMNS.flatMap((column) => {
        const { codes, words } = this.#columns.get(column) ?? {};
        if (codes === undefined || words === undefined) return [];
        return [
          tidyColumn(
            column,
            Int32Array.from({ length: rows }, (_, row) => codes[row] ?? -1),
            words.words,
          ),
        ];
      }),
      problems,
      locate: async (wanted) => wanted.map((row) => this.#places[row]?.row ?? 0),
      columnAt: (row, column) => {
        const component = this.#places[row]?.component ?? -1;
        const element = ELEMENTS[column as InputColumn] ?? `extension ${column}`;
        return component >= 0 && /^(?:code|value|data)/.test(element) ? `component[${component}].${element}` : element;
      },
    };
  }

  #registerDays(): void {
    const { firstDays } = this.#across;
    const patients = this.#columns.get('patient');
    for (const [row, day] of this.#dates.entries()) {
      const patient = patients?.words.words[patients.codes[row] ?? -1] ?? '';
      if (!Number.isNaN(day)) firstDays.set(patient, Math.min(firstDays.get(patient) ?? day, day));
    }
  }

  #column(name: InputColumn): { words: WordList; codes: number[] } {
    const known = this.#columns.get(name) ?? { words: new WordList(), codes: [] };
    this.#columns.set(name, known);
    return known;
  }

  async #emit(shared: Finding, fields: Fields, row: number, component: number, date: number): Promise<void> {
    const finding = { ...shared };
    await this.#value(finding, fields, row, component < 0 ? '' : `component[${component}].`);
    const at = this.#places.length;
    this.#places.push({ row, component });
    this.#dates.push(date);
    for (const [name, word] of Object.entries(finding) as [InputColumn, string][]) {
      const column = this.#column(name);
      while (column.codes.length < at) column.codes.push(-1);
      column.codes[at] = word === '' ? -1 : column.words.codeOf(word);
    }
  }

  /** Elements that are not read: named where FHIR defines them, and counted. */
  #lookAround(fields: Fields, row: number): void {
    for (const [name, value] of Object.entries(fields)) {
      if (PLAIN_ELEMENTS.includes(name) || READ_ELEMENTS.includes(name) || name === 'modifierExtension') continue;
      if (Object.hasOwn(VALUE_TYPES, name)) continue;
      if (name === 'extension') {
        if (listOf(value).some((one) => fieldsOf(one)?.url !== OWN_EXTENSION)) this.identifying('extension', row);
      } else if (name === 'meta') {
        const told = Object.keys(fieldsOf(value) ?? {}).filter((key) => key !== 'profile' && key !== 'versionId');
        if (told.length > 0) this.identifying('meta', row);
      } else if (this.#options.dates === 'to-days' && (name === 'effectiveDateTime' || name === 'effectiveInstant')) {
        // Read by #dateOf.
      } else this.identifying(OTHER_ELEMENTS.test(name) ? name : 'an element that FHIR does not define here', row);
    }
  }

  #lookAroundComponent(component: Fields, row: number): void {
    for (const name of Object.keys(component)) {
      if (name === 'code' || name === 'dataAbsentReason' || Object.hasOwn(VALUE_TYPES, name)) continue;
      const element = OTHER_ELEMENTS.test(name) ? name : 'an element that FHIR does not define here';
      if (name === 'modifierExtension') this.#modified(row, 'component.modifierExtension');
      else if (name !== 'id') this.identifying(`component.${element}`, row);
    }
  }

  #modified(row: number, element: string): void {
    this.report(
      row,
      'modifier-extension',
      element,
      'An extension changes what the Observation means.',
      'take the Observation out, or write it without.',
    );
  }

  /** Whether the user says that what has this code is not to be read. */
  #isLeftOut(concept: unknown): boolean {
    const codings = listOf(fieldsOf(concept)?.coding).map((one) => fieldsOf(one) ?? {});
    const isLeftOut = codings.some(({ system, code }) => this.#codes.get(`${system}|${code}`) === 'leave-out');
    if (isLeftOut) this.#leftOut++;
    return isLeftOut;
  }

  #sharedFinding(fields: Fields, row: number): Finding {
    const finding: Finding = {};
    const patient = this.#reference(fields.subject, 'subject', ['Patient'], row);
    const stay = this.#reference(fields.encounter, 'encounter', ['Encounter'], row);
    const performers = listOf(fields.performer);
    if (performers.length > 1)
      this.report(
        row,
        'several-performers',
        'performer',
        'The Observation has several performers.',
        'name the one who examined.',
      );
    const assessor = this.#reference(performers[0], 'performer', ['Practitioner', 'PractitionerRole'], row);
    if (patient !== undefined) finding.patient = patient;
    if (stay !== undefined) finding.stay = stay;
    if (assessor !== undefined) finding.assessor = assessor;
    this.#concept(finding, fields.bodySite, 'bodySite', row, false);
    const method = fieldsOf(fields.method);
    if (method !== undefined && listOf(method.coding).length === 0 && typeof method.text === 'string')
      finding.method = method.text;
    else this.#concept(finding, fields.method, 'method', row, false);
    for (const extension of listOf(fields.extension)) {
      const outer = fieldsOf(extension) ?? {};
      if (outer.url !== OWN_EXTENSION) continue;
      for (const part of listOf(outer.extension)) {
        const inner = fieldsOf(part) ?? {};
        const name = String(inner.url) as keyof typeof EXTENSION_COLUMNS;
        const value = Object.hasOwn(EXTENSION_COLUMNS, name) ? inner[EXTENSION_COLUMNS[name]] : undefined;
        if (value === undefined)
          this.report(row, 'unknown-extension', 'extension', 'Our extension has a part that it does not define.');
        else finding[name] = plainText(value);
      }
    }
    return finding;
  }

  /** The opaque code of a person or a stay. */
  #reference(value: unknown, element: string, types: readonly string[], row: number): string | undefined {
    if (value === undefined) return undefined;
    const fields = fieldsOf(value) ?? {};
    if (fields.display !== undefined) this.identifying(`${element}.display`, row);
    const identifier = fieldsOf(fields.identifier);
    const own =
      identifier?.system === OWN_PEOPLE && typeof identifier.value === 'string' ? identifier.value : undefined;
    if (identifier !== undefined && own === undefined) this.identifying(`${element}.identifier`, row);
    const reference = String(fields.reference ?? '');
    if (own !== undefined && reference === '') {
      if (element === 'performer') this.#across.performers.add('Practitioner');
      return own;
    }
    const uuid = /^urn:uuid:([\da-f-]{36})$/i.exec(reference)?.[1];
    const [, address, type, id] =
      /^(https?:\/\/.*\/)?([A-Z][A-Za-z]+)\/([A-Za-z\d.-]{1,64})(?:\/_history\/.*)?$/.exec(reference) ?? [];
    if (address !== undefined) this.identifying(`${element}.reference with an address`, row);
    if (uuid === undefined && (id === undefined || !types.includes(type ?? ''))) {
      this.report(
        row,
        'reference-unreadable',
        element,
        'This is no reference that can be read.',
        `write it as ${types[0]}/ and a code of letters, digits, - and dots.`,
      );
      return undefined;
    }
    if (element === 'performer') this.#across.performers.add(type ?? 'urn:uuid');
    return uuid ?? id;
  }

  /** The day of an Observation, where dates are to be turned into offsets. */
  #dateOf(fields: Fields, row: number): number {
    const written = fields.effectiveDateTime ?? fields.effectiveInstant;
    if (this.#options.dates !== 'to-days' || written === undefined) return Number.NaN;
    const [date] = /^\d{4}-\d{2}-\d{2}(?=$|T)/.exec(String(written)) ?? [];
    const time = date === undefined ? Number.NaN : Date.parse(`${date}T00:00:00Z`);
    if (Number.isNaN(time))
      this.report(
        row,
        'not-a-date',
        'effective[x]',
        'The time is no whole date.',
        'write year, month and day, or leave it out.',
      );
    return time / DAY_MILLISECONDS;
  }

  /** What the codings of a concept stand for. A missing concept says nothing; one without a known code is a problem. */
  #concept(finding: Finding, value: unknown, element: string, row: number, mayBeUnknown: boolean): boolean {
    if (value === undefined) return false;
    const codings = listOf(fieldsOf(value)?.coding).map((one) => fieldsOf(one) ?? {});
    const found = codings.flatMap((coding) => this.#lookUp(coding) ?? []);
    if (found.length === 0 && !mayBeUnknown) this.#unknownCode(row, element, codings[0]);
    for (const meaning of withoutBroad(found)) this.#merge(finding, meaning, element, row);
    return found.length > 0;
  }

  #lookUp(coding: Fields): KnownCode | undefined {
    const system = String(coding.system ?? '');
    const code = String(coding.code ?? '');
    const given = this.#codes.get(`${system}|${code}`);
    return given === 'leave-out' ? undefined : (given ?? knownCode(system, code));
  }

  #merge(finding: Finding, meaning: KnownCode, element: string, row: number): void {
    const { ofSign, isBroad: _, ...columns } = meaning;
    if (ofSign !== undefined && finding.sign !== undefined && finding.sign !== ofSign)
      this.report(row, 'value-not-of-sign', element, 'The value is one of another sign.');
    for (const [name, word] of Object.entries(columns) as [InputColumn, string][]) {
      if (finding[name] !== undefined && !isSameWord(finding[name], word))
        this.report(
          row,
          'two-codes',
          element,
          `Two codes say different things of ${name}.`,
          'keep one, or say in options.fhir.codes what each stands for.',
        );
      else finding[name] ??= word;
    }
  }

  #unknownCode(row: number, element: string, coding: Fields | undefined): void {
    const { system, code } = coding ?? {};
    const isPublic =
      (system === 'http://loinc.org' || system === 'http://snomed.info/sct') && isTerminologyCode(String(code));
    this.report(
      row,
      'unknown-code',
      element,
      coding === undefined
        ? 'There is no code.'
        : `${isPublic ? `The code ${system}|${code}` : 'The code'} is none of ours and none that is confirmed.`,
      "say in options.fhir.codes what it stands for, as in { 'http://example.org/codes|DP': { site: 'dorsalis-pedis' } }.",
    );
  }

  async #value(finding: Finding, fields: Fields, row: number, prefix: string): Promise<void> {
    this.#concept(finding, fields.dataAbsentReason, `${prefix}dataAbsentReason`, row, false);
    for (const [name, kind] of Object.entries(VALUE_TYPES)) {
      const value = fields[name];
      if (value === undefined) continue;
      const element = `${prefix}${name}`;
      if (kind === 'concept') this.#grade(finding, value, element, row);
      else if (kind === 'quantity') await this.#quantity(finding, value, element, row);
      else if (kind === 'plain' && isCell(value)) this.#merge(finding, { value: plainText(value) }, element, row);
      else
        this.report(
          row,
          'value-type',
          element,
          'A value of this type is not read.',
          'write it as valueQuantity, valueCodeableConcept, valueInteger, valueBoolean or valueString.',
        );
    }
  }

  /** A grade by its code; where the code is not known, by the number that the file gives it. */
  #grade(finding: Finding, value: unknown, element: string, row: number): void {
    const codings = listOf(fieldsOf(value)?.coding).map((one) => fieldsOf(one) ?? {});
    if (this.#concept(finding, value, element, row, true)) return;
    const numbers = codings.flatMap((coding) =>
      listOf(coding.extension).flatMap((one) => {
        const { url, valueDecimal } = fieldsOf(one) ?? {};
        const isOrdinal = url === ORDINAL_EXTENSIONS.R4 || url === ORDINAL_EXTENSIONS.R5;
        return isOrdinal && typeof valueDecimal === 'number' ? [gradeText(plainNumber(String(valueDecimal)))] : [];
      }),
    );
    if (numbers.length === 0) this.#unknownCode(row, element, codings[0]);
    for (const number of numbers) this.#merge(finding, { value: number }, element, row);
  }

  async #quantity(finding: Finding, value: unknown, element: string, row: number): Promise<void> {
    const { value: number, comparator, unit, system, code } = fieldsOf(value) ?? {};
    if (typeof number !== 'number') {
      this.report(row, 'not-a-number', element, 'The quantity has no value.');
      return;
    }
    if (comparator === 'ad')
      this.report(
        row,
        'unknown-comparator',
        element,
        'The comparator ad (enough to reach a total) says nothing of a reading.',
        'use <, <=, >= or >.',
      );
    else if (comparator !== undefined) finding.comparator = String(comparator);
    let written = { value: number, unit: typeof unit === 'string' ? unit : '' };
    if (code !== undefined && system !== UCUM)
      this.report(row, 'unit-system', element, 'The unit is of another system than UCUM.', `give codes of ${UCUM}.`);
    else if (code !== undefined) {
      // In UCUM capitals count and a unit has one code: other spellings are not looked for.
      const unitCode = String(code);
      const isOurs = unitCodeOf(unitCode) === unitCode || /^(?:1|\{[^{}]*\})$/.test(unitCode);
      const converted = isOurs ? { value: number, unit: unitCode } : await convertUcum(number, unitCode);
      if (converted !== undefined) written = converted;
      else
        this.report(
          row,
          'unit-does-not-fit',
          element,
          'The unit is no code of UCUM, or none of a quantity that is measured here.',
        );
    }
    this.#merge(finding, { value: plainNumber(String(written.value)) }, element, row);
    if (written.unit !== '') finding.valueUnit = written.unit;
  }
}

/** The types of value that FHIR knows, and how each is read. */
const VALUE_TYPES = {
  valueQuantity: 'quantity',
  valueCodeableConcept: 'concept',
  valueString: 'plain',
  valueBoolean: 'plain',
  valueInteger: 'plain',
  valueRange: 'not read',
  valueRatio: 'not read',
  valueSampledData: 'not read',
  valueTime: 'not read',
  valueDateTime: 'not read',
  valuePeriod: 'not read',
  valueAttachment: 'not read',
  valueReference: 'not read',
} as const;

function hasValue(fields: Fields): boolean {
  return fields.dataAbsentReason !== undefined || Object.keys(VALUE_TYPES).some((name) => fields[name] !== undefined);
}

/** `2+` says the grade 2 as `2` does. */
function isSameWord(a: string, b: string): boolean {
  return a.replace(/\+$/, '') === b.replace(/\+$/, '');
}

function withoutBroad(found: readonly KnownCode[]): readonly KnownCode[] {
  const narrow = found.filter(({ isBroad }) => isBroad !== true);
  return narrow.length > 0 ? narrow : found;
}

function identifyingProblem([element, { count, row }]: readonly [string, { count: number; row: number }]): Problem {
  return {
    code: 'identifier-element',
    row,
    column: element,
    message: `This can identify people, or says what no column holds. It occurs ${count} ${count === 1 ? 'time' : 'times'}, here first, and is not shown.`,
    mend: element.startsWith('effective')
      ? "leave it out and write the day offset in our extension, or say { fhir: { dates: 'to-days' } } to have dates counted from each patient's first."
      : "take it out of the file, or say { fhir: { identifying: 'leave-out' } } to load the rest without it.",
  };
}

function isCell(value: unknown): value is string | number | boolean {
  return typeof value === 'string' || typeof value === 'number' || typeof value === 'boolean';
}

function plainText(value: unknown): string {
  return typeof value === 'number' ? plainNumber(String(value)) : isCell(value) ? String(value) : '';
}

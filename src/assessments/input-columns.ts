import type { Problem } from '../shared/input-error.js';
import { ownValue } from '../shared/own-value.js';
import { nearest } from '../signs/nearest.js';
import { namedColumn } from './identifier-guard.js';

/** The columns a tidy file can have, one row an assessment. */
export const INPUT_COLUMNS = [
  'patient',
  'stay',
  'unit',
  'day',
  'period',
  'occasion',
  'round',
  'phase',
  'assessor',
  'replicate',
  'order',
  'blinded',
  'reference',
  'limb',
  'side',
  'site',
  'sign',
  'scale',
  'value',
  'valueUnit',
  'comparator',
  'missing',
  'method',
  'position',
  'landmark',
  'heldSeconds',
  'angleDegrees',
  'recordedLimit',
] as const;

export type InputColumn = (typeof INPUT_COLUMNS)[number];

/** Headers that stand for a column beside its own name; case, spaces, hyphens and underscores do not matter. */
const OTHER_HEADERS: Readonly<Record<string, InputColumn>> = {
  patientid: 'patient',
  stayid: 'stay',
  unitid: 'unit',
  ward: 'unit',
  dayoffset: 'day',
  occasionid: 'occasion',
  visit: 'occasion',
  assessorid: 'assessor',
  examiner: 'assessor',
  rater: 'assessor',
  ratingorder: 'order',
  referencevalue: 'reference',
  scaleid: 'scale',
  reading: 'value',
  grade: 'value',
  valueunit: 'valueUnit',
  measuredin: 'valueUnit',
  missingreason: 'missing',
  pressseconds: 'heldSeconds',
  presss: 'heldSeconds',
  cutoff: 'recordedLimit',
};

/** Which header of the source stands for which column; a column the source lacks may have a constant. */
export interface FoundColumns {
  readonly headers: ReadonlyMap<InputColumn, string>;
  readonly unused: readonly string[];
  readonly problems: readonly Problem[];
}

/** Finds the columns by the user's mapping first, then by their names. */
export function findColumns(
  headers: readonly string[],
  mapping: Readonly<Record<string, string>>,
  constants: Readonly<Record<string, unknown>>,
): FoundColumns {
  const found = new Map<InputColumn, string>();
  const problems: Problem[] = [];
  const taken = new Set<string>();
  for (const [option, record] of [
    ['columns', mapping],
    ['constants', constants],
  ] as const) {
    for (const name of Object.keys(record)) {
      if (!isInputColumn(name)) problems.push(unknownName(option, name));
    }
  }
  for (const [name, header] of Object.entries(mapping)) {
    if (!isInputColumn(name)) continue;
    const match =
      headers.find((candidate) => candidate === header) ??
      headers.find((candidate) => keyOf(candidate) === keyOf(header));
    if (match === undefined) problems.push(absentHeader(name, header, headers));
    else {
      found.set(name, match);
      taken.add(match);
    }
  }
  for (const header of headers) {
    if (taken.has(header)) continue;
    const name = columnOf(header);
    if (name === undefined || mapping[name] !== undefined) continue;
    const before = found.get(name);
    if (before !== undefined) {
      problems.push({
        code: 'column-twice',
        column: header,
        message: `Both "${before}" and "${header}" can be the column ${name}.`,
        mend: `say which in options.columns, as in { ${name}: '${before}' }.`,
      });
      continue;
    }
    found.set(name, header);
    taken.add(header);
  }
  for (const name of Object.keys(constants)) {
    if (isInputColumn(name) && found.has(name)) {
      problems.push({
        code: 'constant-and-column',
        path: ['constants', name],
        message: `The file has a column "${found.get(name)}" for ${name}, and the option gives a constant for it.`,
        mend: 'keep one of the two.',
      });
    }
  }
  return { headers: found, unused: headers.filter((header) => !taken.has(header)), problems };
}

function columnOf(header: string): InputColumn | undefined {
  const key = keyOf(header);
  return INPUT_COLUMNS.find((name) => name.toLowerCase() === key) ?? ownValue(OTHER_HEADERS, key);
}

function keyOf(header: string): string {
  return header.toLowerCase().replaceAll(/[\s_-]+/g, '');
}

function isInputColumn(name: string): name is InputColumn {
  return (INPUT_COLUMNS as readonly string[]).includes(name);
}

function unknownName(option: string, name: string): Problem {
  const near = nearest(name, INPUT_COLUMNS);
  return {
    code: 'unknown-column',
    path: [option, name],
    message: `There is no column ${name}.`,
    expected: `one of ${INPUT_COLUMNS.join(', ')}`,
    ...(near === undefined ? {} : { mend: `did you mean ${near}?` }),
  };
}

function absentHeader(name: string, header: string, headers: readonly string[]): Problem {
  const shown = headers.filter((candidate) => candidate !== '' && namedColumn(candidate).column !== undefined);
  const near = nearest(header, shown);
  return {
    code: 'column-not-found',
    path: ['columns', name],
    message: `The file has no column "${header}".`,
    expected: `one of ${shown.join(', ')}`,
    ...(near === undefined ? {} : { mend: `did you mean "${near}"?` }),
  };
}

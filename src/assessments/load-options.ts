import type { Problem } from '../shared/input-error.js';
import type { LongWorkOptions } from '../shared/options.js';
import { codebook } from '../signs/codebook.js';
import { nearest } from '../signs/nearest.js';
import type { Scale, Sign } from '../signs/sign.js';
import { CODED_COLUMNS, type CodeMeaning } from './fhir-codes.js';
import type { InputColumn } from './input-columns.js';
import { DELIMITERS, type Delimiter } from './parse-delimited.js';
import type { SheetFinding, SheetLayout } from './sheet-layout.js';

/** A scale by its id, or one of your own made with `ownScale`. */
export type ScaleChoice = string | Scale;

export interface LoadOptions extends LongWorkOptions {
  /** Our name of a column → its name in the source. Columns with our names need no entry. */
  readonly columns?: { readonly [name in InputColumn]?: string };
  /** Values for columns that the source lacks: the same for every row. */
  readonly constants?: { readonly [name in InputColumn]?: string | number | boolean };
  /** For each sign, its scale or scales where the source does not say; own scales are made known here too. */
  readonly scales?: Readonly<Record<string, ScaleChoice | readonly ScaleChoice[]>>;
  /** Load these signs only. Where the source has no column for the sign, one sign here is the sign of every row. */
  readonly signs?: readonly string[];
  /** What stands between the cells of a text file. Default: the commonest of comma, semicolon, tab and bar in its first line. */
  readonly delimiter?: Delimiter;
  /** The decimal sign of measured values. Default: the one they use; both in one source are refused. */
  readonly decimal?: '.' | ',';
  /** The name of a sheet in a workbook. Needed where it has several with something in them, and the layout does not name it. */
  readonly sheet?: string;
  /** How a sheet that is not tidy is laid out; `previewSheet` proposes one. */
  readonly layout?: SheetLayout;
  /** How FHIR Observations are read. */
  readonly fhir?: FhirOptions;
  /** Names of columns that look as if they held identifiers and do not. Recorded in the notes. */
  readonly notIdentifying?: readonly string[];
}

export interface FhirOptions {
  /**
   * What codes stand for that are neither ours nor confirmed, by system and code with a bar between them:
   * `{ 'http://example.org/codes|DP-L': { site: 'dorsalis-pedis', side: 'left' } }`. Goes before every other meaning.
   * `'leave-out'` passes over Observations and components with this code; they are counted in the notes.
   */
  readonly codes?: Readonly<Record<string, CodeMeaning | 'leave-out'>>;
  /** What can identify people: refused (the default), or left out and counted in the notes. */
  readonly identifying?: 'refuse' | 'leave-out';
  /** Calendar dates: refused (the default), or turned into days since the patient's first date in the load. */
  readonly dates?: 'refuse' | 'to-days';
}

/** The scales that the user names for each sign. */
export type NamedScales = ReadonlyMap<string, readonly Scale[]>;

/** Checks the options and looks up the scales they name. */
export function checkLoadOptions(options: LoadOptions): {
  named: NamedScales;
  signs?: readonly Sign[];
  problems: Problem[];
} {
  const problems: Problem[] = [];
  const named = new Map<string, readonly Scale[]>();
  for (const [id, choices] of Object.entries(options.scales ?? {})) {
    const sign = codebook.find((known) => known.id === id);
    if (sign === undefined) {
      problems.push(unknownSign(['scales', id], id));
      continue;
    }
    const list = (Array.isArray(choices) ? choices : [choices]) as readonly ScaleChoice[];
    named.set(
      id,
      list.flatMap((choice) => {
        const scale = typeof choice === 'string' ? sign.scales.find((known) => known.id === choice) : choice;
        if (scale !== undefined && scale.sign === id) return [scale];
        problems.push(unfitScale(sign, choice));
        return [];
      }),
    );
  }
  for (const { sign, scale } of ownFindings(options.layout)) {
    if (typeof scale !== 'object') continue;
    const before = named.get(sign) ?? [];
    if (!before.includes(scale)) named.set(sign, [...before, scale]);
  }
  const signs = options.signs?.flatMap((id, at) => {
    const sign = codebook.find((known) => known.id === id);
    if (sign === undefined) problems.push(unknownSign(['signs', at], id));
    return sign === undefined ? [] : [sign];
  });
  if (options.delimiter !== undefined && !DELIMITERS.includes(options.delimiter)) {
    problems.push({
      code: 'unknown-choice',
      path: ['delimiter'],
      message: 'There is no such delimiter.',
      expected: 'a comma, a semicolon, a tab (\\t) or a bar (|)',
    });
  }
  if (options.decimal !== undefined && options.decimal !== '.' && options.decimal !== ',') {
    problems.push({
      code: 'unknown-choice',
      path: ['decimal'],
      message: 'There is no such decimal sign.',
      expected: "'.' or ','",
    });
  }
  problems.push(...fhirProblems(options.fhir ?? {}));
  for (const key of Object.keys(options)) {
    if (!OPTION_NAMES.includes(key)) {
      const near = nearest(key, OPTION_NAMES);
      problems.push({
        code: 'unknown-option',
        path: [key],
        message: `There is no option ${key}.`,
        expected: `one of ${OPTION_NAMES.join(', ')}`,
        ...(near === undefined ? {} : { mend: `did you mean ${near}?` }),
      });
    }
  }
  return { named, ...(signs === undefined ? {} : { signs }), problems };
}

function ownFindings(layout: SheetLayout | undefined): readonly SheetFinding[] {
  return [...Object.values(layout?.readings ?? {}), ...Object.values(layout?.findings?.words ?? {})];
}

const OPTION_NAMES: readonly string[] = [
  'columns',
  'constants',
  'scales',
  'signs',
  'delimiter',
  'decimal',
  'sheet',
  'layout',
  'notIdentifying',
  'fhir',
  'signal',
  'progress',
];

function fhirProblems({ codes = {}, ...choices }: FhirOptions): Problem[] {
  const problems: Problem[] = [];
  const allowed: Readonly<Record<string, readonly string[]>> = {
    identifying: ['refuse', 'leave-out'],
    dates: ['refuse', 'to-days'],
  };
  for (const [name, choice] of Object.entries(choices)) {
    const words = Object.hasOwn(allowed, name) ? allowed[name] : undefined;
    if (words === undefined)
      problems.push({
        code: 'unknown-option',
        path: ['fhir', name],
        message: 'There is no such option.',
        expected: 'codes, identifying, dates',
      });
    else if (choice !== undefined && !words.includes(choice))
      problems.push({
        code: 'unknown-choice',
        path: ['fhir', name],
        message: 'There is no such choice.',
        expected: words.join(' or '),
      });
  }
  for (const [key, meaning] of Object.entries(codes)) {
    const columns: readonly string[] = CODED_COLUMNS;
    if (!/^[^|]+\|[^|]+$/.test(key))
      problems.push({
        code: 'bad-code',
        path: ['fhir', 'codes', key],
        message: 'This names no code.',
        expected: 'the system and the code with a bar between them',
      });
    for (const [name, word] of meaning === 'leave-out' ? [] : Object.entries(meaning))
      if (!columns.includes(name) || typeof word !== 'string')
        problems.push({
          code: 'unknown-column',
          path: ['fhir', 'codes', key, name],
          message: 'A code cannot stand for this.',
          expected: `a text for one of ${columns.join(', ')}`,
        });
  }
  return problems;
}

function unknownSign(path: readonly (string | number)[], id: string): Problem {
  const ids = codebook.map((sign) => sign.id);
  const near = nearest(id, ids);
  return {
    code: 'unknown-sign',
    path,
    message: 'There is no such sign.',
    expected: `one of ${ids.join(', ')}`,
    ...(near === undefined ? {} : { mend: `did you mean "${near}"?` }),
  };
}

function unfitScale(sign: Sign, choice: ScaleChoice): Problem {
  const ids = sign.scales.map((scale) => scale.id);
  const near = typeof choice === 'string' ? nearest(choice, ids) : undefined;
  return {
    code: typeof choice === 'string' ? 'unknown-scale' : 'scale-not-of-sign',
    path: ['scales', sign.id],
    message:
      typeof choice === 'string'
        ? `${sign.label} has no scale of that id.`
        : `The scale ${choice.id} is one of the sign ${choice.sign}.`,
    expected: `one of ${ids.join(', ')}, or a scale made with ownScale for ${sign.id}`,
    ...(near === undefined ? {} : { mend: `did you mean "${near}"?` }),
  };
}

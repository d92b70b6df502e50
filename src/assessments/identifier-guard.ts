import type { Problem } from '../shared/input-error.js';
import { HEADER_RULES, type IdentifierRule, VALUE_RULES } from './identifier-rules.js';
import { isPersonsName, looksLikeName } from './looks-like-name.js';
import { isTerminologyCode } from './terminology-code.js';

/** Numbers of up to six digits, with a letter or two before them: codes, grades, measured values. */
const PLAIN = /^[+-]?(?:[A-Za-z]{0,2}[-_]?\d{1,6}|\d{1,6}[.,]\d+)$/;
/** Seven digits or more, with a few letters before them or not; or as a spreadsheet shortens it. */
const LONG_NUMBER = /^[a-z]{0,4}[-_\s#]?\d{7,}[a-z]?$/i;
const SHORTENED = /^\d(?:[.,]\d+)?E\+(?:0[6-9]|[1-9]\d)$/i;
const GROUPED = /^\d[\d\s-]{7,}\d$/;
/** Nine digits and more among capital letters and separators: license, plan and serial numbers. */
const MIXED = /^(?=(?:.*\d){9})(?=.*[A-Z])[A-Z\d][A-Z\d\s/-]*$/;
const AGE_HEADER = /^(?:age|ageyears|ageinyears|patientage|ptage|ageatadmission|ageatvisit|agey|ageyr|ageyrs|years)$/;

/** The rule that the name of a column breaks, or `undefined`. */
export function ruleOfHeader(header: string): IdentifierRule | undefined {
  const key = header.toLowerCase().replaceAll(/[^a-z\d]+/g, '');
  return HEADER_RULES.find(([, form]) => form.test(key))?.[0] ?? ruleOfHeaderText(header);
}

/** The rule that the text of a header itself breaks, so that it must not be shown: `555-0161`, `dp_Smith`. */
export function ruleOfHeaderText(header: string): IdentifierRule | undefined {
  const words = header.split(/[^\p{L}]+/u);
  return ruleOfValue(header) ?? (words.some(isPersonsName) ? 'name' : undefined);
}

/**
 * The rule that a value breaks by its form, or `undefined`. Grades (`2/4`, `1-2`), assessor codes (`RN-07`,
 * `N123456`), offsets (`-365`), short study numbers and codes of SNOMED CT and LOINC pass. In a column of codes for
 * people (`isCode`) a word that looks like a name is refused as well.
 */
export function ruleOfValue(value: string, isCode = false): IdentifierRule | undefined {
  const text = value.trim();
  // Most cells are short codes and numbers; they need none of the rules below.
  if (text.length < 3 || PLAIN.test(text)) return undefined;
  if (text.length > LONGEST) return 'free text';
  const rule = stretchesOf(text)
    .map(ruleOfForm)
    .find((found) => found !== undefined);
  if (rule !== undefined || text.length > STRETCH) return rule;
  const digits = text.replaceAll(/\D/g, '').length;
  const isLong =
    LONG_NUMBER.test(text) || SHORTENED.test(text) || (GROUPED.test(text) && digits >= 9) || MIXED.test(text);
  if (isLong) return isTerminologyCode(text) ? undefined : 'long number';
  // "Patient: John Smith" and "Note: 4417823" are identifiers with a label.
  const labelled = /^[\p{L} ]{2,20}:\s*(.+)$/u.exec(text)?.[1];
  if (looksLikeName(text, isCode)) return 'name';
  return labelled === undefined ? undefined : ruleOfValue(labelled);
}

/**
 * The rule that a line above or below a table breaks, part by part: "Patient: John Smith, MRN 4417823". A date there is that of the printing, unless something says that it is a birth
 * date.
 */
export function ruleOfLine(text: string): IdentifierRule | undefined {
  if (/\b(?:dob|born|birth ?date|date of birth)\b/i.test(text) && /\d/.test(text)) return 'birth date';
  for (const part of [text, text.replace(/^[\p{L} ]{2,20}:\s*/u, ''), ...text.split(/[,;|]|\s-\s|\t/)]) {
    const rule = ruleOfValue(part);
    if (rule !== undefined && rule !== 'date') return rule;
  }
  return undefined;
}

/** No code and no remark is as long, and what is looked at costs time. */
const LONGEST = 10_000;
/** Longer texts are looked at in stretches that overlap: the time some forms take grows with the square of the length. */
const STRETCH = 500;
const OVERLAP = 150;

function stretchesOf(text: string): readonly string[] {
  if (text.length <= STRETCH) return [text];
  const count = Math.ceil((text.length - OVERLAP) / (STRETCH - OVERLAP));
  return Array.from({ length: count }, (_, at) => text.slice(at * (STRETCH - OVERLAP)).slice(0, STRETCH));
}

function ruleOfForm(text: string): IdentifierRule | undefined {
  return VALUE_RULES.find(([, form]) => form.test(text))?.[0];
}

/** The name of a column as a message may say it: nothing where it has the form of an identifier itself. */
export function namedColumn(header: string): { readonly column?: string } {
  return header.length <= FREE_TEXT_LETTERS && ruleOfHeaderText(header) === undefined ? { column: header } : {};
}

/** What a column may not hold: one problem for its name, or one for each row whose value breaks a rule. */
export interface GuardFinding {
  readonly header?: Problem;
  /** By code of the column. */
  readonly values: readonly (readonly Omit<Problem, 'row'>[] | undefined)[];
}

/** Longer than any code, site, method or landmark: sentences about somebody. */
const FREE_TEXT_LETTERS = 120;

/** What kind of column it is: codes of people, other words that are read, or a column that is not read. */
export type ColumnRole = 'code' | 'read' | 'not read';

/** Looks at a column's name and at each of its distinct values once. */
export function guardColumn(header: string, values: readonly string[], role: ColumnRole = 'read'): GuardFinding {
  const rule = ruleOfHeader(header);
  if (rule !== undefined) {
    const column = namedColumn(header);
    const shown = column.column !== undefined;
    return {
      header: {
        code: 'identifier-column',
        ...column,
        message: shown
          ? `The column's name says that it holds identifiers (${rule}).`
          : `The name of a column has the form of an identifier (${rule}); perhaps the header line is missing.`,
        mend: shown
          ? 'take the column out of the file; if it identifies nobody, list its name in the option notIdentifying.'
          : 'give the file a header line, and take the column out if it identifies people.',
      },
      values: [],
    };
  }
  const isAge = AGE_HEADER.test(header.toLowerCase().replaceAll(/[^a-z]+/g, ''));
  return {
    values: values.map((value) => {
      const isOld = isAge && Number(value.replace(',', '.')) > 89;
      const isText = role !== 'not read' && value.length > FREE_TEXT_LETTERS;
      const broken = isOld
        ? 'age over 89'
        : (ruleOfValue(value, role === 'code') ?? (isText ? 'free text' : undefined));
      return broken === undefined ? undefined : [valueProblem(header, broken)];
    }),
  };
}

const PEOPLE = ['patient', 'stay', 'assessor'];

/** The identifiers among the words that options put into the data: constants, and what a layout says its words mean. */
export function guardOptions({ constants, layout }: GuardedOptions): readonly Problem[] {
  const problems: Problem[] = [];
  const look = (value: unknown, path: readonly string[], isCode: boolean): void => {
    if (typeof value === 'object' && value !== null)
      for (const [key, inner] of Object.entries(value))
        if (key !== 'scale') look(inner, [...path, key], isCode || PEOPLE.includes(key));
    if (typeof value !== 'string' && typeof value !== 'number') return;
    const rule = ruleOfValue(String(value), isCode);
    if (rule === undefined) return;
    const { column: _, ...problem } = valueProblem('', rule);
    problems.push({ ...problem, path: path.filter((key) => ruleOfValue(key) === undefined) });
  };
  look(constants, ['constants'], false);
  look(layout?.readings, ['layout', 'readings'], false);
  look(layout?.findings?.words, ['layout', 'findings', 'words'], false);
  look(layout?.words, ['layout', 'words'], false);
  look(layout?.cells, ['layout', 'cells'], false);
  return problems;
}

interface GuardedOptions {
  readonly constants?: object | undefined;
  readonly layout?:
    | {
        readonly readings?: object;
        readonly findings?: { readonly words: object };
        readonly words?: object;
        readonly cells?: object;
      }
    | undefined;
}

function valueProblem(column: string, rule: IdentifierRule): Omit<Problem, 'row'> {
  return {
    code: 'identifier-value',
    column,
    message: `The value has the form of an identifier (${rule}). It is not shown.`,
    mend: mendFor(rule),
  };
}

function mendFor(rule: IdentifierRule): string {
  if (rule === 'date')
    return "write the number of days since the patient's first day; if the spreadsheet made a date of a reading such as 2/3, type the reading again in a column formatted as text.";
  if (rule === 'age over 89') return 'pool ages over 89 as 90.';
  if (rule === 'free text') return 'take the sentence out; keep codes and words of the codebook.';
  if (rule === 'long number' || rule === 'name')
    return 'replace it by a code of your own that is not made from it; if it identifies nobody, list the column in the option notIdentifying.';
  return 'take it out, or replace it by a code of your own that is not made from it.';
}

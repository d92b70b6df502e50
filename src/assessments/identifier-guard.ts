import type { Problem } from '../shared/input-error.js';

/**
 * A first guard against identifiers: the kinds of 45 CFR 164.514(b)(2) that a table shows by the name of a column
 * or by the form of a value. It names the rule and the row, never the value. It cannot see everything: a name in
 * a column of codes passes, so looking at a file before sharing it stays with its owner.
 */
export type IdentifierRule =
  | 'name'
  | 'address'
  | 'birth date'
  | 'date'
  | 'telephone or fax number'
  | 'e-mail address'
  | 'social security number'
  | 'record, plan or account number'
  | 'device, vehicle or license number'
  | 'web address'
  | 'network address'
  | 'age over 89'
  | 'long number';

const HEADER_RULES: readonly (readonly [IdentifierRule, RegExp])[] = [
  [
    'name',
    /^(?:(?:patient|pt|person|nurse|assessor|examiner|learner|student|user)?(?:first|last|middle|full|given|family|maiden|sur|fore)?names?|initials|nameofpatient|nextofkin|relative|employer)$/,
  ],
  ['birth date', /^(?:dob|birthdate|dateofbirth|birthday|born|birth)$/],
  [
    'address',
    /^(?:(?:home|street|mailing|postal|patient)?address(?:line)?\d?|street|city|town|zip|zipcode|postcode|postalcode|county)$/,
  ],
  [
    'telephone or fax number',
    /^(?:(?:home|work|mobile|cell|patient)?(?:phone|telephone|tel|fax|mobile|cell)(?:number|no)?)$/,
  ],
  ['e-mail address', /^(?:e?mail|emailaddress|patientemail)$/],
  ['social security number', /^(?:ssn|socialsecurity(?:number|no)?|nationalid|nhs(?:number|no)?|sin)$/],
  [
    'record, plan or account number',
    /^(?:mrn|medicalrecord(?:number|no)?|recordnumber|recordno|chart(?:number|no)|hospital(?:number|no|id)|account(?:number|no)?|insurance(?:number|no|id)?|member(?:number|id)|plan(?:number|id)|encounter(?:number|no)|csn|fin)$/,
  ],
  [
    'device, vehicle or license number',
    /^(?:licen[cs]e(?:number|no|plate)?|vin|serial(?:number|no)?|device(?:serial(?:number|no)?|id)|plate)$/,
  ],
  ['web address', /^(?:url|website|webaddress)$/],
  ['network address', /^(?:ip|ipaddress)$/],
  [
    'date',
    /^(?:admission|discharge|visit|exam|assessment|death|admit)?date(?:time)?$|^(?:timestamp|datetime|admittedon|dischargedon)$/,
  ],
];

const MONTHS =
  'jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?';

const VALUE_RULES: readonly (readonly [IdentifierRule, RegExp])[] = [
  ['date', /^\d{4}[-/.](?:0?[1-9]|1[0-2])[-/.](?:0?[1-9]|[12]\d|3[01])(?:[T\s].*)?$/],
  ['date', /^(?:0?[1-9]|[12]\d|3[01])[-/.](?:0?[1-9]|[12]\d|3[01])[-/.](?:\d{4}|\d{2})(?:[T\s,].*)?$/],
  [
    'date',
    new RegExp(
      `^(?:0?[1-9]|[12]\\d|3[01])(?:st|nd|rd|th)?[-/.\\s]+(?:${MONTHS})\\.?(?:[-/.,\\s]+\\d{2,4})?(?:[T\\s,].*)?$`,
      'i',
    ),
  ],
  [
    'date',
    new RegExp(
      `^(?:${MONTHS})\\.?[-/.\\s]+(?:0?[1-9]|[12]\\d|3[01])(?:st|nd|rd|th)?(?:[-/.,\\s]+\\d{2,4})?(?:[T\\s,].*)?$`,
      'i',
    ),
  ],
  ['date', new RegExp(`^(?:${MONTHS})\\.?[-/.,\\s]+\\d{4}$`, 'i')],
  ['date', /^(?:19|20)\d{2}(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])(?:[T\s]?\d{4,6})?$/],
  ['e-mail address', /[^\s@]+@[^\s@]+\.[a-z]{2,}/i],
  ['web address', /\b(?:https?:\/\/|www\.)\S+/i],
  ['network address', /^(?:(?:25[0-5]|2[0-4]\d|1?\d?\d)\.){3}(?:25[0-5]|2[0-4]\d|1?\d?\d)$/],
  ['network address', /^(?=.*::|(?:[\da-f]+:){7})(?:[\da-f]{0,4}:){2,7}[\da-f]{0,4}$/i],
  ['social security number', /^\d{3}-\d{2}-\d{4}$/],
  ['telephone or fax number', /^(?:\+?\d{1,3}[\s.-]?)?\(?\d{3}\)?[\s.-]\d{3}[\s.-]\d{4}(?:\s*(?:x|ext\.?)\s*\d+)?$/i],
  ['telephone or fax number', /^\(\d{3}\)\s*\d{3}-?\d{4}$/],
  ['telephone or fax number', /^\+\d{1,3}[\s.-]?\d[\d\s.-]{6,}$/],
];

const LONG_NUMBER = /^[a-z]{0,3}[-\s]?\d{7,}$/i;
const AGE_HEADER = /^(?:age|ageyears|ageinyears|patientage|ageatadmission|agey|ageyrs)$/;

/** The rule that the name of a column breaks, or `undefined`. */
export function ruleOfHeader(header: string): IdentifierRule | undefined {
  const key = header.toLowerCase().replaceAll(/[^a-z\d]+/g, '');
  return HEADER_RULES.find(([, form]) => form.test(key))?.[0] ?? ruleOfValue(header);
}

/**
 * The rule that a value breaks by its form, or `undefined`. Grades (`2/4`, `1-2`), assessor codes (`RN-07`,
 * `N123456`), offsets (`-365`), short study numbers and codes of SNOMED CT and LOINC pass.
 */
export function ruleOfValue(value: string): IdentifierRule | undefined {
  const text = value.trim();
  const rule = VALUE_RULES.find(([, form]) => form.test(text))?.[0];
  if (rule !== undefined) return rule;
  return LONG_NUMBER.test(text) && !isTerminologyCode(text) ? 'long number' : undefined;
}

/** What a column may not hold: one problem for its name, or one for each row whose value breaks a rule. */
export interface GuardFinding {
  readonly header?: Problem;
  /** By code of the column. */
  readonly values: readonly (readonly Omit<Problem, 'row'>[] | undefined)[];
}

/** Looks at a column's name and at each of its distinct values once. */
export function guardColumn(header: string, values: readonly string[]): GuardFinding {
  const rule = ruleOfHeader(header);
  if (rule !== undefined) {
    const shown = ruleOfValue(header) === undefined;
    return {
      header: {
        code: 'identifier-column',
        ...(shown ? { column: header } : {}),
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
      const broken = isAge && Number(value.replace(',', '.')) > 89 ? 'age over 89' : ruleOfValue(value);
      return broken === undefined ? undefined : [valueProblem(header, broken)];
    }),
  };
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
  if (rule === 'long number')
    return 'replace it by a code of your own that is not made from it; if it identifies nobody, list the column in the option notIdentifying.';
  return 'take it out, or replace it by a code of your own that is not made from it.';
}

/**
 * A SNOMED CT identifier by its partition and check digit (Verhoeff's), or a LOINC code by its form. Both look
 * like record numbers and identify nobody. One random number of 7 to 18 digits in about 160 passes as one.
 */
function isTerminologyCode(text: string): boolean {
  if (/^\d{1,5}-\d$/.test(text)) return true;
  return /^[1-9]\d{5,17}$/.test(text) && /(?:00|01|02|10|11|12)\d$/.test(text) && hasVerhoeffCheckDigit(text);
}

// Multiplication in the dihedral group D5 and Verhoeff's permutation, the published tables of the check digit.
const D5 = [
  [0, 1, 2, 3, 4, 5, 6, 7, 8, 9],
  [1, 2, 3, 4, 0, 6, 7, 8, 9, 5],
  [2, 3, 4, 0, 1, 7, 8, 9, 5, 6],
  [3, 4, 0, 1, 2, 8, 9, 5, 6, 7],
  [4, 0, 1, 2, 3, 9, 5, 6, 7, 8],
  [5, 9, 8, 7, 6, 0, 4, 3, 2, 1],
  [6, 5, 9, 8, 7, 1, 0, 4, 3, 2],
  [7, 6, 5, 9, 8, 2, 1, 0, 4, 3],
  [8, 7, 6, 5, 9, 3, 2, 1, 0, 4],
  [9, 8, 7, 6, 5, 4, 3, 2, 1, 0],
];
const PERMUTATION = [1, 5, 7, 6, 2, 8, 3, 0, 9, 4];

function hasVerhoeffCheckDigit(digits: string): boolean {
  let check = 0;
  for (let place = 0; place < digits.length; place++) {
    let digit = Number(digits[digits.length - 1 - place]);
    for (let times = 0; times < place % 8; times++) digit = PERMUTATION[digit] ?? 0;
    check = D5[check]?.[digit] ?? 0;
  }
  return check === 0;
}

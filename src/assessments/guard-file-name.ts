import { InputError } from '../shared/input-error.js';
import { FIRST_NAMES } from './first-names.js';
import { ruleOfValue } from './identifier-guard.js';
import type { IdentifierRule } from './identifier-rules.js';
import { isFamilyName, isKnownWord, looksLikeName } from './looks-like-name.js';

/** Words of file names beside those of sheets and wards. */
const FILE_WORDS = new Set(
  `assessments backup blank book broken checked clean cleaned combined copied copy corrected csv data dataset demo denominators desktop download
  draft dump duplicate edited entry example excel export exported exports extract file files filled final finished fixed hidden import input
  july june last limbs log main may merged monthly months newest notes numbered output overview page pages part parts paper pivot plain prepared print
  printed project pulses q quarter quarterly random raw ready readings received records renamed rename report reports response responses results revised
  revision rota row rows sample scan send sent serial share shared sheet sheets sorted source sources split spreadsheet studies sum summary tab table tables
  template temp test testing tidy to tmp today totals transposed trial txt typed typing typings unit units untitled update updated upload version versions
  volunteers weekly wide long work working xls xlsx yearly`.split(/\s+/),
);

const FULL_DATE =
  /^(?:(?:19|20)\d{2}[-_. ]?(?:0[1-9]|1[0-2])[-_. ]?(?:0[1-9]|[12]\d|3[01])|(?:0?[1-9]|[12]\d|3[01])[-_. ](?:0?[1-9]|[12]\d|3[01])[-_. ](?:(?:19|20)\d{2}|\d{2}))$/;
const DATE_IN_NAME =
  /(?<!\d)(?:(?:19|20)\d{2}[-_. ]?(?:0[1-9]|1[0-2])[-_. ]?(?:0[1-9]|[12]\d|3[01])|(?:0?[1-9]|[12]\d|3[01])[-_. ](?:0?[1-9]|[12]\d|3[01])[-_. ](?:(?:19|20)\d{2}|\d{2}))(?!\d)/g;
/** Words that say that the number beside them stands for one person. */
const PERSON_WORD =
  /^(?:mrn|mr|dob|ssn|nhs|csn|har|acct|account|pat|born|bday|birth|patient|pt|chart|record|hosp|insurance|member|medicare|medicaid|tel|phone|fax)$/i;

/**
 * The rule that a file's name breaks, or `undefined`: a name of a person, a number of seven digits or more or one after "MRN", "DOB" and the like, an address, a
 * telephone number, a date beside a word that means nothing here. A date alone is that of an export as well as of a birth: `hasDate` tells it, and the name is not passed on.
 */
export function ruleOfFileName(name: string): IdentifierRule | undefined {
  const stem = withoutMachineNumbers(name).replace(/\.(?:csv|tsv|txt|xlsx?|xlsm|ods|json|md|html?|pdf|png|svg)$/i, '');
  // A year after a word is no number of a record: "chart_2026-10".
  const timeless = (text: string): string => text.replaceAll(/(?<!\d)(?:19|20)\d{2}(?:[-_ ]\d{1,2})?(?!\d)/g, ' ');
  const whole = ruleOfValue(timeless(stem));
  if (whole !== undefined && whole !== 'date' && whole !== 'name') return whole;
  const undated = stem.replaceAll(DATE_IN_NAME, ' ');
  // "SmithJohn" and "smith_john" are two words; "WARD6" is a word and a number.
  const parts = undated
    .replaceAll(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
    .split(/[^\p{L}\p{N}'’@]+/u)
    .flatMap((part) => part.split(/(?<=\p{L})(?=\d{4,})|(?<=\d)(?=\p{L}{3,})/u))
    .filter((part) => part !== '');
  for (const [at, part] of parts.entries()) {
    if (/^\d{7,}$/.test(part) && !FULL_DATE.test(part)) return 'long number';
    if (
      /^\d{3,}$/.test(part) &&
      PERSON_WORD.test(parts[at - 1] ?? '') &&
      !/^(?:patient|pt|pat|chart|record|mr)$/i.test(parts[at - 1] ?? '')
    )
      return 'record, plan or account number';
    if (/^\d{5,}$/.test(part) && PERSON_WORD.test(parts[at - 1] ?? '')) return 'record, plan or account number';
  }
  const spaced = timeless(undated).replaceAll(/[_+]+/g, ' ').trim();
  const written = ruleOfValue(spaced);
  if (written !== undefined && written !== 'date' && written !== 'name' && written !== 'long number') return written;
  if (/(?<!\d)\d{3}[-_. ]\d{2}[-_. ]\d{4}(?!\d)/.test(undated)) return 'social security number';
  if (/(?<!\d)\(?\d{3}\)?[-_. ]{1,2}\d{3}[-_. ]\d{4}(?!\d)/.test(undated)) return 'telephone or fax number';
  const words = parts.filter((part) => /^\p{L}[\p{L}'’]*$/u.test(part));
  const isMeant = (word: string): boolean => FILE_WORDS.has(word.toLowerCase()) || isKnownWord(word);
  const strange = words.filter((word) => word.length > 1 && !isMeant(word));
  const hasFirst = words.some((word) => FIRST_NAMES.has(word.toLowerCase()) && !isMeant(word));
  const hasInitial = words.some((word) => word.length === 1);
  if (hasFirst && (strange.length > 1 || hasInitial || words.length <= 2)) return 'name';
  if (words.some((word) => isFamilyName(word))) return 'name';
  const birth = words.some((word) => /^(?:dob|born|birth|bday)$/i.test(word));
  if (birth && hasDate(stem)) return 'birth date';
  const names = strange.filter((word) => word.length > 3 && !/^[A-Z]{2,}$/.test(word));
  if (names.length > 0 && hasDate(stem)) return 'name';
  // Two such words with capitals, or one with an initial: "Okafor_Nguyen", "Haddad R".
  const titled = names.filter((word) => /^\p{Lu}\p{Ll}/u.test(word));
  if (titled.length > 1 || (titled.length === 1 && hasInitial && words.length <= 3)) return 'name';
  return looksLikeName(words.join(' '), false) && strange.length > 1 ? 'name' : undefined;
}

/** Numbers that programs write: times to the second, random names, and how many rows a file has. */
function withoutMachineNumbers(name: string): string {
  return name
    .replaceAll(/[\da-f]{8}-(?:[\da-f]{4}-){3}[\da-f]{12}/gi, ' ')
    .replaceAll(/(?<![\da-z])(?=\d*[a-f])(?=[a-f]*\d)[\da-f]{16,}(?![\da-z])/gi, ' ')
    .replaceAll(
      /(?<!\d)((?:19|20)\d{2}(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01]))[T_-]?(?:[01]\d|2[0-3])[0-5]\d(?:[0-5]\d)?(?!\d)/gi,
      '$1',
    )
    .replaceAll(/(?<!\d)[1-9]\d{0,3}0{5,}(?!\d)/g, ' ');
}

/** Whether a file's name holds a full date. */
export function hasDate(name: string): boolean {
  return name.match(DATE_IN_NAME) !== null;
}

/** Refuses a file whose name could identify somebody, before anything of it is read; the name is not shown. */
export function guardFileName(name: string, path = 'source'): void {
  const rule = ruleOfFileName(name);
  if (rule !== undefined)
    throw new InputError([
      {
        code: 'identifier-file-name',
        path: [path],
        message: `The name of a file has the form of an identifier (${rule}). It is not shown.`,
        mend: 'rename the file to what it holds, such as readings.csv or unit-6-export.xlsx.',
      },
    ]);
}

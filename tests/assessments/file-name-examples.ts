import { seededRandom } from '../../src/shared/random.ts';

const random = seededRandom(20261127);
const pick = <T>(list: readonly T[]): T => list[random.below(list.length)] as T;
const digits = (count: number): string =>
  Array.from({ length: count }, (_, at) => String(at === 0 ? 1 + random.below(9) : random.below(10))).join('');
const two = (value: number): string => String(value).padStart(2, '0');

// Invented people: common names drawn together at random.
const FIRST = [
  'mary',
  'john',
  'linda',
  'robert',
  'fatima',
  'wei',
  'carlos',
  'priya',
  'olga',
  'emma',
  'noah',
  'aisha',
  'susan',
  'david',
];
const LAST = [
  'smith',
  'garcia',
  'okafor',
  'nguyen',
  'petrov',
  'lopez',
  'kowalski',
  'haddad',
  'johnson',
  'mueller',
  'tanaka',
  'silva',
];
const WHAT = ['pulses', 'edema', 'readings', 'chart', 'export', 'assessment', 'legs', 'refill'];
const ENDINGS = ['csv', 'xlsx', 'txt', 'tsv'];
const titled = (word: string): string => word.charAt(0).toUpperCase() + word.slice(1);
const birth = (): string => `${1931 + random.below(70)}-${two(1 + random.below(12))}-${two(1 + random.below(28))}`;
const american = (): string => `${two(1 + random.below(12))}-${two(1 + random.below(28))}-${1931 + random.below(70)}`;

const identifying: readonly (() => string)[] = [
  () => `${pick(LAST)}_${pick(FIRST)}_${birth()}`,
  () => `${pick(FIRST)}_${pick(LAST)}`,
  () => `${titled(pick(FIRST))} ${titled(pick(LAST))} ${pick(WHAT)}`,
  () => `${titled(pick(LAST))}, ${titled(pick(FIRST))}`,
  () => `${titled(pick(LAST))}${titled(pick(FIRST))}`,
  () => `${titled(pick(FIRST))}${titled(pick(LAST))}_${pick(WHAT)}`,
  () => `${pick(WHAT)}-${pick(FIRST)}-${pick(LAST)}`,
  () => `MRN${digits(7)}`,
  () => `mrn_${digits(6)}_${pick(WHAT)}`,
  () => `${pick(WHAT)} MRN ${digits(8)}`,
  () => `${digits(8)}`,
  () => `pt_${digits(9)}_${pick(WHAT)}`,
  () => `${pick(WHAT)}_${digits(10)}`,
  () => `${digits(3)}-${digits(2)}-${digits(4)}`,
  () => `ssn ${digits(3)}-${digits(2)}-${digits(4)} ${pick(WHAT)}`,
  () => `${pick(LAST)}_${american()}`,
  () => `${pick(LAST)}${birth().replaceAll('-', '')}`,
  () => `DOB ${birth()}`,
  () => `dob_${american()}_${pick(WHAT)}`,
  () => `${pick(FIRST)}.${pick(LAST)}@example.org`,
  () => `${digits(3)}-${digits(3)}-${digits(4)}`,
  () => `call ${digits(3)}.${digits(3)}.${digits(4)}`,
  () => `Mrs ${titled(pick(LAST))}`,
  () => `Dr ${titled(pick(LAST))} ${pick(WHAT)}`,
  () => `${titled(pick(LAST))}_${pick(FIRST).charAt(0).toUpperCase()}`,
  () => `acct ${digits(6)}`,
  () => `${pick(WHAT)} ${titled(pick(FIRST))} ${titled(pick(LAST))} ward 6`,
  () => `${pick(FIRST).toUpperCase()} ${pick(LAST).toUpperCase()}`,
  () => `${pick(LAST).toUpperCase()}_${pick(FIRST).toUpperCase()}_${digits(5)}`,
  () => `${titled(pick(LAST))}-${titled(pick(LAST))}_${titled(pick(FIRST))}_${pick(WHAT)}`,
];

const innocent: readonly (() => string)[] = [
  () => `${pick(['unit', 'ward', 'clinic', 'icu'])}${pick(['-', '_', ' ', ''])}${1 + random.below(12)}-${pick(WHAT)}`,
  () => `${pick(WHAT)}_${2020 + random.below(7)}-${two(1 + random.below(12))}`,
  () => `${pick(['study', 'pilot', 'agreement-study', 'cohort'])}_${pick(WHAT)}_v${1 + random.below(9)}`,
  () =>
    `${pick(['researcher_wide', 'skills_lab', 'unit-edema', 'serial-limbs', 'class-session', 'broken-file', 'liver-clinic-edema'])}`,
  () => `${pick(WHAT)} final ${pick(['copy', 'corrected', 'merged', 'checked'])}`,
  () => `${pick(['period', 'round', 'week', 'month', 'day'])}_${1 + random.below(30)}`,
  () => `export-${2021 + random.below(6)}-${two(1 + random.below(12))}-${two(1 + random.below(28))}`,
  () => `${pick(WHAT)}_${pick(['A', 'B', 'C'])}`,
  () => `sheet${1 + random.below(20)}`,
  () => `${pick(['January', 'March', 'April', 'May', 'June', 'August'])} ${2020 + random.below(7)} ${pick(WHAT)}`,
  () => `typing_${1 + random.below(2)}_${pick(['left', 'right', 'both'])}_${pick(['arm', 'leg', 'legs'])}`,
  () => `denominators_${pick(['unit', 'ward', 'clinic'])}_${2020 + random.below(7)}`,
  () => `P${two(1 + random.below(40))}_${pick(WHAT)}`,
  () => `${pick(['pulse', 'edema', 'girth', 'refill'])}-grades-${pick(['nurses', 'students', 'experts', 'assessors'])}`,
  () => `clean${random.below(100)}`,
  () => `backup_${digits(4)}`,
  () => `Skills Lab ${pick(['Monday', 'Tuesday', 'Friday'])} Group ${1 + random.below(4)}`,
  () =>
    `${pick(['dorsalis', 'popliteal', 'femoral', 'radial'])}_${pick(['left', 'right'])}_${pick(['first', 'second'])}_round`,
  () =>
    `quarter${1 + random.below(4)}_${2020 + random.below(7)}_${pick(['Medical East', 'Surgical West', 'Step Down'])}`,
  () => `${pick(['ankle', 'calf', 'thigh'])}-girth-${pick(['test', 'retest', 'repeat'])}`,
  () => `readings-${1 + random.below(25)}000000`,
  () => `export_20260${1 + random.below(9)}${two(1 + random.below(28))}T${two(random.below(24))}3015`,
];

const make = (forms: readonly (() => string)[], count: number): readonly string[] =>
  Array.from({ length: count }, (_, at) => `${forms[at % forms.length]!()}.${pick(ENDINGS)}`);

/** Invented names of files that could identify somebody: 600 of 30 forms. */
export const identifyingFileNames = make(identifying, 600);
/** Names of files of studies, units and classes: 600 of 22 forms. */
export const innocentFileNames = make(innocent, 600);

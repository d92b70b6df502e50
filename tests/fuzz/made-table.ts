import fc from 'fast-check';
import { ruleOfHeader, ruleOfValue } from '../../src/assessments/identifier-guard.ts';
import { formula, oddText, prototypeWord } from './secrets.ts';

/** One assessment as it is written in a file, and what loading it must give. */
export interface MadeRow {
  readonly written: Readonly<Record<string, string>>;
  readonly expected: Readonly<Record<string, string | number | boolean | null>>;
}

export const PULSE = {
  limb: 'left-leg',
  site: 'dorsalis-pedis',
  sign: 'pulse-grade',
  scale: 'pulse.0-3.normal2',
};
const REFILL = { limb: 'right-leg', site: 'great-toe', sign: 'capillary-refill', scale: 'refill.seconds.toe' };

type Reading = readonly [
  written: { readonly value: string; readonly missing?: string },
  expected: {
    readonly value: string | number | null;
    readonly missing: string | null;
    readonly comparator: string | null;
  },
];

const nothing = { value: null, missing: null, comparator: null };

const pulse: fc.Arbitrary<Reading> = fc.oneof(
  fc
    .tuple(fc.constantFrom('0', '1', '2', '3'), fc.constantFrom('#', '#+', '+#', '#/3', ' # ', '#.0', '+ #', '# + / 3'))
    .map(([grade, form]) => [{ value: form.replace('#', grade) }, { ...nothing, value: grade }] as const),
  fc.constantFrom<Reading>(
    [{ value: '' }, nothing],
    [{ value: 'Refused' }, { ...nothing, missing: 'refused' }],
    [
      { value: '', missing: 'part absent' },
      { ...nothing, missing: 'part-absent' },
    ],
    [
      { value: 'covered', missing: 'covered' },
      { ...nothing, missing: 'covered' },
    ],
  ),
);

const refill: fc.Arbitrary<Reading> = fc
  .tuple(fc.integer({ min: 0, max: 140 }), fc.constantFrom('', '<', '>', '<=', '≥'), fc.constantFrom('', ' s', 's'))
  .map(([tenths, bound, unit]) => [
    { value: `${bound}${tenths / 10}${unit}` },
    { value: tenths / 10, missing: null, comparator: bound === '' ? null : bound === '≥' ? '>=' : bound },
  ]);

/** A code as people write it, and as a fuzzer does; none that the guard would refuse. */
export const code = fc
  .oneof(
    { weight: 3, arbitrary: fc.integer({ min: 1, max: 40 }).map((number) => `Qz${number}`) },
    { weight: 1, arbitrary: prototypeWord },
    { weight: 1, arbitrary: formula },
    { weight: 1, arbitrary: oddText },
  )
  .filter((text) => isPlain(text) && ruleOfValue(text, true) === undefined && text.trim().length <= 120);

/** Whether a text survives as it is: what is trimmed or what a text file cannot hold is tried elsewhere. */
export function isPlain(text: string): boolean {
  return text.trim() === text && text !== '' && !/[\p{Surrogate}\0\ufeff]/u.test(text) && !/\r(?!\n)/.test(text);
}

const pulseReading = pulse.map((reading) => [PULSE, reading] as const);
const anyReading = fc.oneof(
  pulseReading,
  refill.map((reading) => [REFILL, reading] as const),
);

const rowsOf = (reading: typeof pulseReading | typeof anyReading): fc.Arbitrary<readonly MadeRow[]> =>
  fc
    .array(
      fc.record({
        patient: code,
        assessor: code,
        method: fc.option(code),
        day: fc.option(fc.integer({ min: -400, max: 4000 })),
        blinded: fc.constantFrom<readonly [string, boolean | null]>(
          ['', null],
          ['yes', true],
          ['N', false],
          ['TRUE', true],
          ['0', false],
        ),
        reading,
      }),
      { minLength: 1, maxLength: 8 },
    )
    .map((rows) =>
      rows.map(({ patient, assessor, method, day, blinded, reading: [place, [written, expected]] }, at) => ({
        written: {
          patient,
          assessor,
          method: method ?? '',
          // Tells the rows apart, so that none repeats another.
          occasion: `o${at}`,
          day: day === null ? '' : String(day),
          blinded: blinded[0],
          ...place,
          value: written.value,
          missing: written.missing ?? '',
        },
        expected: { patient, assessor, method, occasion: `o${at}`, day, blinded: blinded[1], ...place, ...expected },
      })),
    );

export const madeRows = rowsOf(anyReading);
/** What says of each row what was assessed is left to constants: most damage then falls on what can be any text. */
export const pulseRows = rowsOf(pulseReading);

/** The name and the cells of a column that nobody asked for. */
export const extraColumn = fc.record({
  header: fc
    .oneof(prototypeWord, formula, fc.constantFrom('', 'remark', 'Ä ö', 'a,b', 'a;b', '"'))
    .filter((header) => ruleOfHeader(header) === undefined),
  cell: oddText.filter((text) => isPlain(text) && ruleOfValue(text) === undefined),
});

export interface Layout {
  readonly delimiter: ',' | ';' | '\t' | '|';
  readonly lineEnd: '\n' | '\r\n' | '\r';
  readonly quoting: 'always' | 'needed' | 'mixed';
  readonly mark: boolean;
  readonly lastLineEnd: boolean;
  readonly emptyLines: readonly number[];
}

export const layout: fc.Arbitrary<Layout> = fc.record({
  delimiter: fc.constantFrom(',', ';', '\t', '|'),
  lineEnd: fc.constantFrom('\n', '\r\n', '\r'),
  quoting: fc.constantFrom('always', 'needed', 'mixed'),
  mark: fc.boolean(),
  lastLineEnd: fc.boolean(),
  emptyLines: fc.array(fc.nat(8), { maxLength: 2 }),
});

export function textOf(records: readonly (readonly string[])[], form: Layout): string {
  const cell = (text: string, at: number): string => {
    const isNeeded = text.includes(form.delimiter) || /["\r\n]/.test(text);
    const isQuoted = isNeeded || form.quoting === 'always' || (form.quoting === 'mixed' && at % 2 === 0 && text !== '');
    return isQuoted ? `"${text.replaceAll('"', '""')}"` : text;
  };
  const lines = records.map((record) => record.map(cell).join(form.delimiter));
  if ((records[0]?.length ?? 0) > 1) for (const at of form.emptyLines) lines.splice(at, 0, '');
  return `${form.mark ? '\uFEFF' : ''}${lines.join(form.lineEnd)}${form.lastLineEnd ? form.lineEnd : ''}`;
}

export function recordsOf(
  rows: readonly MadeRow[],
  columns: readonly string[],
  extra?: { readonly header: string; readonly cell: string },
): string[][] {
  return [
    [...columns, ...(extra === undefined ? [] : [extra.header])],
    ...rows.map(({ written }) => [
      ...columns.map((column) => written[column] ?? ''),
      ...(extra === undefined ? [] : [extra.cell]),
    ]),
  ];
}

export const columnOrder = fc.shuffledSubarray(
  ['patient', 'assessor', 'method', 'occasion', 'day', 'blinded', 'limb', 'site', 'sign', 'scale', 'value', 'missing'],
  { minLength: 12, maxLength: 12 },
);

/** Cells damaged, doubled, cut, in another encoding: what happens to files on their way. */
export type Damage = readonly [how: number, where: number, what: number];
const damage: fc.Arbitrary<Damage> = fc.tuple(
  fc.nat(8),
  fc.nat(999_999).map((millionths) => millionths / 1_000_000),
  fc.nat(255),
);
export const damages = fc.oneof(
  { weight: 3, arbitrary: damage.map((one) => [one]) },
  { weight: 1, arbitrary: fc.array(damage, { minLength: 1, maxLength: 6 }) },
);

const BYTES = [
  0x00, 0x0a, 0x0d, 0x22, 0x2c, 0x3b, 0x09, 0x7c, 0xff, 0xfe, 0xc3, 0xe2, 0x80, 0xed, 0xef, 0xbb, 0x27, 0x3d,
];

export function damaged(bytes: Buffer, list: readonly Damage[]): Buffer {
  let result = bytes;
  for (const [how, where, what] of list) {
    const at = Math.min(result.length - 1, Math.floor(where * result.length));
    const odd = BYTES[what % BYTES.length] ?? 0;
    const [before, after] = [result.subarray(0, Math.max(0, at)), result.subarray(Math.max(0, at))];
    if (how === 0) result = Buffer.concat([before, Buffer.from([odd]), after]);
    else if (how === 1) result = Buffer.concat([before, Buffer.from([odd]), after.subarray(1)]);
    else if (how === 2) result = Buffer.concat([before, after.subarray(1 + (what % 20))]);
    else if (how === 3) result = Buffer.concat([before, after.subarray(0, what), after]);
    else if (how === 4) result = what < 64 ? before : result;
    else if (how === 5) result = Buffer.concat([before, Buffer.from([what]), after.subarray(1)]);
    else if (how === 6) result = what < 32 ? inEncoding(result, what) : result;
    else if (how === 7) result = Buffer.concat([before, Buffer.from('"'), after]);
    else result = Buffer.concat([before, Buffer.from(what % 2 === 0 ? '\r\n' : '\r'), after]);
  }
  return result;
}

function inEncoding(bytes: Buffer, which: number): Buffer {
  const text = bytes.toString('utf8');
  if (which % 4 === 0) return Buffer.from(text, 'latin1');
  const wide = Buffer.from(which % 4 === 1 ? `\uFEFF${text}` : text, 'utf16le');
  return which % 4 === 2 ? wide.swap16() : wide;
}

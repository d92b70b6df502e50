import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import type { Assessments } from '../../src/assessments/assessments.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import type { LoadOptions } from '../../src/assessments/load-options.ts';
import { kind, outcomeOf, same, withoutSecrets } from './kind.ts';
import {
  columnOrder,
  damaged,
  damages,
  extraColumn,
  layout,
  type MadeRow,
  madeRows,
  PULSE,
  pulseRows,
  recordsOf,
  textOf,
} from './made-table.ts';
import { referenceTable } from './reference-table.ts';
import { oddText, prototypeWord, secret } from './secrets.ts';

const folder = mkdtempSync(join(tmpdir(), 'fuzz-'));
process.once('exit', () => rmSync(folder, { recursive: true, force: true }));

export function fileOf(name: string, content: string | Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

export function saidBy(assessments: Assessments): void {
  withoutSecrets(`${assessments.toString()}\n${JSON.stringify(assessments.notes)}`);
}

export function sameAsMade(
  assessments: Assessments,
  rows: readonly MadeRow[],
  asRead = (cell: string): string => cell,
): void {
  const names = Object.keys(rows[0]?.expected ?? {});
  const readOf = <T>(cell: T): T | string => (typeof cell === 'string' ? asRead(cell) : cell);
  same(
    assessments.toRows().map((row) => names.map((name) => row[name as keyof typeof row])),
    rows.map(({ expected }) => names.map((name) => readOf(expected[name] ?? null))),
    'Loaded',
  );
}

const made = fc.record({
  rows: madeRows,
  columns: columnOrder,
  extra: fc.option(extraColumn, { nil: undefined }),
  form: layout,
});

/** Valid files: what is loaded is what was written, cell by cell, and comes back from its own export. */
const whole = kind('file: whole', 2, made, async ({ rows, columns, extra, form }) => {
  const path = fileOf('whole.csv', textOf(recordsOf(rows, columns, extra), form));
  const { value, refused } = await outcomeOf(() => loadAssessments(path, { delimiter: form.delimiter }));
  if (value === undefined) throw new Error(`Refused: ${refused.message}`);
  sameAsMade(value, rows, unescaped);
  saidBy(value);
  const csv = value.toCsv();
  const cells = referenceTable(csv, ',')?.flat() ?? [];
  if (cells.length === 0) throw new Error('The export is no table.');
  for (const cell of cells) noFormula(cell);
  const again = await loadAssessments({ text: csv });
  same(again.fingerprint(), value.fingerprint(), 'Loaded from its own export');
});

/** A cell that a spreadsheet would run; numbers with a sign are no formulas. */
export function noFormula(cell: string): void {
  if (
    /^[=@\t\r\n]/.test(cell) ||
    (/^[+-]/.test(cell) && !/^[+-](?:\d+[.,]?\d*|[.,]\d+|Infinity)(?:e[+-]?\d+)?$/i.test(cell))
  )
    throw new Error(`A formula on the way out: ${cell}`);
}

const broken = fc.record({
  rows: pulseRows,
  columns: fc.shuffledSubarray(['patient', 'assessor', 'method', 'occasion', 'day', 'value'], { minLength: 6 }),
  form: layout,
  list: damages,
  planted: fc.oneof({ weight: 7, arbitrary: fc.constant(undefined) }, { weight: 1, arbitrary: secret }),
});

/** Damaged files are refused, or were still a table and are loaded as that table, row by row. */
const file = kind('file: damaged', 8, broken, async ({ rows, columns, form, list, planted }) => {
  const records = recordsOf(rows, columns, planted === undefined ? undefined : { header: 'remark', cell: planted });
  const bytes = damaged(Buffer.from(textOf(records, form)), list);
  const path = fileOf('damaged.csv', bytes);
  const { value } = await outcomeOf(() => loadAssessments(path, { delimiter: form.delimiter, constants: PULSE }));
  if (value === undefined) return;
  saidBy(value);
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    throw new Error('Bytes that are no UTF-8 were loaded.');
  }
  const table = referenceTable(text, form.delimiter);
  if (table === undefined) throw new Error('What is no table was loaded.');
  const [header = [], ...lines] = table.map((record) => record.map((cell) => cell.trim()));
  const filled = lines.filter((line) => line.some((cell) => cell !== ''));
  // Nothing is lost with empty cells behind the last column.
  const isOther = (line: readonly string[]): boolean =>
    line.length < header.length || line.slice(header.length).some((cell) => cell !== '');
  if (lines.some(isOther)) throw new Error('Rows of other lengths were loaded.');
  if (value.length !== filled.length) throw new Error(`${value.length} rows loaded of ${filled.length}.`);
  const at = (name: string): number => header.findIndex((cell) => cell.toLowerCase() === name);
  value.toRows().forEach((row, index) => {
    for (const name of ['patient', 'assessor', 'method', 'occasion'] as const)
      if (at(name) >= 0) same(row[name] ?? '', unescaped(filled[index]?.[at(name)] ?? ''), name);
    const written = filled[index]?.[at('value')] ?? '';
    if (at('value') >= 0 && written !== '' && row.value === null && row.missing === null)
      throw new Error(`A value was lost: ${written}`);
    if (/^[0-3]$/.test(written)) same(row.value, written, 'value');
    const day = filled[index]?.[at('day')] ?? '';
    if (at('day') >= 0) same(row.day, day === '' ? null : Number(day.replace(',', '.')) + 0, 'day');
  });
});

/** The apostrophe that marks a text a spreadsheet would run is no part of it. */
export function unescaped(cell: string): string {
  return /^'+[=+\-@\t\r\n]/.test(cell) ? cell.slice(1) : cell;
}

const anything = fc.oneof(
  fc.string({ unit: 'binary', maxLength: 300 }),
  fc.uint8Array({ maxLength: 300 }).map((bytes) => Buffer.from(bytes)),
  fc.array(oddText, { maxLength: 20 }).map((cells) => cells.join(',')),
  fc
    .tuple(fc.constantFrom('patient', 'sign,value', 'a,a', '"'), fc.array(oddText))
    .map(([header, lines]) => [header, ...lines].join('\n')),
  fc
    .tuple(fc.constantFrom('"', 'a', ',', '\n', '[', '{"a":', ' '), fc.integer({ min: 1, max: 400_000 }))
    .map(([letter, count]) => letter.repeat(count)),
);

/** Anything at all as a file or a text. */
const noise = kind('file: noise', 4, fc.tuple(anything, fc.boolean()), async ([content, asText]) => {
  const source = asText ? { text: content.toString() } : fileOf('noise.csv', content);
  const { value } = await outcomeOf(() => loadAssessments(source));
  if (value !== undefined) saidBy(value);
});

const options: fc.Arbitrary<LoadOptions> = fc.record(
  {
    columns: fc.dictionary(
      fc.oneof(prototypeWord, fc.constantFrom('patient', 'value', 'method')),
      fc.oneof(prototypeWord, oddText, fc.constantFrom('patient', 'value', 'a')),
    ),
    constants: fc.dictionary(
      fc.oneof(prototypeWord, fc.constantFrom('patient', 'assessor', 'day', 'value', 'blinded', 'method', 'site')),
      fc.oneof(prototypeWord, oddText, secret, fc.double(), fc.boolean(), fc.maxSafeInteger()),
    ),
    scales: fc.dictionary(
      fc.oneof(prototypeWord, fc.constantFrom('pulse-grade', 'capillary-refill')),
      fc.oneof(prototypeWord, oddText, fc.constant('pulse.binary')),
    ),
    signs: fc.array(fc.oneof(prototypeWord, fc.constantFrom('pulse-grade', 'edema'))),
    notIdentifying: fc.array(fc.constantFrom('patient', 'value', 'day', 'method', 'assessor', 'site', 'blinded', 'a')),
  },
  { requiredKeys: [] },
) as fc.Arbitrary<LoadOptions>;

const cell = fc.oneof(
  { weight: 4, arbitrary: oddText },
  { weight: 1, arbitrary: secret },
  {
    weight: 1,
    arbitrary: fc.constantFrom('2', '0', 'left-leg', 'dorsalis-pedis', 'pulse-grade', 'pulse.0-3.normal2', '', ' '),
  },
  {
    weight: 1,
    arbitrary: fc.oneof(
      fc.double(),
      fc.maxSafeInteger(),
      fc.boolean(),
      fc.constantFrom(null, undefined, Number.NaN, Number.POSITIVE_INFINITY, -0, 5e-324, 1.7976931348623157e308),
      fc.bigInt(),
      fc.date({ noInvalidDate: false }),
      fc.constant(Symbol('s')),
      fc.func(fc.string()),
      fc.anything({ maxDepth: 3 }),
    ),
  },
);
const key = fc.oneof(
  prototypeWord,
  oddText,
  secret,
  fc.constantFrom(
    'patient',
    'assessor',
    'limb',
    'site',
    'sign',
    'scale',
    'value',
    'missing',
    'day',
    'blinded',
    'method',
  ),
);

/** A plain object with these keys as its own, also `__proto__`. */
export function objectOf(entries: readonly (readonly [string, unknown])[]): Record<string, unknown> {
  return Object.fromEntries(entries);
}

const junkRows = fc.array(fc.array(fc.tuple(key, cell), { maxLength: 8 }).map(objectOf), { maxLength: 4 });

const rowsNoise = kind('rows: noise', 60, fc.tuple(junkRows, options), async ([rows, given]) => {
  const { value } = await outcomeOf(() => loadAssessments({ rows }, given));
  if (value !== undefined) saidBy(value);
});

/** Valid rows with one cell of any kind in any column: refused, or that cell is loaded as it stands. */
const rowsSpoiled = kind(
  'rows: one cell spoiled',
  60,
  fc.tuple(
    made,
    fc.nat(7),
    fc.constantFrom(
      'patient',
      'assessor',
      'method',
      'day',
      'blinded',
      'value',
      'missing',
      'limb',
      'site',
      'sign',
      'scale',
    ),
    cell,
    fc.boolean(),
    fc.boolean(),
  ),
  async ([{ rows }, which, column, spoiled, isFrame, excepted]) => {
    const objects: Record<string, unknown>[] = rows.map(({ written }) => ({ ...written }));
    const at = which % objects.length;
    (objects[at] as Record<string, unknown>)[column] = spoiled;
    const columns = Object.keys(objects[0] ?? {});
    const source = isFrame
      ? { frame: { columns, values: objects.map((object) => columns.map((name) => object[name])) } }
      : { rows: objects };
    const { value } = await outcomeOf(() => loadAssessments(source, excepted ? { notIdentifying: [column] } : {}));
    if (value === undefined) return;
    if (!excepted) saidBy(value);
    same(value.length, rows.length, 'Rows');
    const loaded = value.toRows()[at];
    const isBlank =
      spoiled === null ||
      spoiled === undefined ||
      (isFrame && Number.isNaN(spoiled)) ||
      (typeof spoiled === 'string' && spoiled.trim() === '');
    if (!isBlank && typeof spoiled !== 'string' && typeof spoiled !== 'number' && typeof spoiled !== 'boolean')
      throw new Error('A cell of another kind was loaded.');
    const text = isBlank ? null : String(spoiled).trim();
    if (column === 'patient' || column === 'assessor' || column === 'method') same(loaded?.[column], text, column);
    else if (column === 'day') same(loaded?.day, text === null ? null : Number(text.replace(',', '.')) + 0, 'day');
    else if (column === 'blinded') {
      const flag =
        text === null
          ? null
          : /^(?:yes|y|true|1)$/i.test(text)
            ? true
            : /^(?:no|n|false|0)$/i.test(text)
              ? false
              : 'neither';
      same(loaded?.blinded, flag, 'blinded');
    } else if (column === 'value' && !isBlank && loaded?.value === null && loaded.missing === null)
      throw new Error(`A value was lost: ${text}`);
    else if (column === 'missing' && !isBlank && loaded?.missing === null) throw new Error('A reason was lost.');
    else if (['sign', 'scale'].includes(column) && !isBlank && loaded?.[column as 'sign'] === null)
      throw new Error(`${column} was lost.`);
    const others = rows.filter((_, index) => index !== at);
    const rest = value.rowsAt(Int32Array.from(rows.flatMap((_, index) => (index === at ? [] : [index]))));
    // A sign that is put in another's place may change what its neighbors' decimals mean; nothing else may.
    sameAsMade(rest, others);
  },
);

/** Valid rows: cell by cell, and a round trip through rows and text. */
const rowsWhole = kind('rows: whole', 30, made, async ({ rows, columns, extra }) => {
  const objects = rows.map(({ written }, at) =>
    objectOf([
      ...columns.map((name) => [name, written[name]] as const),
      // Not every object has every key.
      ...(extra === undefined || at % 2 === 1 ? [] : [[extra.header, extra.cell] as const]),
    ]),
  );
  const { value, refused } = await outcomeOf(() => loadAssessments({ rows: objects }));
  if (value === undefined) throw new Error(`Refused: ${refused.message}`);
  sameAsMade(value, rows);
  saidBy(value);
  for (const line of referenceTable(value.toCsv(), ',') ?? []) line.forEach(noFormula);
});

/** An identifier in any column is refused, and never said. */
const planted = kind(
  'rows: identifier planted',
  60,
  fc.tuple(
    made,
    secret,
    fc.nat(7),
    fc.constantFrom(
      'patient',
      'assessor',
      'method',
      'remark',
      'value',
      'site',
      'limb',
      'sign',
      'scale',
      'missing',
      'day',
      'blinded',
      'occasion',
    ),
    fc.boolean(),
  ),
  async ([{ rows }, word, which, column, asHeader]) => {
    const objects: Record<string, unknown>[] = rows.map(({ written }) => ({ ...written }));
    const object = objects[which % objects.length] as Record<string, unknown>;
    if (asHeader) object[word] = 'x';
    else object[column] = word;
    const { value, refused } = await outcomeOf(() => loadAssessments({ rows: objects }));
    if (value !== undefined) throw new Error('An identifier was loaded.');
    if (!refused.problems.some((problem) => problem.code.startsWith('identifier')))
      throw new Error(`Not seen as an identifier: ${refused.message}`);
  },
);

/** Numbers at limits: huge, tiny, exact halves, written in odd ways. */
const numbers = kind(
  'rows: numbers at limits',
  90,
  fc.tuple(
    fc.constantFrom('day', 'period', 'order', 'replicate', 'heldSeconds', 'angleDegrees', 'recordedLimit', 'value'),
    fc.oneof(
      fc.integer({ min: -5, max: 95 }),
      fc.integer({ min: 0, max: 5999 }).map((hundredths) => hundredths / 100),
      fc.double(),
      fc.constantFrom(
        '1e5',
        '١٢',
        '１２',
        '0x1F',
        '1_000',
        '--1',
        '+-1',
        '1.',
        '.5',
        '1,5',
        '1.5',
        '99999999999999999999',
        '-0',
        '00000000001',
        '1e999',
        '∞',
        'NaN',
        '½',
        '<',
        '<=',
        '><1',
        '1<',
        '1 000',
        '1.000,5',
        '3 cm',
        '3 xyz',
        '3 s s',
      ),
      fc.double({ noNaN: true, noDefaultInfinity: true }).map(String),
      fc
        .tuple(
          fc.constantFrom('l', 'right', 'L:', '1', '+', '<'),
          fc.constantFrom('<', '+', ' ', '.', '1', '>.'),
          fc.integer({ min: 1, max: 60_000 }),
        )
        .map(([start, letter, count]) => `${start}${letter.repeat(count)}!`),
    ),
  ),
  async ([column, number]) => {
    const row = {
      patient: 'Qz1',
      limb: 'right-leg',
      site: 'great-toe',
      sign: 'capillary-refill',
      scale: 'refill.seconds.toe',
      value: 2,
      [column]: number,
    };
    const { value } = await outcomeOf(() => loadAssessments({ rows: [row] }, { notIdentifying: [column] }));
    if (value === undefined) return;
    const read = column === 'value' ? value.number[0] : value[column as 'day'][0];
    const plain = String(number)
      .trim()
      .replace(/\s*s$/, '')
      .replace(/^[<>]=?\s*/, '')
      .replace(',', '.');
    if (!Object.is(read, Number(plain) + 0)) throw new Error(`${number} was read as ${read}.`);
  },
);

export const assessmentKinds = [whole, file, noise, rowsNoise, rowsSpoiled, rowsWhole, planted, numbers];

import fc from 'fast-check';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { readSheet } from '../../src/assessments/read-sheet.ts';
import { escaped, workbookParts, zipOf } from '../support/workbook-of.ts';
import { fileOf } from './assessment-kinds.ts';
import { kind, outcomeOf, same } from './kind.ts';
import { damaged, damages } from './made-table.ts';
import { oddText, prototypeWord, secret } from './secrets.ts';

function place(row: number, column: number): string {
  const letters =
    column < 26
      ? String.fromCharCode(65 + column)
      : `${String.fromCharCode(64 + Math.floor(column / 26))}${String.fromCharCode(65 + (column % 26))}`;
  return `${letters}${row + 1}`;
}

interface MadeCell {
  readonly xml: (place: string) => string;
  readonly expected: string;
}

const text = fc
  .oneof(oddText, prototypeWord)
  // What XML cannot hold is no text of a workbook.
  .map((word) => word.replaceAll(/[^\P{C}\n\t\r]|[\p{Surrogate}\ufffe\uffff]|_x[\da-f]{4}_/giu, '').trim())
  .filter((word) => word !== '' && !/[\r\n\t]/.test(word));

const cell: fc.Arbitrary<MadeCell> = fc.oneof(
  text.map((word) => ({
    xml: (at: string) => `<c r="${at}" t="inlineStr"><is><t xml:space="preserve">${escaped(word)}</t></is></c>`,
    expected: word,
  })),
  text.map((word) => ({
    xml: (at: string) => `<c r="${at}" t="str"><f>A1</f><v>${escaped(word)}</v></c>`,
    expected: word,
  })),
  fc
    .oneof(fc.integer(), fc.double({ noNaN: true, noDefaultInfinity: true }))
    .map((number) => ({ xml: (at: string) => `<c r="${at}"><v>${number}</v></c>`, expected: String(number + 0) })),
  fc
    .nat(5)
    .map((number) => ({ xml: (at: string) => `<c r="${at}"><f>B1</f><v>${number}</v></c>`, expected: String(number) })),
  fc
    .boolean()
    .map((yes) => ({ xml: (at: string) => `<c r="${at}" t="b"><v>${yes ? 1 : 0}</v></c>`, expected: String(yes) })),
  fc.integer({ min: 32_000, max: 50_000 }).map((day) => ({
    xml: (at: string) => `<c r="${at}" s="1"><v>${day}</v></c>`,
    // Days since the last of 1899, as spreadsheets count from March 1900 on.
    expected: new Date(Date.UTC(1899, 11, 30 + day)).toISOString().slice(0, 10),
  })),
  fc
    .constantFrom(-5, 3_000_000)
    .map((day) => ({ xml: (at: string) => `<c r="${at}" s="1"><v>${day}</v></c>`, expected: String(day) })),
  fc.constant({ xml: (at: string) => `<c r="${at}" s="1"/>`, expected: '' }),
  fc.constant({ xml: () => '', expected: '' }),
);
const grid = fc.array(fc.array(cell, { minLength: 1, maxLength: 5 }), { minLength: 1, maxLength: 6 });

function sheetData(rows: readonly (readonly MadeCell[])[]): string {
  return `<sheetData>${rows.map((row, r) => `<row r="${r + 1}">${row.map(({ xml }, c) => xml(place(r, c))).join('')}</row>`).join('')}</sheetData>`;
}

const around = fc.constantFrom(
  ['', ''],
  ['<dimension ref="A1"/>', ''],
  ['<dimension ref="A1:XFD1048576"/>', ''],
  ['<cols><col min="1" max="2147483647" width="9"/></cols>', ''],
  ['', '<hyperlinks><hyperlink ref="A1:XFD1048576" location="x"/></hyperlinks>'],
  ['', '<mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>'],
  ['', '<autoFilter ref="A1:XFD1048576"/>'],
  ['<sheetPr/><sheetViews><sheetView workbookViewId="0"/></sheetViews>', '<pageMargins left="1"/>'],
);

const sheetName = fc.oneof(
  fc.constant('Readings'),
  prototypeWord,
  secret,
  fc.constantFrom('=1', 'a&b', "it's", 'Sheet 2'),
);

/** Workbooks made by hand: each cell as its format says, whatever stands around the cells. */
const whole = kind(
  'workbook: whole',
  20,
  fc.tuple(grid, around, sheetName, fc.boolean(), fc.boolean(), fc.boolean()),
  async ([rows, [before = '', after = ''], name, stored, date1904, second]) => {
    const sheets = [
      { name, inner: `${before}${sheetData(rows)}${after}` },
      ...(second ? [{ name: `${name}2`, inner: '<sheetData/>' }] : []),
    ];
    const path = fileOf('whole.xlsx', zipOf(workbookParts(sheets, date1904), stored));
    const { value, refused } = await outcomeOf(() => readSheet(path));
    const expected = rows.map((row) => row.map((one) => dated(one.expected, date1904)));
    const filled = (table: readonly (readonly string[])[]): string[][] => {
      const lines = table.map((row) => withoutLast([...row], (word) => word === ''));
      return withoutLast(lines, (row) => row.length === 0);
    };
    if (value === undefined) {
      // The package cannot hold a sheet of this name.
      if (filled(expected).length > 0 && name !== '__proto__') throw new Error(`Refused: ${refused.message}`);
      return;
    }
    same(filled(value.rows), filled(expected), 'Read');
  },
);

function withoutLast<T>(list: T[], isEmpty: (item: T) => boolean): T[] {
  let length = list.length;
  while (length > 0 && isEmpty(list[length - 1] as T)) length--;
  return list.slice(0, length);
}

/** The other calendar of workbooks starts 1,462 days later. */
function dated(word: string, date1904: boolean): string {
  if (!date1904 || !/^\d{4}-\d{2}-\d{2}$/.test(word)) return word;
  return new Date(Date.parse(word) + 1462 * 86_400_000).toISOString().slice(0, 10);
}

/** Several sheets, some named as people are, some asked for by name. */
const several = kind(
  'workbook: several sheets',
  6,
  fc.tuple(fc.uniqueArray(sheetName, { minLength: 1, maxLength: 4 }), fc.option(sheetName, { nil: undefined }), grid),
  async ([names, wanted, rows]) => {
    const path = fileOf(
      'several.xlsx',
      zipOf(workbookParts(names.map((name, at) => ({ name, inner: at % 2 === 0 ? sheetData(rows) : '<sheetData/>' })))),
    );
    await outcomeOf(() => readSheet(path, wanted === undefined ? {} : { sheet: wanted }));
    await outcomeOf(() => loadAssessments(path));
  },
);

const tidy = zipOf(
  workbookParts([
    {
      name: 'Readings',
      inner: sheetData(
        [
          ['patient', 'limb', 'site', 'sign', 'scale', 'value'],
          ['Qz1', 'left-leg', 'dorsalis-pedis', 'pulse-grade', 'pulse.0-3.normal2', '2'],
          ['Qz2', 'left-leg', 'dorsalis-pedis', 'pulse-grade', 'pulse.0-3.normal2', '1'],
        ].map((row) =>
          row.map((word) => ({
            xml: (at: string) => `<c r="${at}" t="inlineStr"><is><t>${word}</t></is></c>`,
            expected: word,
          })),
        ),
      ),
    },
  ]),
);

/** Damaged in any byte: refused, or what was read is what was written. */
const broken = kind('workbook: damaged', 25, damages, async (list) => {
  const { value } = await outcomeOf(() => loadAssessments(fileOf('damaged.xlsx', damaged(tidy, list))));
  if (value !== undefined)
    same(
      value.toRows().map((row) => [row.patient, row.value]),
      [
        ['Qz1', '2'],
        ['Qz2', '1'],
      ],
      'Loaded',
    );
});

const oddXml = fc.oneof(
  fc.constantFrom(
    '',
    '<sheetData>',
    '<sheetData/>',
    '</sheetData>',
    '<sheetData><row><c><v>1</v></c></row></sheetData>',
    '<sheetData><row r="1"><c r="A1"><f>1+1</f></c></row></sheetData>',
    '<sheetData><row r="1"><c r="A1"><f>1+1</f><v></v></c></row></sheetData>',
    '<sheetData><row r="1"><c r="A1" t="s"><v>7</v></c></row></sheetData>',
    '<sheetData><row r="1048577"><c r="XFE1048577"><v>1</v></c></row></sheetData>',
    '<sheetData><row r="999999999"><c r="A999999999"><v>1</v></c></row></sheetData>',
    '<sheetData><row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>',
    '<sheetData><row r="0"><c r="A0"><v>1</v></c></row></sheetData>',
    '<sheetData><row r="-1"><c r="ZZZZZZ1"><v>1</v></c></row></sheetData>',
    '<sheetData><row r="1"><c r="A1" s="99"><v>1</v></c><c r="B1" t="e"><v>#DIV/0!</v></c><c r="C1" t="d"><v>2026-03-01</v></c></row></sheetData>',
    '<sheetData><row r="1"><c r="__proto__" t="inlineStr"><is><t>x</t></is></c></row></sheetData>',
    '<sheetData><row r="1"><c r="A1"><f t="array" ref="A1:XFD1048576">1</f><v>1</v></c></row></sheetData>',
    '<sheetData><row r="1"><c r="A1"><f t="shared" ref="A1:XFD1048576" si="0">1</f></c></row></sheetData>',
    '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>&b;</t></is></c></row></sheetData>',
  ),
  fc
    .tuple(fc.constantFrom('<row>', '<c>', '<is>', '<', '<sheetData>', '<f>', '<r><t>', '&amp;'), fc.nat(3000))
    .map(([tag, count]) => `<sheetData>${tag.repeat(count)}</sheetData>`),
  fc
    .string({ maxLength: 100 })
    .map((word) => `<sheetData><row r="1"><c r="A1" t="str"><v>${word}</v></c></row></sheetData>`),
);

const odd = kind(
  'workbook: odd parts',
  15,
  fc.tuple(
    oddXml,
    fc.constantFrom('none', 'workbook', 'rels', 'types', 'strings', 'sheet'),
    fc.string({ maxLength: 60 }),
  ),
  async ([inner, which, other]) => {
    const parts = workbookParts([{ name: 'Readings', inner }]).map((part) =>
      part.name.includes(which === 'types' ? 'Content_Types' : which === 'sheet' ? 'sheet1.xml' : which)
        ? { ...part, content: Buffer.from(other) }
        : part,
    );
    if (which === 'strings') parts.push({ name: 'xl/sharedStrings.xml', content: Buffer.from(other) });
    const path = fileOf('odd.xlsx', zipOf(parts));
    const { value } = await outcomeOf(() => readSheet(path));
    if (value !== undefined && inner.includes('<f>1+1</f>') && which === 'none')
      throw new Error('A formula without a result was read as a number.');
  },
);

const row = '<row r="1"><c r="A1"><v>1</v></c></row>';
const made = new Map<string, Buffer>();
/** Made when first asked for: they are long. */
function filledWith(letters: string, length: number): Buffer {
  const key = `${letters}${length}`;
  const known = made.get(key) ?? Buffer.alloc(length, letters);
  made.set(key, known);
  return known;
}

/** A few bytes that unpack to gigabytes, and lists that lead astray. */
const bombs = kind(
  'workbook: bombs',
  0.3,
  fc.tuple(
    fc.constantFrom('long', 'many', 'lying', 'text', 'nested', 'twice', 'outside'),
    fc.integer({ min: 35, max: 900 }),
  ),
  async ([how, count]) => {
    const parts: { name: string; content: Buffer; claims?: number }[] = workbookParts([
      { name: 'Readings', inner: '<sheetData/>' },
    ]);
    const sheet = 'xl/worksheets/sheet1.xml';
    const last = parts.length - 1;
    if (how === 'long') parts[last] = { name: sheet, content: filledWith(row, 120_000_000) };
    if (how === 'many')
      for (let at = 0; at < count; at++)
        parts.push({ name: `xl/worksheets/sheet${at + 2}.xml`, content: filledWith(row, 3_000_000) });
    if (how === 'lying') parts[last] = { name: sheet, content: filledWith(row, 120_000_000), claims: count };
    if (how === 'text') parts.push({ name: 'xl/sharedStrings.xml', content: filledWith(' ', 110_000_000) });
    if (how === 'nested') parts.push({ name: 'xl/media/inner.zip', content: filledWith(' ', 110_000_000) });
    if (how === 'twice') parts.push(parts[last] as (typeof parts)[number]);
    const bytes = zipOf(parts);
    if (how === 'outside') bytes.writeUInt32LE(0x7fffffff, bytes.length - 6);
    const { refused } = await outcomeOf(() => readSheet(fileOf('bomb.xlsx', bytes)));
    const codes = ['file-too-large', 'file-empty', 'file-format'];
    const expected = ['long', 'many', 'text', 'lying'].includes(how) ? 0 : how === 'nested' ? 1 : 2;
    same(refused?.problems[0]?.code, codes[expected], how);
  },
);

export const workbookKinds = [whole, several, broken, odd, bombs];

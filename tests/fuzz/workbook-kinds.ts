import { crc32, deflateRawSync } from 'node:zlib';
import fc from 'fast-check';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { readSheet } from '../../src/assessments/read-sheet.ts';
import { fileOf } from './assessment-kinds.ts';
import { kind, outcomeOf, same } from './kind.ts';
import { damaged, damages } from './made-table.ts';
import { oddText, prototypeWord, secret } from './secrets.ts';

/** A ZIP file made by hand, so that it can also be made wrong. `claims`: what it says of a part's length. */
function zip(
  parts: readonly { readonly name: string; readonly content: Buffer; readonly claims?: number }[],
  stored = false,
): Buffer {
  const files: Buffer[] = [];
  const directory: Buffer[] = [];
  let place = 0;
  for (const { name, content, claims } of parts) {
    const { packed, checksum } = packedOnce(content, stored);
    const fields = Buffer.alloc(26);
    fields.writeUInt16LE(20, 0);
    fields.writeUInt16LE(0x0800, 2);
    fields.writeUInt16LE(stored ? 0 : 8, 4);
    fields.writeUInt32LE(checksum, 10);
    fields.writeUInt32LE(packed.length, 14);
    fields.writeUInt32LE(claims ?? content.length, 18);
    fields.writeUInt16LE(Buffer.byteLength(name), 22);
    const own = Buffer.concat([Buffer.from('PK\u0003\u0004', 'latin1'), fields, Buffer.from(name), packed]);
    const rest = Buffer.alloc(14);
    rest.writeUInt32LE(place, 10);
    directory.push(Buffer.from('PK\u0001\u0002\u0014\u0000', 'latin1'), fields, rest, Buffer.from(name));
    files.push(own);
    place += own.length;
  }
  const list = Buffer.concat(directory);
  const end = Buffer.alloc(18);
  end.writeUInt16LE(parts.length, 4);
  end.writeUInt16LE(parts.length, 6);
  end.writeUInt32LE(list.length, 8);
  end.writeUInt32LE(place, 12);
  return Buffer.concat([...files, list, Buffer.from('PK\u0005\u0006', 'latin1'), end]);
}

const long = new Map<Buffer, { readonly packed: Buffer; readonly checksum: number }>();

/** Packing a long part takes longer than reading it. */
function packedOnce(content: Buffer, stored: boolean): { readonly packed: Buffer; readonly checksum: number } {
  const known = long.get(content);
  if (known !== undefined && !stored) return known;
  const packed = { packed: stored ? content : deflateRawSync(content), checksum: crc32(content) };
  if (content.length > 1_000_000 && !stored) long.set(content, packed);
  return packed;
}

const MAIN = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main';
const LINKS = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';
const PACKAGE = 'http://schemas.openxmlformats.org/package/2006';

interface MadeSheet {
  readonly name: string;
  /** What stands in the sheet, between its first tag and its last. */
  readonly inner: string;
}

function escaped(text: string): string {
  return text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replaceAll('\r', '&#13;');
}

/** The parts of a workbook. Format 1 is a date. */
function partsOf(sheets: readonly MadeSheet[], date1904 = false): { name: string; content: Buffer }[] {
  const xml = (name: string, text: string): { name: string; content: Buffer } => ({
    name,
    content: Buffer.from(`<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n${text}`),
  });
  const kinds = 'application/vnd.openxmlformats-officedocument.spreadsheetml';
  return [
    xml(
      '[Content_Types].xml',
      `<Types xmlns="${PACKAGE}/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="${kinds}.sheet.main+xml"/><Override PartName="/xl/styles.xml" ContentType="${kinds}.styles+xml"/>${sheets.map((_, at) => `<Override PartName="/xl/worksheets/sheet${at + 1}.xml" ContentType="${kinds}.worksheet+xml"/>`).join('')}</Types>`,
    ),
    xml(
      '_rels/.rels',
      `<Relationships xmlns="${PACKAGE}/relationships"><Relationship Id="r1" Type="${LINKS}/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
    ),
    xml(
      'xl/workbook.xml',
      `<workbook xmlns="${MAIN}" xmlns:r="${LINKS}"><workbookPr${date1904 ? ' date1904="1"' : ''}/><sheets>${sheets.map(({ name }, at) => `<sheet name="${escaped(name)}" sheetId="${at + 1}" r:id="r${at + 1}"/>`).join('')}</sheets></workbook>`,
    ),
    xml(
      'xl/_rels/workbook.xml.rels',
      `<Relationships xmlns="${PACKAGE}/relationships">${sheets.map((_, at) => `<Relationship Id="r${at + 1}" Type="${LINKS}/worksheet" Target="worksheets/sheet${at + 1}.xml"/>`).join('')}<Relationship Id="styles" Type="${LINKS}/styles" Target="styles.xml"/></Relationships>`,
    ),
    xml(
      'xl/styles.xml',
      `<styleSheet xmlns="${MAIN}"><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="14" applyNumberFormat="1"/></cellXfs></styleSheet>`,
    ),
    ...sheets.map(({ inner }, at) =>
      xml(`xl/worksheets/sheet${at + 1}.xml`, `<worksheet xmlns="${MAIN}">${inner}</worksheet>`),
    ),
  ];
}

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
  60,
  fc.tuple(grid, around, sheetName, fc.boolean(), fc.boolean(), fc.boolean()),
  async ([rows, [before = '', after = ''], name, stored, date1904, second]) => {
    const sheets = [
      { name, inner: `${before}${sheetData(rows)}${after}` },
      ...(second ? [{ name: `${name}2`, inner: '<sheetData/>' }] : []),
    ];
    const path = fileOf('whole.xlsx', zip(partsOf(sheets, date1904), stored));
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
  30,
  fc.tuple(fc.uniqueArray(sheetName, { minLength: 1, maxLength: 4 }), fc.option(sheetName, { nil: undefined }), grid),
  async ([names, wanted, rows]) => {
    const path = fileOf(
      'several.xlsx',
      zip(partsOf(names.map((name, at) => ({ name, inner: at % 2 === 0 ? sheetData(rows) : '<sheetData/>' })))),
    );
    await outcomeOf(() => readSheet(path, wanted === undefined ? {} : { sheet: wanted }));
    await outcomeOf(() => loadAssessments(path));
  },
);

const tidy = zip(
  partsOf([
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
const broken = kind('workbook: damaged', 90, damages, async (list) => {
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
  60,
  fc.tuple(
    oddXml,
    fc.constantFrom('none', 'workbook', 'rels', 'types', 'strings', 'sheet'),
    fc.string({ maxLength: 60 }),
  ),
  async ([inner, which, other]) => {
    const parts = partsOf([{ name: 'Readings', inner }]).map((part) =>
      part.name.includes(which === 'types' ? 'Content_Types' : which === 'sheet' ? 'sheet1.xml' : which)
        ? { ...part, content: Buffer.from(other) }
        : part,
    );
    if (which === 'strings') parts.push({ name: 'xl/sharedStrings.xml', content: Buffer.from(other) });
    const path = fileOf('odd.xlsx', zip(parts));
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
  2,
  fc.tuple(
    fc.constantFrom('long', 'many', 'lying', 'text', 'nested', 'twice', 'outside'),
    fc.integer({ min: 35, max: 900 }),
  ),
  async ([how, count]) => {
    const parts: { name: string; content: Buffer; claims?: number }[] = partsOf([
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
    const bytes = zip(parts);
    if (how === 'outside') bytes.writeUInt32LE(0x7fffffff, bytes.length - 6);
    const { refused } = await outcomeOf(() => readSheet(fileOf('bomb.xlsx', bytes)));
    const codes = ['file-too-large', 'file-empty', 'file-format'];
    const expected = ['long', 'many', 'text', 'lying'].includes(how) ? 0 : how === 'nested' ? 1 : 2;
    same(refused?.problems[0]?.code, codes[expected], how);
  },
);

export const workbookKinds = [whole, several, broken, odd, bombs];

import { crc32, deflateRawSync } from 'node:zlib';

/** A ZIP file made by hand, so that it can also be made wrong. `claims`: what it says of a part's length. */
export function zipOf(
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

export interface MadeSheet {
  readonly name: string;
  /** What stands in the sheet, between its first tag and its last. */
  readonly inner: string;
}

export function escaped(text: string): string {
  return text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replaceAll('\r', '&#13;');
}

/** The parts of a workbook. Format 1 is a date. */
export function workbookParts(sheets: readonly MadeSheet[], date1904 = false): { name: string; content: Buffer }[] {
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

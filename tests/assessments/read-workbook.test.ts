import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { readSheet } from '../../src/assessments/read-sheet.ts';
import { InputError } from '../../src/shared/input-error.ts';
import { workbookParts, zipOf } from '../support/workbook-of.ts';

let folder = '';
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'workbook-test-'));
});
afterAll(() => rm(folder, { recursive: true }));

async function read(bytes: Buffer): Promise<readonly (readonly string[])[] | readonly string[]> {
  const path = join(folder, 'book.xlsx');
  await writeFile(path, bytes);
  try {
    return (await readSheet(path)).rows;
  } catch (error) {
    if (error instanceof InputError) return error.problems.map(({ row, code }) => `${row ?? '-'} ${code}`);
    throw error;
  }
}

const book = (inner: string, date1904 = false): Buffer => zipOf(workbookParts([{ name: 'Readings', inner }], date1904));

const cells = (...list: string[]): string =>
  `<sheetData>${list.map((cell, row) => `<row r="${row + 1}">${cell.replaceAll('@', String(row + 1))}</row>`).join('')}</sheetData>`;

test('a formula whose result was not saved is refused, not read as 0; a saved 0 is 0', async () => {
  expect(await read(book(cells('<c r="A@"><f>B1-B1</f><v>0</v></c>', '<c r="A@"><f>B2+1</f></c>')))).toEqual([
    '2 formula-without-result',
  ]);
  expect(await read(book(cells('<c r="A@"><f>B1-B1</f><v>0</v></c>')))).toEqual([['0']]);
});

test('cells outside what the sheet says of its extent are read; what it says is not believed', async () => {
  const two = cells('<c r="A@"><v>1</v></c>', '<c r="B@"><v>2</v></c>');
  expect(await read(book(`<dimension ref="A1"/>${two}`))).toEqual([
    ['1', ''],
    ['', '2'],
  ]);
  expect(await read(book(`<dimension ref="A1:XFD1048576"/>${two}`))).toEqual([
    ['1', ''],
    ['', '2'],
  ]);
});

test('a link or column format over a whole sheet makes no cells', async () => {
  const inner = `<cols><col min="1" max="2147483647"/></cols>${cells('<c r="A@"><v>1</v></c>')}<hyperlinks><hyperlink ref="A1:XFD1048576" location="x"/></hyperlinks>`;
  expect(await read(book(inner))).toEqual([['1']]);
});

test.each([
  ['far down', '<row r="999999999"><c r="A999999999"><v>1</v></c></row>'],
  ['in the last corner', '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'],
  ['far right', '<row r="3"><c r="XFD3"><v>1</v></c></row>'],
])('a stray cell %s is refused at once', async (_, row) => {
  const inner = `<sheetData><row r="1"><c r="A1"><v>1</v></c></row>${row}</sheetData>`;
  expect(await read(book(inner))).toEqual(['- file-too-large']);
});

test('dates by either calendar of workbooks, and a number that is no day stays a number', async () => {
  const dates = cells('<c r="A@" s="1"><v>45000</v></c>', '<c r="A@" s="1"><v>-5</v></c>');
  // Day 45,000 counted from the last of 1899, and from the first of 1904 (ECMA-376, 18.17.4.1).
  expect(await read(book(dates))).toEqual([['2023-03-15'], ['-5']]);
  expect(await read(book(dates, true))).toEqual([['2027-03-16'], ['-5']]);
});

test('marks of XML in the text of a formula are taken off once', async () => {
  expect(await read(book(cells('<c r="A@" t="str"><f>B1</f><v>&amp;lt;2 &amp; more</v></c>')))).toEqual([
    ['&lt;2 & more'],
  ]);
});

test('one changed byte of a part is seen by its checksum', async () => {
  const sheet = cells('<c r="A@"><v>1</v></c>');
  const parts = workbookParts([{ name: 'Readings', inner: sheet }]);
  const bytes = zipOf(parts, true);
  const at = bytes.indexOf('<v>1</v>') + 3;
  bytes[at] = '2'.charCodeAt(0);
  expect(await read(bytes)).toEqual(['- file-format']);
});

test('a small file that unpacks to more than is allowed, or lies about it, is refused', async () => {
  const parts = workbookParts([{ name: 'Readings', inner: '<sheetData/>' }]);
  const content = Buffer.alloc(101_000_000, 32);
  const honest = zipOf([...parts, { name: 'xl/sharedStrings.xml', content }]);
  expect(honest.length).toBeLessThan(200_000);
  expect(await read(honest)).toEqual(['- file-too-large']);
  expect(await read(zipOf([...parts, { name: 'xl/sharedStrings.xml', content, claims: 100 }]))).toEqual([
    '- file-too-large',
  ]);
  // What is not read, such as pictures, may be as large as it likes.
  expect(await read(zipOf([...parts, { name: 'xl/media/picture.png', content }]))).toEqual(['- file-empty']);
});

test('a sheet named after a patient is not named in the question which sheet', async () => {
  const inner = cells('<c r="A@"><v>1</v></c>');
  const path = join(folder, 'two.xlsx');
  await writeFile(
    path,
    zipOf(
      workbookParts([
        { name: 'Jane Doe', inner },
        { name: 'May', inner },
      ]),
    ),
  );
  const error: unknown = await readSheet(path).catch((reason: unknown) => reason);
  expect((error as InputError).problems[0]?.expected).toBe(
    'one of "May", 1 whose names have the form of an identifier',
  );
});

test('an old workbook is called so', async () => {
  expect(await read(Buffer.from([0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1, 0, 0]))).toEqual(['- file-format']);
});

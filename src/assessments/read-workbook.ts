import type { WorkBook, WorkSheet } from '@e965/xlsx';
import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { ruleOfFileName } from './guard-file-name.js';
import type { Sheet } from './read-sheet.js';
import { checkExtent, LARGEST_SHEET, tooLarge } from './sheet-limits.js';
import { UnpackError, unpack } from './unpack.js';

/**
 * The texts of one sheet of a workbook (xlsx, xlsm) by row and column. Only names of sheets, cells and their formats are
 * handed to the package that reads them: no links, comments, drawings or ranges that a few bytes can make vast.
 *
 * Throws `InputError`: `file-format`, `file-too-large`, `several-sheets`, `no-such-sheet`, `file-empty`, `formula-without-result`
 */
export async function readWorkbook(bytes: Buffer, wanted: string | undefined): Promise<Omit<Sheet, 'name'>> {
  const { CFB, read, SSF } = await import('@e965/xlsx');
  const parts = partsOf(bytes);
  const repacked = CFB.utils.cfb_new();
  for (const [name, part] of parts) CFB.utils.cfb_add(repacked, `/${name}`, part);
  const packed = CFB.write(repacked, { fileType: 'zip', type: 'buffer' }) as Buffer;
  const readCells = (sheetStubs: boolean): WorkBook => {
    try {
      return read(packed, { type: 'buffer', dense: true, cellNF: true, cellText: false, cellHTML: false, sheetStubs });
    } catch {
      throw unreadable();
    }
  };
  const book = readCells(false);
  const sheet = chooseSheet(book, wanted);
  const { date1904 } = book.Workbook?.WBProps ?? {};
  const cells = rowsOf(sheet);
  // A single cell far down makes the list of rows as long as that, and going through it endless.
  checkExtent(cells.length, 1);
  const widest = cells.reduce((most, row) => Math.max(most, row?.length ?? 0), 0);
  checkExtent(cells.length, widest);
  // The package leaves out a formula whose result was not saved, unless empty cells are asked for.
  if ([...parts].some(([name, part]) => SHEET.test(name) && (part.includes('<f') || part.includes(':f')))) {
    const unsaved: Problem[] = [];
    for (const [r, row] of rowsOf(sheetOf(readCells(true), nameOf(book, sheet))).entries())
      for (const cell of row ?? []) if (cell?.t === 'z' && cell.f !== undefined) unsaved.push(unsavedFormula(r + 1));
    if (unsaved.length > 0) throw new InputError(unsaved);
  }
  const rows = Array.from(cells, (row) =>
    Array.from({ length: widest }, (_, c) => cellText(row?.[c], SSF, date1904 === true)),
  );
  const merges = (sheet['!merges'] ?? []).map(({ s: from, e: to }) => ({
    top: from.r,
    left: from.c,
    // A merged cell may reach beyond what is filled, to the end of the sheet.
    bottom: Math.min(to.r, rows.length - 1),
    right: to.c,
  }));
  return { rows, ...(merges.length === 0 ? {} : { merges }) };
}

/** The parts of the workbook that hold names, cells and formats; of a sheet only its cells. */
function partsOf(bytes: Buffer): ReadonlyMap<string, Buffer> {
  let parts: ReadonlyMap<string, Buffer>;
  try {
    parts = unpack(bytes, LARGEST_SHEET, (name) => WANTED.test(name) && !UNWANTED.test(name));
  } catch (error) {
    if (!(error instanceof UnpackError)) throw error;
    if (error.reason === 'too-large')
      throw tooLarge('Unpacked, the workbook is too large.', `at most ${LARGEST_SHEET / 1_000_000} MB`);
    throw unreadable();
  }
  return new Map([...parts].map(([name, part]) => [name, SHEET.test(name) ? onlyCells(part) : part]));
}

const SHEET = /worksheets\//i;
const WANTED = /^(?:\[Content_Types\]\.xml|_rels\/\.rels|xl\/.*\.(?:xml|rels))$/i;
const UNWANTED =
  /(?:worksheets|chartsheets)\/_rels|\/(?:media|drawings|charts|externalLinks|pivot\w*|theme|tables)\/|comments/i;

const MERGES = /<(?:\w+:)?mergeCells\b[^>]*>[\s\S]*?<\/(?:\w+:)?mergeCells>/;

/** A sheet without what stands before and after its cells, but for which cells are merged. The package's pattern of the whole is the same. */
function onlyCells(part: Buffer): Buffer {
  const start = part.indexOf('sheetData');
  const end = part.lastIndexOf('sheetData>');
  if (start < 0 || end <= start) return Buffer.from('<worksheet><sheetData></sheetData></worksheet>');
  const open = part.lastIndexOf('<', start);
  const cells = part.toString('latin1', open, end + 'sheetData>'.length);
  // The package takes the marks of XML off the text of a formula twice, so they are put on once more.
  const marked = cells.replaceAll(/<(?:\w+:)?v>[^<]*&amp;[^<]*</g, (value) => value.replaceAll('&amp;', '&amp;amp;'));
  const merges = MERGES.exec(part.toString('latin1', end))?.[0] ?? '';
  return Buffer.from(`<worksheet>${marked}${merges}</worksheet>`, 'latin1');
}

interface WorkbookCell {
  /** n number, s text, b yes or no, e error, d date, z empty. */
  readonly t: string;
  readonly v?: unknown;
  readonly w?: string;
  /** Number format. */
  readonly z?: string | number;
  readonly f?: string;
}

type CellRows = readonly (readonly (WorkbookCell | undefined)[] | undefined)[];

function rowsOf(sheet: WorkSheet | undefined): CellRows {
  return ((sheet as { '!data'?: CellRows } | undefined)?.['!data'] ?? []) as CellRows;
}

function sheetOf(book: WorkBook, name: string): WorkSheet | undefined {
  return Object.hasOwn(book.Sheets, name) ? book.Sheets[name] : undefined;
}

function nameOf(book: WorkBook, sheet: WorkSheet): string {
  return book.SheetNames.find((name) => sheetOf(book, name) === sheet) ?? '';
}

function chooseSheet(book: WorkBook, wanted: string | undefined): WorkSheet {
  // The package passes over a sheet that it cannot read. Sheets of charts and macros it leaves out, too.
  const kinds = (book as { Directory?: Record<string, unknown[]> }).Directory ?? {};
  const others = ['charts', 'macros', 'dialogs'].reduce((sum, kind) => sum + (kinds[kind]?.length ?? 0), 0);
  const absent = book.SheetNames.filter((name) => sheetOf(book, name) === undefined);
  if (absent.length > others || new Set(book.SheetNames).size < book.SheetNames.length) throw unreadable();
  const filled = book.SheetNames.filter((name) => rowsOf(sheetOf(book, name)).length > 0);
  if (wanted !== undefined && !book.SheetNames.includes(wanted))
    throw sheetProblem('no-such-sheet', 'The workbook has no sheet of that name.', filled);
  if (wanted === undefined && filled.length > 1)
    throw sheetProblem('several-sheets', `The workbook has ${filled.length} sheets with something in them.`, filled);
  const sheet = sheetOf(book, wanted ?? filled[0] ?? '');
  if (sheet === undefined || rowsOf(sheet).length === 0)
    throw refuse('file-empty', ['source'], 'The workbook is empty.', 'give a sheet with a header line and readings.');
  return sheet;
}

interface NumberFormats {
  is_date(format: string): boolean;
  format(format: string, value: number, options: { readonly date1904: boolean }): string;
}

function cellText(cell: WorkbookCell | undefined, formats: NumberFormats, date1904: boolean): string {
  if (cell === undefined || cell.v === undefined || cell.v === null) return '';
  if (cell.v instanceof Date) return cell.v.toISOString().slice(0, 10);
  if (cell.t === 'n' && typeof cell.v === 'number') {
    const format = typeof cell.z === 'string' ? cell.z : '';
    // A spreadsheet may have made a date of a reading such as 2/3: it must be seen as a date, not as its number.
    const date = format !== '' && formats.is_date(format) ? formats.format('yyyy-mm-dd', cell.v, { date1904 }) : '';
    // A number that is no day of the calendar stays what it is.
    return date === '' ? String(cell.v) : date;
  }
  if (cell.t === 'e') return cell.w ?? '#N/A';
  return String(cell.v).trim();
}

function unreadable(): InputError {
  return refuse(
    'file-format',
    ['source'],
    'The file is packed, but it is no workbook that can be read: not xlsx, damaged, or protected with a password.',
    'save it again as xlsx without a password, or as "CSV UTF-8".',
  );
}

function unsavedFormula(row: number): Problem {
  return {
    code: 'formula-without-result',
    row,
    message: 'A cell holds a formula whose result was not saved.',
    mend: 'open the workbook in a spreadsheet, let it calculate, and save it again.',
  };
}

/** A workbook may have a sheet for each patient, named after the patient. */
function sheetProblem(code: string, message: string, names: readonly string[]): InputError {
  const shown = names.filter((name) => ruleOfFileName(name) === undefined).map((name) => `"${name}"`);
  const hidden = names.length - shown.length;
  if (hidden > 0) shown.push(`${hidden} whose names have the form of an identifier`);
  return new InputError([
    {
      code,
      path: ['sheet'],
      message,
      expected: `one of ${shown.join(', ')}`,
      mend: 'name the one that is meant, as in "sheet": "its name".',
    },
  ]);
}

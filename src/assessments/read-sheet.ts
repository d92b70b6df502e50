import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { InputError, refuse } from '../shared/input-error.js';
import { commonestDelimiter, type Delimiter, firstRecord, parseRecords } from './parse-delimited.js';
import { checkFormat, isPacked } from './read-delimited.js';

/** A sheet as it stands: texts by row and column, row 1 of the spreadsheet being `rows[0]`. Dates are written 2026-03-01. */
export interface Sheet {
  readonly name?: string;
  readonly rows: readonly (readonly string[])[];
}

export interface ReadSheetOptions {
  /** The name of a sheet in a workbook. Needed where it has several with something in them. */
  readonly sheet?: string;
  readonly delimiter?: Delimiter;
}

/**
 * Reads a sheet of a workbook (xlsx, by the package @e965/xlsx) or a small text file, cell by cell and without
 * understanding anything. A cell that the workbook formats as a date becomes a date in text, whatever it was meant to be.
 *
 * @throws InputError `file-not-found`, `file-empty`, `file-format`, `file-encoding`, `several-sheets`, `no-such-sheet`
 */
export async function readSheet(
  source: string | { readonly text: string },
  options: ReadSheetOptions = {},
): Promise<Sheet> {
  if (typeof source !== 'string') return { rows: rowsOfText(source.text, options.delimiter) };
  const name = basename(source);
  const bytes = await readFile(source).catch(() => undefined);
  if (bytes === undefined)
    throw refuse(
      'file-not-found',
      ['source'],
      'There is no such file.',
      'check the path; it counts from the folder in which the program runs.',
    );
  if (isPacked(bytes)) return { name, rows: await rowsOfWorkbook(bytes, options.sheet) };
  checkFormat(bytes.subarray(0, 262_144));
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw refuse(
      'file-encoding',
      ['source'],
      'The file is not in UTF-8 (it may be Latin-1 or Windows-1252).',
      'save it again as "CSV UTF-8".',
    );
  }
  return { name, rows: rowsOfText(text, options.delimiter) };
}

function rowsOfText(text: string, delimiter: Delimiter | undefined): string[][] {
  const plain = text.replace(/^\ufeff/, '');
  // The line with the most cells tells the delimiter: titles above the table have none.
  const head = plain.slice(0, 20_000).split(/\r\n|\n|\r/);
  const widest = head.reduce(
    (best, line) => (line.split(/[,;\t|]/).length > best.split(/[,;\t|]/).length ? line : best),
    '',
  );
  const chosen = delimiter ?? commonestDelimiter(widest === '' ? firstRecord(plain) : widest);
  return parseRecords(plain, chosen).map((cells) => cells.map((cell) => cell.trim()));
}

async function rowsOfWorkbook(bytes: Uint8Array, wanted: string | undefined): Promise<string[][]> {
  const { read, utils, SSF } = await import('@e965/xlsx');
  let book: ReturnType<typeof read>;
  try {
    book = read(bytes, { type: 'buffer', cellNF: true, cellText: false, cellHTML: false });
  } catch {
    throw refuse(
      'file-format',
      ['source'],
      'The file is packed, but it is no workbook that can be read.',
      'save it as xlsx or as "CSV UTF-8".',
    );
  }
  const filled = book.SheetNames.filter((name) => book.Sheets[name]?.['!ref'] !== undefined);
  if (wanted !== undefined && !book.SheetNames.includes(wanted))
    throw sheetProblem('no-such-sheet', 'The workbook has no sheet of that name.', filled);
  if (wanted === undefined && filled.length > 1)
    throw sheetProblem('several-sheets', `The workbook has ${filled.length} sheets with something in them.`, filled);
  const sheet = book.Sheets[wanted ?? filled[0] ?? ''];
  const extent = sheet?.['!ref'];
  if (sheet === undefined || extent === undefined)
    throw refuse('file-empty', ['source'], 'The workbook is empty.', 'give a sheet with a header line and readings.');
  const { e: end } = utils.decode_range(extent);
  return Array.from({ length: end.r + 1 }, (_, r) =>
    Array.from({ length: end.c + 1 }, (_, c) =>
      cellText(sheet[utils.encode_cell({ r, c })] as WorkbookCell | undefined, SSF),
    ),
  );
}

interface WorkbookCell {
  /** n number, s text, b yes or no, e error, d date, z empty. */
  readonly t: string;
  readonly v?: unknown;
  readonly w?: string;
  /** Number format. */
  readonly z?: string | number;
}

interface NumberFormats {
  is_date(format: string): boolean;
  format(format: string, value: number): string;
}

function cellText(cell: WorkbookCell | undefined, formats: NumberFormats): string {
  if (cell === undefined || cell.v === undefined || cell.v === null) return '';
  if (cell.v instanceof Date) return cell.v.toISOString().slice(0, 10);
  if (cell.t === 'n' && typeof cell.v === 'number') {
    const format = typeof cell.z === 'string' ? cell.z : '';
    // A spreadsheet may have made a date of a reading such as 2/3: it must be seen as a date, not as its number.
    return format !== '' && formats.is_date(format) ? formats.format('yyyy-mm-dd', cell.v) : String(cell.v);
  }
  if (cell.t === 'e') return cell.w ?? '#N/A';
  return String(cell.v).trim();
}

function sheetProblem(code: string, message: string, names: readonly string[]): InputError {
  return new InputError([
    {
      code,
      path: ['layout', 'sheet'],
      message,
      expected: `one of ${names.map((name) => `"${name}"`).join(', ')}`,
      mend: 'name it in the layout, as in { "sheet": "its name" }.',
    },
  ]);
}

import { readFile, stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { withoutMark } from '../shared/csv-cell.js';
import { refuse } from '../shared/input-error.js';
import { guardFileName } from './guard-file-name.js';
import { commonestDelimiter, type Delimiter, firstRecord, parseRecords } from './parse-delimited.js';
import { checkFormat, isPacked } from './read-delimited.js';
import { readWorkbook } from './read-workbook.js';
import { checkExtent, LARGEST_SHEET, tooLarge } from './sheet-limits.js';

/** A sheet as it stands: texts by row and column, row 1 of the spreadsheet being `rows[0]`. Dates are written 2026-03-01. */
export interface Sheet {
  readonly name?: string;
  readonly rows: readonly (readonly string[])[];
  /** Merged cells of a workbook, from and to, both counted from 0 and included; only the first of them holds the text. */
  readonly merges?: readonly {
    readonly top: number;
    readonly left: number;
    readonly bottom: number;
    readonly right: number;
  }[];
}

export interface ReadSheetOptions {
  /** The name of a sheet in a workbook. Needed where it has several with something in them. */
  readonly sheet?: string;
  readonly delimiter?: Delimiter;
  /** `false` reads a file whose name could identify somebody, as `limb-perfusion prepare` does. Default `true`. */
  readonly checksName?: boolean;
}

/**
 * Reads a sheet of a workbook (xlsx, by the package @e965/xlsx) or a small text file, cell by cell and without
 * understanding anything. A cell that the workbook formats as a date becomes a date in text, whatever it was meant to be.
 *
 * @throws InputError `identifier-file-name`, `file-not-found`, `file-empty`, `file-format`, `file-encoding`, `file-too-large`, `several-sheets`,
 * `no-such-sheet`, `formula-without-result`
 */
export async function readSheet(
  source: string | { readonly text: string },
  options: ReadSheetOptions = {},
): Promise<Sheet> {
  if (typeof source !== 'string') return { rows: rowsOfText(source.text, options.delimiter) };
  const name = basename(source);
  if (options.checksName !== false) guardFileName(name);
  // A device or a pipe may have no end; only a file is read.
  const file = await stat(source).catch(() => undefined);
  if (file !== undefined && file.size > LARGEST_SHEET)
    throw tooLarge('The file is too large for a sheet.', `at most ${LARGEST_SHEET / 1_000_000} MB`);
  const bytes = file?.isFile() === true ? await readFile(source).catch(() => undefined) : undefined;
  if (bytes === undefined)
    throw refuse(
      'file-not-found',
      ['source'],
      'There is no such file.',
      'check the path; it counts from the folder in which the program runs.',
    );
  if (isPacked(bytes)) return { name, ...(await readWorkbook(bytes, options.sheet)) };
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
  const records = parseRecords(plain, chosen);
  checkExtent(
    records.length,
    records.reduce((widest, cells) => Math.max(widest, cells.length), 0),
  );
  return records.map((cells) => cells.map((cell) => withoutMark(cell.trim())));
}

import { mkdtemp, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { InputError, type Problem } from '../shared/input-error.js';
import type { LongWorkOptions } from '../shared/options.js';
import { fetchColumns, literalPath, quoted, withEngine } from './engine.js';
import { commonestDelimiter, type Delimiter, firstRecord, parseRecords } from './parse-delimited.js';
import { type RawTable, tidyColumn } from './raw-table.js';
import { headOfFile, inUnpackedFile, openFile } from './source-form.js';

interface Header {
  readonly cells: readonly string[];
  readonly delimiter: Delimiter;
  /** Lines before the header, all of them empty. */
  readonly emptyLines: number;
}

/**
 * Reads a text file of delimited values with DuckDB, which does the parsing; only distinct texts and codes
 * come over to JavaScript. Every column is text. Delimiter: the commonest of comma, semicolon, tab and bar in
 * the first line, unless it is given. UTF-8, with or without byte order mark, packed with gzip or not.
 *
 * Throws `InputError`: `file-not-found`, `file-empty`, `file-format`, `file-encoding`, `file-unreadable`,
 * `header-empty`, `header-twice`, `header-quotes`.
 */
export async function readDelimited(
  path: string,
  options: { readonly delimiter?: Delimiter } & LongWorkOptions,
): Promise<RawTable> {
  const { head, isGzip } = await headOfFile(path);
  const header = headerOf(head, options.delimiter);
  return inUnpackedFile(path, isGzip, options, async (plain) => {
    const { rejected, ...table } = await readPlain(plain, header, options);
    return { name: basename(path), ...table, locate: (wanted) => locate(path, isGzip, header, rejected, wanted) };
  });
}

async function readPlain(
  path: string,
  header: Header,
  options: LongWorkOptions,
): Promise<Pick<RawTable, 'rows' | 'columns' | 'problems'> & { readonly rejected: ReadonlySet<number> }> {
  return withEngine(
    options,
    async (connection) => {
      const types = header.cells.map((_, at) => `'c${at}': 'VARCHAR'`).join(', ');
      await connection.run(
        `CREATE TABLE raw AS SELECT * FROM read_csv(${quoted(literalPath(path))}, delim = ${quoted(header.delimiter)}, ` +
          `quote = '"', escape = '"', header = true, skip = ${header.emptyLines}, auto_detect = false, ` +
          `all_varchar = true, columns = {${types}}, store_rejects = true, compression = 'none')`,
      );
      options.progress?.(0.3, 'read');
      const errors = await connection.runAndReadAll(
        'SELECT line::INTEGER, min(error_type::VARCHAR), max(column_idx)::INTEGER FROM reject_errors GROUP BY line ORDER BY line',
      );
      const rejects = errors.getRows().map(([line, kind]) => ({ row: Number(line), kind: String(kind) }));
      const fetched = await fetchColumns(connection, header.cells.length, options);
      const columns = fetched.columns
        .map(({ codes, texts }, at) => tidyColumn(header.cells[at] ?? '', codes, texts))
        .filter((column) => column.header !== '' || column.values.length > 0);
      return {
        rows: fetched.rows,
        columns,
        problems: rejects.map(({ row, kind }) => rejectProblem(row, kind, header.cells.length)),
        rejected: new Set(rejects.map(({ row }) => row)),
      };
    },
    unreadable,
  );
}

/** Reads delimited text as a file is read. The text passes through a temporary file that only the user can read. */
export async function readDelimitedText(
  text: string,
  options: { readonly delimiter?: Delimiter } & LongWorkOptions,
): Promise<RawTable> {
  const { rows, columns, problems } = await inTextFile(text, (path) => readDelimited(path, options));
  const header = headerOf(Buffer.from(text), options.delimiter);
  const skipped = new Set(problems.flatMap((problem) => (problem.row === undefined ? [] : [problem.row])));
  const locateInText = async (wanted: readonly number[]): Promise<number[]> => {
    const locator = new RowLocator(header, skipped, wanted);
    locator.read(Buffer.from(text));
    return locator.finish();
  };
  return { rows, columns, problems, locate: locateInText };
}

/** Lets work read a text as a file that only the user can read, and removes it. */
export async function inTextFile<T>(text: string, work: (path: string) => Promise<T>): Promise<T> {
  const folder = await mkdtemp(join(tmpdir(), 'assessments-'));
  const path = join(folder, 'text');
  try {
    await writeFile(path, text, { mode: 0o600 });
    return await work(path);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** The files that a path with `*`, `?` or `[…]` stands for, in alphabetical order; a path that is a file's own is that file. */
export async function matchingFiles(path: string): Promise<readonly string[]> {
  if ((await stat(path).catch(() => undefined)) !== undefined || !/[*?[]/.test(path)) return [path];
  const { DuckDBInstance } = await import('@duckdb/node-api');
  const instance = await DuckDBInstance.create(':memory:');
  const connection = await instance.connect();
  try {
    const found = await connection.runAndReadAll(`SELECT file FROM glob(${quoted(path)}) ORDER BY file`);
    const files = found.getRows().map(([file]) => String(file));
    if (files.length === 0)
      throw fileProblem('file-not-found', 'No file matches.', 'check the folder and the pattern.');
    return files;
  } finally {
    connection.closeSync();
    instance.closeSync();
  }
}

function headerOf(head: Buffer, delimiter: Delimiter | undefined): Header {
  checkFormat(head);
  const text = new TextDecoder('utf-8').decode(head);
  const start = /^(?:\r\n|\n|\r)*/.exec(text)?.[0] ?? '';
  const emptyLines = start.replaceAll('\r\n', '\n').length;
  const line = firstRecord(text.slice(start.length));
  if (line.trim() === '')
    throw fileProblem(
      'file-empty',
      'The file is empty.',
      'give a file with a header line and one line for each assessment.',
    );
  const chosen = delimiter ?? commonestDelimiter(line);
  const cells = (parseRecords(line, chosen)[0] ?? []).map((cell) => cell.trim());
  const twice = cells.filter((cell, at) => cell !== '' && cells.indexOf(cell) !== at);
  if (twice.length > 0) {
    throw new InputError(
      [...new Set(twice)].map((column) => ({
        code: 'header-twice',
        row: emptyLines + 1,
        column,
        message: 'Two columns have this name.',
        mend: 'give each column its own name.',
      })),
    );
  }
  return { cells, delimiter: chosen, emptyLines };
}

/** Whether the first bytes are those of a workbook or another packed file. */
export function isPacked(head: Uint8Array): boolean {
  return head[0] === 0x50 && head[1] === 0x4b;
}

/** Refuses what is no text in UTF-8 by the first bytes of a file. */
export function checkFormat(head: Buffer): void {
  if (head.length === 0)
    throw fileProblem(
      'file-empty',
      'The file is empty.',
      'give a file with a header line and one line for each assessment.',
    );
  if (isPacked(head))
    throw fileProblem(
      'file-format',
      'This is a workbook or another packed file, not text.',
      'save the sheet as "CSV UTF-8" and load that.',
    );
  if (head.toString('latin1', 0, 4) === 'PAR1')
    throw fileProblem('file-format', 'This is a Parquet file, not text.', 'load it with loadAssessments.');
  if (head[0] === 0x1f && head[1] === 0x8b)
    throw fileProblem('file-format', 'This is a compressed file.', 'unpack it and load the text file.');
  const utf16 = (head[0] === 0xff && head[1] === 0xfe) || (head[0] === 0xfe && head[1] === 0xff);
  if (utf16 || head.includes(0))
    throw fileProblem(
      'file-encoding',
      'The file is not in UTF-8 (it looks like UTF-16).',
      'save it again as "CSV UTF-8".',
    );
}

function rejectProblem(row: number, kind: string, cells: number): Problem {
  if (kind === 'MISSING COLUMNS' || kind === 'TOO MANY COLUMNS') {
    const more = kind === 'TOO MANY COLUMNS';
    return {
      code: more ? 'cells-too-many' : 'cells-missing',
      row,
      message: `The row has ${more ? 'more' : 'fewer'} cells than the header.`,
      expected: `${cells} cells`,
      mend: more
        ? 'a decimal comma or a comma in a text splits a cell: put that cell in quotation marks, or save with semicolons.'
        : 'fill up the row; delete it if it is a total, a title or a footer.',
    };
  }
  if (kind === 'UNQUOTED VALUE') {
    return {
      code: 'quotation-mark',
      row,
      message: 'A quotation mark is opened and not closed; what follows could not be read.',
      mend: 'close it, or write two where one is meant.',
    };
  }
  if (kind === 'INVALID ENCODING') {
    return {
      code: 'file-encoding',
      row,
      message: 'The row holds letters that are not in UTF-8 (it may be Latin-1 or Windows-1252).',
      mend: 'save the file again as "CSV UTF-8".',
    };
  }
  return { code: 'row-unreadable', row, message: 'The row could not be read.', mend: 'look at it in a text editor.' };
}

function unreadable(error: unknown): Problem {
  const words = error instanceof Error ? error.message : '';
  if (words.includes('invalid state')) {
    return {
      code: 'line-ends',
      message: 'Lines of this file end in different ways (some as Windows ends them, some as Linux does).',
      mend: 'open it in a spreadsheet and save it again as "CSV UTF-8".',
    };
  }
  // The engine's own words can quote a cell, so they are not passed on.
  return {
    code: 'file-unreadable',
    message: 'The file could not be read as a table.',
    mend: 'open it in a spreadsheet, look whether it is one table with one header line, and save it as "CSV UTF-8".',
  };
}

function fileProblem(code: string, message: string, mend: string): InputError {
  return new InputError([{ code, message, mend }]);
}

async function locate(
  path: string,
  isGzip: boolean,
  header: Header,
  skipped: ReadonlySet<number>,
  wanted: readonly number[],
): Promise<number[]> {
  const locator = new RowLocator(header, skipped, wanted);
  for await (const bytes of openFile(path, isGzip)) {
    locator.read(bytes as Buffer);
    if (locator.done) break;
  }
  return locator.finish();
}

const QUOTE = 0x22;
const LINE_FEED = 0x0a;
const CARRIAGE_RETURN = 0x0d;
const BYTE_ORDER_MARK = [0xef, 0xbb, 0xbf];

/**
 * Finds the spreadsheet's row for rows of the table. The reader leaves out empty lines and rows it could not
 * read, a spreadsheet counts them; a cell with a line end in it is one row to both. Runs only when there is
 * something to report.
 */
class RowLocator {
  readonly #delimiter: number;
  readonly #wanted: readonly number[];
  readonly #skipped: ReadonlySet<number>;
  readonly #found: number[] = [];
  readonly #emptyLineIsRow: boolean;
  #record = 1;
  #tableRow: number;
  #empty = true;
  #inQuotes = false;
  #cellStart = true;
  #afterReturn = false;
  #position = 0;

  constructor(header: Header, skipped: ReadonlySet<number>, wanted: readonly number[]) {
    this.#delimiter = header.delimiter.charCodeAt(0);
    this.#wanted = wanted;
    this.#skipped = skipped;
    this.#emptyLineIsRow = header.cells.length === 1;
    this.#tableRow = -1;
  }

  get done(): boolean {
    return this.#found.length >= this.#wanted.length;
  }

  read(bytes: Uint8Array): void {
    for (const byte of bytes) {
      // The byte order mark is no part of the first line.
      if (this.#position < 3 && byte === BYTE_ORDER_MARK[this.#position++]) continue;
      if (this.#afterReturn) {
        this.#afterReturn = false;
        if (byte === LINE_FEED) continue;
      }
      if (this.#inQuotes) {
        if (byte === QUOTE) this.#inQuotes = false;
      } else if (byte === QUOTE && this.#cellStart) {
        this.#inQuotes = true;
        this.#empty = false;
        // Stays a cell start: two quotation marks in a row inside a cell open it again.
      } else if (byte === LINE_FEED || byte === CARRIAGE_RETURN) {
        this.#afterReturn = byte === CARRIAGE_RETURN;
        this.#endRecord();
      } else {
        this.#empty = false;
        this.#cellStart = byte === this.#delimiter;
      }
    }
  }

  finish(): number[] {
    this.#endRecord();
    return this.#found;
  }

  #endRecord(): void {
    const isHeader = this.#tableRow === -1 && !this.#empty;
    const isRow =
      isHeader || ((!this.#empty || (this.#emptyLineIsRow && this.#tableRow >= 0)) && !this.#skipped.has(this.#record));
    if (isRow) {
      if (!isHeader && this.#wanted[this.#found.length] === this.#tableRow) this.#found.push(this.#record);
      this.#tableRow++;
    }
    this.#record++;
    this.#empty = true;
    this.#cellStart = true;
  }
}

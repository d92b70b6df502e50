import type { Problem } from '../shared/input-error.js';

/** A column as it stands in the source: every cell a text without blanks around it, stored once; −1 for an empty cell. */
export interface RawColumn {
  readonly header: string;
  readonly codes: Int32Array;
  readonly values: readonly string[];
}

/** What a source holds before anything is understood. */
export interface RawTable {
  /** A file's own name, without its folders. */
  readonly name?: string;
  readonly rows: number;
  readonly columns: readonly RawColumn[];
  /** What is wrong with single rows (cells missing, quotation marks, encoding). */
  readonly problems: readonly Problem[];
  /** The rows of the spreadsheet in which rows of this table stand, in rising order of the table's rows. */
  locate(tableRows: readonly number[]): Promise<readonly number[]>;
  /** The source's own column for a column of this table, where a row of the source holds several readings. */
  readonly columnAt?: (tableRow: number, column: string) => string;
}

/** Gives each text its own code, in the order in which they come. */
export class WordList {
  readonly words: string[] = [];
  readonly #codes = new Map<string, number>();

  codeOf(word: string): number {
    const known = this.#codes.get(word);
    if (known !== undefined) return known;
    const code = this.words.length;
    this.words.push(word);
    this.#codes.set(word, code);
    return code;
  }
}

/** Trims the texts of a column and lets those that become equal share a code. */
export function tidyColumn(header: string, codes: Int32Array, texts: readonly string[]): RawColumn {
  const words = new WordList();
  const recoded = Int32Array.from(texts, (text) => {
    const trimmed = text.trim();
    return trimmed === '' ? -1 : words.codeOf(trimmed);
  });
  if (words.words.length === texts.length) return { header, codes, values: words.words };
  return { header, codes: codes.map((code) => (code < 0 ? -1 : (recoded[code] ?? -1))), values: words.words };
}

/** The columns of several tables below each other; a column that a table lacks is empty there. */
export function stackColumns(tables: readonly RawTable[]): readonly RawColumn[] {
  const [first] = tables;
  if (first !== undefined && tables.length === 1) return first.columns;
  const rows = tables.reduce((sum, table) => sum + table.rows, 0);
  const headers = [...new Set(tables.flatMap((table) => table.columns.map((column) => column.header)))];
  return headers.map((header) => {
    const words = new WordList();
    const codes = new Int32Array(rows).fill(-1);
    let start = 0;
    for (const table of tables) {
      const column = table.columns.find((candidate) => candidate.header === header);
      if (column !== undefined) {
        const recoded = column.values.map((value) => words.codeOf(value));
        for (let row = 0; row < table.rows; row++) codes[start + row] = recoded[column.codes[row] ?? -1] ?? -1;
      }
      start += table.rows;
    }
    return { header, codes, values: words.words };
  });
}

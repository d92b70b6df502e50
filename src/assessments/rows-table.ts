import { InputError, type Problem } from '../shared/input-error.js';
import { ownValue } from '../shared/own-value.js';
import { plainNumber } from './plain-number.js';
import { type RawTable, tidyColumn, WordList } from './raw-table.js';

/** One assessment as a plain object: what is `null`, `undefined` or absent is an empty cell. */
export type SourceRow = Readonly<Record<string, unknown>>;

/** What a danfo.js DataFrame shows of itself. Its empty cells are `NaN`. */
export interface SourceFrame {
  readonly columns: readonly string[];
  readonly values: readonly unknown[];
}

/** The table of plain objects. Their rows count as a spreadsheet would: the first object is row 2. */
export function rowsTable(rows: readonly SourceRow[]): RawTable {
  const headers = [...new Set(rows.flatMap((row) => Object.keys(row)))];
  return tableOf(headers, rows.length, (row, header) => ownValue(rows[row], header), false);
}

/** The table of a danfo.js DataFrame. */
export function frameTable(frame: SourceFrame): RawTable {
  const { columns, values } = frame;
  if (!Array.isArray(columns) || !Array.isArray(values)) {
    throw new InputError([
      {
        code: 'not-a-frame',
        path: ['source', 'frame'],
        message: 'This is no danfo.js DataFrame.',
        mend: 'give { rows } instead.',
      },
    ]);
  }
  const at = new Map(columns.map((column, index) => [column, index]));
  return tableOf(
    columns,
    values.length,
    (row, header) => (values[row] as readonly unknown[])[at.get(header) ?? -1],
    true,
  );
}

function tableOf(
  headers: readonly string[],
  rows: number,
  cellAt: (row: number, header: string) => unknown,
  nanIsEmpty: boolean,
): RawTable {
  const problems: Problem[] = [];
  const columns = headers.map((header) => {
    const words = new WordList();
    const codes = new Int32Array(rows).fill(-1);
    for (let row = 0; row < rows; row++) {
      const cell = cellAt(row, header);
      if (cell === null || cell === undefined || (nanIsEmpty && Number.isNaN(cell))) continue;
      if (typeof cell === 'string' || typeof cell === 'boolean') codes[row] = words.codeOf(String(cell));
      else if (typeof cell === 'number' && Number.isFinite(cell)) codes[row] = words.codeOf(plainNumber(String(cell)));
      else {
        problems.push({
          code: 'cell-type',
          row: row + 2,
          column: header,
          message: 'The cell holds neither a text, a number nor yes or no.',
          expected: 'a text, a finite number, true, false or null',
        });
      }
    }
    return tidyColumn(header, codes, words.words);
  });
  return { rows, columns, problems, locate: async (wanted) => wanted.map((row) => row + 2) };
}

import { information } from '../shared/note.js';
import { formatCount, Table } from '../shared/table.js';
import { ruleOfValue } from './identifier-guard.js';
import { type ReadSheetOptions, readSheet } from './read-sheet.js';

/**
 * Two typings of the same sheets, cell by cell: a table of the cells that differ, by row and column of the
 * spreadsheet. Sheets typed by two people should be the same; each line is to be settled against the paper.
 *
 * Blanks around a text do not count. A value with the form of an identifier is not shown.
 *
 * @throws InputError what `readSheet` throws
 */
export async function compareTypings(
  first: string | { readonly text: string },
  second: string | { readonly text: string },
  options: ReadSheetOptions = {},
): Promise<Table> {
  const [one, other] = await Promise.all([readSheet(first, options), readSheet(second, options)]);
  const header = one.rows[0] ?? [];
  const rows = [];
  let compared = 0;
  for (let row = 0; row < Math.max(one.rows.length, other.rows.length); row++) {
    const [left = [], right = []] = [one.rows[row], other.rows[row]];
    for (let column = 0; column < Math.max(left.length, right.length); column++) {
      compared++;
      const [a = '', b = ''] = [left[column], right[column]];
      if (a !== b)
        rows.push({
          row: row + 1,
          column: shown(header[column] ?? `column ${column + 1}`),
          first: shown(a),
          second: shown(b),
        });
    }
  }
  return new Table(
    'Where two typings of the same sheets differ',
    [
      { key: 'row', label: 'Row', kind: 'count' },
      { key: 'column', label: 'Column', kind: 'text' },
      { key: 'first', label: 'First typing', kind: 'text' },
      { key: 'second', label: 'Second typing', kind: 'text' },
    ],
    rows,
    [information('typings', `${formatCount(rows.length)} of ${formatCount(compared)} cells differ.`)],
  );
}

function shown(text: string): string {
  if (text === '') return '(empty)';
  return ruleOfValue(text) === undefined && text.length <= 24 ? text : '(not shown)';
}

import { InputError } from '../shared/input-error.js';

/**
 * The largest sheet that is read cell by cell: a sheet of 50,000 rows and 40 columns. Beyond it, or in a workbook that is
 * small when packed and vast when unpacked, memory would run out. Large tidy files have no such limit: `loadAssessments` hands
 * them to an engine.
 */
const MOST_CELLS = 2_000_000;
/** Length of a text file of a sheet, and of all parts of a workbook unpacked, in bytes. */
export const LARGEST_SHEET = 100_000_000;
/** More columns than any sheet of assessments has; each costs time and memory of its own. */
export const MOST_COLUMNS = 2000;

export function tooLarge(message: string, expected: string): InputError {
  return new InputError([
    {
      code: 'file-too-large',
      path: ['source'],
      message,
      expected,
      mend: 'look whether a stray cell lies far from the table, or cut the sheet; a tidy file in "CSV UTF-8" may be of any length.',
    },
  ]);
}

/** Refuses what would not fit: every row is as wide as the widest. */
export function checkExtent(rows: number, columns: number): void {
  if (columns > MOST_COLUMNS) throw tooLarge(`The sheet has ${columns} columns.`, `at most ${MOST_COLUMNS}`);
  if (rows * columns > MOST_CELLS)
    throw tooLarge(`The sheet spans ${rows} rows and ${columns} columns.`, `at most ${MOST_CELLS} cells`);
}

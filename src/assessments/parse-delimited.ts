import { InputError } from '../shared/input-error.js';

export type Delimiter = ',' | ';' | '\t' | '|';

export const DELIMITERS: readonly Delimiter[] = [',', ';', '\t', '|'];

/** The commonest delimiter of a line, outside quotation marks; a comma where there is none. */
export function commonestDelimiter(line: string): Delimiter {
  const plain = line.replaceAll(/"(?:[^"]|"")*"/g, '');
  const counts = DELIMITERS.map((delimiter) => plain.split(delimiter).length);
  return DELIMITERS[counts.indexOf(Math.max(...counts))] ?? ',';
}

/** The text up to the first line end outside quotation marks. */
export function firstRecord(text: string): string {
  let inQuotes = false;
  for (let at = 0; at < text.length; at++) {
    const letter = text[at] ?? '';
    // A quotation mark inside a cell is a letter (5" for five inches); only at its start it opens one.
    if (letter === '"')
      inQuotes = inQuotes ? false : at === 0 || `"${DELIMITERS.join('')}`.includes(text[at - 1] ?? '');
    else if (!inQuotes && (letter === '\n' || letter === '\r')) return text.slice(0, at);
  }
  return text;
}

/**
 * The cells of every record, an empty line being a record of one empty cell, so that record and spreadsheet row
 * have the same number. For headers and small sheets; large files are parsed by the engine (`readDelimited`).
 *
 * Throws `InputError` `quotation-mark` where one is opened and not closed, or something stands behind a closed one.
 */
export function parseRecords(text: string, delimiter: Delimiter): string[][] {
  const records: string[][] = [];
  let cells: string[] = [];
  let cell = '';
  let inQuotes = false;
  let isClosed = false;
  const endCell = (): void => {
    cells.push(cell);
    cell = '';
    isClosed = false;
  };
  const endRecord = (): void => {
    endCell();
    records.push(cells);
    cells = [];
  };
  for (let at = 0; at < text.length; at++) {
    const letter = text[at] ?? '';
    if (inQuotes) {
      if (letter !== '"') cell += letter;
      else if (text[at + 1] === '"') {
        cell += '"';
        at++;
      } else {
        inQuotes = false;
        isClosed = true;
      }
    } else if (letter === '"' && cell === '' && !isClosed) inQuotes = true;
    else if (letter === delimiter) endCell();
    else if (letter === '\n' || letter === '\r') {
      if (letter === '\r' && text[at + 1] === '\n') at++;
      endRecord();
    } else if (isClosed) throw unclosed(records.length + 1);
    else cell += letter;
  }
  if (inQuotes) throw unclosed(records.length + 1);
  if (cell !== '' || cells.length > 0 || isClosed) endRecord();
  return records;
}

function unclosed(row: number): InputError {
  return new InputError([
    {
      code: 'quotation-mark',
      row,
      message: 'A quotation mark is opened and not closed, or something stands behind a closed one.',
      mend: 'close it, or write two where one is meant.',
    },
  ]);
}

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
    const letter = text[at];
    if (letter === '"') inQuotes = !inQuotes;
    else if (!inQuotes && (letter === '\n' || letter === '\r')) return text.slice(0, at);
  }
  return text;
}

/**
 * The cells of every record, an empty line being a record of one empty cell, so that record and spreadsheet row
 * have the same number. For headers and small sheets; large files are parsed by the engine (`readDelimited`).
 */
export function parseRecords(text: string, delimiter: Delimiter): string[][] {
  const records: string[][] = [];
  let cells: string[] = [];
  let cell = '';
  let inQuotes = false;
  const endCell = (): void => {
    cells.push(cell);
    cell = '';
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
      } else inQuotes = false;
    } else if (letter === '"' && cell.trim() === '') {
      cell = '';
      inQuotes = true;
    } else if (letter === delimiter) endCell();
    else if (letter === '\n' || letter === '\r') {
      if (letter === '\r' && text[at + 1] === '\n') at++;
      endRecord();
    } else cell += letter;
  }
  if (cell !== '' || cells.length > 0) endRecord();
  return records;
}

/**
 * A second, tiny reader of delimited text, to hold the library's against: records end at a line end outside quotation
 * marks, lines without anything are no records, a cell in quotation marks has them doubled inside. `undefined` where the text
 * is no such table: a quotation mark not closed, or something after a closed one.
 */
export function referenceTable(text: string, delimiter: string): string[][] | undefined {
  const records: string[][] = [];
  let rest = text.replace(/^\uFEFF+/, '');
  let cells: string[] = [];
  while (rest !== '') {
    let cell: string;
    if (rest.startsWith('"')) {
      const quoted = /^"((?:[^"]|"")*)"/.exec(rest);
      if (quoted === null) return undefined;
      cell = (quoted[1] ?? '').replaceAll('""', '"');
      rest = rest.slice(quoted[0].length);
    } else {
      const ends = [delimiter, '\n', '\r'].map((letter) => rest.indexOf(letter)).filter((at) => at >= 0);
      cell = rest.slice(0, Math.min(rest.length, ...ends));
      rest = rest.slice(cell.length);
    }
    cells.push(cell);
    const next = rest[0];
    if (next === delimiter) {
      rest = rest.slice(1);
      if (rest === '' || rest[0] === '\n' || rest[0] === '\r') {
        cells.push('');
      } else continue;
    } else if (next !== undefined && next !== '\n' && next !== '\r') return undefined;
    if (rest !== '') rest = rest.startsWith('\r\n') ? rest.slice(2) : rest.slice(1);
    records.push(cells);
    cells = [];
  }
  return records.filter((record) => record.length > 1 || record[0] !== '');
}

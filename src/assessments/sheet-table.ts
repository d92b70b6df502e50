import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { ownValue } from '../shared/own-value.js';
import { codebook } from '../signs/codebook.js';
import { nearest } from '../signs/nearest.js';
import { headerMeaning } from './header-words.js';
import { namedColumn, ruleOfLine } from './identifier-guard.js';
import { INPUT_COLUMNS, type InputColumn } from './input-columns.js';
import { missingReasonOf } from './missing-reason.js';
import { type RawColumn, type RawTable, tidyColumn, WordList } from './raw-table.js';
import type { Sheet } from './read-sheet.js';
import type { CellCorrection, CellMeaning, SheetFinding, SheetLayout } from './sheet-layout.js';
import { MOST_COLUMNS, tooLarge } from './sheet-limits.js';

/** A sheet as a table: named columns over the rows between header and footer. `firstRow` is the spreadsheet's row of the first. */
export interface SheetTable {
  readonly table: RawTable;
  readonly headers: readonly string[];
  /** Cells by row, without title, header and footer. */
  readonly cells: readonly (readonly string[])[];
  readonly firstRow: number;
  /** Lines above the header and below the table, with their rows of the spreadsheet. */
  readonly lines: readonly { readonly row: number; readonly texts: readonly string[] }[];
}

/** Cuts a sheet into header and rows. */
export function sheetTable(sheet: Sheet, layout: SheetLayout): SheetTable {
  const titleRows = layout.titleRows ?? leadingEmptyRows(sheet);
  const headerRows = layout.headerRows ?? 1;
  const firstRow = titleRows + headerRows + 1;
  const width = sheet.rows.slice(titleRows).reduce((widest, row) => Math.max(widest, row.length), 0);
  if (width > MOST_COLUMNS) throw tooLarge(`The sheet has ${width} columns.`, `at most ${MOST_COLUMNS}`);
  const headers = joinedHeaders(sheet.rows.slice(titleRows, titleRows + headerRows), width);
  const twice = headers.filter((header, at) => header !== '' && headers.indexOf(header) !== at);
  if (twice.length > 0)
    throw refuse(
      'header-twice',
      ['layout', 'headerRows'],
      // Without a header line the names are the first patient's cells.
      `Columns share a name: ${[...new Set(twice)].map((header) => namedColumn(header).column ?? 'one that looks like an identifier').join(', ')}.`,
      'give each column its own name, or say how many rows the header has.',
    );
  const written = sheet.rows.slice(titleRows + headerRows, sheet.rows.length - (layout.footerRows ?? 0));
  const merged = mergedCells(sheet, headers, firstRow, written, layout);
  const cells = correctCells(merged.cells, headers, firstRow, layout.corrections ?? []);
  const columns = headers.flatMap((header, at): RawColumn[] => {
    const words = new WordList();
    const codes = Int32Array.from(cells, (row) => ((row[at] ?? '') === '' ? -1 : words.codeOf(row[at] ?? '')));
    if (header === '' && words.words.length === 0) return [];
    return [tidyColumn(header === '' ? `column ${columnLetter(at)}` : header, codes, words.words)];
  });
  const table: RawTable = {
    ...(sheet.name === undefined ? {} : { name: sheet.name }),
    rows: cells.length,
    columns,
    problems: merged.problems,
    locate: async (wanted) => wanted.map((row) => row + firstRow),
  };
  const isOutside = (at: number): boolean => at < titleRows || at >= titleRows + headerRows + written.length;
  const lines = sheet.rows.flatMap((texts, at) => (isOutside(at) ? [{ row: at + 1, texts }] : []));
  return { table, headers, cells, firstRow, lines };
}

/** What identifies somebody in the lines above and below a table, which are not read but are in the file. */
export function lineProblems({ lines }: SheetTable): readonly Problem[] {
  return lines.flatMap(({ row, texts }) => {
    const rule = texts.map((text) => ruleOfLine(text)).find((found) => found !== undefined);
    return rule === undefined
      ? []
      : [
          {
            code: 'identifier-value',
            row,
            message: `The line above or below the table holds what looks like an identifier (${rule}). It is not shown.`,
            mend: 'take the line out of the file.',
          },
        ];
  });
}

/**
 * The readings of a sheet as a tidy table, one row a reading, by its layout. Empty cells of a repeat reading are
 * passed over, other empty cells are kept as the layout says. Problems name the cell they stand in.
 *
 * @throws InputError with every name of the layout that the sheet does not have
 */
export function tidySheet({ table, headers, cells, firstRow }: SheetTable, layout: SheetLayout): RawTable {
  const problems = layoutProblems(headers, layout);
  if (problems.length > 0) throw new InputError(problems);
  const at = new Map(headers.map((header, index) => [header, index]));
  const output = new Map<InputColumn, { words: WordList; codes: number[] }>(
    INPUT_COLUMNS.map((name) => [name, { words: new WordList(), codes: [] }]),
  );
  const sheetRows: number[] = [];
  const readingHeaders: string[] = [];
  const cellProblems: Problem[] = [];
  const shared = Object.entries(layout.columns ?? {}) as [InputColumn, string][];

  const put = (name: InputColumn, value: string | number | boolean | undefined): void => {
    const column = output.get(name);
    column?.codes.push(value === undefined || value === '' ? -1 : column.words.codeOf(String(value)));
  };
  const emit = (
    row: number,
    header: string,
    finding: SheetFinding,
    fields: { value?: string; missing?: string },
  ): void => {
    const line = cells[row] ?? [];
    const text = (name: InputColumn): string | undefined => {
      const from = shared.find(([column]) => column === name)?.[1];
      const word = from === undefined ? undefined : line[at.get(from) ?? -1];
      return word === undefined ? undefined : (ownValue(layout.words?.[name], word) ?? word);
    };
    const assessor = finding.assessor ?? text('assessor');
    const hasSide = takesSide(finding);
    const own: { [name in InputColumn]?: string | number | boolean | undefined } = {
      value: fields.value,
      missing: fields.missing ?? text('missing'),
      sign: finding.sign,
      site: finding.site ?? text('site'),
      scale: typeof finding.scale === 'object' ? finding.scale.id : (finding.scale ?? text('scale')),
      limb: !hasSide
        ? undefined
        : (finding.limb ??
          (layout.part === undefined ? text('limb') : partOf(text('limb') ?? text('side'), layout.part))),
      side: hasSide && finding.limb === undefined && layout.part === undefined ? text('side') : undefined,
      assessor,
      replicate: finding.replicate ?? text('replicate'),
      day: finding.day ?? text('day'),
      occasion: finding.occasion ?? text('occasion'),
      valueUnit: finding.unit,
      landmark: finding.landmark ?? text('landmark'),
      position: finding.position ?? text('position'),
      method: finding.method ?? text('method'),
      heldSeconds: finding.heldSeconds ?? text('heldSeconds'),
      order: orderOf(line[at.get(layout.examinerOrder ?? '') ?? -1], assessor) ?? text('order'),
      reference:
        layout.references === undefined
          ? text('reference')
          : assessor !== undefined && layout.references.includes(assessor),
    };
    for (const name of INPUT_COLUMNS) put(name, name in own ? own[name] : text(name));
    sheetRows.push(row + firstRow);
    readingHeaders.push(header);
  };
  const read = (row: number, header: string, finding: SheetFinding): void => {
    const written = cells[row]?.[at.get(header) ?? -1] ?? '';
    const meaning = ownValue(layout.cells, written) ?? ownValue(layout.cells, written.toLowerCase());
    if (written === '') {
      if (finding.replicate !== undefined && finding.replicate > 1) return;
      emit(row, header, finding, layout.blanks === 'not-assessed' ? { missing: 'not-assessed' } : {});
      return;
    }
    const outOf = layout.outOf === undefined ? '' : (cells[row]?.[at.get(layout.outOf) ?? -1] ?? '');
    if (outOf !== '' && !/^\d{1,2}$/.test(outOf)) {
      cellProblems.push({
        code: 'not-a-number',
        row: row + firstRow,
        ...(layout.outOf === undefined ? {} : { column: layout.outOf }),
        message: 'This is no highest grade of a scale.',
        expected: 'a whole number, or an empty cell',
      });
      return;
    }
    if (outOf !== '' && /^\d+$/.test(written)) {
      emit(row, header, finding, { value: `${written}/${outOf}` });
      return;
    }
    const partsOf = /\/\s*(\d+)$/.exec(written)?.[1];
    if (outOf !== '' && partsOf !== undefined && partsOf !== outOf) {
      cellProblems.push({
        code: 'denominator-contradicts-column',
        row: row + firstRow,
        column: header,
        message: `The reading is written as a part of another number, the column "${layout.outOf}" says ${outOf}.`,
        mend: 'correct one of the two.',
      });
      return;
    }
    emit(row, header, finding, fieldsOf(written, meaning));
    if (meaning?.also !== undefined) {
      const { scale: _, ...place } = finding;
      emit(
        row,
        header,
        { ...place, sign: meaning.also.sign, scale: meaning.also.scale },
        { value: meaning.also.value },
      );
    }
  };

  const patientAt = at.get(layout.columns?.patient ?? '') ?? -1;
  for (let row = 0; row < cells.length; row++) {
    const line = cells[row] ?? [];
    if (line.every((cell) => cell === '')) continue;
    if (isTotal(line[patientAt] ?? '')) {
      cellProblems.push({
        code: 'total-inside',
        row: row + firstRow,
        ...(layout.columns?.patient === undefined ? {} : { column: layout.columns.patient }),
        message: 'The row is a total or a mean, and no patient.',
        mend: 'take the row out of the sheet.',
      });
      continue;
    }
    const beyond = line.findIndex((cell, place) => cell !== '' && headers[place] === '');
    if (beyond >= 0)
      cellProblems.push({
        code: 'cell-without-header',
        row: row + firstRow,
        column: columnLetter(beyond),
        message:
          'The cell stands in a column without a name; if a decimal comma cut a number in two, all cells to its left have moved.',
        mend: 'write decimal points or separate the cells by semicolons; or give the column a name; or empty the cell.',
      });
    for (const [header, finding] of Object.entries(layout.readings ?? {})) read(row, header, finding);
    if (layout.findings !== undefined) readLong(row);
  }

  function readLong(row: number): void {
    const word = cells[row]?.[at.get(layout.findings?.column ?? '') ?? -1] ?? '';
    const finding = ownValue(layout.findings?.words, word);
    const header = layout.columns?.value ?? 'value';
    if (finding !== undefined) read(row, header, finding);
    else {
      cellProblems.push({
        code: 'finding-not-declared',
        row: row + firstRow,
        ...(layout.findings === undefined ? {} : { column: layout.findings.column }),
        message: 'The layout does not say what this row assesses.',
        expected: `one of ${Object.keys(layout.findings?.words ?? {}).join(', ')}`,
      });
    }
  }

  const names = new Map<string, string>(shared.map(([name, header]) => [name, header]));
  return {
    ...(table.name === undefined ? {} : { name: table.name }),
    rows: sheetRows.length,
    columns: [...output].flatMap(([name, { words, codes }]) =>
      words.words.length === 0 && name !== 'value' ? [] : [tidyColumn(name, Int32Array.from(codes), words.words)],
    ),
    problems: [...table.problems, ...cellProblems],
    locate: async (wanted) => wanted.map((row) => sheetRows[row] ?? row),
    columnAt: (row, name) => names.get(name) ?? readingHeaders[row] ?? name,
  };
}

/** Words that begin a line of totals. */
export function isTotal(text: string): boolean {
  return /^(?:sub-?\s?total|grand total|total|sum|mean|average|median|count)s?\b/i.test(text);
}

/** Midline sites, signs of the whole person and signs that compare the sides take no side, whatever the row says. */
export function takesSide({ sign, site }: SheetFinding): boolean {
  const known = codebook.find((entry) => entry.id === sign);
  if (known === undefined) return true;
  return known.limbs.length > 0 && !(site !== undefined && known.midlineSites.includes(site));
}

function fieldsOf(written: string, meaning: CellMeaning | undefined): { value?: string; missing?: string } {
  if (meaning === undefined) return { value: written };
  return {
    ...(meaning.value === undefined ? {} : { value: meaning.value }),
    ...(meaning.missing === undefined ? {} : { missing: meaning.missing }),
  };
}

function layoutProblems(headers: readonly string[], layout: SheetLayout): Problem[] {
  const problems: Problem[] = [];
  const known = headers.filter((header) => header !== '' && namedColumn(header).column !== undefined);
  for (const question of layout.unanswered ?? [])
    problems.push({
      code: 'question-open',
      path: ['layout', 'unanswered'],
      message: question,
      mend: 'answer it in the preview (answers), declare the column in layout.readings, or list it in layout.notRead.',
    });
  const check = (header: string | undefined, ...path: string[]): void => {
    if (header === undefined || (header !== '' && headers.includes(header))) return;
    const near = nearest(header, known);
    problems.push({
      code: 'column-not-found',
      path: ['layout', ...path],
      message: `The sheet has no column "${header}".`,
      ...(near === undefined ? {} : { mend: `did you mean "${near}"?` }),
    });
  };
  for (const [name, header] of Object.entries(layout.columns ?? {})) {
    if ((INPUT_COLUMNS as readonly string[]).includes(name)) check(header, 'columns', name);
    else
      problems.push({
        code: 'unknown-column',
        path: ['layout', 'columns', name],
        message: `There is no column ${name}.`,
        expected: `one of ${INPUT_COLUMNS.join(', ')}`,
      });
  }
  for (const header of Object.keys(layout.readings ?? {})) check(header, 'readings', header);
  check(layout.findings?.column, 'findings', 'column');
  check(layout.examinerOrder, 'examinerOrder');
  check(layout.outOf, 'outOf');
  for (const header of layout.notRead ?? []) check(header, 'notRead');
  if (Object.keys(layout.readings ?? {}).length === 0 && layout.findings === undefined)
    problems.push({
      code: 'no-readings',
      path: ['layout'],
      message: 'The layout names no reading.',
      mend: 'declare readings (a column each) or findings (a row each).',
    });
  if (layout.findings !== undefined && layout.columns?.value === undefined)
    problems.push({
      code: 'column-missing',
      path: ['layout', 'columns', 'value'],
      message: 'The layout does not name the column of the readings.',
      mend: "add it, as in columns: { value: 'reading' }.",
    });
  const findings = [...Object.entries(layout.readings ?? {}), ...Object.entries(layout.findings?.words ?? {})];
  for (const [header, { sign }] of findings) {
    if (codebook.some((entry) => entry.id === sign)) continue;
    const near = nearest(
      sign,
      codebook.map((entry) => entry.id),
    );
    problems.push({
      code: 'unknown-sign',
      path: ['layout', header],
      message: 'There is no such sign.',
      ...(near === undefined ? {} : { mend: `did you mean "${near}"?` }),
    });
  }
  for (const [code, { missing }] of Object.entries(layout.cells ?? {})) {
    if (missing !== undefined && missingReasonOf(missing) === undefined)
      problems.push({
        code: 'unknown-reason',
        path: ['layout', 'cells', code],
        message: 'This is no reason for a missing value.',
      });
  }
  return problems;
}

/** The side of a column that tells only left from right, with the part of the body that the layout names. */
function partOf(word: string | undefined, part: 'arm' | 'leg'): string | undefined {
  return word === undefined || word === '' ? undefined : `${word}-${part}`;
}

/** The place of an examiner in the order written with one letter each. */
function orderOf(written: string | undefined, assessor: string | undefined): number | undefined {
  if (written === undefined || assessor === undefined) return undefined;
  const place = written.indexOf(assessor);
  return place < 0 ? undefined : place + 1;
}

/**
 * What merged cells mean below the header: a code of a patient stands for all rows of its cell; a reading for several rows or columns is refused, because it says nothing of
 * which limb or artery it is.
 */
function mergedCells(
  { merges = [] }: Sheet,
  headers: readonly string[],
  firstRow: number,
  cells: readonly (readonly string[])[],
  layout: SheetLayout,
): { cells: readonly (readonly string[])[]; problems: Problem[] } {
  const below = merges.filter(({ top }) => top >= firstRow - 1 && top - firstRow + 1 < cells.length);
  if (below.length === 0) return { cells, problems: [] };
  const filled = cells.map((row) => [...row]);
  const problems: Problem[] = [];
  for (const { top, left, bottom, right } of below) {
    const text = cells[top - firstRow + 1]?.[left] ?? '';
    const header = headers[left] ?? '';
    const isReading =
      left !== right ||
      layout.readings?.[header] !== undefined ||
      (headerMeaning(header) !== undefined && !/^(?:pt|patient)$/i.test(header));
    if (text === '') continue;
    if (isReading)
      problems.push({
        code: 'merged-cells',
        row: top + 1,
        column: header === '' ? columnLetter(left) : header,
        message: 'A merged cell stands for several readings.',
        mend: 'undo the merging and write in each cell what was found there.',
      });
    else
      for (let row = top; row <= bottom; row++) {
        const line = filled[row - firstRow + 1];
        if (line === undefined) continue;
        while (line.length <= left) line.push('');
        line[left] = text;
      }
  }
  return { cells: filled, problems };
}

/** The cells with those corrected that the layout names. Throws for a correction of a cell that is not there. */
function correctCells(
  cells: readonly (readonly string[])[],
  headers: readonly string[],
  firstRow: number,
  corrections: readonly CellCorrection[],
): readonly (readonly string[])[] {
  if (corrections.length === 0) return cells;
  const corrected = cells.map((row) => [...row]);
  const problems = corrections.flatMap(({ row, column, value }, at): Problem[] => {
    const line = corrected[row - firstRow];
    const place = headers.indexOf(column);
    if (line === undefined || place < 0) {
      return [
        {
          code: 'no-such-cell',
          path: ['layout', 'corrections', at],
          message:
            line === undefined ? 'The sheet has no such row of readings.' : 'The sheet has no column of that name.',
          expected: `a row from ${firstRow} to ${firstRow + cells.length - 1} and the name of a column`,
        },
      ];
    }
    while (line.length <= place) line.push('');
    line[place] = value.trim();
    return [];
  });
  if (problems.length > 0) throw new InputError(problems);
  return corrected;
}

function leadingEmptyRows(sheet: Sheet): number {
  const first = sheet.rows.findIndex((row) => row.some((cell) => cell !== ''));
  return Math.max(0, first);
}

/** The names of several header rows joined; in all but the last an empty name takes the one on its left. */
function joinedHeaders(rows: readonly (readonly string[])[], width: number): string[] {
  const filled = rows.map((row, at) => {
    let last = '';
    return Array.from({ length: width }, (_, column) => {
      const name = row[column] ?? '';
      if (at === rows.length - 1) return name;
      last = name === '' ? last : name;
      return last;
    });
  });
  return Array.from({ length: width }, (_, column) =>
    filled
      .map((row) => row[column] ?? '')
      .filter((name) => name !== '')
      .join(' '),
  );
}

/** A, B, …, Z, AA, … as spreadsheets name columns. */
export function columnLetter(at: number): string {
  return at < 26 ? String.fromCharCode(65 + at) : `${columnLetter(Math.floor(at / 26) - 1)}${columnLetter(at % 26)}`;
}

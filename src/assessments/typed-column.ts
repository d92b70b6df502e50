import type { Problem } from '../shared/input-error.js';
import { ruleOfHeader } from './identifier-guard.js';
import { type RawColumn, type RawTable, tidyColumn } from './raw-table.js';

/** A column whose cells had types: its texts, and the rows of cells that can be no value. */
export interface TypedColumn {
  readonly column: RawColumn;
  readonly refusedRows: readonly number[];
}

/** More cells of a column than this are not listed one by one. */
const LISTED = 1000;

/** The column of texts for distinct cells of some type; `textOf` gives `undefined` for what can be no value and '' for an empty cell. */
export function typedColumn(
  header: string,
  codes: Int32Array,
  cells: readonly string[],
  textOf: (cell: string) => string | undefined,
): TypedColumn {
  const texts = cells.map(textOf);
  const column = tidyColumn(
    header,
    codes,
    texts.map((text) => text ?? ''),
  );
  const refusedRows: number[] = [];
  if (texts.includes(undefined))
    for (const [row, code] of codes.entries()) if (code >= 0 && texts[code] === undefined) refusedRows.push(row);
  return { column, refusedRows };
}

/** The problems of cells that can be no value, each at its row of the source. */
export async function cellTypeProblems(
  columns: readonly TypedColumn[],
  locate: RawTable['locate'],
): Promise<readonly Problem[]> {
  const problems: Problem[] = [];
  for (const { column, refusedRows } of columns) {
    const named = nameOf(column.header);
    const listed = refusedRows.slice(0, LISTED);
    for (const row of listed.length === 0 ? [] : await locate(listed))
      problems.push({
        code: 'cell-type',
        row,
        ...named,
        message: 'The cell holds neither a text, a finite number nor yes or no.',
        expected: 'a text, a finite number, true, false or an empty cell',
      });
    if (refusedRows.length > LISTED)
      problems.push({
        code: 'cell-type',
        ...named,
        message: `${refusedRows.length - LISTED} more cells of the column can be no value.`,
      });
  }
  return problems;
}

/** A whole column of a type that can be no value. */
export function columnTypeProblem(header: string, kind: 'dates' | 'times' | 'lists or objects' | 'bytes'): Problem {
  return {
    code: kind === 'dates' ? 'identifier-column' : 'column-type',
    ...nameOf(header),
    message: kind === 'dates' ? 'The column holds calendar dates.' : `The column holds ${kind}.`,
    expected: 'texts, numbers, or yes and no',
    mend:
      kind === 'dates'
        ? "write the number of days since the patient's first day instead, or take the column out."
        : kind === 'bytes'
          ? 'save the column as text in UTF-8, or take it out.'
          : 'give each value a column of its own, or take the column out.',
  };
}

/** Names of columns that are the same to the reader. */
export function headersTwice(headers: readonly string[]): readonly Problem[] {
  const twice = headers.filter((header, at) => headers.indexOf(header) !== at);
  return [...new Set(twice)].map((header) => ({
    code: 'header-twice',
    ...nameOf(header),
    message: 'Two columns have this name.',
    mend: 'give each column its own name.',
  }));
}

/** A header can hold an identifier as well as a cell can. */
function nameOf(header: string): { readonly column?: string } {
  return ruleOfHeader(header) === undefined ? { column: header } : {};
}

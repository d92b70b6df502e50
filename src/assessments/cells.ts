import type { Problem } from '../shared/input-error.js';
import { chooseWords } from './assessments.js';
import type { Coded, Combined } from './combine-codes.js';
import type { InputColumn } from './input-columns.js';
import type { Understood } from './place.js';
import type { ProblemList } from './problem-list.js';
import type { RawColumn } from './raw-table.js';
import type { Where } from './reading.js';

type RowProblem = Omit<Problem, 'row'>;

/** A column of the source under our name: its distinct texts, and where to point when one is wrong. */
export interface Cells extends Coded {
  readonly values: readonly string[];
  readonly where: Where;
  readonly isPresent: boolean;
}

export function cellsOf(
  name: InputColumn,
  raw: readonly RawColumn[],
  kept: Int32Array | undefined,
  header: string | undefined,
  constant: string | number | boolean | undefined,
): Cells {
  const column = header === undefined ? undefined : raw.find((candidate) => candidate.header === header);
  if (column !== undefined) {
    const { codes, values } = kept === undefined ? column : chooseWords(column, kept);
    return {
      codes,
      size: values.length,
      values,
      where: { column: column.header },
      isPresent: true,
    };
  }
  if (constant !== undefined && String(constant).trim() !== '')
    return {
      only: 0,
      size: 1,
      values: [String(constant).trim()],
      where: { path: ['constants', name] },
      isPresent: true,
    };
  return { only: -1, size: 0, values: [], where: { column: name }, isPresent: false };
}

/** What each distinct text stands for; a text that is not understood is reported at each of its rows. */
export function understandEach<T>(
  cells: Cells,
  understand: (word: string, where: Where) => Understood<T>,
  problems: ProblemList,
): readonly (T | undefined)[] {
  const understood = cells.values.map((word) => understand(word, cells.where));
  reportEach(
    cells,
    (_text, code) => {
      const word = understood[code];
      return word === undefined || 'value' in word ? [] : [word.problem];
    },
    problems,
  );
  return understood.map((word) => ('value' in word ? word.value : undefined));
}

/** Reports what is wrong with each distinct text at every row that has it; once where all rows have it. */
export function reportEach(
  cells: Cells,
  wrong: (text: string, code: number) => readonly RowProblem[],
  problems: ProblemList,
): void {
  const lists = cells.values.map(wrong);
  if (cells.codes === undefined) problems.add(...(lists[cells.only ?? -1] ?? []));
  else problems.addAtCodes(cells.codes, lists);
}

/** Reports what is wrong with each combination at every row that has it; once where it is the same for all rows. */
export function reportResults(
  combined: Combined,
  lists: readonly (readonly RowProblem[])[],
  problems: ProblemList,
): void {
  if (combined.codes === undefined) problems.add(...(lists[0] ?? []));
  else problems.addAtCodes(combined.codes, lists);
}

export function reportBlank(cells: Cells, problem: RowProblem, problems: ProblemList, rows: number): void {
  if (cells.codes?.includes(-1) !== true) return;
  for (let row = 0; row < rows; row++)
    if (cells.codes[row] === -1) problems.addAtRow(row, { ...problem, ...cells.where });
}

/** A text is there and was not understood. */
export function isLost(code: number, words: readonly unknown[]): boolean {
  return code >= 0 && words[code] === undefined;
}

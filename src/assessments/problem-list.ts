import { InputError, type Problem } from '../shared/input-error.js';
import { hasDate } from './guard-file-name.js';
import { namedColumn } from './identifier-guard.js';
import type { RawTable } from './raw-table.js';

/** A problem whose row is still a row of the table, not of the spreadsheet. */
interface Placed {
  readonly tableRow: number;
  readonly problem: Omit<Problem, 'row'>;
  /** Another row that the message names as `{other}`. */
  readonly other?: number;
}

/** Beyond this many rows with problems only their number is told: a million of the same would fill the memory. */
const LISTED = 100_000;

/** Gathers everything that is wrong, so that one error tells all of it, in the order of the rows. */
export class ProblemList {
  readonly #general: Problem[] = [];
  readonly #placed: Placed[] = [];
  readonly #unlisted = new Map<string, number>();
  #kept: Int32Array | undefined;

  get isEmpty(): boolean {
    return this.#general.length === 0 && this.#placed.length === 0;
  }

  add(...problems: readonly Problem[]): void {
    this.addAll(problems);
  }

  addAll(problems: readonly Problem[]): void {
    // Not as arguments of one call: there may be a hundred thousand.
    for (const problem of problems) this.#general.push(problem);
  }

  /** From now on rows are counted among those kept; `kept` holds their rows of the table. */
  countAmong(kept: Int32Array): void {
    this.#kept = kept;
  }

  addAtRow(row: number, problem: Omit<Problem, 'row'>, other?: number): void {
    const tableRow = this.#kept?.[row] ?? row;
    if (this.#placed.length < LISTED) {
      this.#placed.push({
        tableRow,
        problem,
        ...(other === undefined ? {} : { other: this.#kept?.[other] ?? other }),
      });
    } else this.#unlisted.set(problem.code, (this.#unlisted.get(problem.code) ?? 0) + 1);
  }

  /** What a table says of its own rows. Where there are several files, each problem names its own. */
  addFromTable(table: RawTable, namesFile: boolean): void {
    this.addAll(table.problems.map((problem) => ({ ...problem, ...fileOf(table, namesFile) })));
  }

  /** The same problems at every row that has their code. `problems` is indexed by code. */
  addAtCodes(codes: Int32Array, problems: readonly (readonly Omit<Problem, 'row'>[] | undefined)[]): void {
    if (problems.every((list) => list === undefined || list.length === 0)) return;
    for (let row = 0; row < codes.length; row++) {
      for (const problem of problems[codes[row] ?? -1] ?? []) this.addAtRow(row, problem);
    }
  }

  /** Everything gathered, with the rows and columns of the source: first what concerns the whole, then row by row. The name of a column that can identify a person is left out. */
  async collect(tables: readonly RawTable[]): Promise<readonly Problem[]> {
    const named = this.#placed.flatMap(({ tableRow, other }) => (other === undefined ? [tableRow] : [tableRow, other]));
    const places = await locateRows(
      tables,
      [...new Set(named)].sort((a, b) => a - b),
    );
    const located = this.#placed.map(({ tableRow, problem, other }): Problem => {
      const place = places.get(tableRow);
      // Two cells of one row of a wide sheet are told apart by their columns.
      const named = problem.column ?? (other === undefined || place?.columnAt === undefined ? undefined : 'value');
      const column = named === undefined ? undefined : (place?.columnAt?.(named) ?? named);
      const earlier = other === undefined ? undefined : places.get(other);
      const message =
        other === undefined
          ? problem.message
          : problem.message.replace(
              '{other}',
              `${earlier?.row ?? '?'}${earlier?.columnAt === undefined ? '' : `, column "${earlier.columnAt('value')}"`}`,
            );
      return {
        ...problem,
        message,
        ...(column === undefined ? {} : { column }),
        ...(place?.row === undefined ? {} : { row: place.row }),
        ...(place?.path === undefined ? {} : { path: place.path }),
      };
    });
    const rest = [...this.#unlisted].map(
      ([code, count]): Problem => ({ code, message: `${count} more rows have a problem of this kind.` }),
    );
    const shown = new Map<string, boolean>();
    return [...this.#general, ...located, ...rest].map((problem) => {
      const { column, ...others } = problem;
      if (column === undefined) return problem;
      if (!shown.has(column)) shown.set(column, namedColumn(column).column !== undefined);
      return shown.get(column) === true ? problem : others;
    });
  }
}

/** An `InputError` with all problems if there is one: those of the whole first, then in the order of files and rows. */
export function throwProblems(problems: readonly Problem[]): void {
  if (problems.length === 0) return;
  const inRows = problems.filter(({ row }) => row !== undefined);
  inRows.sort((a, b) => compare(fileNameOf(a), fileNameOf(b)) || (a.row ?? 0) - (b.row ?? 0));
  throw new InputError([...problems.filter(({ row }) => row === undefined), ...inRows]);
}

interface Place extends Pick<Problem, 'row' | 'path'> {
  readonly columnAt?: (column: string) => string;
}

/** Where rows of the stacked tables stand in their files. */
async function locateRows(tables: readonly RawTable[], tableRows: readonly number[]): Promise<Map<number, Place>> {
  const places = new Map<number, Place>();
  let start = 0;
  for (const table of tables) {
    const first = start;
    const own = tableRows.filter((row) => row >= first && row < first + table.rows);
    const rows = await table.locate(own.map((row) => row - first));
    own.forEach((tableRow, at) => {
      const row = rows[at];
      const { columnAt } = table;
      const within = tableRow - first;
      places.set(tableRow, {
        ...(row === undefined ? {} : { row }),
        ...fileOf(table, tables.length > 1),
        ...(columnAt === undefined ? {} : { columnAt: (column) => columnAt(within, column) }),
      });
    });
    start += table.rows;
  }
  return places;
}

function fileOf(table: RawTable, namesFile: boolean): Place {
  if (!namesFile || table.name === undefined) return {};
  return { path: [hasDate(table.name) ? 'a file with a date in its name' : table.name] };
}

function fileNameOf(problem: Problem): string {
  return String(problem.path?.[0] ?? '');
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

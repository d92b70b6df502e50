import { InputError, type Problem } from '../shared/input-error.js';
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
    this.#general.push(...problems);
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
    this.add(...table.problems.map((problem) => ({ ...problem, ...fileOf(table, namesFile) })));
  }

  /** The same problems at every row that has their code. `problems` is indexed by code. */
  addAtCodes(codes: Int32Array, problems: readonly (readonly Omit<Problem, 'row'>[] | undefined)[]): void {
    if (problems.every((list) => list === undefined || list.length === 0)) return;
    for (let row = 0; row < codes.length; row++) {
      for (const problem of problems[codes[row] ?? -1] ?? []) this.addAtRow(row, problem);
    }
  }

  /** Throws an `InputError` with everything gathered, if anything was. */
  async throwIfAny(tables: readonly RawTable[]): Promise<void> {
    if (this.isEmpty) return;
    const named = this.#placed.flatMap(({ tableRow, other }) => (other === undefined ? [tableRow] : [tableRow, other]));
    const places = await locateRows(
      tables,
      [...new Set(named)].sort((a, b) => a - b),
    );
    const located = this.#placed.map(({ tableRow, problem, other }): Problem => {
      const message =
        other === undefined
          ? problem.message
          : problem.message.replace('{other}', String(places.get(other)?.row ?? '?'));
      return { ...problem, message, ...places.get(tableRow) };
    });
    const inRows = this.#general.filter(({ row }) => row !== undefined);
    const withRows = [...inRows, ...located].sort(
      (a, b) => compare(fileNameOf(a), fileNameOf(b)) || (a.row ?? 0) - (b.row ?? 0),
    );
    const rest = [...this.#unlisted].map(
      ([code, count]): Problem => ({ code, message: `${count} more rows have a problem of this kind.` }),
    );
    throw new InputError([...this.#general.filter(({ row }) => row === undefined), ...withRows, ...rest]);
  }
}

type Place = Pick<Problem, 'row' | 'path'>;

/** Where rows of the stacked tables stand in their files. */
async function locateRows(tables: readonly RawTable[], tableRows: readonly number[]): Promise<Map<number, Place>> {
  const places = new Map<number, Place>();
  let start = 0;
  for (const table of tables) {
    const own = tableRows.filter((row) => row >= start && row < start + table.rows);
    const rows = await table.locate(own.map((row) => row - start));
    own.forEach((tableRow, at) => {
      const row = rows[at];
      places.set(tableRow, { ...(row === undefined ? {} : { row }), ...fileOf(table, tables.length > 1) });
    });
    start += table.rows;
  }
  return places;
}

function fileOf(table: RawTable, namesFile: boolean): Place {
  return namesFile && table.name !== undefined ? { path: [table.name] } : {};
}

function fileNameOf(problem: Problem): string {
  return String(problem.path?.[0] ?? '');
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

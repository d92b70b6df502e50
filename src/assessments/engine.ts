import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { DuckDBConnection } from '@duckdb/node-api';
import { InputError, type Problem } from '../shared/input-error.js';
import type { LongWorkOptions } from '../shared/options.js';

/**
 * Runs work on a DuckDB of its own and closes it. No extension is fetched or loaded, and what does not fit in memory
 * goes to a folder that is removed. The engine's own words can quote a cell, so `unreadable` says what went wrong instead.
 */
export async function withEngine<T>(
  options: LongWorkOptions,
  work: (connection: DuckDBConnection) => Promise<T>,
  unreadable: (error: unknown) => Problem,
): Promise<T> {
  options.signal?.throwIfAborted();
  const { DuckDBInstance } = await import('@duckdb/node-api');
  const spill = await mkdtemp(join(tmpdir(), 'assessments-'));
  const instance = await DuckDBInstance.create(':memory:', {
    autoinstall_known_extensions: 'false',
    autoload_known_extensions: 'false',
    temp_directory: spill,
  });
  const connection = await instance.connect();
  let again: NodeJS.Timeout | undefined;
  const interrupt = (): void => {
    connection.interrupt();
    // Between two queries an interruption is lost.
    again ??= setInterval(() => connection.interrupt(), 50);
  };
  options.signal?.addEventListener('abort', interrupt);
  try {
    return await work(connection);
  } catch (error) {
    options.signal?.throwIfAborted();
    if (error instanceof InputError) throw error;
    if (error instanceof ReportFailure) throw error.cause;
    throw new InputError([unreadable(error)]);
  } finally {
    options.signal?.removeEventListener('abort', interrupt);
    clearInterval(again);
    connection.closeSync();
    instance.closeSync();
    await rm(spill, { recursive: true, force: true });
  }
}

/** What the caller's own report threw, told apart from the engine's errors. */
class ReportFailure extends Error {}

function report({ progress }: LongWorkOptions, share: number, words: string): void {
  try {
    progress?.(share, words);
  } catch (cause) {
    throw new ReportFailure('The report of progress failed.', { cause });
  }
}

/** Columns as distinct texts and codes; only these come over to JavaScript. */
export interface FetchedColumns {
  readonly rows: number;
  readonly columns: readonly { readonly codes: Int32Array; readonly texts: readonly string[] }[];
}

/** Up to so many rows come over as they are: preparing to read twice would take longer. */
const FEW_ROWS = 10_000;

/**
 * The columns `c0`, `c1`, … of the table or view `raw`, which is read twice: first for the distinct texts, then for
 * the code of each cell. A view over a file is thus never held in memory, and reading twice is quicker than keeping.
 */
export async function fetchColumns(
  connection: DuckDBConnection,
  count: number,
  options: LongWorkOptions,
): Promise<FetchedColumns> {
  const all = Array.from({ length: count }, (_, at) => at);
  const few = await fewRows(connection, all);
  if (few !== undefined) {
    report(options, 0.8, 'read');
    return few;
  }
  const distinct = all.map((at) => `list(DISTINCT c${at}) FILTER (WHERE c${at} IS NOT NULL) AS words${at}`);
  await runReporting(
    connection,
    `CREATE TABLE words AS SELECT ${['count(*) AS n', ...distinct].join(', ')} FROM raw`,
    options,
    0.4,
  );
  const counted = await connection.runAndReadAll('SELECT n FROM words');
  const rows = Number(counted.getRows()[0]?.[0] ?? 0);
  report(options, 0.4, 'read once');
  const texts: string[][] = [];
  for (const at of all) {
    options.signal?.throwIfAborted();
    await connection.run(`CREATE TYPE words${at} AS ENUM (SELECT unnest(words${at}) FROM words ORDER BY 1)`);
    const words = await connection.runAndReadAll(`SELECT unnest(enum_range(NULL::words${at}))::VARCHAR`);
    texts.push(words.getColumns()[0]?.map(String) ?? []);
  }
  await connection.run('DROP TABLE words');
  const codes = all.map(() => new Int32Array(rows));
  if (count > 0) {
    // The code, not the ENUM itself: fetching ENUM vectors takes a hundred times as long.
    const selected = all.map((at) => `coalesce(enum_code(c${at}::words${at})::INTEGER, -1)`);
    const result = await connection.stream(`SELECT ${selected.join(', ')} FROM raw`);
    let start = 0;
    for (
      let chunk = await result.fetchChunk();
      chunk !== null && chunk.rowCount > 0;
      chunk = await result.fetchChunk()
    ) {
      options.signal?.throwIfAborted();
      for (const [at, column] of codes.entries()) copyIntegers(chunk.getColumnVector(at), column, start);
      start += chunk.rowCount;
      report(options, 0.4 + (0.4 * start) / rows, 'read twice');
    }
    if (start !== rows) throw new Error('The source changed while it was read.');
  }
  return { rows, columns: codes.map((column, at) => ({ codes: column, texts: texts[at] ?? [] })) };
}

/** The columns of a source with few rows; `undefined` where there are more, or no columns. */
async function fewRows(connection: DuckDBConnection, columns: readonly number[]): Promise<FetchedColumns | undefined> {
  if (columns.length === 0) return undefined;
  const names = columns.map((at) => `c${at}`).join(', ');
  const result = await connection.runAndReadAll(`SELECT ${names} FROM raw LIMIT ${FEW_ROWS + 1}`);
  const rows = result.currentRowCount;
  if (rows > FEW_ROWS) return undefined;
  const cells = result.getColumns();
  return {
    rows,
    columns: columns.map((at) => {
      const own = cells[at] ?? [];
      const texts = [...new Set(own.flatMap((cell) => (cell === null ? [] : String(cell))))].sort();
      const codeOf = new Map(texts.map((text, code) => [text, code]));
      return { texts, codes: Int32Array.from(own, (cell) => (cell === null ? -1 : codeOf.get(String(cell))!)) };
    }),
  };
}

/** How often a query that reads a whole source says how far it is. */
const REPORT_MILLISECONDS = 200;

/** Runs a query and reports, up to a share, how far the engine says it is. */
async function runReporting(
  connection: DuckDBConnection,
  sql: string,
  options: LongWorkOptions,
  upTo: number,
): Promise<void> {
  if (options.progress === undefined) {
    await connection.run(sql);
    return;
  }
  for (const setting of ['enable_progress_bar = true', 'enable_progress_bar_print = false', 'progress_bar_time = 0'])
    await connection.run(`SET ${setting}`);
  let done = 0;
  let failure: unknown;
  const timer = setInterval(() => {
    const share = (upTo * Math.min(100, connection.progress.percentage)) / 100;
    if (!(share > done)) return;
    done = share;
    try {
      report(options, share, 'reading');
    } catch (error) {
      failure = error;
      connection.interrupt();
    }
  }, REPORT_MILLISECONDS);
  try {
    await connection.run(sql);
  } catch (error) {
    throw failure ?? error;
  } finally {
    clearInterval(timer);
  }
}

function copyIntegers(
  vector: { itemCount: number; getItem(at: number): unknown },
  into: Int32Array,
  start: number,
): void {
  const { items } = vector as unknown as { items?: unknown };
  // The vector's own array where it can be seen: asking item by item takes ten times as long.
  if (items instanceof Int32Array) into.set(items.subarray(0, vector.itemCount), start);
  else for (let at = 0; at < vector.itemCount; at++) into[start + at] = Number(vector.getItem(at));
}

export function quoted(text: string): string {
  return `'${text.replaceAll("'", "''")}'`;
}

/** A path in which no letter stands for others. */
export function literalPath(path: string): string {
  return path.replaceAll(/[*?[]/g, '[$&]');
}

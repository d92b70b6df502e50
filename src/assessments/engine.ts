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
  const interrupt = (): void => connection.interrupt();
  options.signal?.addEventListener('abort', interrupt);
  try {
    return await work(connection);
  } catch (error) {
    options.signal?.throwIfAborted();
    if (error instanceof InputError) throw error;
    throw new InputError([unreadable(error)]);
  } finally {
    options.signal?.removeEventListener('abort', interrupt);
    connection.closeSync();
    instance.closeSync();
    await rm(spill, { recursive: true, force: true });
  }
}

/** The columns `c0`, `c1`, … of the table or view `raw` as distinct texts and codes; only these come over to JavaScript. */
export interface FetchedColumns {
  readonly rows: number;
  readonly columns: readonly { readonly codes: Int32Array; readonly texts: readonly string[] }[];
}

export async function fetchColumns(
  connection: DuckDBConnection,
  count: number,
  options: LongWorkOptions,
): Promise<FetchedColumns> {
  const counted = await connection.runAndReadAll('SELECT count(*)::INTEGER FROM raw');
  const rows = Number(counted.getRows()[0]?.[0] ?? 0);
  const texts: string[][] = [];
  const selected: string[] = [];
  for (let at = 0; at < count; at++) {
    options.signal?.throwIfAborted();
    await connection.run(
      `CREATE TYPE words${at} AS ENUM (SELECT DISTINCT c${at} FROM raw WHERE c${at} IS NOT NULL ORDER BY 1)`,
    );
    const distinct = await connection.runAndReadAll(`SELECT unnest(enum_range(NULL::words${at}))::VARCHAR`);
    texts.push(distinct.getColumns()[0]?.map(String) ?? []);
    // The code, not the ENUM itself: fetching ENUM vectors takes a hundred times as long.
    selected.push(`coalesce(enum_code(c${at}::words${at})::INTEGER, -1)`);
    options.progress?.(0.3 + (0.4 * (at + 1)) / count, 'distinct words');
  }
  const codes = texts.map(() => new Int32Array(rows));
  if (count > 0) {
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
    }
  }
  options.progress?.(0.8, 'fetched');
  return { rows, columns: codes.map((column, at) => ({ codes: column, texts: texts[at] ?? [] })) };
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

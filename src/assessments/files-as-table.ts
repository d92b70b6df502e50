import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { refuse } from '../shared/input-error.js';
import type { LongWorkOptions } from '../shared/options.js';
import { quoted } from './engine.js';
import type { SqlEngine } from './sql-table.js';

export interface FilesAsTableOptions extends Pick<LongWorkOptions, 'signal'> {
  /** Memory the engine may take, in megabytes; beyond it, it works on disk. Default 1000. */
  readonly memoryMegabytes?: number;
}

/**
 * Lends work an engine in which Parquet or CSV files are the table `assessments`, without loading them: for counting files
 * that are too large for memory. The engine is closed when the work ends; what it wrote to disk is removed.
 *
 * @param path a file, or a pattern for several with the same columns; Parquet where the name ends in `.parquet`, else CSV
 * with a header line.
 * @param work gets the engine; what it returns is returned.
 * @throws InputError `file-unreadable` (not found, or not such a file; the engine's own words can quote a cell and are not passed on).
 * @example
 * await filesAsTable('readings/*.parquet', (engine) =>
 *   ratingsFromWarehouse(engine, { table: 'assessments', columns }, { sign: 'pulse-grade' }))
 */
export async function filesAsTable<T>(
  path: string,
  work: (engine: SqlEngine) => Promise<T>,
  options: FilesAsTableOptions = {},
): Promise<T> {
  const { signal, memoryMegabytes = 1000 } = options;
  if (!Number.isInteger(memoryMegabytes) || memoryMegabytes < 100)
    throw refuse(
      'bad-option',
      ['options', 'memoryMegabytes'],
      'memoryMegabytes is no number of megabytes.',
      'give a whole number from 100.',
    );
  signal?.throwIfAborted();
  const { DuckDBInstance } = await import('@duckdb/node-api');
  const spill = await mkdtemp(join(tmpdir(), 'assessments-'));
  const instance = await DuckDBInstance.create(':memory:', {
    autoinstall_known_extensions: 'false',
    autoload_known_extensions: 'false',
    temp_directory: spill,
    memory_limit: `${memoryMegabytes}MB`,
    preserve_insertion_order: 'false',
  });
  const connection = await instance.connect();
  const interrupt = (): void => connection.interrupt();
  signal?.addEventListener('abort', interrupt);
  const read = /\.parquet$/i.test(path)
    ? `read_parquet(${quoted(path)}, hive_partitioning = false)`
    : `read_csv(${quoted(path)}, header = true, all_varchar = true)`;
  try {
    await connection.run(`CREATE VIEW assessments AS SELECT * FROM ${read}`).catch(() => {
      throw refuse(
        'file-unreadable',
        ['path'],
        'The files could not be read as a table.',
        'check the path, and that each is a whole Parquet or CSV file.',
      );
    });
    return await work({
      query: async (sql) => (await connection.runAndReadAll(sql)).getRowObjects(),
    });
  } finally {
    signal?.removeEventListener('abort', interrupt);
    connection.closeSync();
    instance.closeSync();
    await rm(spill, { recursive: true, force: true });
  }
}

import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** A column to be written: texts, numbers, or yes and no; `null` is an empty cell. */
export interface ParquetColumn {
  readonly name: string;
  readonly values: readonly (string | number | boolean | null)[];
}

/** DuckDB takes this many rows at a time. */
const CHUNK_ROWS = 2048;

/**
 * A Parquet file as bytes, made by DuckDB: texts as UTF-8, whole numbers as 64-bit integers, other numbers as doubles
 * (NaN stays apart from null), yes and no as booleans. `remarks` are kept in the file's own notes under their names.
 */
export async function parquetBytes(
  columns: readonly ParquetColumn[],
  remarks: Readonly<Record<string, string>> = {},
): Promise<Uint8Array> {
  const { DuckDBDataChunk, DuckDBInstance, BIGINT, BOOLEAN, DOUBLE, VARCHAR } = await import('@duckdb/node-api');
  const folder = await mkdtemp(join(tmpdir(), 'parquet-'));
  const instance = await DuckDBInstance.create(':memory:');
  const connection = await instance.connect();
  try {
    const kinds = columns.map(({ values }) => kindOf(values));
    const types = kinds.map((kind) => ({ VARCHAR, BIGINT, DOUBLE, BOOLEAN })[kind]);
    const named = columns.map(({ name }, at) => `c${at} AS "${name.replaceAll('"', '""')}"`);
    await connection.run(`CREATE TABLE t (${kinds.map((kind, at) => `c${at} ${kind}`).join(', ')})`);
    const appender = await connection.createAppender('t');
    const rows = columns[0]?.values.length ?? 0;
    for (let start = 0; start < rows; start += CHUNK_ROWS) {
      const chunk = DuckDBDataChunk.create(types, Math.min(CHUNK_ROWS, rows - start));
      for (const [at, { values }] of columns.entries()) {
        const part = values.slice(start, start + CHUNK_ROWS);
        chunk.setColumnValues(
          at,
          kinds[at] === 'BIGINT' ? part.map((one) => (one === null ? null : BigInt(one))) : part,
        );
      }
      appender.appendDataChunk(chunk);
    }
    appender.closeSync();
    const path = join(folder, 'table.parquet');
    const kept = Object.entries(remarks).map(([name, text]) => `${name}: ${quoted(text)}`);
    await connection.run(
      `COPY (SELECT ${named.join(', ')} FROM t) TO ${quoted(path)} (FORMAT parquet${kept.length === 0 ? '' : `, KV_METADATA {${kept.join(', ')}}`})`,
    );
    return await readFile(path);
  } finally {
    connection.closeSync();
    instance.closeSync();
    await rm(folder, { recursive: true, force: true });
  }
}

function kindOf(values: ParquetColumn['values']): 'VARCHAR' | 'BIGINT' | 'DOUBLE' | 'BOOLEAN' {
  const present = values.filter((value) => value !== null);
  if (present.length > 0 && present.every((value) => typeof value === 'boolean')) return 'BOOLEAN';
  if (present.length === 0 || !present.every((value) => typeof value === 'number')) return 'VARCHAR';
  return present.every((value) => Number.isSafeInteger(value) && !Object.is(value, -0)) ? 'BIGINT' : 'DOUBLE';
}

function quoted(text: string): string {
  return `'${text.replaceAll("'", "''")}'`;
}

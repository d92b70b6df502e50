import { DuckDBInstance } from '@duckdb/node-api';

/** Runs statements in an empty DuckDB, to write files as other programs write them. */
export async function runDuckdb(...statements: readonly string[]): Promise<void> {
  const instance = await DuckDBInstance.create(':memory:');
  const connection = await instance.connect();
  try {
    for (const statement of statements) await connection.run(statement);
  } finally {
    connection.closeSync();
    instance.closeSync();
  }
}

import { type DuckDBConnection, DuckDBInstance } from '@duckdb/node-api';

/** Runs statements in an empty DuckDB, to write files as other programs write them. */
export async function runDuckdb(...statements: readonly string[]): Promise<void> {
  await withDuckdb(async (connection) => {
    for (const statement of statements) await connection.run(statement);
  });
}

/** The rows of a query, to read files as other programs read them. */
export async function queryDuckdb(query: string): Promise<readonly (readonly unknown[])[]> {
  return withDuckdb(async (connection) => (await connection.runAndReadAll(query)).getRowsJS());
}

async function withDuckdb<T>(work: (connection: DuckDBConnection) => Promise<T>): Promise<T> {
  const instance = await DuckDBInstance.create(':memory:');
  const connection = await instance.connect();
  try {
    return await work(connection);
  } finally {
    connection.closeSync();
    instance.closeSync();
  }
}

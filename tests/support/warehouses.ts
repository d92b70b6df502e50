import { DuckDBInstance } from '@duckdb/node-api';
import pg from 'pg';
import { quotedName, quotedText, type SqlEngine } from '../../src/assessments/sql-table.ts';
import { postgresPrograms, startPostgres } from './postgres-server.ts';

/** Text, or nothing, by column. */
export type TextRow = Readonly<Record<string, string | null>>;

export interface Warehouse {
  readonly engine: SqlEngine;
  /** Makes a table of texts and fills it. */
  fill(table: readonly [schema: string, table: string], rows: readonly TextRow[]): Promise<void>;
  close(): Promise<void>;
}

const programs = postgresPrograms();

/** What the queries are tried on; those that are not here are left out, with a plain line. */
export const WAREHOUSES: readonly { readonly name: string; readonly isHere: boolean; open(): Promise<Warehouse> }[] = [
  {
    name: 'DuckDB',
    isHere: true,
    async open() {
      const instance = await DuckDBInstance.create(':memory:');
      const connection = await instance.connect();
      return warehouse(
        async (sql) => (await connection.runAndReadAll(sql)).getRowObjects(),
        async () => {
          connection.closeSync();
          instance.closeSync();
        },
      );
    },
  },
  {
    name: 'PostgreSQL',
    isHere: programs !== undefined,
    async open() {
      const server = startPostgres(programs!);
      const client = new pg.Client({ host: server.host, user: server.user, database: 'postgres' });
      await client.connect();
      return warehouse(
        async (sql) => (await client.query(sql)).rows,
        async () => {
          await client.end();
          server.stop();
        },
      );
    },
  },
];

function warehouse(query: SqlEngine['query'], close: () => Promise<void>): Warehouse {
  return {
    engine: { query },
    async fill([schema, table], rows) {
      const names = Object.keys(rows[0]!);
      const place = `${quotedName(schema)}.${quotedName(table)}`;
      await query(`CREATE SCHEMA IF NOT EXISTS ${quotedName(schema)}`);
      await query(`CREATE TABLE ${place} (${names.map((name) => `${quotedName(name)} VARCHAR(200)`).join(', ')})`);
      const values = rows.map(
        (row) => `(${names.map((name) => (row[name] == null ? 'NULL' : quotedText(row[name]))).join(', ')})`,
      );
      await query(`INSERT INTO ${place} VALUES ${values.join(', ')}`);
    },
    close,
  };
}

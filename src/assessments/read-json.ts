import { basename } from 'node:path';
import { Readable } from 'node:stream';
import { InputError, type Problem } from '../shared/input-error.js';
import type { LongWorkOptions } from '../shared/options.js';
import { fetchColumns, literalPath, quoted, withEngine } from './engine.js';
import { plainNumber } from './plain-number.js';
import type { RawTable } from './raw-table.js';
import { inTextFile } from './read-delimited.js';
import { headOfFile, inUnpackedFile, openFile, textLines } from './source-form.js';
import { cellTypeProblems, typedColumn } from './typed-column.js';

/** A record with more names than this is no row of a table. */
const MOST_COLUMNS = 1000;

/**
 * Reads rows written as JSON with DuckDB: one object a line (NDJSON), or one array of objects. Texts are taken as they
 * are, numbers exactly and in plain digits, `true` and `false` as such, null as an empty cell. The row of a problem is
 * the line of NDJSON; in an array the first object is row 2, as in a spreadsheet.
 *
 * Throws `InputError`: `file-unreadable`, `file-encoding`. Among the table's problems:
 * `columns-too-many`, `row-unreadable` (a line that is no JSON object), `key-twice`, `cell-type` (a list, an object, NaN, infinity).
 */
export async function readJson(path: string, options: LongWorkOptions): Promise<RawTable> {
  const { head, isGzip } = await headOfFile(path);
  if (head[0] === 0xef)
    throw new InputError([
      {
        code: 'file-encoding',
        message: 'The JSON begins with a byte order mark, which JSON does not allow.',
        mend: 'save the file in UTF-8 without byte order mark.',
      },
    ]);
  const isArray = /^\s*\[/.test(new TextDecoder('utf-8').decode(head));
  const lines = async (wanted: readonly number[]): Promise<readonly number[]> =>
    isArray ? wanted.map((row) => row + 2) : linesOf(openFile(path, isGzip), wanted);
  return inUnpackedFile(path, isGzip, options, (plain) => readTable(plain, basename(path), isArray, lines, options));
}

/** Reads JSON given as text, as a file is read. */
export async function readJsonText(written: string, options: LongWorkOptions): Promise<RawTable> {
  const text = written.replace(/^\uFEFF/, '');
  const isArray = /^\s*\[/.test(text);
  const lines = async (wanted: readonly number[]): Promise<readonly number[]> =>
    isArray ? wanted.map((row) => row + 2) : linesOf(Readable.from([Buffer.from(text)]), wanted);
  return inTextFile(text, (path) => readTable(path, undefined, isArray, lines, options));
}

async function readTable(
  path: string,
  name: string | undefined,
  isArray: boolean,
  locate: RawTable['locate'],
  options: LongWorkOptions,
): Promise<RawTable> {
  return withEngine(
    options,
    async (connection) => {
      const rowsOf = async (sql: string): Promise<unknown[][]> => (await connection.runAndReadAll(sql)).getRows();
      await connection.run(
        `CREATE TABLE records AS SELECT json FROM read_json_objects(${quoted(literalPath(path))}, ` +
          `format = '${isArray ? 'array' : 'newline_delimited'}', ignore_errors = ${!isArray}, ` +
          `compression = 'uncompressed', hive_partitioning = false)`,
      );
      // Few records differ in their names: what is asked of the names is asked of each set of them once.
      await connection.run(
        "CREATE TABLE shapes AS SELECT DISTINCT CASE WHEN json_type(json) = 'OBJECT' THEN json_keys(json) END AS keys FROM records",
      );
      const keys = (
        await rowsOf(
          `SELECT key, min(place) FROM (SELECT unnest(keys) AS key, generate_subscripts(keys, 1) AS place FROM shapes)
           GROUP BY key ORDER BY 2, 1 LIMIT ${MOST_COLUMNS + 1}`,
        )
      ).map(([key]) => String(key));
      const problems: Problem[] = [];
      if (keys.length > MOST_COLUMNS)
        problems.push({
          code: 'columns-too-many',
          message: `The records have more than ${MOST_COLUMNS} names between them.`,
          mend: 'write every record with the same names, one for each column.',
        });
      const [odd] = await rowsOf(
        'SELECT count(*)::INTEGER FROM shapes WHERE keys IS NULL OR len(keys) <> len(list_distinct(keys))',
      );
      const wrong =
        odd?.[0] === 0
          ? []
          : await rowsOf(
              `SELECT record, kind FROM (SELECT rowid AS record, CASE WHEN coalesce(json_type(json), '') <> 'OBJECT'
               THEN 'row-unreadable' WHEN len(json_keys(json)) <> len(list_distinct(json_keys(json))) THEN 'key-twice' END
               AS kind FROM records) WHERE kind IS NOT NULL ORDER BY record LIMIT 1000`,
            );
      const wrongRows = await locate(wrong.map(([row]) => Number(row)));
      problems.push(...wrong.map(([, kind], at) => recordProblem(String(kind), wrongRows[at], isArray)));
      const read = keys.slice(0, MOST_COLUMNS);
      // One pass takes every cell as it is written. A pointer, unlike a path, needs no marks around a name.
      const pointers = read.map((key) => quoted(`/${key.replaceAll('~', '~0').replaceAll('/', '~1')}`));
      const cells = read.map((_, at) => `cells[${at + 1}]::VARCHAR AS c${at}`);
      await connection.run(
        read.length === 0
          ? 'CREATE VIEW raw AS SELECT NULL FROM records'
          : `CREATE TABLE raw AS SELECT ${cells.join(', ')} FROM (SELECT json_extract(json, [${pointers.join(', ')}]) AS cells FROM records)`,
      );
      const fetched = await fetchColumns(connection, read.length, options);
      const columns = fetched.columns.map(({ codes, texts }, at) =>
        typedColumn(read[at] ?? '', codes, texts, textOfJson),
      );
      problems.push(...(await cellTypeProblems(columns, locate)));
      return {
        ...(name === undefined ? {} : { name }),
        rows: fetched.rows,
        columns: columns.map(({ column }) => column),
        problems,
        locate,
      };
    },
    () => ({
      code: 'file-unreadable',
      message: 'The file begins as JSON and could not be read as rows.',
      expected: 'one object a line, or one array of objects',
      mend: 'look whether it is whole and in UTF-8, and write it again.',
    }),
  );
}

/** The text of a JSON value as it is written; `undefined` for what can be no cell. */
function textOfJson(json: string): string | undefined {
  if (json.startsWith('"')) return JSON.parse(json) as string;
  if (json === 'null') return '';
  if (json === 'true' || json === 'false') return json;
  return /^-?\d/.test(json) ? plainNumber(json) : undefined;
}

function recordProblem(kind: string, row: number | undefined, isArray: boolean): Problem {
  const at = row === undefined ? {} : { row };
  if (kind === 'key-twice')
    return {
      code: kind,
      ...at,
      message: 'The record gives a name twice.',
      mend: 'give each value a name of its own.',
    };
  return {
    code: kind,
    ...at,
    message: `The ${isArray ? 'element' : 'line'} is no JSON object that can be read.`,
    expected: isArray ? 'an object with one value for each column' : 'one whole object on the line',
  };
}

/** The lines on which records stand; blank lines hold none. `wanted` rises. */
async function linesOf(stream: Readable, wanted: readonly number[]): Promise<readonly number[]> {
  const found: number[] = [];
  if (wanted.length === 0) {
    stream.destroy();
    return found;
  }
  let line = 0;
  let record = -1;
  for await (const text of textLines(stream)) {
    line++;
    if (text.trim() === '') continue;
    record++;
    if (wanted[found.length] === record) found.push(line);
    if (found.length === wanted.length) break;
  }
  return found;
}

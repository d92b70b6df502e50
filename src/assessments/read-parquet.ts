import { basename } from 'node:path';
import { InputError, type Problem } from '../shared/input-error.js';
import type { LongWorkOptions } from '../shared/options.js';
import { fetchColumns, literalPath, quoted, withEngine } from './engine.js';
import { plainNumber } from './plain-number.js';
import type { RawTable } from './raw-table.js';
import { cellTypeProblems, columnTypeProblem, headersTwice, typedColumn } from './typed-column.js';

/**
 * Reads a Parquet file with DuckDB, column by column and without loading its rows. Texts are taken as they are,
 * numbers exactly and in plain digits, booleans as `true` and `false`, null as an empty cell. A file has no header
 * line, yet rows count as in a spreadsheet: the first is row 2.
 *
 * Throws `InputError`: `header-twice`, `file-unreadable`. Among the table's problems: `identifier-column` for dates,
 * `column-type` for times, bytes, lists and objects, `cell-type` for NaN and infinity.
 */
export async function readParquet(path: string, options: LongWorkOptions): Promise<RawTable> {
  return withEngine(
    options,
    async (connection) => {
      const file = quoted(literalPath(path));
      const source = `read_parquet(${file}, hive_partitioning = false)`;
      const described = await connection.runAndReadAll(`DESCRIBE SELECT * FROM ${source}`);
      const fields = described.getRows().map(([name, type]) => ({ name: String(name), type: String(type) }));
      const schema = await connection.runAndReadAll(`SELECT name, num_children::INTEGER FROM parquet_schema(${file})`);
      const headers = topLevel(schema.getRows().map(([name, children]) => [String(name), Number(children ?? 0)]));
      // The engine would rename columns of one name; to it capitals make no difference.
      const twice = headersTwice(fields.some(({ name }, at) => name !== headers[at]) ? lowerTwice(headers) : headers);
      if (twice.length > 0) throw new InputError(twice);

      const problems: Problem[] = [];
      const read = fields.flatMap(({ name, type }) => {
        const kind = kindOf(type);
        if (kind === 'text' || kind === 'number') return [{ name, kind }];
        problems.push(columnTypeProblem(name, kind));
        return [];
      });
      const selected = read.map(({ name }, at) => `"${name.replaceAll('"', '""')}"::VARCHAR AS c${at}`);
      await connection.run(
        `CREATE VIEW raw AS SELECT ${selected.length === 0 ? 'NULL' : selected.join(', ')} FROM ${source}`,
      );
      const { rows, columns: fetched } = await fetchColumns(connection, read.length, options);
      const columns = fetched.map(({ codes, texts }, at) => {
        const { name = '', kind } = read[at] ?? {};
        return typedColumn(name, codes, texts, kind === 'number' ? finiteNumber : (text) => text);
      });
      const locate: RawTable['locate'] = async (wanted) => wanted.map((row) => row + 2);
      problems.push(...(await cellTypeProblems(columns, locate)));
      return { name: basename(path), rows, columns: columns.map(({ column }) => column), problems, locate };
    },
    () => ({
      code: 'file-unreadable',
      message: 'The Parquet file could not be read.',
      mend: 'look whether it is whole and not encrypted, and write it again.',
    }),
  );
}

function finiteNumber(text: string): string | undefined {
  return /^-?(?:nan|inf)/i.test(text) ? undefined : plainNumber(text);
}

function kindOf(type: string): 'text' | 'number' | 'dates' | 'times' | 'lists or objects' | 'bytes' {
  if (/\[\d*\]$|^(?:STRUCT|MAP|UNION|VARIANT|JSON)/.test(type)) return 'lists or objects';
  if (/^(?:VARCHAR|UUID|BOOLEAN|ENUM|"?NULL)/.test(type)) return 'text';
  if (/^(?:U?(?:TINY|SMALL|BIG|HUGE)?INT(?:EGER)?|DECIMAL|DOUBLE|FLOAT)(?:\(|$)/.test(type)) return 'number';
  if (/^(?:DATE|TIMESTAMP)/.test(type)) return 'dates';
  return /^(?:TIME|INTERVAL)/.test(type) ? 'times' : 'bytes';
}

/** The names of the columns in a schema that is written down depth first, the root before everything. */
function topLevel(elements: readonly (readonly [name: string, children: number])[]): readonly string[] {
  const names: string[] = [];
  let at = 1;
  const skip = (): void => {
    const children = elements[at++]?.[1] ?? 0;
    for (let child = 0; child < children; child++) skip();
  };
  while (at < elements.length) {
    names.push(elements[at]?.[0] ?? '');
    skip();
  }
  return names;
}

/** Names that differ in their capitals only, made one. */
function lowerTwice(headers: readonly string[]): readonly string[] {
  return headers.map((header) => headers.find((first) => first.toLowerCase() === header.toLowerCase()) ?? header);
}

import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { runDuckdb } from '../support/duckdb.ts';
import { problemsOf, refusalsOf } from '../support/problems-of.ts';

let folder = '';
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'parquet-'));
});
afterAll(() => rm(folder, { recursive: true }));

const BASE = "'P1' AS patient, 'A' AS assessor, 'left-leg' AS limb, 'great toe' AS site, 'capillary-refill' AS sign";
let files = 0;
async function parquet(columns: string, more = ''): Promise<string> {
  const path = join(folder, `${files++}.parquet`);
  await runDuckdb(`COPY (SELECT ${BASE}, ${columns} ${more}) TO '${path}' (FORMAT parquet)`);
  return path;
}
const SECONDS = "'refill.seconds.toe' AS scale";

test.each([
  ['2.5::DOUBLE', 2.5],
  ['2.3::FLOAT', 2.3],
  ['2.50::DECIMAL(5, 2)', 2.5],
  ['3::TINYINT', 3],
  ['3::UBIGINT', 3],
  ["'2,5'", 2.5],
  ['1e-7::DOUBLE', 1e-7],
])('%s is read exactly', async (value, number) => {
  const loaded = await loadAssessments(await parquet(`${SECONDS}, ${value} AS value`));
  expect(loaded.number[0]).toBe(number);
});

test('a code written as a number is the code it is as text', async () => {
  const path = join(folder, 'codes.parquet');
  await runDuckdb(
    `COPY (SELECT 7.0::DOUBLE AS patient, 'A' AS assessor, 'left-leg' AS limb, 'great toe' AS site, 'capillary-refill' AS sign, ${SECONDS}, 2 AS value) TO '${path}' (FORMAT parquet)`,
  );
  expect((await loadAssessments(path)).patient.values).toEqual(['7']);
});

test('null and an empty text are empty cells', async () => {
  const path = await parquet(`${SECONDS}, NULL::DOUBLE AS value, '' AS missing`);
  expect((await loadAssessments(path)).toRows()[0]).toMatchObject({ value: null, missing: null });
});

test.each([
  ["DATE '2026-03-01' AS seen", ['- seen identifier-column']],
  ["TIMESTAMPTZ '2026-03-01 10:00:00Z' AS seen", ['- seen identifier-column']],
  ["TIME '10:00' AS clock", ['- clock column-type']],
  ['[1, 2] AS list', ['- list column-type']],
  ["{'a': 1} AS record", ['- record column-type']],
  ["MAP {'a': 1} AS map", ['- map column-type']],
  ["'x'::BLOB AS bytes", ['- bytes column-type']],
  ["'nan'::DOUBLE AS extra", ['2 extra cell-type']],
  ["'-inf'::FLOAT AS extra", ['2 extra cell-type']],
])('%s is refused', async (column, refusals) => {
  expect(await refusalsOf(await parquet(`${SECONDS}, 2 AS value, ${column}`))).toEqual(refusals);
});

test('dates in a text column are refused as in a text file', async () => {
  expect(await refusalsOf(await parquet(`${SECONDS}, 2 AS value, '2026-03-01' AS remark`))).toEqual([
    '2 remark identifier-value',
  ]);
});

// DuckDB writes no name twice, other programs do: one letter is changed in the written file.
test.each(['value', 'Value'])('a second column named %s is refused', async (name) => {
  const path = await parquet(`${SECONDS}, 2 AS value, 3 AS zalue`);
  const bytes = await readFile(path, 'latin1');
  await writeFile(path, bytes.replaceAll('zalue', name), 'latin1');
  expect(await refusalsOf(path)).toEqual(['- value header-twice']);
});

test('a header that is an identifier is not repeated', async () => {
  const problems = await problemsOf(await parquet(`${SECONDS}, 2 AS value, [1] AS "Jane Q. Doe"`));
  expect(problems.map(({ code }) => code)).toEqual(['column-type']);
  expect(JSON.stringify(problems)).not.toMatch(/Jane/);
});

test('a folder named as a column adds none', async () => {
  const path = join(folder, 'unit=W9');
  await runDuckdb(
    `COPY (SELECT ${BASE}, ${SECONDS}, 2 AS value, 'W9' AS unit) TO '${path}' (FORMAT parquet, PARTITION_BY (unit))`,
  );
  expect((await loadAssessments(`${path}/*/*`)).toRows()[0]?.unit).toBeNull();
});

test('ten thousand cells that can be no value are counted, not listed', async () => {
  const path = await parquet(
    `${SECONDS}, 2 AS value, i AS replicate, 'nan'::DOUBLE AS extra`,
    'FROM range(1, 10001) r(i)',
  );
  const problems = await problemsOf(path);
  expect(problems.length).toBe(1001);
  expect(problems[0]?.message).toMatch(/9000 more cells/);
});

// @ts-check
import { DuckDBInstance } from '@duckdb/node-api';

/**
 * Writes invented pulse grades: patients with eight limb sites on some days each, every one read by two assessors.
 * The same rows however often it is run: everything comes from the row's number.
 *
 * @param {string} path of the file to write
 * @param {number} rows a multiple of 2
 * @param {'csv' | 'parquet'} form
 * @param {{ days: number, assessors: number }} sizes days of each patient, and assessors in all
 */
export async function writeReadings(path, rows, form = 'csv', { days, assessors } = { days: 5, assessors: 12 }) {
  const instance = await DuckDBInstance.create(':memory:', { memory_limit: '1GB' });
  const connection = await instance.connect();
  // A whole number that looks like chance: the row's (or the target's) number, scrambled.
  const chance = (/** @type {string} */ of, /** @type {number} */ salt, /** @type {number} */ below) =>
    `(hash(${of} * 64 + ${salt}) % ${below})::INTEGER`;
  const options = form === 'csv' ? 'FORMAT csv, HEADER' : 'FORMAT parquet, ROW_GROUP_SIZE 122880';
  await connection.run(`COPY (
    WITH rows AS (SELECT range AS i, range // 2 AS target FROM range(${rows})),
    placed AS (SELECT *, target // ${8 * days} AS patient, (target % ${8 * days})::INTEGER AS place FROM rows),
    read AS (SELECT *,
      (${chance('target', 1, assessors)} + (i % 2) * (1 + ${chance('target', 2, assessors - 1)})) % ${assessors} + 1 AS assessor,
      greatest(0, least(3, (${chance('target', 3, 10)} + ${chance('i', 4, 4)}) // 3)) AS grade,
      ${chance('i', 5, 50)} = 0 AS covered FROM placed)
    SELECT 'P' || lpad(patient::VARCHAR, 6, '0') AS patient, 'RN-' || lpad(assessor::VARCHAR, 4, '0') AS assessor,
      place // 8 * 7 AS day, place // 8 + 1 AS period, 'visit-' || lpad((place // 8 + 1)::VARCHAR, 2, '0') AS occasion,
      CASE WHEN place % 2 = 0 THEN 'left-leg' ELSE 'right-leg' END AS limb,
      ['femoral', 'popliteal', 'posterior-tibial', 'dorsalis-pedis'][place // 2 % 4 + 1] AS site,
      'pulse-grade' AS sign, 'pulse.0-3.normal2' AS scale,
      CASE WHEN covered THEN NULL ELSE grade END AS value, CASE WHEN covered THEN 'covered' END AS missing
    FROM read) TO '${path.replaceAll("'", "''")}' (${options})`);
  connection.closeSync();
  instance.closeSync();
}

// @ts-check
// How long loading takes with every check, against the engine's own reading of the same file, and how much memory:
// each in a process of its own, in turn. Needs a build (npm run build).
// usage: node tests/benchmark/load-ten-million.mjs [rows = 10000000] [rounds = 2] [csv | parquet, default both]
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { writeReadings } from './write-readings.mjs';

const [first = '10000000', second = '2', third = ''] = process.argv.slice(2);
if (first === 'load' || first === 'plain') await measure(first, second, third);
else await compare(Number(first), Number(second), third);

/** @param {number} rows @param {number} rounds @param {string} only */
async function compare(rows, rounds, only) {
  const folder = mkdtempSync(join(tmpdir(), 'readings-'));
  try {
    for (const form of /** @type {const} */ (['csv', 'parquet'])) {
      if (only !== '' && only !== form) continue;
      const path = join(folder, `readings.${form}`);
      await writeReadings(path, rows, form);
      say(`${form}: ${rows.toLocaleString('en')} rows of 11 columns, ${(statSync(path).size / 1e6).toFixed(0)} MB`);
      for (let round = 0; round < rounds; round++) {
        const plain = run('plain', path, form);
        const load = run('load', path, form);
        const ratio = (/** @type {'seconds' | 'worked'} */ of) => (load[of] / plain[of]).toFixed(2);
        say(`  ${words('plain reading', plain)}; ${words('load', load)}; ${ratio('seconds')} × (${ratio('worked')} ×)`);
      }
      rmSync(path);
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** @typedef {{ seconds: number, worked: number, peak: number }} Figures times on the clock and of all processors in seconds, memory in bytes */

/** @param {string} what @param {Figures} figures */
function words(what, { seconds, worked, peak }) {
  return `${what} ${seconds.toFixed(1)} s (${worked.toFixed(1)} s of processor), at most ${(peak / 1e9).toFixed(2)} GB`;
}

/** @param {string[]} args @returns {Figures} */
function run(...args) {
  return JSON.parse(execFileSync(process.execPath, [fileURLToPath(import.meta.url), ...args], { encoding: 'utf8' }));
}

/** @param {'load' | 'plain'} what @param {string} path @param {string} form */
async function measure(what, path, form) {
  const { DuckDBInstance } = await import('@duckdb/node-api');
  const { loadAssessments } = await import(new URL('../../dist/index.js', import.meta.url).href);
  const before = process.cpuUsage();
  const start = process.hrtime.bigint();
  if (what === 'load') {
    const assessments = await loadAssessments(path);
    if (!(assessments.length > 0)) throw new Error('Nothing was loaded.');
  } else {
    const connection = await (await DuckDBInstance.create(':memory:')).connect();
    await connection.run(`CREATE TABLE plain AS SELECT * FROM read_${form}('${path.replaceAll("'", "''")}')`);
  }
  const seconds = Number(process.hrtime.bigint() - start) / 1e9;
  const { user, system } = process.cpuUsage(before);
  // maxRSS counts kilobytes on every system.
  say(JSON.stringify({ seconds, worked: (user + system) / 1e6, peak: process.resourceUsage().maxRSS * 1024 }));
  process.exit(0);
}

/** @param {string} line */
function say(line) {
  process.stdout.write(`${line}\n`);
}

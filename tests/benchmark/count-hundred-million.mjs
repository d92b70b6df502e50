// @ts-check
// How long it takes to count Parquet rows without loading them, up to a coefficient with its interval, and how much
// memory, in a process of its own. Needs a build (npm run build).
// usage: node tests/benchmark/count-hundred-million.mjs [rows = 100000000]
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { writeReadings } from './write-readings.mjs';

const [first = '100000000', second = ''] = process.argv.slice(2);
if (first === 'count') await count(second);
else await measure(Number(first));

/** @param {number} rows */
async function measure(rows) {
  const folder = mkdtempSync(join(tmpdir(), 'readings-'));
  const path = join(folder, 'readings.parquet');
  try {
    // A register of years: about 1,000 readings of each patient by one pair of assessors.
    await writeReadings(path, rows, 'parquet', { days: 62, assessors: 2 });
    say(`${rows.toLocaleString('en')} rows, ${(statSync(path).size / 1e6).toFixed(0)} MB of Parquet`);
    execFileSync(process.execPath, [fileURLToPath(import.meta.url), 'count', path], { stdio: 'inherit' });
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** @param {string} path */
async function count(path) {
  const { congerKappa, filesAsTable, ratingsFromWarehouse } = await import(
    new URL('../../dist/index.js', import.meta.url).href
  );
  const names = ['patient', 'assessor', 'occasion', 'limb', 'site', 'sign', 'scale', 'value', 'missing'];
  const columns = Object.fromEntries(names.map((name) => [name, name]));
  const start = process.hrtime.bigint();
  const ratings = await filesAsTable(path, (/** @type {import('../../src/index.ts').SqlEngine} */ engine) =>
    ratingsFromWarehouse(engine, { table: 'assessments', columns }, { sign: 'pulse-grade' }),
  );
  const counted = Number(process.hrtime.bigint() - start) / 1e9;
  const counting = peak();
  const kappa = congerKappa(ratings, { interval: 'cluster-robust' });
  const { user, system } = process.cpuUsage();
  say(
    `counted in ${counted.toFixed(1)} s, at most ${counting} GB; with kappa ${(Number(process.hrtime.bigint() - start) / 1e9).toFixed(1)} s ` +
      `(${((user + system) / 1e6).toFixed(1)} s of processor), at most ${peak()} GB`,
  );
  say(String(kappa));
}

/** The most memory so far, in gigabytes: maxRSS counts kilobytes on every system. */
function peak() {
  return ((process.resourceUsage().maxRSS * 1024) / 1e9).toFixed(2);
}

/** @param {string} line */
function say(line) {
  process.stdout.write(`${line}\n`);
}

// @ts-check
// Every check of the project: form, types, dead code, then the tests, notebooks included. Each of the first three
// counts as one. The last line says how many passed and failed.
// usage: node .config/run-tests.mjs [check]     (check: all but the tests)
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { root } from './set-up.mjs';

const checks = {
  'form and lint': ['@biomejs/biome/bin/biome', 'check', '.'],
  types: ['typescript/lib/tsc.js', '-p', 'tests/tsconfig.json'],
  'dead code and dependencies': ['knip/bin/knip.js', '--config', '.config/knip.json'],
};

const outcomes = Object.entries(checks).map(([name, args]) => {
  const ok = run(args);
  process.stdout.write(`${ok ? 'ok' : 'FAILED'}: ${name}\n`);
  return { passed: ok ? 1 : 0, failed: ok ? 0 : 1, skipped: 0 };
});
if (process.argv[2] !== 'check') outcomes.push(runVitest());

const sum = (/** @type {'passed' | 'failed' | 'skipped'} */ key) =>
  outcomes.reduce((total, one) => total + one[key], 0);
if (sum('skipped') > 0) process.stdout.write(`${sum('skipped')} tests did not run; the lines above say why.\n`);
process.stdout.write(`${sum('passed')} passed, ${sum('failed')} failed\n`);
process.exitCode = sum('failed') === 0 ? 0 : 1;

function runVitest() {
  const folder = mkdtempSync(join(tmpdir(), 'limb-perfusion-'));
  const record = join(folder, 'tests.json');
  const reporters = ['--reporter=default', '--reporter=json', `--outputFile.json=${record}`];
  const ok = run(['vitest/vitest.mjs', 'run', '--config=.config/vitest.config.ts', ...reporters]);
  const { passed, failed, skipped } = countsIn(record);
  rmSync(folder, { recursive: true });
  // A file that does not load has no failed test of its own, nor has an error outside every test.
  return { passed, failed: ok ? 0 : Math.max(failed, 1), skipped };
}

/** @param {string} record */
function countsIn(record) {
  if (!existsSync(record)) return { passed: 0, failed: 1, skipped: 0 };
  const { numPassedTests, numFailedTests, numPendingTests } = JSON.parse(readFileSync(record, 'utf8'));
  return { passed: numPassedTests, failed: numFailedTests, skipped: numPendingTests };
}

/**
 * @param {string[]} args a program of node_modules and its arguments
 * @returns {boolean} whether it ended well
 */
function run([program = '', ...args]) {
  const path = join(root, 'node_modules', program);
  const { status } = spawnSync(process.execPath, [path, ...args], {
    cwd: root,
    stdio: ['ignore', 'inherit', 'inherit'],
  });
  return status === 0;
}

// @ts-check
// The main job on the demo data: executes every notebook in the TypeScript kernel and leaves one page for each in
// reports-html/, with one line of result. usage: npm run demo
import { rmSync } from 'node:fs';
import { join, relative } from 'node:path';
import process from 'node:process';
import { pathToFileURL } from 'node:url';
import { executeNotebooks, projectNotebooks } from './execute-notebooks.mjs';
import { findPython, root } from './set-up.mjs';

const folder = join(root, 'reports-html');
const notebooks = projectNotebooks();
if (notebooks.length === 0) {
  say('There is no notebook in notebooks/, so there is nothing to execute.');
} else {
  const python = findPython();
  if (python === undefined) throw new Error('Jupyter is missing: run this as "npm run demo", which sets it up.');
  rmSync(folder, { recursive: true, force: true });
  say('Executing the notebooks in the TypeScript kernel, two at a time …');
  const outcomes = await executeNotebooks(notebooks, python, folder, tell);
  const failed = outcomes.filter((outcome) => outcome.failure !== undefined);
  say(`\nThe reports are in ${pathToFileURL(folder).href}/ — open them in any browser; they need no connection.`);
  if (failed.length > 0) {
    say(`${failed.length} of ${notebooks.length} notebooks failed; their errors stand above.`);
    process.exitCode = 1;
  }
}

/** @param {import('./execute-notebooks.mjs').NotebookOutcome} outcome */
function tell({ name, seconds, failure, result, page }) {
  say(`\n${name} (${seconds.toFixed(0)} s)`);
  if (failure !== undefined) say(`  FAILED\n${failure.replace(/^/gm, '  ')}`);
  else
    say(
      `  ${result === undefined ? 'It states no result of its own.' : `Result: ${result}`}\n  ${relative(root, page ?? '')}`,
    );
}

/** @param {string} line */
function say(line) {
  process.stdout.write(`${line}\n`);
}

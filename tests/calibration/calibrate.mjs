// Are intervals, chances and signals right as often as they say? Simulated studies with a known truth.
// usage: npm run calibrate [-- part …] [--studies N] [--workers N]
// Writes the tables of DEVELOPERS.md and the picture of coverage. What is done is kept in reports/calibration, and a run that
// was stopped goes on there; all parts take about four hours of two processors. With --studies nothing is written but the
// tables on the screen: figures of fewer studies are for looking only.
import { readFileSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { runCells } from './run-cells.mjs';
import { PARTS } from './tables.mjs';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { studies: { type: 'string' }, workers: { type: 'string', default: String(cpus().length) } },
});
const unknown = positionals.filter((part) => !(part in PARTS));
if (unknown.length > 0) {
  process.stderr.write(`There is no part ${unknown.join(', ')}; choose of ${Object.keys(PARTS).join(', ')}.\n`);
  process.exit(1);
}
const page = fileURLToPath(new URL('../../DEVELOPERS.md', import.meta.url));
const machine = `${cpus().length} processors (${cpus()[0].model.trim()}), Node ${process.version}`;

for (const part of positionals.length > 0 ? positionals : Object.keys(PARTS)) {
  const { studies } = await import(`./${part}.mjs`);
  const asked = values.studies === undefined ? studies : Number(values.studies);
  const results = await runCells(part, { studies: asked, workers: Number(values.workers) });
  const { lines, write } = PARTS[part];
  const table = (await lines(results)).join('\n');
  process.stdout.write(`\n${table}\n`);
  if (asked !== studies) continue;
  await write?.(results);
  const date = new Date().toISOString().slice(0, 10);
  replaceBetween(
    `calibration ${part}`,
    `${table}\n\nComputed ${date} on ${machine}; \`npm run calibrate -- ${part}\`.`,
  );
}

/** Puts text between the two comments of a name in the contributors' guide. */
function replaceBetween(name, text) {
  const guide = readFileSync(page, 'utf8');
  const [start, end] = [`<!-- ${name} -->`, `<!-- end of ${name} -->`];
  const [from, to] = [guide.indexOf(start), guide.indexOf(end)];
  if (from < 0 || to < from) throw new Error(`DEVELOPERS.md has no place "${start}" … "${end}".`);
  writeFileSync(page, `${guide.slice(0, from + start.length)}\n${text}\n${guide.slice(to)}`);
}

// How many digits of every statistic are right: the largest disagreement with a reference that is run now, on textbook,
// random and ill-conditioned data. Writes the table "How exact it is" in DEVELOPERS.md and the figures that the suite holds
// the library to (exact-values.json). usage: npm run accuracy [-- part of a statistic's name, which writes nothing]
import { spawnSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import process from 'node:process';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'rolldown';
import { agreementChecks } from './checks-agreement.mjs';
import { changeChecks } from './checks-change.mjs';
import { distributionChecks } from './checks-distributions.mjs';
import { measuredChecks } from './checks-measured.mjs';
import { modelChecks } from './checks-models.mjs';
import { digitsOf } from './digits.mjs';

const here = fileURLToPath(new URL('./', import.meta.url));
const root = fileURLToPath(new URL('../../', import.meta.url));
const folder = join(root, 'node_modules/.limb-perfusion/accuracy');
mkdirSync(folder, { recursive: true });
await build({ input: join(here, 'library.ts'), platform: 'node', external: /^[^./]/, logLevel: 'warn', output: { file: join(folder, 'library.js'), codeSplitting: false } });
const library = await import(pathToFileURL(join(folder, 'library.js')).href);
const only = process.argv[2] ?? '';
const all = [...agreementChecks(library), ...measuredChecks(library), ...distributionChecks(library), ...changeChecks(library), ...modelChecks(library)].map((check, id) => ({ ...check, id }));
const checks = all.filter(({ statistic, file }) => (statistic + file).includes(only));

const references = new Map();
const say = (t) => process.stderr.write(`${new Date().toISOString().slice(11, 19)} ${t}\n`);
for (const [ending, program] of [['.py', '/usr/bin/python3'], ['.R', 'Rscript']]) {
  const own = checks.filter(({ file }) => file.endsWith(ending));
  if (own.length === 0) continue;
  const tasks = join(folder, `tasks${ending}.json`);
  writeFileSync(tasks, JSON.stringify(own.map(({ id, file, call, input }) => ({ id, module: file.slice(0, -ending.length), function: call, input }))));
  say(`${own.length} ${program}`);
  const run = spawnSync(program, [join(here, `run_references${ending}`), tasks, here], { encoding: 'utf8', maxBuffer: 1e9, stdio: ['ignore', 'pipe', 'inherit'] });
  say('done');
  for (const line of run.stdout.trim().split('\n')) {
    if (ending === '.py') { const one = JSON.parse(line); references.set(one.id, one); continue; }
    const [id, name, text] = line.split('\t');
    const one = references.get(Number(id)) ?? { values: {} };
    if (name === 'error') one.error = text; else one.values[name] = text.trim();
    references.set(Number(id), one);
  }
}
const worst = new Map();
for (const check of checks) {
  const reference = references.get(check.id);
  if (reference?.error || !reference) { console.log('REF ERROR', check.statistic, check.words, reference?.error); continue; }
  if (reference.seconds > 3) console.log('slow', reference.seconds, check.statistic, check.words);
  let ours;
  try { ours = await check.ours(); } catch (e) { console.log('OURS ERROR', check.statistic, check.words, e.message); continue; }
  const key = check.statistic + ' ' + check.file.split('.')[1];
  for (const [name, text] of Object.entries(reference.values)) {
    if (check.names && !check.names.includes(name)) continue;
    if (check.only && !check.only.test(name)) continue;
    const digits = digitsOf(ours[name], text);
    const w = worst.get(key) ?? { digits: 99, count: 0 };
    w.count++;
    if (digits < w.digits) Object.assign(w, { digits, words: `${name}: ${check.words}`, ours: ours[name], text });
    worst.set(key, w);
    if (process.argv[3] && digits < Number(process.argv[3])) console.log('  ', digits.toFixed(1), check.statistic, name, check.words, ours[name], text);
  }
}
say('compared');
for (const [name, w] of worst) console.log(w.digits.toFixed(1).padStart(5), name, w.count, w.words, w.ours, w.text);

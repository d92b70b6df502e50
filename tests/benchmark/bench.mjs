// @ts-check
// The speed harness: our work beside the reference programs' on the same invented data, in turns in one run.
// usage: npm run bench [-- <part of a name> ...] [--quick] [--list]
// The whole run writes its section of DEVELOPERS.md and notebooks/pictures/speed.svg; a part of it, or the small sizes of
// --quick, only print. It judges answers, which must be the same, and no times.
import { spawnSync } from 'node:child_process';
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { installReferences, measure, referencePrograms } from './measure.mjs';
import { profileOf } from './profile.mjs';
import { growthLines, profileLines, tableLines, writeReport } from './report.mjs';
import { worksOf } from './works.mjs';

const asked = process.argv.slice(2).filter((word) => !word.startsWith('--'));
const quick = process.argv.includes('--quick');
const say = (/** @type {string} */ line) => process.stdout.write(`${line}\n`);

const works = worksOf(quick).filter(({ name, byNameOnly }) =>
  asked.length === 0
    ? byNameOnly !== true && !(quick && name === 'start-kernel')
    : asked.some((part) => name.includes(part)),
);
const isWanted = (/** @type {string} */ name) => asked.length === 0 || asked.some((part) => name.includes(part));
if (process.argv.includes('--list')) {
  for (const { name, title } of worksOf(quick)) say(`${name}: ${title}`);
  say('growth: how the times grow\nprofile: what the slowest does');
  process.exit(0);
}
if (works.length === 0 && !isWanted('growth') && !isWanted('profile')) {
  say(`No work has that in its name; npm run bench -- --list names them.`);
  process.exit(1);
}

if (!quick) installReferences(say);
const results = await measure(works, say);
const growth = isWanted('growth') && !(quick && asked.length === 0) ? growthHere() : undefined;
// Of what takes longest, and of the study, whose algorithms are all ours.
const longest = results
  // What a reference program has to prepare first is not profiled.
  .filter(({ work, ours }) => ours[0]?.form.program === 'node' && work.prepare === undefined)
  .sort((a, b) => (b.ours[0]?.inner ?? 0) - (a.ours[0]?.inner ?? 0))[0];
const wanted = new Set([
  ...(longest === undefined ? [] : [longest.work.name]),
  ...(isWanted('profile') ? ['study'] : []),
]);
/** @type {import('./profile.mjs').Profile[]} */
const profiles = [];
for (const work of worksOf(quick)) if (!quick && wanted.has(work.name)) profiles.push(await profileOf(work));

const whole = asked.length === 0 && !quick;
for (const line of [
  ...tableLines(results),
  ...(growth === undefined ? [] : growthLines(growth)),
  ...profiles.flatMap(profileLines),
])
  say(line);
if (whole && growth !== undefined) await writeReport({ results, growth, profiles, programs: referencePrograms() });

/** In a process of its own, which starts cold. @returns {import('./report.mjs').Growth[]} */
function growthHere() {
  say('growth …');
  const args = [fileURLToPath(new URL('growth.mjs', import.meta.url)), ...(quick ? ['quick'] : [])];
  const done = spawnSync(process.execPath, args, { encoding: 'utf8' });
  if (done.status !== 0) throw new Error(done.stderr);
  return JSON.parse(done.stdout);
}

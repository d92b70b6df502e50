// Plants faults in src/agreement, src/measurement-error, src/progression and src/models, one at a time, and asks whether the tests see them.
// usage: npm run mutate -- [--each 100] [--seed 1] [--all] [--workers 1] [--survivors] [--write] [--folder models] [--patience 60]
//   --each       faults drawn a folder, at random among all that a program can plant there and the compiler lets through
//   --all        every fault (days on two cores); a run that was ended goes on where it stopped
//   --survivors  only what survived the last run of this seed, after a test was sharpened
//   --write      puts the table of the result into DEVELOPERS.md; not of survivors shown again, whose share is too favorable
//   --folder     one folder alone, while tests are sharpened (never written); --patience: seconds of tests after which a fault has survived
// A fault is shown, one test file after another, to the tests that enter its stretch of code: the test file of its own name first, then
// the quickest. The first failing test ends it. A fault that makes a test run ten times its time and twenty seconds more is ended and counts as seen.
import { fork } from 'node:child_process';
import { createHash } from 'node:crypto';
import { appendFileSync, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { basename, join, relative } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { mutantsOf, planted } from './mutants.mjs';
import { FOLDERS, regionOf, sourceFiles } from './regions.mjs';
import { summary, writeTable } from './table.mjs';
import { typeChecker } from './type-check.mjs';

const { values: asked } = parseArgs({
  options: {
    each: { type: 'string', default: '100' },
    seed: { type: 'string', default: '1' },
    workers: { type: 'string', default: '1' },
    folder: { type: 'string' },
    patience: { type: 'string', default: '60' },
    all: { type: 'boolean', default: false },
    survivors: { type: 'boolean', default: false },
    write: { type: 'boolean', default: false },
  },
});
/** The folders of tests that a fault is shown to. Left out: what starts browsers, notebooks and other programs. */
const TEST_FOLDERS = [...FOLDERS, 'study', 'planning', 'teaching'];
/** Once the tests shown to a fault have taken so long without it, no more are: it counts as survived. */
const LONGEST_SECONDS = Number(asked.patience);

const root = fileURLToPath(new URL('../..', import.meta.url)).replace(/\/$/, '');
process.chdir(root);
const cache = join(root, 'node_modules/.cache/mutation');
mkdirSync(cache, { recursive: true });

const under = (folder, ending) =>
  readdirSync(join(root, folder), { recursive: true })
    .filter((name) => name.endsWith(ending))
    .sort()
    .map((name) => join(root, folder, name));
const digest = (paths) => {
  const hash = createHash('sha256');
  for (const path of paths) hash.update(relative(root, path)).update(readFileSync(path));
  return hash.digest('hex').slice(0, 16);
};
const testFiles = TEST_FOLDERS.flatMap((folder) => under(`tests/${folder}`, '.test.ts'));
const shared = digest(
  [...under('src', '.ts'), ...under('tests/support', ''), ...under('tests/reference', '.json')].filter((path) =>
    /\.\w+$/.test(path),
  ),
);

class Runner {
  constructor(mode) {
    this.mode = mode;
  }
  async ask(message, seconds) {
    this.child ??= await this.start();
    const answer = await new Promise((resolve) => {
      // Seconds are counted, not measured: time during which the whole machine waited is no time of the test.
      let left = seconds;
      const clock = setInterval(() => --left < 0 && done({ timedOut: true, failed: true, by: 'time limit' }), 1000);
      const done = (result) => {
        clearInterval(clock);
        this.child.removeAllListeners();
        resolve(result);
      };
      this.child.once('message', done);
      this.child.once('exit', () => done({ ended: true, failed: true, by: 'the process ended' }));
      this.child.send(message);
    });
    if (answer.timedOut || answer.ended) this.end();
    return answer;
  }
  async start() {
    const child = fork(join(root, 'tests/mutation/runner.mjs'), [this.mode], {
      cwd: root,
      detached: true,
      stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
    });
    await new Promise((resolve) => child.once('message', resolve));
    return child;
  }
  /** Ends the process with the workers it started: they are one group. */
  end() {
    if (!this.child) return;
    try {
      process.kill(-this.child.pid, 'SIGKILL');
    } catch {
      // It is gone already.
    }
    this.child = undefined;
  }
}
const runners = [];
const runner = (mode) => {
  const one = new Runner(mode);
  runners.push(one);
  return one;
};
process.on('exit', () => runners.forEach((one) => one.end()));
for (const signal of ['SIGINT', 'SIGTERM']) process.on(signal, () => process.exit(1));

/** For each test file its tests with the regions that they enter and their time. Kept until the file or the sources change. */
async function reachOfTests() {
  const path = join(cache, 'reach.json');
  const kept = existsSync(path) ? JSON.parse(readFileSync(path, 'utf8')) : {};
  const recorder = runner('record');
  const reach = {};
  for (const file of testFiles) {
    const key = `${shared}-${digest([file])}`;
    const name = relative(root, file);
    if (kept[name]?.key === key) {
      reach[name] = kept[name];
      continue;
    }
    const { tests = [], seconds, failed, by } = await recorder.ask({ tests: [file] }, 1200);
    if (failed !== false) process.stdout.write(`left out, fails without a fault: ${name}: ${by}\n`);
    const regions = new Set(tests.flatMap(({ before = [], reached = [] }) => [...before, ...reached]));
    reach[name] = { key, seconds, usable: failed === false, regions: [...regions] };
    process.stdout.write(`${name}: ${tests.length} tests, ${seconds?.toFixed(1)} s, ${regions.size} regions\n`);
    writeFileSync(path, JSON.stringify({ ...kept, ...reach }));
  }
  recorder.end();
  return reach;
}

/** Mulberry32: small, seeded, good enough to draw a sample. */
function randomOf(seed) {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}
function shuffled(list, random) {
  const copy = [...list];
  for (let at = copy.length - 1; at > 0; at--) {
    const other = Math.floor(random() * (at + 1));
    [copy[at], copy[other]] = [copy[other], copy[at]];
  }
  return copy;
}

const keyOf = ({ file, start, end, text }) => `${file.name}:${start}:${end}:${text}`;

/** Faults of each folder in random order; those that do not compile are passed over as the draw comes to them. */
function draw(files) {
  const path = join(cache, `compiles-${shared}.json`);
  const verdicts = existsSync(path) ? JSON.parse(readFileSync(path, 'utf8')) : {};
  let check;
  const compiles = (mutant) => {
    check ??= typeChecker(root);
    verdicts[keyOf(mutant)] ??= check(mutant.file.path, planted(mutant.file.source, mutant));
    return verdicts[keyOf(mutant)];
  };
  const random = randomOf(Number(asked.seed));
  const wanted = asked.all ? Number.POSITIVE_INFINITY : Number(asked.each);
  const drawnOf = FOLDERS.map((folder) => {
    if (asked.folder && asked.folder !== folder) return { folder, possible: 0, refused: 0, drawn: [] };
    const possible = files
      .filter((file) => file.folder === folder)
      .flatMap((file) => mutantsOf(file.source).map((mutant) => ({ ...mutant, file })));
    const drawn = [];
    let refused = 0;
    for (const mutant of shuffled(possible, random)) {
      if (drawn.length >= wanted) break;
      if (compiles(mutant)) drawn.push(mutant);
      else refused++;
    }
    const share = drawn.length / Math.max(1, drawn.length + refused);
    process.stdout.write(
      `${folder}: ${possible.length} faults possible, ${drawn.length} drawn, ${refused} passed over that do not compile\n`,
    );
    return { folder, possible: Math.round(possible.length * share), refused, drawn };
  });
  writeFileSync(path, JSON.stringify(verdicts));
  return drawnOf;
}

const testNameOf = (name) => name.replace(/^src/, 'tests').replace(/\.ts$/, '.test.ts');

/** The own test file alone, then the others, a few together, since a process takes as long to start as most files to run. */
function groupsOf(reaching, own) {
  const groups = [];
  let seconds = Number.POSITIVE_INFINITY;
  for (const one of reaching) {
    if (seconds + one[1].seconds > 8 || groups.at(-1).length >= 12) {
      groups.push([]);
      seconds = 0;
    }
    groups.at(-1).push(one);
    seconds += one[0] === own ? Number.POSITIVE_INFINITY : one[1].seconds;
  }
  return groups;
}

async function outcomeOf(mutant, reach, one) {
  const region = regionOf(mutant.file, mutant);
  const own = testNameOf(mutant.file.name);
  const folder = `tests/${mutant.file.folder}/`;
  const order = (name) => (name === own ? 0 : name.startsWith(folder) ? 1 : 2);
  const reaching = Object.entries(reach)
    .filter(([, { usable, regions }]) => usable && regions.includes(region))
    .sort(([a, x], [b, y]) => order(a) - order(b) || x.seconds - y.seconds);
  const { start, end, text } = mutant;
  const planting = { path: mutant.file.path, start, end, text };
  let spent = 0;
  let shown = 0;
  for (const group of groupsOf(reaching, own)) {
    const seconds = group.reduce((total, [, one]) => total + one.seconds, 0);
    if (spent + seconds > LONGEST_SECONDS) break;
    const show = (paths) => one.ask({ tests: paths, mutant: planting }, 20 + 10 * seconds);
    let paths = group.map(([name]) => join(root, name));
    while (paths.length > 0) {
      let answer = await show(paths);
      // The files of a group share a process: what fails there must fail alone as well. Alone too where no test of its own failed,
      // in case a worker had not come up.
      const suspects = answer.file ? [answer.file] : paths;
      if (answer.failed && !answer.timedOut && (group.length > 1 || !answer.test)) answer = await show(suspects);
      if (answer.failed === undefined) throw new Error(answer.by);
      if (answer.failed)
        return {
          outcome: answer.timedOut ? 'timed out' : 'killed',
          by: `${answer.file ? `${basename(answer.file)}: ` : ''}${answer.by}`,
          shown: shown + group.length,
        };
      paths = suspects.length === paths.length ? [] : paths.slice(paths.indexOf(suspects[0]) + 1);
    }
    spent += seconds;
    shown += group.length;
  }
  return { outcome: 'survived', shown, unseen: reaching.length - shown };
}

const files = sourceFiles(root);
const report = join(cache, `seed-${asked.seed}.json`);
const before = asked.survivors ? JSON.parse(readFileSync(report, 'utf8')) : undefined;
if (before) asked.each = String(before.each);
const strata = draw(files);
/** What the last run of this seed found, where only its survivors are shown again. */
const earlierOf = (stratum, at) => before?.strata[stratum].results[at];

function describe({ file, kind, start, end, text }) {
  const line = file.source.slice(0, start).split('\n').length;
  const lineStart = file.source.lastIndexOf('\n', start - 1) + 1;
  const lineEnd = file.source.indexOf('\n', start);
  const code = file.source.slice(lineStart, lineEnd).trim();
  const from = file.source.slice(start, end).replace(/\s+/g, ' ');
  const to = text.replace(/\s+/g, ' ');
  // Without the line number: it moves, what is written on the line does not. The place tells apart two of the same line.
  return {
    file: file.name,
    line,
    kind,
    from,
    to,
    code,
    was: `${file.name} | ${code} | ${start - lineStart} ${from} → ${to}`,
  };
}

// Kept under the state of sources and tests, so that a run that was ended, or a larger sample, goes on from what is known.
const known = new Map();
const record = join(cache, `outcomes-${digest([...testFiles])}-${shared}.jsonl`);
if (existsSync(record))
  for (const line of readFileSync(record, 'utf8').split('\n').filter(Boolean)) {
    const { key, ...result } = JSON.parse(line);
    known.set(key, result);
  }
// The folders in turn, so that a run that was ended has some of each.
const longest = Math.max(...strata.map(({ drawn }) => drawn.length));
const queue = Array.from({ length: longest }, (_, at) =>
  strata.flatMap(({ drawn }, stratum) =>
    (earlierOf(stratum, at)?.outcome ?? 'survived') === 'survived' ? drawn.slice(at, at + 1) : [],
  ),
)
  .flat()
  .filter((mutant) => !known.has(keyOf(mutant)));
const reach = queue.length > 0 ? await reachOfTests() : {};
let done = 0;
async function work(one) {
  for (let mutant = queue.shift(); mutant; mutant = queue.shift()) {
    const result = await outcomeOf(mutant, reach, one);
    const key = keyOf(mutant);
    known.set(key, result);
    appendFileSync(record, `${JSON.stringify({ key, ...result })}\n`);
    done++;
    const { file, line, from, to, code } = describe(mutant);
    if (result.outcome !== 'killed')
      process.stdout.write(
        `${result.outcome}: ${file}:${line} ${from} → ${to}   in: ${code.slice(0, 110)} (${result.shown} files)\n`,
      );
    if (done % 25 === 0) process.stdout.write(`${done} done, ${queue.length} left\n`);
  }
  one.end();
}
await Promise.all(Array.from({ length: Number(asked.workers) }, () => work(runner('run'))));

const outcome = {
  seed: asked.all ? undefined : Number(asked.seed),
  date: new Date().toISOString().slice(0, 10),
  each: asked.all ? undefined : Number(asked.each),
  strata: strata.map(({ folder, possible, refused, drawn }, stratum) => ({
    folder,
    possible,
    refused,
    results: drawn.map((mutant, at) => {
      const earlier = earlierOf(stratum, at);
      if (earlier && earlier.outcome !== 'survived') return earlier;
      return { ...describe(mutant), ...known.get(keyOf(mutant)) };
    }),
  })),
};
writeFileSync(report, JSON.stringify(outcome, undefined, 1));
process.stdout.write(summary(outcome));
if (asked.write && !asked.folder && !asked.survivors) writeTable(root, outcome);
process.exit(0);

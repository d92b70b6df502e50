// How many digits of every statistic are right: the largest disagreement with references that are run now, on textbook, random
// and ill-conditioned data. Writes the table "How exact it is" of DEVELOPERS.md, and what the suite holds the library to
// (exact-values.json). Fails where an exported statistic has neither a line nor a reason, or a line below nine digits no reason.
// usage: npm run accuracy [-- part of the name of a statistic or of a file of references: renews its lines alone]
import { spawn, spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { arch, cpus, platform, release } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'rolldown';
import { allChecks } from './checks.mjs';
import { digitsOf } from './digits.mjs';
import { FEWER_DIGITS, FOLDERS, NAMES } from './excused.mjs';

const ENOUGH_DIGITS = 9;
const START = '<!-- npm run accuracy: begin -->';
const END = '<!-- npm run accuracy: end -->';
/** The package of R that answers a call in models.R. */
const PACKAGES = {
  linear: 'lme4',
  profile_limits: 'lme4',
  ordinal: 'ordinal',
  odds: 'ordinal',
  marginal: 'geepack',
  markov: 'msm',
  cox: 'survival',
  reliability: 'psych',
};
const PROGRAMS = {
  py: { command: '/usr/bin/python3', packages: ['python3-mpmath'], test: ['-c', 'import mpmath'] },
  R: {
    command: 'Rscript',
    packages: ['r-base-core', 'r-cran-jsonlite', ...new Set(Object.values(PACKAGES).map((name) => `r-cran-${name}`))],
    test: [
      '-e',
      `stopifnot(${['jsonlite', ...new Set(Object.values(PACKAGES))].map((name) => `requireNamespace("${name}")`).join(', ')})`,
    ],
  },
};

const here = fileURLToPath(new URL('./', import.meta.url));
const root = fileURLToPath(new URL('../../', import.meta.url));
const page = join(root, 'DEVELOPERS.md');
const folder = join(root, 'node_modules/.limb-perfusion/accuracy');
mkdirSync(folder, { recursive: true });

const only = process.argv[2] ?? '';
const library = await loadLibrary();
const leftOut = [];
const every = allChecks(library);
const checks = every
  .map((check, id) => ({ ...check, id, kind: check.file.split('.')[1] }))
  .filter(({ statistic, file }) => (statistic + file).includes(only));
const references = new Map();
for (const kind of Object.keys(PROGRAMS)) if (checks.some((check) => check.kind === kind)) await askReferences(kind);
const { lines, values, failures } = await compared();
const problems = [
  ...failures,
  ...(only === '' ? withoutLine() : []),
  ...lines
    .filter(({ digits, key }) => digits < ENOUGH_DIGITS && FEWER_DIGITS[key] === undefined)
    .map(({ statistic, digits, words }) => `${statistic} has ${digits.toFixed(1)} digits and no reason: ${words}`),
];
for (const line of lines)
  process.stdout.write(
    `${line.digits.toFixed(1).padStart(5)}  ${line.statistic} (${line.reference}, ${line.count} figures): ${line.words}\n`,
  );
for (const one of leftOut) process.stdout.write(`left out: ${one}\n`);
for (const one of problems) process.stdout.write(`problem: ${one}\n`);
if (problems.length > 0) process.exitCode = 1;
if (leftOut.length === 0) {
  writeTable();
  writeFileSync(join(here, 'exact-values.json'), `${JSON.stringify(suiteValues(), null, 2)}\n`);
  process.stdout.write('DEVELOPERS.md and tests/accuracy/exact-values.json are written.\n');
}

/** The library from its sources, with the parts inside that have references of their own. */
async function loadLibrary() {
  const file = join(folder, 'library.js');
  await build({
    input: join(here, 'library.ts'),
    platform: 'node',
    external: /^[^./]/,
    logLevel: 'warn',
    output: { file, codeSplitting: false },
  });
  return import(pathToFileURL(file).href);
}

async function askReferences(kind) {
  const { command, packages, test } = PROGRAMS[kind];
  const there = () => spawnSync(command, test, { stdio: 'ignore' }).status === 0;
  if (!there() && process.getuid?.() === 0)
    spawnSync('apt-get', ['install', '-y', '--no-install-recommends', ...packages], { stdio: 'inherit' });
  if (!there()) {
    leftOut.push(`all lines against ${command}; to have them: sudo apt-get install ${packages.join(' ')}`);
    return;
  }
  const own = checks.filter((check) => check.kind === kind);
  // Two at a time; every second one, because neighbors cost alike.
  await Promise.all(
    [0, 1].map((half) =>
      ask(
        kind,
        half,
        own.filter((_, at) => at % 2 === half),
      ),
    ),
  );
}

function ask(kind, half, own) {
  const tasks = join(folder, `tasks-${half}.${kind}.json`);
  writeFileSync(
    tasks,
    JSON.stringify(
      own.map(({ id, file, call, input }) => ({ id, module: file.slice(0, -kind.length - 1), function: call, input })),
    ),
  );
  const run = spawn(PROGRAMS[kind].command, [join(here, `run_references.${kind}`), tasks, here], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let text = '';
  run.stdout.on('data', (part) => {
    text += part;
  });
  return new Promise((resolve) => {
    run.on('close', () => {
      for (const line of text.split('\n').filter((one) => one !== '')) {
        const { id, error, ...found } = JSON.parse(line);
        references.set(id, { values: { ...references.get(id)?.values, ...found.values }, error });
      }
      resolve();
    });
  });
}

async function compared() {
  const found = new Map();
  const failures = [];
  const values = [];
  const named = new Set();
  for (const check of checks) {
    if (leftOut.length > 0 && !references.has(check.id)) continue;
    const reference = references.get(check.id);
    const name = `${check.statistic}, ${check.words}`;
    if (reference?.values === undefined || reference.error !== undefined) {
      failures.push(`no reference for ${name}: ${reference?.error ?? 'nothing came'}`);
      continue;
    }
    if (named.has(`${name} ${check.kind}`)) failures.push(`two checks are called ${name}`);
    named.add(`${name} ${check.kind}`);
    const ours = await check.ours();
    const key = `${check.statistic} ${check.kind}`;
    const line = found.get(key) ?? {
      key,
      statistic: check.statistic,
      reference: referenceOf(check),
      count: 0,
      digits: Number.POSITIVE_INFINITY,
      words: '',
    };
    found.set(key, line);
    const kept = {};
    let digits = Number.POSITIVE_INFINITY;
    for (const [figure, text] of Object.entries(reference.values)) {
      if (check.figures !== undefined && !check.figures.test(figure)) continue;
      line.count++;
      kept[figure] = text;
      const right = digitsOf(ours[figure], text);
      digits = Math.min(digits, right);
      if (right < line.digits) Object.assign(line, { digits: right, words: `${figure}: ${check.words}` });
    }
    if (Object.keys(kept).length === 0) failures.push(`nothing compared in ${name}`);
    values.push({ check, kept, digits });
  }
  return { lines: [...found.values()], values, failures };
}

function versionOf(command, args) {
  return spawnSync(command, args, { encoding: 'utf8' }).stdout.trim();
}

function referenceOf({ kind, file, call }) {
  if (kind === 'py') return `own formulas, ${versions().mpmath}`;
  return file === 'distributions.R'
    ? versions().R
    : `${versions().R}, ${PACKAGES[call]} ${versions().packages[PACKAGES[call]]}`;
}

function versions() {
  versions.known ??= {
    mpmath: `mpmath ${versionOf(PROGRAMS.py.command, ['-c', 'import mpmath; print(mpmath.__version__)'])}`,
    ...(PROGRAMS.R && checks.some(({ kind }) => kind === 'R')
      ? {
          R: `R ${versionOf('Rscript', ['-e', 'cat(format(getRversion()))'])}`,
          packages: Object.fromEntries(
            [...new Set(Object.values(PACKAGES))].map((name) => [
              name,
              versionOf('Rscript', ['-e', `cat(format(packageVersion("${name}")))`]),
            ]),
          ),
        }
      : {}),
  };
  return versions.known;
}

/** Names and files of "Where each statistic lives", which a test keeps equal to the exports. */
function exported() {
  const [, table = ''] = readFileSync(page, 'utf8').split('## Where each statistic lives');
  return [...table.matchAll(/^\| `([^`]+)` \| `([^`]+)` \|/gm)].map(([, name, file]) => ({
    name,
    folder: file.split('/')[0],
  }));
}

function reasonOf({ name, folder: own }) {
  return FOLDERS[own] ?? NAMES[name] ?? (/^[A-Z]/.test(name) ? 'holds results' : undefined);
}

function withoutLine() {
  const there = new Set(checks.map(({ statistic }) => statistic));
  return exported()
    .filter((one) => !there.has(one.name) && reasonOf(one) === undefined)
    .map(({ name }) => `${name} is neither checked nor excused`);
}

function writeTable() {
  const text = readFileSync(page, 'utf8');
  const [before, rest] = text.split(START);
  if (rest === undefined) throw new Error(`DEVELOPERS.md has no "${START}".`);
  const end = rest.indexOf(END);
  // Rows by statistic and the program that they begin with; with a name given, those of others stay.
  const rows = new Map();
  const rowKey = (statistic, reference) => `${statistic} ${reference.split(' ')[0]}`;
  if (only !== '')
    for (const [row, statistic, reference] of rest.slice(0, end).matchAll(/^\| `([^`]+)` \| ([^|]+) \|.*$/gm))
      rows.set(rowKey(statistic, reference), row);
  for (const { key, statistic, reference, count, digits, words } of lines)
    rows.set(
      rowKey(statistic, reference),
      `| \`${statistic}\` | ${reference} | ${count} | ${digits.toFixed(1)} | ${words.replaceAll('|', '\\|')} | ${digits < ENOUGH_DIGITS ? (FEWER_DIGITS[key] ?? 'not known') : ''} |`,
    );
  const there = new Set(every.map(({ statistic }) => statistic));
  const by = new Map();
  for (const one of exported()) {
    const reason = reasonOf(one);
    if (there.has(one.name) || FOLDERS[one.folder] !== undefined || reason === 'holds results') continue;
    by.set(reason, [...(by.get(reason) ?? []), `\`${one.name}\``]);
  }
  const table = [
    START,
    `Written ${new Date().toISOString().slice(0, 10)} on ${platform()} ${release().split('-')[0]} ${arch()}, ${cpus()[0]?.model ?? 'processor unknown'}, Node ${process.versions.node}.`,
    '',
    '| statistic | reference | figures | worst digits | worst case | why below 9 |',
    '|---|---|---|---|---|---|',
    ...rows.values(),
    '',
    'Without a line:',
    '',
    ...[...by].map(([reason, names]) => `- ${reason}: ${names.join(', ')}`),
    `- whole folders: ${Object.entries(FOLDERS)
      .map(([name, reason]) => `\`${name}\` (${reason})`)
      .join(', ')}`,
    END,
  ].join('\n');
  writeFileSync(page, `${before}${table}${rest.slice(end + END.length)}`);
}

/** A few quick checks of every statistic whose reference has 30 digits, with the digits that are right. */
function suiteValues() {
  const chosen = new Map();
  for (const { check, kept, digits } of values) {
    if (
      check.kind !== 'py' ||
      JSON.stringify(check.input).length > 6000 ||
      (check.input.counts ?? []).some((count) => count > 10_000)
    )
      continue;
    const own = chosen.get(check.statistic) ?? [];
    chosen.set(check.statistic, own);
    own.push({ words: check.words, digits, values: Object.fromEntries(Object.entries(kept).slice(0, 8)) });
  }
  const others = only === '' ? {} : JSON.parse(readFileSync(join(here, 'exact-values.json'), 'utf8'));
  const renewed = Object.fromEntries(
    [...chosen].map(([statistic, own]) => {
      const few = own.sort((a, b) => a.digits - b.digits).slice(0, 4);
      return [
        statistic,
        {
          digits: Math.floor(few[0].digits),
          checks: Object.fromEntries(few.map(({ words, values: texts }) => [words, texts])),
        },
      ];
    }),
  );
  return { ...others, ...renewed };
}

// @ts-check
// Runs pieces of work, each in a process of its own, ours and theirs in turns, and takes medians.
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { root } from '../../.config/set-up.mjs';
import { middle } from './ours.mjs';

/** @typedef {import('./works.mjs').Work} Work */
/** @typedef {import('./works.mjs').Form} Form */
/** @typedef {{ whole: number, inner: number, peak: number | undefined, numbers: Record<string, number> }} Run seconds, bytes */
/** @typedef {Run & { form: Form, runs: number }} Measured medians of the runs */
/** @typedef {{ work: Work, ours: Measured[], theirs: Measured[], sameness: (string | undefined)[], left: Form[] }} Result */

const R_PACKAGES = ['psych', 'lme4', 'ordinal', 'msm', 'survival'];
const DEBIAN =
  'r-base-core r-cran-psych r-cran-lme4 r-cran-ordinal r-cran-msm r-cran-survival python3-statsmodels python3-sklearn';

/** What would install the reference programs. */
export const INSTALL = `apt-get install -y --no-install-recommends ${DEBIAN}`;

/**
 * The programs there are beside Node, with their versions by package; R and Python are undefined where they are missing.
 *
 * @returns {{ R?: Record<string, string>, python?: string, pythonPackages: Record<string, string> }}
 */
export function referencePrograms() {
  const listed = R_PACKAGES.map((name) => `"${name}"`).join(',');
  const r = answerOf('Rscript', [
    '-e',
    `for (p in c("base", Filter(function(p) nzchar(system.file(package = p)), c(${listed})))) cat(p, as.character(packageVersion(p)), "")`,
  ]);
  const words = r?.trim().split(/\s+/) ?? [];
  const R = Object.fromEntries(words.flatMap((word, at) => (at % 2 === 0 ? [[word, words[at + 1] ?? '']] : [])));
  const ask = `import json, platform
found = {"python": platform.python_version()}
for name in ("statsmodels", "sklearn"):
    try: found[name] = __import__(name).__version__
    except ImportError: pass
print(json.dumps(found))`;
  // Debian's packages are seen by Debian's Python alone.
  const pythons = ['/usr/bin/python3', 'python3'].map((program) => ({
    program,
    answer: answerOf(program, ['-c', ask]),
  }));
  const found = pythons
    .filter(({ answer }) => answer !== undefined)
    .map(({ program, answer }) => ({ program, packages: JSON.parse(answer ?? '{}') }))
    .sort((a, b) => Object.keys(b.packages).length - Object.keys(a.packages).length)[0];
  return {
    ...(r === undefined ? {} : { R }),
    ...(found === undefined ? {} : { python: found.program }),
    pythonPackages: found?.packages ?? {},
  };
}

/** @param {string} program @param {string[]} args */
function answerOf(program, args) {
  const { status, stdout } = spawnSync(program, args, { encoding: 'utf8' });
  return status === 0 ? stdout : undefined;
}

/** Installs what is missing where that can be done here. @param {(line: string) => void} say */
export function installReferences(say) {
  const { R = {}, pythonPackages } = referencePrograms();
  const missing = [
    ...['base', ...R_PACKAGES].filter((name) => !(name in R)),
    ...['statsmodels', 'sklearn'].filter((name) => !(name in pythonPackages)),
  ];
  if (missing.length === 0) return;
  if (process.getuid?.() === 0 && answerOf('apt-get', ['--version']) !== undefined) {
    say(`Installing the reference programs: ${INSTALL}`);
    const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
    const run = (/** @type {string[]} */ args) =>
      spawnSync('apt-get', ['-q', '-o', 'DPkg::Lock::Timeout=300', ...args], { env, encoding: 'utf8' });
    run(['update']);
    const { status, stderr } = run(INSTALL.split(' ').slice(1));
    if (status === 0) return;
    say(stderr.trim());
  }
  say(`Lines that need ${missing.join(', ')} are left out. To have them: sudo ${INSTALL}`);
}

/** The Python that set-up finds, and the environment in which Jupyter knows this project's kernel, with the demo data made. */
function kernelHere() {
  spawnSync(process.execPath, [join(root, '.config/set-up.mjs')], { cwd: root });
  const done = spawnSync(process.execPath, [join(root, 'dist/command/limb-perfusion.js'), 'set-up'], {
    cwd: root,
    encoding: 'utf8',
  });
  const place = join(root, '.jupyter');
  return {
    python: /Jupyter runs on (.+)/.exec(done.stdout)?.[1],
    env: { ...process.env, JUPYTER_PATH: place, JUPYTER_RUNTIME_DIR: join(place, 'runtime') },
  };
}

/**
 * Measures works one after the other. Data lie in the machine's folder for what is temporary and are removed.
 *
 * @param {readonly Work[]} works @param {(line: string) => void} say @returns {Promise<Result[]>}
 */
export async function measure(works, say) {
  const programs = referencePrograms();
  const kernel = works.some(({ ours }) => ours[0]?.program === 'kernel') ? kernelHere() : undefined;
  const here = (/** @type {string} */ name) => fileURLToPath(new URL(name, import.meta.url));

  /** @param {Form} form @returns {boolean} */
  const isThere = ({ program, needs }) => {
    if (program === 'node') return true;
    if (program === 'kernel') return kernel?.python !== undefined;
    return program === 'R' ? (needs ?? 'base') in (programs.R ?? {}) : (needs ?? 'python') in programs.pythonPackages;
  };

  /** @param {Form} form @param {string} folder @returns {Run} */
  const run = ({ program, piece, settings = {}, part = 'work', scale = 1 }, folder) => {
    const pairs = Object.entries(settings).map(([name, value]) => `${name}=${value}`);
    const [command, args] = {
      node: () =>
        /** @type {const} */ ([process.execPath, [here('ours.mjs'), piece, folder, JSON.stringify(settings)]]),
      R: () => /** @type {const} */ (['Rscript', [here('reference.R'), piece, folder, ...pairs]]),
      python: () =>
        /** @type {const} */ ([programs.python ?? 'python3', [here('reference.py'), piece, folder, ...pairs]]),
      kernel: () =>
        /** @type {const} */ ([
          kernel?.python ?? '',
          [here('kernel.py'), join(root, 'notebooks'), piece, String(settings.wanted)],
        ]),
    }[program]();
    const env = program === 'kernel' ? kernel?.env : process.env;
    const start = performance.now();
    const done = spawnSync(command, args, { env, encoding: 'utf8', maxBuffer: 1e8 });
    const whole = (performance.now() - start) / 1000;
    if (done.status !== 0) throw new Error(`${program} ${piece}: ${done.stderr || done.error}`);
    const { seconds, peak, numbers } = JSON.parse(done.stdout.trim().split('\n').at(-1) ?? '');
    const inner = seconds[part] * scale;
    return { whole: whole + inner - seconds[part], inner, peak: peak ?? undefined, numbers };
  };

  const folder = mkdtempSync(join(tmpdir(), 'bench-'));
  const interrupted = () => {
    rmSync(folder, { recursive: true });
    process.exit(130);
  };
  process.once('SIGINT', interrupted);
  /** @type {Result[]} */
  const results = [];
  try {
    for (const work of works) {
      const own = join(folder, work.name);
      mkdirSync(own);
      const { prepare } = work;
      const forms = work.theirs.filter((form) => isThere(form) && (prepare === undefined || isThere(prepare)));
      const left = work.theirs.filter((form) => !forms.includes(form));
      const isOurs = (prepare === undefined || isThere(prepare)) && work.ours.every(isThere);
      if (!isOurs) {
        say(`${work.name}: left out, a program it needs is not here`);
        continue;
      }
      await work.write?.(own);
      if (prepare !== undefined) run(prepare, own);
      /** @type {Map<Form, Run[]>} */
      const runs = new Map([...work.ours, ...forms].map((form) => [form, []]));
      const turn = (/** @type {Form} */ form) => runs.get(form)?.push(run(form, own));
      for (let round = 0; round < work.rounds; round++) {
        for (const form of work.ours.slice(1)) turn(form);
        if (forms.length === 0) work.ours.slice(0, 1).forEach(turn);
        for (const form of forms) {
          work.ours.slice(0, 1).forEach(turn);
          turn(form);
        }
      }
      rmSync(own, { recursive: true });
      const medians = (/** @type {Form} */ form) => medianOf(form, runs.get(form) ?? []);
      const ours = work.ours.map(medians);
      const theirs = forms.map(medians);
      const result = { work, ours, theirs, sameness: theirs.map((one) => sameness(work, ours[0], one)), left };
      results.push(result);
      say(
        `${work.name}: ${[...ours, ...theirs].map(({ form, inner, whole }) => `${form.who} ${inner.toPrecision(3)} s (${whole.toPrecision(3)} s)`).join('; ')}`,
      );
      for (const words of result.sameness) if (words !== undefined) say(`  ${words}`);
    }
  } finally {
    process.off('SIGINT', interrupted);
    rmSync(folder, { recursive: true, force: true });
  }
  return results;
}

/** @param {Form} form @param {Run[]} runs @returns {Measured} */
function medianOf(form, runs) {
  const of = (/** @type {'whole' | 'inner' | 'peak'} */ key) => middle(runs.map((run) => run[key] ?? Number.NaN));
  const peak = of('peak');
  const numbers = runs[0]?.numbers ?? {};
  for (const other of runs)
    for (const [name, value] of Object.entries(other.numbers))
      if (value !== numbers[name]) throw new Error(`${form.who}: ${name} differs from run to run.`);
  return {
    form,
    runs: runs.length,
    whole: of('whole'),
    inner: of('inner'),
    peak: Number.isNaN(peak) ? undefined : peak,
    numbers,
  };
}

/**
 * Refuses different answers, and says how near they are.
 *
 * @param {Pick<Work, 'name' | 'same'>} work @param {Pick<Measured, 'numbers'> | undefined} ours @param {Pick<Measured, 'form' | 'numbers'>} theirs
 */
export function sameness({ name, same }, ours, theirs) {
  /** @type {string[]} */
  const said = [];
  let compared = 0;
  for (const [kind, tolerance] of Object.entries(same)) {
    const names = Object.keys(theirs.numbers).filter((key) => key === kind || key.startsWith(`${kind} `));
    let apart = 0;
    for (const key of names) {
      const mine = ours?.numbers[key] ?? Number.NaN;
      const other = theirs.numbers[key] ?? Number.NaN;
      const difference = mine - other;
      const within =
        tolerance === 'maximum'
          ? kind === 'criterion'
            ? difference <= 1e-4
            : difference >= -0.5e-4
          : tolerance === 'replicates'
            ? Math.abs(difference) <=
              (15 / Math.sqrt(Number(theirs.form.settings?.replicates))) * (theirs.numbers.error ?? Number.NaN)
            : Math.abs(difference) <= tolerance * Math.max(1, Math.abs(other));
      if (!within) throw new Error(`${name}: ${key} is ${mine} by ours and ${other} by ${theirs.form.who}.`);
      if (Math.abs(difference) > Math.abs(apart) || names.length === 1) apart = difference;
      compared++;
    }
    if (names.length === 1)
      said.push(
        `${kind} ${digits(theirs.numbers[kind] ?? Number.NaN)}${apart === 0 ? '' : ` (ours ${apart > 0 ? '+' : '−'}${Math.abs(apart).toExponential(0)})`}`,
      );
    else if (names.length > 1) said.push(`${names.length} × ${kind} within ${Math.abs(apart).toExponential(0)}`);
  }
  return compared === 0 ? undefined : said.join(', ');
}

/** @param {number} value */
function digits(value) {
  return Number.isInteger(value) ? value.toLocaleString('en') : value.toPrecision(Math.abs(value) >= 1000 ? 8 : 5);
}

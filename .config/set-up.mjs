// @ts-check
// Everything a fresh machine needs before the notebooks or the tests can run: packages, the built library,
// the demo data, and a Python with Jupyter that knows the TypeScript kernel. Plain Node, no dependencies.
// Each step finds out for itself whether there is anything to do, so running this twice costs little.
// usage: node .config/set-up.mjs [build]     (build: only the library)
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  cpSync,
  existsSync,
  readdirSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';

/** The folder of the project. */
export const root = fileURLToPath(new URL('..', import.meta.url));

const modules = join(root, 'node_modules');

/** Thrown when a step cannot help itself; the message says what to run. */
class SetUpError extends Error {}

if (process.argv[1] !== undefined && realpathSync(process.argv[1]) === fileURLToPath(import.meta.url)) {
  try {
    requireNode();
    if (process.argv[2] !== 'build') installPackages();
    buildLibrary();
    if (process.argv[2] !== 'build') {
      makeDemoData();
      setUpJupyter();
    }
  } catch (error) {
    if (!(error instanceof SetUpError)) throw error;
    process.stderr.write(`\nSet-up stopped. ${error.message}\n`);
    process.exitCode = 1;
  }
}

function requireNode() {
  const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
  if (major > 20 || (major === 20 && minor >= 19)) return;
  throw new SetUpError(`This is Node ${process.versions.node}; install Node 20.19 or newer from https://nodejs.org.`);
}

// --- packages -----------------------------------------------------------------------------------------------------

/** Brings node_modules to what package-lock.json says, where it is not so already. */
function installPackages() {
  if (packagesAreCurrent()) return;
  say('Installing packages (npm ci) …');
  // A caller's NODE_ENV=production would leave out the compiler and the kernel.
  const args = ['ci', '--include=dev', '--no-audit', '--no-fund'];
  // npm names its own script to what it runs, so that no command file and no shell stand between.
  const npm = process.env.npm_execpath ?? '';
  const [program, first] = npm.endsWith('npm-cli.js') ? [process.execPath, [npm]] : ['npm', []];
  const done = spawnSync(program, [...first, ...args], {
    cwd: root,
    stdio: 'inherit',
    shell: program === 'npm' && process.platform === 'win32',
  });
  if (done.status !== 0) throw new SetUpError('npm could not install the packages; its own words stand above.');
}

/** Compares package-lock.json with the record npm keeps of what it installed. */
function packagesAreCurrent() {
  const record = join(modules, '.package-lock.json');
  if (!existsSync(record)) return false;
  const installed = packagesIn(record);
  return Object.entries(packagesIn(join(root, 'package-lock.json'))).every(([path, wanted]) => {
    if (path === '') return true;
    const found = installed[path];
    // Optional packages are those of other platforms.
    if (found === undefined) return wanted.optional === true;
    return found.version === wanted.version;
  });
}

/**
 * @param {string} lockFile
 * @returns {Record<string, { version?: string, optional?: boolean }>}
 */
function packagesIn(lockFile) {
  return JSON.parse(readFileSync(lockFile, 'utf8')).packages;
}

// --- the library --------------------------------------------------------------------------------------------------

/** Compiles src to dist, where the sources have changed since the last time. Throws when they do not compile. */
export function buildLibrary() {
  const stamp = join(modules, '.limb-perfusion', 'built');
  const dist = join(root, 'dist');
  const sources = hashOf(['tsconfig.json', 'package-lock.json', '.config/bundle.mjs', ...filesUnder('src')]);
  if (existsSync(join(dist, 'index.js')) && existsSync(stamp) && readFileSync(stamp, 'utf8') === sources) return;
  say('Building the library …');
  // Made beside dist and then put in its place: dist is never half written and keeps no file whose source is gone.
  const compiled = join(modules, '.limb-perfusion', `compiled-${process.pid}`);
  const fresh = join(modules, '.limb-perfusion', `dist-${process.pid}`);
  const compiler = join(modules, 'typescript/lib/tsc.js');
  try {
    runNode([compiler, '-p', 'tsconfig.json', '--noEmitOnError', '--outDir', compiled]);
    runNode([join(root, '.config/bundle.mjs'), compiled, fresh]);
    // What the code reads beside itself.
    for (const file of filesUnder('src').filter((name) => !name.endsWith('.ts')))
      cpSync(join(root, file), join(fresh, file.slice('src/'.length)));
    rmSync(dist, { recursive: true, force: true });
    renameSync(fresh, dist);
  } finally {
    for (const folder of [compiled, fresh]) rmSync(folder, { recursive: true, force: true });
  }
  writeFileSync(stamp, sources);
}

/** @param {string[]} args */
function runNode(args) {
  const done = spawnSync(process.execPath, args, { cwd: root, encoding: 'utf8' });
  if (done.status !== 0) throw new SetUpError(`The library does not compile:\n${done.stdout}${done.stderr}`);
}

/**
 * @param {string} folder
 * @returns {string[]} paths from the root, in a fixed order
 */
function filesUnder(folder) {
  return readdirSync(join(root, folder), { withFileTypes: true })
    .flatMap((entry) => (entry.isDirectory() ? filesUnder(`${folder}/${entry.name}`) : [`${folder}/${entry.name}`]))
    .sort();
}

/** @param {string[]} files */
function hashOf(files) {
  const hash = createHash('sha256');
  for (const file of files) hash.update(`${file}\0`).update(readFileSync(join(root, file)));
  return hash.digest('hex');
}

// --- demo data ----------------------------------------------------------------------------------------------------

function makeDemoData() {
  const done = spawnSync(process.execPath, [join(root, 'data-demo/make-demo-data.mjs')], {
    cwd: root,
    encoding: 'utf8',
  });
  if (done.status !== 0) throw new SetUpError(`The demo data could not be made:\n${done.stderr}`);
}

// --- Jupyter ------------------------------------------------------------------------------------------------------

/** What a study folder does too: finds Jupyter or installs it, and tries the kernel. */
function setUpJupyter() {
  const done = spawnSync(process.execPath, [join(root, 'dist/command/limb-perfusion.js'), 'set-up'], {
    cwd: root,
    stdio: 'inherit',
  });
  if (done.status !== 0) throw new SetUpError('The words above say why.');
}

/** @param {string} line */
function say(line) {
  process.stdout.write(`${line}\n`);
}

// @ts-check
// Everything a fresh machine needs before the notebooks or the tests can run: packages, the built library,
// the demo data, and a Python with Jupyter that knows the TypeScript kernel. Plain Node, no dependencies.
// Each step finds out for itself whether there is anything to do, so running this twice costs little.
// usage: node .config/set-up.mjs [build]     (build: only the library)
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { delimiter, dirname, join } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';

/** The folder of the project. */
export const root = fileURLToPath(new URL('..', import.meta.url));

const onWindows = process.platform === 'win32';
const modules = join(root, 'node_modules');
const venv = join(root, '.venv');
const venvPython = join(venv, onWindows ? 'Scripts/python.exe' : 'bin/python');

/** Where this project keeps what Jupyter otherwise spreads over the home folder. */
const jupyterFolder = join(root, '.jupyter');

/** Set this to the Python that has Jupyter when the search below finds the wrong one. */
const OVERRIDE = 'LIMB_PERFUSION_PYTHON';
const DEBIAN_PACKAGES = ['jupyter-notebook', 'jupyter-nbconvert'];
const PIP_PACKAGES = ['jupyterlab', 'nbconvert'];
const NEEDED = 'import nbconvert, nbclient, jupyter_core';

/** Thrown when a step cannot help itself; the message says what to run. */
class SetUpError extends Error {}

if (process.argv[1] !== undefined && realpathSync(process.argv[1]) === fileURLToPath(import.meta.url)) {
  try {
    requireNode();
    if (process.argv[2] !== 'build') installPackages();
    buildLibrary();
    if (process.argv[2] !== 'build') {
      makeDemoData();
      checkKernel();
      say(`Jupyter runs on ${findPython() ?? installJupyter()}`);
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
  const done = runNpm(['ci', '--include=dev', '--no-audit', '--no-fund'], { cwd: root, stdio: 'inherit' });
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

/**
 * Runs npm by its own script, so that no npm.cmd and no shell stand between; where that is not found, by its name.
 * @param {string[]} args
 * @param {import('node:child_process').SpawnSyncOptions} options
 */
export function runNpm(args, options) {
  const bin = dirname(process.execPath);
  const inside = 'node_modules/npm/bin/npm-cli.js';
  const script = [process.env.npm_execpath ?? '', join(bin, inside), join(bin, '../lib', inside)].find(
    (path) => path.endsWith('npm-cli.js') && existsSync(path),
  );
  return script === undefined
    ? spawnSync('npm', args, { ...options, shell: onWindows })
    : spawnSync(process.execPath, [script, ...args], options);
}

// --- the library --------------------------------------------------------------------------------------------------

/** Compiles src to dist, where the sources have changed since the last time. Throws when they do not compile. */
export function buildLibrary() {
  const stamp = join(modules, '.limb-perfusion', 'built');
  const dist = join(root, 'dist');
  const sources = hashOf(['tsconfig.json', 'package-lock.json', ...filesUnder('src')]);
  if (existsSync(join(dist, 'index.js')) && existsSync(stamp) && readFileSync(stamp, 'utf8') === sources) return;
  say('Building the library …');
  // Compiled beside dist and then put in its place: dist is never half written and keeps no file whose source is gone.
  const fresh = join(modules, '.limb-perfusion', `dist-${process.pid}`);
  rmSync(fresh, { recursive: true, force: true });
  const compiler = join(modules, 'typescript/lib/tsc.js');
  const done = spawnSync(process.execPath, [compiler, '-p', 'tsconfig.json', '--noEmitOnError', '--outDir', fresh], {
    cwd: root,
    encoding: 'utf8',
  });
  if (done.status !== 0) throw new SetUpError(`The library does not compile:\n${done.stdout}${done.stderr}`);
  rmSync(dist, { recursive: true, force: true });
  renameSync(fresh, dist);
  writeFileSync(stamp, sources);
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

/**
 * The full path of a Python that can execute notebooks: the one named by LIMB_PERFUSION_PYTHON, else the project's
 * own environment, else the one Jupyter runs on, else what is on PATH, else the system's.
 * @returns {string | undefined}
 */
export function findPython() {
  const named = process.env[OVERRIDE];
  if (named === undefined || named === '') return firstPython([[venvPython], ...systemPythons()], NEEDED);
  const found = firstPython([[named]], NEEDED);
  if (found === undefined)
    throw new SetUpError(`${OVERRIDE} names ${named}, which cannot import nbconvert, nbclient and jupyter_core.`);
  return found;
}

/** @returns {string[][]} commands that may start a Python, the likeliest first */
function systemPythons() {
  const jupyter = jupyterPython();
  return [
    ...(jupyter === undefined ? [] : [[jupyter]]),
    ...(onWindows ? [['python'], ['py', '-3']] : []),
    ['python3'],
    ['/usr/bin/python3'],
  ];
}

/** The Python named on the first lines of the program `jupyter`, or beside it on Windows. */
function jupyterPython() {
  const program = onPath(onWindows ? 'jupyter.exe' : 'jupyter');
  if (program === undefined) return undefined;
  if (onWindows) {
    const folder = dirname(program);
    return [join(folder, 'python.exe'), join(folder, '../python.exe')].find((path) => existsSync(path));
  }
  const lines = readFileSync(program, 'latin1').split('\n', 2);
  // Where the path is too long or holds a space, pip writes a shell line that hands the file to Python.
  const named =
    /^#!\s*(\/\S*python[\d.]*)/.exec(lines[0] ?? '') ?? /^'''exec' "?([^"]*?python[\d.]*)/.exec(lines[1] ?? '');
  return named?.[1];
}

/** @param {string} program */
function onPath(program) {
  return (process.env.PATH ?? '')
    .split(delimiter)
    .map((folder) => join(folder, program))
    .find((path) => existsSync(path));
}

/**
 * The first command that runs `code`, as the path its interpreter gives itself. Asking by running is what tells a
 * Python from the stubs that some systems put in its place.
 * @param {string[][]} commands
 * @param {string} code
 * @returns {string | undefined}
 */
function firstPython(commands, code) {
  for (const [program = '', ...args] of commands) {
    if (isMacStub(program)) continue;
    const answer = spawnSync(program, [...args, '-c', `${code}\nimport sys\nprint(sys.executable)`], {
      encoding: 'utf8',
      timeout: 60_000,
      windowsHide: true,
    });
    const path = answer.status === 0 ? answer.stdout.trim().split(/\r?\n/).at(-1) : undefined;
    if (path) return path;
  }
  return undefined;
}

/** On a Mac without the developer tools /usr/bin/python3 opens a dialog instead of running. */
function isMacStub(/** @type {string} */ program) {
  if (process.platform !== 'darwin') return false;
  const path = program.includes('/') ? program : onPath(program);
  return path === '/usr/bin/python3' && spawnSync('xcode-select', ['-p']).status !== 0;
}

/** Gets a Python with Jupyter, into the project's own folder where possible. Throws with what to run otherwise. */
function installJupyter() {
  const tried = [];
  const base = existsSync(venvPython)
    ? venvPython
    : firstPython(systemPythons(), 'import ensurepip, venv, sys\nassert sys.version_info >= (3, 9)');
  if (base === undefined) tried.push('No Python 3.9 or newer that can make an environment was found.');
  else {
    say('Installing Jupyter into .venv (pip) …');
    const failure = installWithPip(base);
    if (failure === undefined) return venvPython;
    tried.push(`pip could not install it: ${failure}`);
  }
  if (process.platform === 'linux' && process.getuid?.() === 0 && onPath('apt-get') !== undefined) {
    say(`Installing Jupyter (apt-get install ${DEBIAN_PACKAGES.join(' ')}) …`);
    const failure = installWithApt();
    const python = failure === undefined ? findPython() : undefined;
    if (python !== undefined) return python;
    tried.push(`apt-get could not install it: ${failure ?? 'no Python has it afterwards'}`);
  }
  throw new SetUpError(
    `Jupyter is not on this machine.\n${tried.map((line) => `  ${line}`).join('\n')}\n${howToInstall()}`,
  );
}

/**
 * @param {string} base
 * @returns {string | undefined} what went wrong
 */
function installWithPip(base) {
  const isNew = !existsSync(venvPython);
  const steps = [
    ...(isNew ? [[base, '-m', 'venv', venv]] : []),
    [venvPython, '-m', 'pip', 'install', '--quiet', '--disable-pip-version-check', '--retries', '1', ...PIP_PACKAGES],
  ];
  for (const [program = '', ...args] of steps) {
    const failure = failureOf(spawnSync(program, args, { cwd: root, encoding: 'utf8', timeout: 900_000 }));
    if (failure === undefined) continue;
    if (isNew) rmSync(venv, { recursive: true, force: true });
    return failure;
  }
  return undefined;
}

/** @returns {string | undefined} what went wrong */
function installWithApt() {
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  const wait = ['-o', 'DPkg::Lock::Timeout=300'];
  spawnSync('apt-get', [...wait, 'update'], { env });
  return failureOf(
    spawnSync('apt-get', [...wait, 'install', '-y', '--no-install-recommends', ...DEBIAN_PACKAGES], {
      env,
      encoding: 'utf8',
    }),
  );
}

/** @param {import('node:child_process').SpawnSyncReturns<string>} done */
function failureOf(done) {
  if (done.status === 0) return undefined;
  const lastWords = `${done.stderr ?? ''}`.trim().split('\n').at(-1);
  return done.error?.message ?? (lastWords || `it ended with code ${done.status}`);
}

function howToInstall() {
  const again = 'then run the same npm command again.';
  if (process.platform === 'linux' && onPath('apt-get') !== undefined)
    return `Run:\n  sudo apt-get install --no-install-recommends ${DEBIAN_PACKAGES.join(' ')}\n${again}`;
  const python = onWindows ? 'py -3' : 'python3';
  const get = onWindows ? 'winget install Python.Python.3.12' : 'brew install python';
  const elsewhere = process.platform === 'linux' ? 'Install Python 3 with your package manager' : `Run:\n  ${get}`;
  return `${elsewhere} (where Python is missing), and with a connection to the package index:
  ${python} -m venv .venv
  ${onWindows ? '.venv\\Scripts\\python' : '.venv/bin/python'} -m pip install ${PIP_PACKAGES.join(' ')}
${again} A Python that has Jupyter elsewhere can be named in ${OVERRIDE}.`;
}

/** Says early and plainly what would else be a kernel that dies without a word. */
function checkKernel() {
  const socket = spawnSync(process.execPath, ['-e', "require('zeromq')"], { cwd: root, encoding: 'utf8' });
  if (socket.status !== 0)
    throw new SetUpError(`zeromq, through which the kernel talks to Jupyter, does not load here:\n${socket.stderr}`);
}

/**
 * The environment in which Jupyter finds this project's kernel and writes nothing outside the project. The kernel's
 * description is written anew each time: the paths in it move when Node is updated or the folder is renamed.
 */
export function jupyterEnvironment() {
  const folder = join(jupyterFolder, 'kernels', 'tslab');
  const kernel = {
    argv: [process.execPath, join(modules, 'tslab/bin/tslab'), 'kernel', '--config-path', '{connection_file}'],
    display_name: 'TypeScript',
    language: 'typescript',
  };
  mkdirSync(folder, { recursive: true });
  const fresh = join(folder, `kernel-${process.pid}.json`);
  writeFileSync(fresh, `${JSON.stringify(kernel, null, 2)}\n`);
  renameSync(fresh, join(folder, 'kernel.json'));
  return {
    ...process.env,
    JUPYTER_PATH: jupyterFolder,
    JUPYTER_DATA_DIR: join(jupyterFolder, 'data'),
    JUPYTER_RUNTIME_DIR: join(jupyterFolder, 'runtime'),
    JUPYTER_CONFIG_DIR: join(jupyterFolder, 'config'),
    IPYTHONDIR: join(jupyterFolder, 'ipython'),
  };
}

/** @param {string} line */
function say(line) {
  process.stdout.write(`${line}\n`);
}

import { type SpawnSyncReturns, spawnSync } from 'node:child_process';
import { existsSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import process from 'node:process';
import { refuse } from '../shared/input-error.js';
import { findPython, firstPython, onPath, ownPython, PYTHON_VARIABLE, systemPythons } from './find-python.js';

const DEBIAN_PACKAGES = ['jupyter-notebook', 'jupyter-nbconvert'];

/** What pip is asked for: JupyterLab to open notebooks, nbconvert to execute them. */
export const PIP_PACKAGES = ['jupyterlab', 'nbconvert'];

/** The folder of Python packages that an offline archive brings along. */
export const PACKAGES_FOLDER = 'python-packages';

/**
 * A Python with Jupyter: the one that is there, else a new one in the folder's own `.venv`, from the packages that lie
 * in the folder or from the package index, else Debian's where this is the administrator.
 *
 * @throws InputError `no-jupyter`, with what to run
 */
export function installJupyter(folder: string, say: (line: string) => void): string {
  const there = findPython(folder);
  if (there !== undefined) return there;
  const own = ownPython(folder);
  const tried: string[] = [];
  const base = existsSync(own)
    ? own
    : firstPython(systemPythons(), 'import ensurepip, venv, sys\nassert sys.version_info >= (3, 9)');
  if (base === undefined) tried.push('No Python 3.9 or newer that can make an environment was found.');
  else {
    say('Installing Jupyter into .venv (pip) …');
    const failure = installWithPip(folder, base);
    if (failure === undefined) return own;
    tried.push(`pip could not install it: ${failure}`);
  }
  if (process.platform === 'linux' && process.getuid?.() === 0 && onPath('apt-get') !== undefined) {
    say(`Installing Jupyter (apt-get install ${DEBIAN_PACKAGES.join(' ')}) …`);
    const failure = installWithApt();
    const python = failure === undefined ? findPython(folder) : undefined;
    if (python !== undefined) return python;
    tried.push(`apt-get could not install it: ${failure ?? 'no Python has it afterwards'}`);
  }
  throw refuse(
    'no-jupyter',
    [],
    `Jupyter is not on this machine.\n${tried.map((line) => `  ${line}`).join('\n')}`,
    howToInstall(),
  );
}

/** @returns what went wrong */
function installWithPip(folder: string, base: string): string | undefined {
  const own = ownPython(folder);
  const isNew = !existsSync(own);
  const brought = join(folder, PACKAGES_FOLDER);
  const source = existsSync(brought) ? ['--no-index', '--find-links', brought] : ['--retries', '1'];
  const steps = [
    ...(isNew ? [[base, '-m', 'venv', join(folder, '.venv')]] : []),
    [own, '-m', 'pip', 'install', '--quiet', '--disable-pip-version-check', ...source, ...PIP_PACKAGES],
  ];
  for (const [program = '', ...args] of steps) {
    const failure = failureOf(spawnSync(program, args, { cwd: folder, encoding: 'utf8', timeout: 900_000 }));
    if (failure === undefined) continue;
    if (isNew) rmSync(join(folder, '.venv'), { recursive: true, force: true });
    return failure;
  }
  return undefined;
}

/** @returns what went wrong */
function installWithApt(): string | undefined {
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

/** The last words of a program that did not end well; none where it did. */
export function failureOf(done: SpawnSyncReturns<string>): string | undefined {
  if (done.status === 0) return undefined;
  const lastWords = `${done.stderr ?? ''}`.trim().split('\n').at(-1);
  return done.error?.message ?? (lastWords || `it ended with code ${done.status}`);
}

function howToInstall(): string {
  const again = 'then run the same command again.';
  if (process.platform === 'linux' && onPath('apt-get') !== undefined)
    return `run\n  sudo apt-get install --no-install-recommends ${DEBIAN_PACKAGES.join(' ')}\n${again}`;
  const onWindows = process.platform === 'win32';
  const python = onWindows ? 'py -3' : 'python3';
  const get = onWindows ? 'winget install Python.Python.3.12' : 'brew install python';
  const elsewhere = process.platform === 'linux' ? 'install Python 3 with your package manager' : `run\n  ${get}`;
  return `${elsewhere} (where Python is missing), and with a connection to the package index:
  ${python} -m venv .venv
  ${onWindows ? '.venv\\Scripts\\python' : '.venv/bin/python'} -m pip install ${PIP_PACKAGES.join(' ')}
${again} A Python that has Jupyter elsewhere can be named in ${PYTHON_VARIABLE}.`;
}

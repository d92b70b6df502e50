import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import nodePath, { delimiter, join } from 'node:path';
import process from 'node:process';
import { refuse } from '../shared/input-error.js';

const onWindows = process.platform === 'win32';

/** Set this to the Python that has Jupyter when the search finds the wrong one. */
export const PYTHON_VARIABLE = 'LIMB_PERFUSION_PYTHON';
const NEEDED = 'import nbclient, jupyter_core\nfrom nbconvert import HTMLExporter';

/** The Python of a folder's own environment, `.venv`. */
export function ownPython(folder: string, platform: NodeJS.Platform = process.platform): string {
  return platform === 'win32'
    ? nodePath.win32.join(folder, '.venv', 'Scripts', 'python.exe')
    : nodePath.posix.join(folder, '.venv', 'bin', 'python');
}

/**
 * The full path of a Python that can execute notebooks: the one named by LIMB_PERFUSION_PYTHON, else the folder's
 * own environment, else the one Jupyter runs on, else what is on PATH, else the system's.
 *
 * @throws InputError `python-without-jupyter`, where the one that is named cannot
 */
export function findPython(folder: string): string | undefined {
  const named = process.env[PYTHON_VARIABLE];
  if (named === undefined || named === '') return firstPython([[ownPython(folder)], ...systemPythons()], NEEDED);
  const found = firstPython([[named]], NEEDED);
  if (found === undefined)
    throw refuse(
      'python-without-jupyter',
      [PYTHON_VARIABLE],
      `It names ${named}, which cannot import nbconvert, nbclient and jupyter_core.`,
      'name a Python that has Jupyter, or leave the variable unset.',
    );
  return found;
}

/** Commands that may start a Python, the likeliest first. */
export function systemPythons(): string[][] {
  const jupyter = jupyterPython();
  return [
    ...(jupyter === undefined ? [] : [[jupyter]]),
    ...(onWindows ? [['python'], ['py', '-3']] : []),
    ['python3'],
    ['/usr/bin/python3'],
  ];
}

/**
 * The first command that runs `code`, as the path its interpreter gives itself. Asking by running is what tells a
 * Python from the stubs that some systems put in its place.
 */
export function firstPython(commands: readonly (readonly string[])[], code: string): string | undefined {
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

/** Where a program of that name lies on PATH. */
export function onPath(program: string): string | undefined {
  return (process.env.PATH ?? '')
    .split(delimiter)
    .map((folder) => join(folder, program))
    .find((path) => existsSync(path));
}

/** The Python named on the first lines of the program `jupyter`, or beside it on Windows. */
function jupyterPython(): string | undefined {
  const program = onPath(onWindows ? 'jupyter.exe' : 'jupyter');
  if (program === undefined) return undefined;
  return onWindows
    ? pythonsBeside(program).find((path) => existsSync(path))
    : pythonNamedIn(readFileSync(program, 'latin1'));
}

/** Where Windows has the Python of a program: beside it, or one folder above. */
export function pythonsBeside(program: string): string[] {
  const { dirname, join: joined } = nodePath.win32;
  return [joined(dirname(program), 'python.exe'), joined(dirname(program), '..', 'python.exe')];
}

/** The Python that the first lines of a program's text name. */
export function pythonNamedIn(text: string): string | undefined {
  const lines = text.split('\n', 2);
  // Where the path is too long or holds a space, pip writes a shell line that hands the file to Python.
  const named =
    /^#!\s*(\/\S*python[\d.]*)/.exec(lines[0] ?? '') ?? /^'''exec' "?([^"]*?python[\d.]*)/.exec(lines[1] ?? '');
  return named?.[1];
}

/** On a Mac without the developer tools /usr/bin/python3 opens a dialog instead of running. */
function isMacStub(program: string): boolean {
  if (process.platform !== 'darwin') return false;
  const path = program.includes('/') ? program : onPath(program);
  return path === '/usr/bin/python3' && spawnSync('xcode-select', ['-p']).status !== 0;
}

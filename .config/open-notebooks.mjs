// @ts-check
// Opens the notebooks in the browser, in the Jupyter that is there, with this project's kernel.
// usage: npm run notebooks [-- options for Jupyter]
import { spawn, spawnSync } from 'node:child_process';
import { join } from 'node:path';
import process from 'node:process';
import { findPython, jupyterEnvironment, root } from './set-up.mjs';

const python = findPython() ?? 'python3';
const program = ['jupyterlab', 'notebook'].find(
  (name) => spawnSync(python, ['-c', `import ${name}`], { env: jupyterEnvironment() }).status === 0,
);
if (program === undefined) {
  process.stderr.write(`${python} can execute notebooks but has no program to open them in. Run:
  ${python} -m pip install jupyterlab\n`);
  process.exitCode = 1;
} else {
  const args = ['-m', program, join(root, 'notebooks'), ...process.argv.slice(2)];
  spawn(python, args, { env: jupyterEnvironment(), stdio: 'inherit' }).on('exit', (code) => {
    process.exitCode = code ?? 1;
  });
}

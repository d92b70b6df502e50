import { spawn, spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { refuse } from '../shared/input-error.js';
import { installJupyter, PIP_PACKAGES } from './install-jupyter.js';
import { checkKernel, kernelEnvironment } from './kernel-environment.js';
import { studyFolderAt } from './study-folder.js';

/**
 * Opens a study folder in the Jupyter that is there, with the folder's kernel, until Jupyter is closed.
 *
 * @param options what Jupyter itself is told, such as --no-browser
 * @returns the code with which Jupyter ended
 * @throws InputError `no-study-folder`, `no-jupyter`, `no-program`
 */
export async function openNotebooks(
  from: string,
  options: readonly string[],
  say: (line: string) => void,
): Promise<number> {
  const { root } = studyFolderAt(from);
  checkKernel(root);
  const python = installJupyter(root, say);
  const env = kernelEnvironment(root);
  const program = ['jupyterlab', 'notebook'].find(
    (name) => spawnSync(python, ['-c', `import ${name}`], { env }).status === 0,
  );
  if (program === undefined)
    throw refuse(
      'no-program',
      [],
      `${python} can execute notebooks but has no program to open them in.`,
      `run ${python} -m pip install ${PIP_PACKAGES[0]}`,
    );
  // A study is shown whole, with its data and reports; of the project itself only the notebooks.
  const shown = existsSync(join(root, 'settings.json')) ? root : join(root, 'notebooks');
  return new Promise((resolve, reject) => {
    const jupyter = spawn(python, ['-m', program, shown, ...options], { env, cwd: root, stdio: 'inherit' });
    // Jupyter asks before it ends; until then this waits.
    const wait = () => {};
    process.on('SIGINT', wait);
    jupyter.on('error', reject);
    jupyter.on('exit', (code) => {
      process.removeListener('SIGINT', wait);
      resolve(code ?? 1);
    });
  });
}

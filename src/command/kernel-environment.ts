import { spawnSync } from 'node:child_process';
import { mkdirSync, renameSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import process from 'node:process';
import { fileURLToPath } from 'node:url';
import { refuse } from '../shared/input-error.js';

const START = fileURLToPath(new URL('../command/start-kernel.mjs', import.meta.url));

/**
 * The environment in which Jupyter finds a folder's kernel and writes nothing outside the folder. The kernel's
 * description is written anew each time: the paths in it move when Node is updated or the folder is renamed.
 *
 * @param root the folder whose packages hold the kernel
 * @throws InputError `no-kernel`
 */
export function kernelEnvironment(root: string): NodeJS.ProcessEnv {
  const place = join(root, '.jupyter');
  const folder = join(place, 'kernels', 'tslab');
  const kernel = {
    argv: [process.execPath, START, kernelPackage(root), 'kernel', '--config-path', '{connection_file}'],
    display_name: 'TypeScript',
    language: 'typescript',
  };
  mkdirSync(folder, { recursive: true });
  const fresh = join(folder, `kernel-${process.pid}.json`);
  writeFileSync(fresh, `${JSON.stringify(kernel, null, 2)}\n`);
  renameSync(fresh, join(folder, 'kernel.json'));
  return {
    ...process.env,
    JUPYTER_PATH: place,
    JUPYTER_DATA_DIR: join(place, 'data'),
    JUPYTER_RUNTIME_DIR: join(place, 'runtime'),
    JUPYTER_CONFIG_DIR: join(place, 'config'),
    IPYTHONDIR: join(place, 'ipython'),
  };
}

/**
 * Says early and plainly what would else be a kernel that dies without a word.
 *
 * @throws InputError `no-kernel`, `no-socket`
 */
export function checkKernel(root: string): void {
  const socket = spawnSync(process.execPath, ['-e', "require('zeromq')"], {
    cwd: kernelPackage(root),
    encoding: 'utf8',
  });
  if (socket.status !== 0)
    throw refuse(
      'no-socket',
      [],
      `zeromq, through which the kernel talks to Jupyter, does not load here:\n${socket.stderr}`,
      'run npm install in this folder again, with the Node that is used now.',
    );
}

function kernelPackage(root: string): string {
  try {
    return dirname(createRequire(join(root, 'package.json')).resolve('tslab/package.json'));
  } catch {
    throw refuse(
      'no-kernel',
      [],
      'The TypeScript kernel for notebooks (tslab) is not installed in this folder.',
      'run npm install here.',
    );
  }
}

import { spawn, spawnSync } from 'node:child_process';
import { copyFileSync, existsSync, mkdirSync, mkdtempSync, rmSync, symlinkSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { root } from '../../.config/set-up.mjs';
import { findPython } from '../../src/command/find-python.ts';
import { kernelEnvironment } from '../../src/command/kernel-environment.ts';

/** The first Python whose `notebook` is the classic one (before 7), or undefined. */
export function pythonWithClassicNotebook(): string | undefined {
  const question = 'import notebook; assert int(notebook.__version__.split(".")[0]) < 7';
  return [findPython(root), '/usr/bin/python3']
    .filter((python) => python !== undefined)
    .find((python) => existsSync(python) && spawnSync(python, ['-c', question]).status === 0);
}

/**
 * A classic Notebook server over copies of notebooks, beside links to the demo data and the packages, so that a
 * notebook opened and saved in it never touches the project's own.
 *
 * @param notebooks paths of notebooks
 */
export async function startNotebookServer(
  python: string,
  notebooks: readonly string[],
): Promise<{ readonly address: string; readonly stop: () => Promise<void> }> {
  const folder = mkdtempSync(join(tmpdir(), 'limb-perfusion-browser-'));
  const inside = join(folder, 'notebooks');
  mkdirSync(inside);
  for (const path of notebooks) copyFileSync(path, join(inside, basename(path)));
  for (const name of ['data-demo', 'node_modules']) symlinkSync(join(root, name), join(folder, name));
  const port = await freePort();
  const address = `http://127.0.0.1:${port}`;
  const server = spawn(
    python,
    [
      '-m',
      'notebook',
      '--no-browser',
      '--allow-root',
      '--ip=127.0.0.1',
      `--port=${port}`,
      '--port-retries=0',
      '--NotebookApp.token=',
      '--NotebookApp.password=',
      `--notebook-dir=${inside}`,
    ],
    { env: kernelEnvironment(root), stdio: ['ignore', 'ignore', 'pipe'] },
  );
  let said = '';
  server.stderr.setEncoding('utf8').on('data', (text) => {
    said += text;
  });
  const ended = new Promise((resolve) => server.once('exit', resolve));
  const stop = async (): Promise<void> => {
    server.kill('SIGTERM');
    const patience = setTimeout(() => server.kill('SIGKILL'), 10_000);
    await ended;
    clearTimeout(patience);
    rmSync(folder, { recursive: true, force: true });
  };
  for (let tries = 0; tries < 240; tries++) {
    if (server.exitCode !== null) break;
    const answer = await fetch(`${address}/api`).catch(() => undefined);
    if (answer?.ok) return { address, stop };
    await new Promise((resolve) => setTimeout(resolve, 250));
  }
  await stop();
  throw new Error(`The notebook server did not start:\n${said}`);
}

function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const probe = createServer();
    probe.once('error', reject);
    probe.listen(0, '127.0.0.1', () => {
      const at = probe.address();
      probe.close(() => resolve(typeof at === 'object' && at !== null ? at.port : 0));
    });
  });
}

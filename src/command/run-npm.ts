import { type SpawnSyncOptions, type SpawnSyncReturns, spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import nodePath from 'node:path';
import process from 'node:process';

/** A program and the arguments that come before one's own. */
export interface Program {
  readonly program: string;
  readonly args: readonly string[];
  /** Only where npm's own script is not found on Windows: its command file starts through a shell alone. */
  readonly shell: boolean;
}

/** What telling where npm lies depends on; the defaults are this process. */
export interface NpmSurroundings {
  readonly platform: NodeJS.Platform;
  readonly node: string;
  /** The script npm names to what it runs (`npm_execpath`). */
  readonly named: string | undefined;
  readonly exists: (path: string) => boolean;
}

/** npm by its own script, so that no command file and no shell stand between; where that is not found, by its name. */
export function npmProgram(surroundings: NpmSurroundings = here()): Program {
  const { platform, node, named, exists } = surroundings;
  const { dirname, join } = platform === 'win32' ? nodePath.win32 : nodePath.posix;
  const inside = ['node_modules', 'npm', 'bin', 'npm-cli.js'];
  const script = [named ?? '', join(dirname(node), ...inside), join(dirname(node), '..', 'lib', ...inside)].find(
    (path) => path.endsWith('npm-cli.js') && exists(path),
  );
  return script === undefined
    ? { program: 'npm', args: [], shell: platform === 'win32' }
    : { program: node, args: [script], shell: false };
}

/** Runs npm and waits for its end. */
export function runNpm(args: readonly string[], options: SpawnSyncOptions): SpawnSyncReturns<string | Buffer> {
  const { program, args: first, shell } = npmProgram();
  return spawnSync(program, shell ? args.map(quoted) : [...first, ...args], { ...options, shell });
}

/** For the shell of Windows: in quotation marks, which the path of no file can hold there. */
function quoted(word: string): string {
  return /^[\w./:\\=-]+$/.test(word) ? word : `"${word}"`;
}

function here(): NpmSurroundings {
  return {
    platform: process.platform,
    node: process.execPath,
    named: process.env.npm_execpath,
    exists: existsSync,
  };
}

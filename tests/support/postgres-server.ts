import { execFileSync } from 'node:child_process';
import { chmodSync, chownSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { available } from './optional.ts';

const DEBIAN = '/usr/lib/postgresql';

/** The folder of the server's programs, or `undefined` with a plain line when there is none. */
export function postgresPrograms(): string | undefined {
  const versions = existsSync(DEBIAN) ? readdirSync(DEBIAN) : [];
  const folders = versions.map((version) => join(DEBIAN, version, 'bin'));
  const found = folders.find((folder) => existsSync(join(folder, 'initdb')));
  available('the PostgreSQL server', found !== undefined, 'Install the Debian package postgresql.');
  return found;
}

export interface PostgresServer {
  /** The folder of its socket: what a client takes for its host. */
  readonly host: string;
  readonly user: string;
  stop(): void;
}

/** Starts a server of its own on a new folder, reachable by a socket only, and not as root, which it refuses. */
export function startPostgres(programs: string): PostgresServer {
  const folder = mkdtempSync(join(tmpdir(), 'postgres-'));
  const data = join(folder, 'data');
  const user = 'keeper';
  const isRoot = process.getuid?.() === 0;
  if (isRoot) {
    const id = (of: string): number => Number(execFileSync('id', [of, 'postgres'], { encoding: 'utf8' }));
    chownSync(folder, id('-u'), id('-g'));
  }
  chmodSync(folder, 0o700);
  const run = (program: string, ...args: string[]): void => {
    const command = [join(programs, program), ...args];
    const [first = '', ...rest] = isRoot
      ? ['setpriv', '--reuid=postgres', '--regid=postgres', '--clear-groups', ...command]
      : command;
    execFileSync(first, rest, { stdio: ['ignore', 'ignore', 'inherit'], cwd: folder });
  };
  run('initdb', '-D', data, '-U', user, '--auth=trust', '--no-sync', '-E', 'UTF8', '--locale=C.UTF-8');
  const settings = `-k ${folder} -c listen_addresses= -c fsync=off`;
  run('pg_ctl', '-D', data, '-w', '-t', '100', '-l', join(folder, 'log'), '-o', settings, 'start');
  return {
    host: folder,
    user,
    stop() {
      run('pg_ctl', '-D', data, '-w', '-m', 'immediate', 'stop');
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

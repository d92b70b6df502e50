import { spawn, spawnSync } from 'node:child_process';
import {
  chmodSync,
  createWriteStream,
  existsSync,
  mkdtempSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { pipeline } from 'node:stream/promises';
import { createGzip } from 'node:zlib';
import { refuse } from '../shared/input-error.js';
import { firstPython, systemPythons } from './find-python.js';
import { failureOf, PACKAGES_FOLDER, PIP_PACKAGES } from './install-jupyter.js';
import { packageVersion } from './package-files.js';
import { installPackages, startStudy } from './start-study.js';

/** What an archive holds. */
export interface OfflineArchive {
  readonly path: string;
  readonly megabytes: number;
  readonly files: number;
  /** The Python packages that came along, for which Python; none where pip could not get them. */
  readonly pythonPackages: { readonly count: number; readonly python: string } | undefined;
}

const FOLDER = 'limb-perfusion-study';

/**
 * Packs a fresh study folder with all it needs into one file, for a computer without a network that has the same system
 * and processor: the library, its packages, the notebooks and, where pip can get them, Jupyter's Python packages.
 *
 * The order of the files in it is that of their names.
 *
 * @param into the folder in which the archive is written
 * @throws InputError `no-archive`, where npm or tar cannot do their part
 */
export async function makeArchive(into: string, say: (line: string) => void): Promise<OfflineArchive> {
  const working = mkdtempSync(join(tmpdir(), 'limb-perfusion-archive-'));
  try {
    say('Making a study folder and installing its packages …');
    const study = startStudy(FOLDER, working);
    const failure = installPackages(study);
    if (failure !== undefined)
      throw refuse(
        'no-archive',
        [],
        `npm could not install the packages: ${failure}`,
        'run this where there is a network.',
      );
    say("Getting Jupyter's Python packages (pip download) …");
    const pythonPackages = downloadPythonPackages(study);
    writeStartScripts(study);
    const path = join(into, `limb-perfusion-${packageVersion()}-${process.platform}-${process.arch}.tar.gz`);
    const files = filesUnder(working, FOLDER);
    say(`Packing ${files.length} files …`);
    await pack(working, files, path);
    return { path, megabytes: statSync(path).size / 1e6, files: files.length, pythonPackages };
  } finally {
    rmSync(working, { recursive: true, force: true });
  }
}

function downloadPythonPackages(study: string): OfflineArchive['pythonPackages'] {
  const python = firstPython(systemPythons(), 'import pip');
  if (python === undefined) return undefined;
  const folder = join(study, PACKAGES_FOLDER);
  const done = spawnSync(
    python,
    [
      '-m',
      'pip',
      'download',
      '--quiet',
      '--disable-pip-version-check',
      '--retries',
      '1',
      '--only-binary',
      ':all:',
      '--dest',
      folder,
      ...PIP_PACKAGES,
    ],
    { encoding: 'utf8', timeout: 900_000 },
  );
  if (failureOf(done) !== undefined) {
    rmSync(folder, { recursive: true, force: true });
    return undefined;
  }
  const version = spawnSync(python, ['-c', 'import sys; print("%d.%d" % sys.version_info[:2])'], { encoding: 'utf8' });
  return { count: readdirSync(folder).length, python: version.stdout.trim() };
}

/** Start without npm, which a locked computer may not have. */
function writeStartScripts(study: string): void {
  const program = ['node_modules', 'limb-perfusion', 'dist', 'command', 'limb-perfusion.js'];
  const unix = join(study, 'start.sh');
  writeFileSync(
    unix,
    `#!/bin/sh\n# Runs the study and writes its pages. A file of your own comes after it: ./start.sh data/my-assessments.xlsx\ncd "$(dirname "$0")" && exec node ${program.join('/')} study "$@"\n`,
  );
  chmodSync(unix, 0o755);
  writeFileSync(
    join(study, 'start.cmd'),
    `@rem Runs the study and writes its pages. A file of your own comes after it: start.cmd data\\my-assessments.xlsx\r\n@cd /d "%~dp0" && node ${program.join('\\')} study %*\r\n`,
  );
}

/** Files and links below a folder, by name, with forward slashes. */
function filesUnder(base: string, folder: string): string[] {
  return readdirSync(join(base, folder), { withFileTypes: true })
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((entry) =>
      entry.isDirectory() ? filesUnder(base, `${folder}/${entry.name}`) : [`${folder}/${entry.name}`],
    );
}

/** With the tar that Linux, macOS and Windows bring along. */
async function pack(base: string, files: readonly string[], path: string): Promise<void> {
  const list = join(base, 'files.txt');
  writeFileSync(list, `${files.join('\n')}\n`);
  const tar = spawn('tar', ['-c', '-f', '-', '-C', base, '-T', list], {
    stdio: ['ignore', 'pipe', 'pipe'],
    windowsHide: true,
  });
  let words = '';
  tar.stderr.setEncoding('utf8').on('data', (text: string) => {
    words += text;
  });
  const ended = new Promise<number | null>((resolve, reject) => {
    tar.on('error', reject);
    tar.on('close', resolve);
  });
  const fresh = `${path}.${process.pid}`;
  try {
    await pipeline(tar.stdout, createGzip({ level: 6 }), createWriteStream(fresh));
    if ((await ended) !== 0) throw new Error(words.trim());
    renameSync(fresh, path);
  } catch (error) {
    throw refuse('no-archive', [], `tar could not pack the folder: ${String(error)}`);
  } finally {
    if (existsSync(fresh)) rmSync(fresh);
  }
}

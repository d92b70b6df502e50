import { type SpawnSyncReturns, spawnSync } from 'node:child_process';
import {
  copyFileSync,
  lstatSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmdirSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { basename, join } from 'node:path';
import process from 'node:process';
import { refuse } from '../shared/input-error.js';
import { notebooksIn } from './execute-notebooks.js';
import { failureOf } from './install-jupyter.js';
import { notebookText, readNotebook } from './notebook-file.js';
import { packageDescription, packageFolder } from './package-files.js';
import { runNpm } from './run-npm.js';
import { checkStudyName } from './study-name.js';

/** Where the study folder keeps the very library it was begun with, so that its figures can be had again. */
const LIBRARY_FOLDER = '.limb-perfusion';

/**
 * A few invented findings under the header of a tidy file: what a row may hold, the reason for a missing value among it.
 * Loads as it is.
 */
export const TEMPLATE = `patient,day,occasion,assessor,replicate,limb,site,sign,scale,value,missing
P01,0,1,A,1,right-leg,posterior-tibial,pulse-grade,pulse.0-4.normal2,2,
P01,0,1,B,1,right-leg,posterior-tibial,pulse-grade,pulse.0-4.normal2,1,
P01,0,1,A,1,left-leg,posterior-tibial,pulse-grade,pulse.0-4.normal2,,covered
P01,0,1,A,1,right-leg,shin,pitting-edema,pit.0-4.hogan,1,
P01,0,1,B,1,right-leg,shin,pitting-edema,pit.0-4.hogan,1,
`;

/**
 * Makes a folder for a study: notebooks, invented example data, a template, settings, and rules that keep data out of
 * version control. All of it appears at once or not at all.
 *
 * @param folder where the study's folder is to stand
 * @returns the path of the new folder
 * @throws InputError `bad-name`, `folder-not-empty`, `not-a-folder`
 */
export function startStudy(name: string, folder: string): string {
  const place = join(folder, checkStudyName(name));
  const isThere = checkFree(place);
  const fresh = join(folder, `.${basename(place)}-${process.pid}`);
  rmSync(fresh, { recursive: true, force: true });
  try {
    fill(fresh);
    // Windows renames onto no folder, not even an empty one.
    if (isThere) rmdirSync(place);
    renameSync(fresh, place);
  } finally {
    rmSync(fresh, { recursive: true, force: true });
  }
  return place;
}

/** Installs what the folder's package.json names. */
export function installPackages(place: string): string | undefined {
  const done = runNpm(['install', '--no-audit', '--no-fund', '--loglevel=error'], { cwd: place, encoding: 'utf8' });
  return failureOf(done as SpawnSyncReturns<string>);
}

/** @returns whether an empty folder is there already */
function checkFree(place: string): boolean {
  const found = lstatSync(place, { throwIfNoEntry: false });
  if (found === undefined) return false;
  if (!found.isDirectory())
    throw refuse(
      'not-a-folder',
      ['name'],
      `There is a file or a link named "${basename(place)}" here.`,
      'choose another name; nothing was changed.',
    );
  if (readdirSync(place).length > 0)
    throw refuse(
      'folder-not-empty',
      ['name'],
      `The folder "${basename(place)}" is there and is not empty.`,
      'choose another name, or look into it and move it away; nothing was changed.',
    );
  return true;
}

function fill(place: string): void {
  const { version, devDependencies, overrides, allowScripts } = packageDescription();
  for (const folder of ['notebooks', 'data', 'example', LIBRARY_FOLDER])
    mkdirSync(join(place, folder), { recursive: true });
  const write = (name: string, text: string) => writeFileSync(join(place, name), text);

  for (const path of notebooksIn(join(packageFolder, 'notebooks'))) {
    const notebook = readNotebook(path);
    const cells = notebook.cells.map((cell) => ({ ...cell, source: forStudyFolder(cell.source) }));
    write(join('notebooks', basename(path)), notebookText({ ...notebook, cells }));
  }
  run(process.execPath, [join(packageFolder, 'data-demo', 'make-demo-data.mjs'), join(place, 'example')]);
  const about = readFileSync(join(packageFolder, 'data-demo', 'README.md'), 'utf8');
  write(
    join('example', 'README.md'),
    `# The example data\n\nEverything here is invented: no real person, ward or clinic is behind any of it.\nBeside each file lies what is true in it, as \`….truth.json\`.\n\n${about.slice(about.indexOf('## The scenario'))}`,
  );
  write(join('data', 'template.csv'), TEMPLATE);
  write('settings.json', '{\n  "notebooks": {}\n}\n');
  for (const [asset, name] of [
    ['study-readme.md', 'README.md'],
    ['it-department.md', 'WHAT-TO-ASK-YOUR-IT-DEPARTMENT.md'],
    ['study-gitignore', '.gitignore'],
  ] as const)
    copyFileSync(new URL(`../command/${asset}`, import.meta.url), join(place, name));

  const packed = runNpm(['pack', packageFolder, '--ignore-scripts', '--silent', '--pack-destination', LIBRARY_FOLDER], {
    cwd: place,
    encoding: 'utf8',
  });
  const archive = readdirSync(join(place, LIBRARY_FOLDER)).find((file) => file.endsWith('.tgz'));
  if (archive === undefined) throw new Error(`npm could not pack limb-perfusion ${version}: ${packed.stderr}`);
  write(
    'package.json',
    `${JSON.stringify(
      {
        private: true,
        description: 'A study with limb-perfusion.',
        scripts: {
          start: 'limb-perfusion study',
          study: 'limb-perfusion study',
          notebooks: 'limb-perfusion notebooks',
          pages: 'limb-perfusion pages',
        },
        dependencies: {
          'limb-perfusion': `file:${LIBRARY_FOLDER}/${archive}`,
          tslab: devDependencies.tslab,
        },
        // Both concern packages below: one that no registry serves, and which may run a script of its own at install.
        overrides,
        allowScripts: { ...allowScripts, 'limb-perfusion': false },
      },
      null,
      2,
    )}\n`,
  );
  write('.npmrc', 'fund=false\naudit=false\nupdate-notifier=false\n');
}

/** In a study folder the example data lie beside the notebooks' folder. */
function forStudyFolder(text: string): string {
  return text
    .replaceAll('../data-demo/generated/', '../example/')
    .replaceAll('data-demo/README.md', 'example/README.md');
}

function run(program: string, args: readonly string[]): void {
  const failure = failureOf(spawnSync(program, args, { encoding: 'utf8' }));
  if (failure !== undefined) throw new Error(failure);
}

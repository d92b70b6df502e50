import { copyFileSync, existsSync, mkdirSync, readdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { basename, extname, isAbsolute, join, relative, resolve } from 'node:path';
import process from 'node:process';
import type { Assessments } from '../assessments/assessments.js';
import { loadUnitTable } from '../assessments/load-unit-table.js';
import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { fitNotebook, LATER_FILE, OWN_FILE, SMALL_TABLE } from './choose-notebooks.js';
import { executeNotebooks, type NotebookOutcome, SECONDS_PER_CELL } from './execute-notebooks.js';
import { installJupyter } from './install-jupyter.js';
import { checkKernel } from './kernel-environment.js';
import { loadStudyFile } from './load-study-file.js';
import { type NotebookFile, notebookName, notebookText, readNotebook } from './notebook-file.js';
import { packageVersion } from './package-files.js';
import { readSettingsCell, writeSettingsCell } from './settings-cell.js';
import { type StudyFolder, studyFolderAt } from './study-folder.js';
import { readStudySettings, type StudySettings, sheetsOf } from './study-settings.js';

/** A record of the run beside its pages; by it a folder is known as one that may be replaced. */
const RECORD = 'run.json';

const SIGNALS = ['SIGINT', 'SIGTERM'] as const;

/** As deep as the notebooks' own folder, so that a notebook run here finds the invented data too. */
const EXAMPLE_REPORTS = 'example-reports';

export interface RunStudyOptions {
  /** The folder in which the command was given. */
  readonly from: string;
  /** The person's file; default: the one in settings.json, else the invented data of each notebook. */
  readonly file?: string;
  /** The sheet of the file, where it is a workbook with several. Default: the one in settings.json. */
  readonly sheet?: string;
  /** Where the pages go, counted from the study's folder. Default: in `reports` by the name of the file, or in `example-reports`. */
  readonly into?: string;
  /** How long a cell of a notebook may take, in minutes. Default 10. */
  readonly minutesPerCell?: number;
  readonly say: (line: string) => void;
}

/**
 * Runs the notebooks on a person's own file, or on the invented data, and writes the pages: all of them, or nothing.
 *
 * @returns the folder with the pages
 * @throws InputError for what is wrong with the settings or the file, every problem at once; `notebook-failed`
 */
export async function runStudy(options: RunStudyOptions): Promise<string> {
  const { say, minutesPerCell = SECONDS_PER_CELL / 60 } = options;
  const study = studyFolderAt(options.from);
  const settings = readStudySettings(join(study.root, 'settings.json'), study.notebooks);
  const file = pathOf(options.file, options.from) ?? pathOf(settings.file, study.root);
  const material = file === undefined ? undefined : await readMaterial(file, study, settings, say, options.sheet);
  const into = placeFor(
    study,
    options.into ?? (material === undefined ? EXAMPLE_REPORTS : join('reports', material.name)),
  );
  const prepared = material === undefined ? study.notebooks.map(asItIs) : fitAll(study, settings, material, say);

  checkKernel(study.root);
  const python = installJupyter(study.root, say);
  const making = join(study.root, `.reports-${process.pid}`);
  const stop = () => {
    rmSync(making, { recursive: true, force: true });
    process.exit(130);
  };
  for (const signal of SIGNALS) process.once(signal, stop);
  try {
    mkdirSync(making);
    material?.write(making);
    say(
      `Running ${prepared.length === 1 ? 'a notebook' : `${prepared.length} notebooks`} in the TypeScript kernel, two at a time; a cell may take ${minutesPerCell} ${minutesPerCell === 1 ? 'minute' : 'minutes'} …`,
    );
    const outcomes = await executeNotebooks(
      prepared.map((one) => one.write(making)),
      {
        root: study.root,
        python,
        folder: making,
        secondsPerCell: Math.round(60 * minutesPerCell),
        finished: (outcome) => tell(outcome, say),
      },
    );
    const failed = outcomes.filter(({ failure }) => failure !== undefined);
    if (failed.length > 0)
      throw refuse(
        'notebook-failed',
        [],
        `${failed.length} of ${outcomes.length} notebooks failed, as said above; no report was written.`,
        'mend what is said there, or leave the notebook out: in settings.json under "notebooks", its name and false. A cell that only needs longer gets it with --minutes-per-cell 60.',
      );
    writeFileSync(join(making, RECORD), recordOf(outcomes, prepared, material));
    replaceFolder(making, into);
  } finally {
    for (const signal of SIGNALS) process.removeListener(signal, stop);
    rmSync(making, { recursive: true, force: true });
  }
  return into;
}

/** A notebook on its way into a run. */
interface Prepared {
  readonly name: string;
  readonly settings?: Readonly<Record<string, unknown>>;
  /** Puts it where it can be executed and says where that is. */
  readonly write: (folder: string) => string;
}

/** With the invented data a notebook runs where it lies, from which it finds them. */
function asItIs(path: string): Prepared {
  return { name: notebookName(path), write: () => path };
}

/** What a person brought, read and ready to lie beside the notebooks. */
interface ReadMaterial {
  readonly name: string;
  readonly assessments: Assessments;
  readonly later?: Assessments;
  readonly smallTable?: string;
  readonly write: (folder: string) => void;
}

async function readMaterial(
  file: string,
  study: StudyFolder,
  settings: StudySettings,
  say: (line: string) => void,
  sheet: string | undefined,
): Promise<ReadMaterial> {
  const sheets = sheetsOf(settings);
  const laterPath = pathOf(settings.laterVisits, study.root);
  const tablePath = pathOf(settings.smallTable, study.root);
  const assessments = await named('the file', () => loadStudyFile(file, settings, say, sheet ?? sheets.file));
  // The layout is that of the first file.
  const { layout: _ofFirst, ...ofLater } = settings;
  const later =
    laterPath === undefined
      ? undefined
      : await named('laterVisits', () => loadStudyFile(laterPath, ofLater, say, sheets.laterVisits));
  if (tablePath !== undefined) {
    const { columnWithStays } = settingsFor('edema-trend-of-a-unit', settings);
    await named('smallTable', () =>
      loadUnitTable(tablePath, {
        ...(sheets.smallTable === undefined ? {} : { sheet: sheets.smallTable }),
        columns: { present: typeof columnWithStays === 'string' ? columnWithStays : 'stays' },
      }),
    );
  }
  const smallTable = tablePath === undefined ? undefined : `${SMALL_TABLE}${extname(tablePath)}`;
  say(`Read: ${describe(assessments)}.`);
  for (const { message } of assessments.notes) say(`  ${message}`);
  return {
    // A file's name can hold an identifier as well as its cells can; then the source has none.
    name: assessments.source.name === undefined ? 'assessments' : basename(file, extname(file)),
    assessments,
    ...(later === undefined ? {} : { later }),
    ...(smallTable === undefined ? {} : { smallTable }),
    write(folder) {
      writeFileSync(join(folder, OWN_FILE), assessments.toCsv());
      if (later !== undefined) writeFileSync(join(folder, LATER_FILE), later.toCsv());
      if (tablePath !== undefined && smallTable !== undefined) copyFileSync(tablePath, join(folder, smallTable));
    },
  };
}

/** The notebooks for which the material has what they need, with their settings; the others with the reason. */
function fitAll(
  study: StudyFolder,
  settings: StudySettings,
  material: ReadMaterial,
  say: (line: string) => void,
): Prepared[] {
  const problems: Problem[] = [];
  const prepared: Prepared[] = [];
  for (const path of study.notebooks) {
    const name = notebookName(path);
    const written = settings.notebooks[name] ?? {};
    if (written === false) continue;
    try {
      const notebook = readNotebook(path);
      const fitted = fitNotebook(name, material, written);
      if (typeof fitted === 'string') {
        say(`Left out, ${name}: ${fitted}`);
        continue;
      }
      const cut = aboutOwnData(withoutParts(notebook, fitted.without), material);
      const own = writeSettingsCell(cut, name, fitted.settings);
      prepared.push({
        name,
        settings: readSettingsCell(own, name).written,
        write(folder) {
          const copy = join(folder, `${name}.ipynb`);
          writeFileSync(copy, notebookText(own));
          return copy;
        },
      });
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      problems.push(
        ...error.problems.map((problem) => ({ ...problem, path: ['notebooks', name, ...(problem.path ?? [])] })),
      );
    }
  }
  if (problems.length > 0) throw new InputError(problems, 'settings.json needs a change:');
  if (prepared.length === 0)
    throw refuse('nothing-to-run', [], 'None of the notebooks has what it needs; the reasons stand above.');
  return prepared;
}

function withoutParts(notebook: NotebookFile, tags: readonly string[]): NotebookFile {
  return {
    ...notebook,
    cells: notebook.cells.filter(({ metadata }) => !(metadata.tags ?? []).some((tag) => tags.includes(tag))),
  };
}

/** What a notebook says of its invented data would be false of a person's own; the tidy copy has lost what was noted of the sheet. */
function aboutOwnData(notebook: NotebookFile, { assessments }: ReadMaterial): NotebookFile {
  return {
    ...notebook,
    cells: notebook.cells.map((cell) =>
      cell.cell_type === 'markdown'
        ? {
            ...cell,
            source: cell.source.replace(/^\*\*The data\*\*.*$/m, () =>
              [
                `**The data**: ${describe(assessments)}. Fingerprint ${assessments.fingerprint().slice(0, 16)}….`,
                ...assessments.notes.map(({ message }) => message),
              ].join(' '),
            ),
          }
        : cell,
    ),
  };
}

function describe({ length, patient, assessor, source }: Assessments): string {
  const of = source.name === undefined ? '' : ` from ${source.name}`;
  return `${length} findings of ${patient.values.length} patients by ${assessor.values.length} assessors${of}`;
}

function recordOf(
  outcomes: readonly NotebookOutcome[],
  prepared: readonly Prepared[],
  material: ReadMaterial | undefined,
): string {
  const record = {
    madeBy: `limb-perfusion ${packageVersion()}`,
    ...(material === undefined
      ? { data: 'the invented data of each notebook' }
      : { fingerprint: material.assessments.fingerprint(), notes: material.assessments.notes }),
    notebooks: outcomes.map(({ name, result }, at) => ({ name, settings: prepared[at]?.settings, result })),
  };
  return `${JSON.stringify(record, null, 2)}\n`;
}

/** Where the pages go: within the study's folder, and where nothing of a person's lies. */
function placeFor({ root }: StudyFolder, into: string): string {
  const place = resolve(root, into);
  const path = relative(root, place);
  if (path === '' || path.startsWith('..') || isAbsolute(path))
    throw refuse(
      'place-outside',
      ['into'],
      'The pages can only go into a folder within the study’s own.',
      'give a name, such as reports/first.',
    );
  if (existsSync(place) && readdirSync(place).length > 0 && !existsSync(join(place, RECORD)))
    throw refuse(
      'folder-not-empty',
      ['into'],
      `The folder ${path} holds files that were not made by a run.`,
      'move them away, or name another folder with --into.',
    );
  return place;
}

/** Puts a whole folder in the place of another. */
function replaceFolder(fresh: string, place: string): void {
  mkdirSync(resolve(place, '..'), { recursive: true });
  const before = `${fresh}-before`;
  if (existsSync(place)) renameSync(place, before);
  try {
    renameSync(fresh, place);
  } catch (error) {
    if (existsSync(before)) renameSync(before, place);
    throw error;
  }
  rmSync(before, { recursive: true, force: true });
}

function tell({ name, seconds, failure, result }: NotebookOutcome, say: (line: string) => void): void {
  say(`\n${name} (${seconds.toFixed(0)} s)`);
  if (failure !== undefined) say(`  FAILED\n${failure.replace(/^/gm, '  ')}`);
  else say(`  ${result === undefined ? 'It states no result of its own.' : `Result: ${result}`}`);
}

function settingsFor(name: string, { notebooks }: StudySettings): Readonly<Record<string, unknown>> {
  return notebooks[name] || {};
}

/** Says of which file the problems are. */
async function named<T>(what: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    const heading = error.message.split('\n', 1)[0] ?? '';
    throw new InputError(error.problems, what === 'the file' ? heading : `${what}: ${heading}`);
  }
}

function pathOf(path: string | undefined, from: string): string | undefined {
  return path === undefined ? undefined : resolve(from, path);
}

import { randomInt } from 'node:crypto';
import { existsSync } from 'node:fs';
import { mkdir, readFile, realpath, writeFile } from 'node:fs/promises';
import { dirname, join, parse, relative, resolve } from 'node:path';
import type { DateOrder } from '../assessments/export-dates.js';
import { COLUMN_TREATMENTS, type CodeKey, type ColumnTreatment, prepareExport } from '../assessments/prepare-export.js';
import { readSheet } from '../assessments/read-sheet.js';
import { sheetTable } from '../assessments/sheet-table.js';
import { suggestTreatment } from '../assessments/suggest-treatment.js';
import { InputError, refuse } from '../shared/input-error.js';

/** How the command speaks with whoever runs it. */
export interface Conversation {
  readonly print: (line: string) => void;
  /** Asks and gives the answer; an empty answer takes the one proposed. Absent where nobody can answer. */
  readonly ask?: (question: string) => Promise<string>;
}

/** What a file of answers holds: what happens to each column, and nothing of the export itself. */
export interface PrepareAnswers {
  readonly columns: Readonly<Record<string, ColumnTreatment>>;
  readonly dateOrder?: DateOrder;
  readonly periodDays?: number;
  readonly periodStart?: string;
  readonly titleRows?: number;
  readonly footerRows?: number;
}

const USAGE = `Makes a clean copy of an export: random codes, day offsets and period numbers, no names, no dates.

  npx limb-perfusion prepare export.xlsx --clean study/clean.csv --key /somewhere/safe/key.json
  npx limb-perfusion prepare export.xlsx --clean study/clean.csv --key key-file --answers answers.json

Without --answers every column is asked about. The key is read if it exists, so that patients keep their codes from
month to month, and is never written into the folder of the clean copy or into the project. Nothing leaves this computer.`;

/**
 * Prepares an export from the command line: asks what happens to each column (or takes a file of answers), writes
 * the clean copy and the key where told, and prints the report. Works without a network.
 *
 * @throws InputError for what is wrong with the export, the answers, or the places of the files
 */
export async function prepareCommand(args: readonly string[], conversation: Conversation): Promise<void> {
  const { print } = conversation;
  const given = readArguments(args);
  if (given === undefined) {
    print(USAGE);
    return;
  }
  const sheet = await readSheet(given.source, given.sheet === undefined ? {} : { sheet: given.sheet });
  const saved = given.answers === undefined ? undefined : await readAnswers(given.answers);
  const cut = {
    ...(saved?.titleRows === undefined ? {} : { titleRows: saved.titleRows }),
    ...(saved?.footerRows === undefined ? {} : { footerRows: saved.footerRows }),
  };
  const columns = saved?.columns ?? (await askColumns(suggestTreatment(sheetTable(sheet, cut)), conversation));
  const answers: PrepareAnswers = saved ?? { columns, ...(await askDates(columns, conversation)) };
  await checkPlaces(given.clean, given.key);
  const key = existsSync(given.key) ? ((await readJson(given.key, 'key')) as CodeKey) : undefined;
  const prepared = prepareExport(sheet, {
    ...answers,
    ...(key === undefined ? {} : { key }),
    randomBelow: (bound) => randomInt(bound),
  });
  await mkdir(dirname(resolve(given.clean)), { recursive: true });
  await mkdir(dirname(resolve(given.key)), { recursive: true });
  await writeFile(given.clean, prepared.csv);
  await writeFile(given.key, `${JSON.stringify(prepared.key, null, 2)}\n`, { mode: 0o600 });
  if (saved === undefined) {
    const file = join(dirname(given.clean), `${parse(given.clean).name}-answers.json`);
    await writeFile(file, `${JSON.stringify(answers, null, 2)}\n`);
    print(`Your answers are in ${file}; next time add --answers ${file}.`);
  }
  for (const line of prepared.report) print(line);
  print(`The clean copy is ${given.clean}. The key is ${given.key}: who has both can find every patient.`);
}

interface Arguments {
  readonly source: string;
  readonly clean: string;
  readonly key: string;
  readonly answers?: string;
  readonly sheet?: string;
}

function readArguments(args: readonly string[]): Arguments | undefined {
  const options = new Map<string, string>();
  const sources: string[] = [];
  for (let at = 0; at < args.length; at++) {
    const word = args[at] ?? '';
    const name = /^--(clean|key|answers|sheet)$/.exec(word)?.[1];
    if (name !== undefined) options.set(name, args[++at] ?? '');
    else if (word.startsWith('-'))
      throw refuse(
        'unknown-option',
        ['arguments'],
        'There is no such option.',
        'use --clean, --key, --answers or --sheet.',
      );
    else sources.push(word);
  }
  const [source] = sources;
  if (source === undefined) return undefined;
  const [clean, key, answers, sheet] = ['clean', 'key', 'answers', 'sheet'].map((name) => options.get(name));
  if (clean === undefined || key === undefined || clean === '' || key === '') {
    throw refuse(
      'place-missing',
      ['arguments'],
      'Both places must be said: of the clean copy (--clean) and of the key (--key).',
      'give the key a place of its own that is not shared or synchronized, such as a folder only you can open.',
    );
  }
  return {
    source,
    clean,
    key,
    ...(answers === undefined ? {} : { answers }),
    ...(sheet === undefined ? {} : { sheet }),
  };
}

async function readJson(path: string, what: string): Promise<unknown> {
  try {
    return JSON.parse(await readFile(path, 'utf8')) as unknown;
  } catch {
    throw refuse(
      'file-unreadable',
      ['arguments', what],
      `The file of the ${what} cannot be read as JSON.`,
      'check the path, or leave it out.',
    );
  }
}

async function readAnswers(path: string): Promise<PrepareAnswers> {
  const answers = await readJson(path, 'answers');
  const columns =
    typeof answers === 'object' && answers !== null ? (answers as { columns?: unknown }).columns : undefined;
  if (typeof columns !== 'object' || columns === null)
    throw refuse(
      'answers-without-columns',
      ['answers', 'columns'],
      'The answers do not say what happens to the columns.',
      'write { "columns": { "name of a column": "keep" } }.',
    );
  return answers as PrepareAnswers;
}

async function askColumns(
  suggested: Readonly<Record<string, ColumnTreatment>>,
  { ask, print }: Conversation,
): Promise<Record<string, ColumnTreatment>> {
  if (ask === undefined) {
    throw new InputError([
      {
        code: 'nobody-to-ask',
        path: ['arguments'],
        message: 'There is nobody to ask, and no file of answers.',
        mend: 'add --answers with a file, as in { "columns": { "name of a column": "keep" } }.',
      },
    ]);
  }
  print(`What happens to each column? ${COLUMN_TREATMENTS.join(', ')}. Enter alone takes what stands in brackets.`);
  const columns: Record<string, ColumnTreatment> = {};
  for (const [header, proposed] of Object.entries(suggested)) {
    for (;;) {
      const answer = (await ask(`  ${header} [${proposed}]: `)).trim().toLowerCase();
      const chosen = answer === '' ? proposed : COLUMN_TREATMENTS.find((treatment) => treatment === answer);
      if (chosen !== undefined) {
        columns[header] = chosen;
        break;
      }
      print(`  You wrote something else; choose one of ${COLUMN_TREATMENTS.join(', ')}.`);
    }
  }
  return columns;
}

async function askDates(
  columns: Readonly<Record<string, ColumnTreatment>>,
  { ask }: Conversation,
): Promise<Pick<PrepareAnswers, 'periodStart'>> {
  if (ask === undefined || !Object.values(columns).includes('date')) return {};
  const start = (
    await ask("First day of the unit's period 1, as 2026-01-01 [the month of the earliest date]: ")
  ).trim();
  return start === '' ? {} : { periodStart: start };
}

/** The key must stay away from the study: not in the folder of the clean copy, nor in one above or below it, nor in a repository. */
async function checkPlaces(clean: string, key: string): Promise<void> {
  const cleanFolder = await realFolder(dirname(resolve(clean)));
  const keyFolder = await realFolder(dirname(resolve(key)));
  const isWithin = (inner: string, outer: string): boolean => {
    const path = relative(outer, inner);
    return path === '' || (!path.startsWith('..') && parse(path).root === '');
  };
  const repository = repositoryOf(keyFolder);
  if (
    isWithin(keyFolder, cleanFolder) ||
    isWithin(keyFolder, await realFolder(process.cwd())) ||
    repository !== undefined
  ) {
    throw refuse(
      'key-beside-study',
      ['arguments', 'key'],
      `The key would lie ${repository !== undefined ? 'in a repository' : 'in the folder of the study'}, where it is copied with the data.`,
      'choose a folder of its own that is neither shared nor synchronized.',
    );
  }
}

/** A folder with its links followed; of a folder that does not exist yet, the part that does. */
async function realFolder(folder: string): Promise<string> {
  if (existsSync(folder)) return realpath(folder);
  const above = dirname(folder);
  return above === folder ? folder : join(await realFolder(above), relative(above, folder));
}

function repositoryOf(folder: string): string | undefined {
  if (existsSync(join(folder, '.git'))) return folder;
  const above = dirname(folder);
  return above === folder ? undefined : repositoryOf(above);
}

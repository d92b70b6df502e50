import { randomInt } from 'node:crypto';
import { existsSync } from 'node:fs';
import { mkdir, readFile, realpath } from 'node:fs/promises';
import { basename, dirname, join, parse, relative, resolve } from 'node:path';
import type { DateOrder } from '../assessments/export-dates.js';
import { guardFileName, hasDate, ruleOfFileName } from '../assessments/guard-file-name.js';
import { ruleOfHeaderText } from '../assessments/identifier-guard.js';
import {
  COLUMN_TREATMENTS,
  type CodeKey,
  type ColumnTreatment,
  type PreparedExport,
  prepareExport,
} from '../assessments/prepare-export.js';
import { cutOf } from '../assessments/propose-columns.js';
import { readSheet, type Sheet } from '../assessments/read-sheet.js';
import { columnLetter, sheetTable } from '../assessments/sheet-table.js';
import { suggestTreatment } from '../assessments/suggest-treatment.js';
import { InputError, refuse } from '../shared/input-error.js';
import { formatCount } from '../shared/table.js';
import { writeFileSafely } from '../shared/write-file-safely.js';

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
  for (const [name, place] of [
    ['clean', given.clean],
    ['key', given.key],
    ['answers', given.answers ?? ''],
  ] as const)
    if (place !== '') guardFileName(basename(place), name);
  // An export is often named after a patient; that is what this command is for.
  const sheet = await readSheet(given.source, {
    checksName: false,
    ...(given.sheet === undefined ? {} : { sheet: given.sheet }),
  });
  if (ruleOfFileName(basename(given.source)) !== undefined || hasDate(basename(given.source)))
    print(
      "The export's own name looks like an identifier or holds a date. It goes nowhere; rename the file before anybody else sees it.",
    );
  const saved = given.answers === undefined ? undefined : await readAnswers(given.answers);
  await checkPlaces(given.clean, given.key);
  const key = existsSync(given.key) ? ((await readJson(given.key, 'key')) as CodeKey) : undefined;
  let answers = saved ?? (await askAll(sheet, conversation));
  const prepare = (): PreparedExport =>
    prepareExport(sheet, {
      ...answers,
      ...(key === undefined ? {} : { key }),
      randomBelow: (bound) => randomInt(bound),
    });
  let prepared: PreparedExport;
  try {
    prepared = prepare();
  } catch (error) {
    // 3/2/2026 can be two days; whoever made the export knows which.
    const isUnclear = error instanceof InputError && error.problems.every(({ code }) => code === 'unclear-date');
    if (!isUnclear || saved !== undefined || conversation.ask === undefined) throw error;
    answers = { ...answers, dateOrder: await askDateOrder(conversation) };
    prepared = prepare();
  }
  await mkdir(dirname(resolve(given.clean)), { recursive: true });
  await mkdir(dirname(resolve(given.key)), { recursive: true });
  // The key first: a clean copy whose key was not written could not be continued next month.
  await writeFileSafely(given.key, `${JSON.stringify(prepared.key, null, 2)}\n`, { mode: 0o600 });
  await writeFileSafely(given.clean, prepared.csv);
  if (saved === undefined) {
    const file = join(dirname(given.clean), `${parse(given.clean).name}-answers.json`);
    await writeFileSafely(file, `${JSON.stringify(answers, null, 2)}\n`);
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

/** What each answer does, for people who see the words for the first time. */
const WORDS: Readonly<Record<ColumnTreatment, string>> = {
  patient: 'whose limbs they are; gets a random code (one column)',
  assessor: 'who examined; gets a random code',
  code: 'a stay or a visit; gets a random code',
  date: "becomes days since the patient's first date (the first such column also the unit's period)",
  age: 'ages of 90 and over become 90+',
  keep: 'stays as it is: wards, sites, readings',
  drop: 'is left out: names, birth dates, addresses, comments',
};

async function askAll(sheet: Sheet, conversation: Conversation): Promise<PrepareAnswers> {
  const { ask, print } = conversation;
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
  const cut = await askCut(sheet, conversation);
  const table = sheetTable(sheet, cut);
  print('What happens to each column? Enter alone takes the word in brackets.');
  for (const treatment of COLUMN_TREATMENTS) print(`  ${treatment.padEnd(9)}${WORDS[treatment]}`);
  const columns: [string, ColumnTreatment][] = [];
  for (const [header, proposed] of Object.entries(suggestTreatment(table))) {
    const column = table.table.columns.find((one) => one.header === header);
    const filled = column?.codes.filter((code) => code >= 0).length ?? 0;
    const shown =
      ruleOfHeaderText(header) === undefined ? header : `column ${columnLetter(table.headers.indexOf(header))}`;
    for (;;) {
      const answer = (
        await ask(
          `  ${shown} (${formatCount(filled)} filled, ${formatCount(column?.values.length ?? 0)} different) [${proposed}]: `,
        )
      )
        .trim()
        .toLowerCase();
      const chosen = answer === '' ? proposed : COLUMN_TREATMENTS.find((treatment) => treatment === answer);
      if (chosen !== undefined) {
        columns.push([header, chosen]);
        break;
      }
      print(`  You wrote something else; choose one of ${COLUMN_TREATMENTS.join(', ')}.`);
    }
  }
  const chosen = Object.fromEntries(columns);
  return { columns: chosen, ...cut, ...(await askDates(chosen, conversation)) };
}

/** Where the table begins and ends, where something stands above or below it. */
async function askCut(
  sheet: Sheet,
  { ask, print }: Conversation,
): Promise<Pick<PrepareAnswers, 'titleRows' | 'footerRows'>> {
  const { titleRows, footerRows } = cutOf(sheet.rows);
  if (titleRows === 0 && footerRows === 0) return {};
  const number = async (question: string, proposed: number): Promise<number> => {
    for (;;) {
      const answer = ((await ask?.(`  ${question} [${proposed}]: `)) ?? '').trim();
      if (answer === '') return proposed;
      if (/^\d{1,5}$/.test(answer)) return Number(answer);
      print('  Write a whole number.');
    }
  };
  print('Something stands above or below the table (titles, totals, notes). It is left out.');
  const header = await number('In which row are the names of the columns?', titleRows + 1);
  return {
    titleRows: Math.max(0, header - 1),
    footerRows: await number('How many rows at the end are no patients?', footerRows),
  };
}

async function askDateOrder({ ask, print }: Conversation): Promise<DateOrder> {
  for (;;) {
    const answer = (
      (await ask?.('Some dates can be read in two ways. Which comes first, month or day? [month]: ')) ?? ''
    )
      .trim()
      .toLowerCase();
    if (answer === '' || answer === 'month') return 'month-day-year';
    if (answer === 'day') return 'day-month-year';
    print('  Write month or day.');
  }
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

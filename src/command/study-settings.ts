import { existsSync, readFileSync } from 'node:fs';
import type { LoadOptions } from '../assessments/load-options.js';
import type { SheetLayout } from '../assessments/sheet-layout.js';
import type { SheetAnswers } from '../assessments/sheet-preview.js';
import { checkSettings, type SettingRule, setting } from '../notebook/check-settings.js';
import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { notebookName, readNotebook } from './notebook-file.js';
import { writeSettingsCell } from './settings-cell.js';

type Words = Readonly<Record<string, unknown>>;

/** What settings.json says. */
export interface StudySettings {
  readonly file?: string;
  readonly laterVisits?: string;
  readonly smallTable?: string;
  /** The sheet of a workbook: of `file`, or of each that is named. */
  readonly sheet?: string | SheetNames;
  readonly columns?: NonNullable<LoadOptions['columns']>;
  readonly constants?: NonNullable<LoadOptions['constants']>;
  readonly scales?: NonNullable<LoadOptions['scales']>;
  readonly notIdentifying?: readonly string[];
  readonly layout?: SheetLayout;
  readonly answers?: SheetAnswers;
  /** For a notebook, its own settings, or false where it is not to run. */
  readonly notebooks: Readonly<Record<string, Words | false>>;
}

/** Of which file, which sheet. */
export type SheetNames = { readonly [file in (typeof SHEET_FILES)[number]]?: string };

const SHEET_FILES = ['file', 'laterVisits', 'smallTable'] as const;

const sheets: SettingRule<string | SheetNames> = {
  check: (name, written) => {
    const isName = (text: unknown): boolean => typeof text === 'string' && text.trim() !== '';
    const isList =
      typeof written === 'object' &&
      written !== null &&
      !Array.isArray(written) &&
      Object.entries(written).every(([file, text]) => SHEET_FILES.some((one) => one === file) && isName(text));
    return isName(written) || isList
      ? { value: written as string | SheetNames }
      : {
          problem: `${name} is no name of a sheet; write it as "Round 1", or for several files as { "file": "Round 1", "laterVisits": "Clinic" } (${SHEET_FILES.join(', ')}).`,
        };
  },
  default: '',
};

/** The sheet of each file; a name alone is that of `file`. */
export function sheetsOf({ sheet }: StudySettings): SheetNames {
  if (sheet === undefined) return {};
  return typeof sheet === 'string' ? { file: sheet } : sheet;
}

/** An object in braces; what is in it is checked where it is used. */
function list(example: string, standard?: Words): SettingRule<Words> {
  return {
    check: (name, written) =>
      typeof written === 'object' && written !== null && !Array.isArray(written)
        ? { value: written as Words }
        : { problem: `${name} is no list in braces; write it as ${example}.` },
    ...(standard === undefined ? {} : { default: standard }),
  };
}

const NOTHING: Words = Object.freeze({});

const texts: SettingRule<readonly string[]> = {
  check: (name, written) =>
    Array.isArray(written) && written.every((word) => typeof word === 'string')
      ? { value: written as string[] }
      : { problem: `${name} is no list of texts; write it as ["room"].` },
  default: [],
};

const RULES = {
  file: setting.text(''),
  laterVisits: setting.text(''),
  smallTable: setting.text(''),
  sheet: sheets,
  columns: list('{ "patient": "name of the column" }', NOTHING),
  constants: list('{ "sign": "pitting-edema" }', NOTHING),
  scales: list('{ "pulse-grade": "pulse.0-4.normal2" }', NOTHING),
  notIdentifying: texts,
  layout: list('{ "sheet": "name of the sheet" }', NOTHING),
  answers: list('{ "scales": { "pulse-grade": "pulse.0-4.normal2" } }', NOTHING),
  notebooks: list('{ "agreement-of-pulse-grades": { "weights": "linear" } }', NOTHING),
};

/**
 * Reads settings.json, every fault at once, those in the settings of single notebooks too. A folder without one has no
 * settings.
 *
 * @param notebooks the paths of the notebooks there are
 * @throws InputError `settings-unreadable`, and what `checkSettings` throws
 */
export function readStudySettings(path: string, notebooks: readonly string[]): StudySettings {
  const written = existsSync(path) ? parsed(readFileSync(path, 'utf8').replace(/^\ufeff/, '')) : {};
  const problems: Problem[] = [];
  const attempt = <T>(at: readonly string[], check: () => T): T | undefined => {
    try {
      return check();
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      problems.push(...error.problems.map((problem) => ({ ...problem, path: [...at, ...(problem.path ?? [])] })));
      return undefined;
    }
  };
  const checked = attempt([], () => checkSettings(written, RULES));
  const own = RULES.notebooks.check('notebooks', written.notebooks ?? NOTHING);
  if ('value' in own) {
    const rules = Object.fromEntries(notebooks.map((notebook) => [notebookName(notebook), ofNotebook]));
    attempt(['notebooks'], () => checkSettings(own.value, rules));
    for (const notebook of notebooks) {
      const name = notebookName(notebook);
      const settings = own.value[name];
      if (typeof settings === 'object' && settings !== null)
        attempt(['notebooks', name], () => writeSettingsCell(readNotebook(notebook), name, settings as Words));
    }
  }
  if (checked === undefined || problems.length > 0) throw new InputError(problems, 'settings.json needs a change:');
  const given = Object.entries(checked).filter(([name]) => name === 'notebooks' || written[name] !== undefined);
  return Object.fromEntries(given) as unknown as StudySettings;
}

/** The settings of one notebook, or false. */
const ofNotebook: SettingRule<Words | false> = {
  check: (name, written) =>
    written === false || (typeof written === 'object' && written !== null && !Array.isArray(written))
      ? { value: written as Words | false }
      : { problem: `${name} is neither a list in braces nor false; write its settings as { "seed": 20260301 }.` },
  default: NOTHING,
};

function parsed(text: string): Words {
  try {
    const value: unknown = JSON.parse(text);
    if (typeof value === 'object' && value !== null && !Array.isArray(value)) return value as Words;
  } catch (error) {
    const at = /line (\d+)/.exec(String(error))?.[1] ?? lineOfPosition(text, String(error));
    throw refuse(
      'settings-unreadable',
      ['settings.json'],
      `The file is not written as JSON${at === undefined ? '' : ` (near line ${at})`}.`,
      'look for a missing comma or quotation mark there, and for a comma after the last entry.',
    );
  }
  throw refuse(
    'settings-unreadable',
    ['settings.json'],
    'The file is no list in braces.',
    'write { "notebooks": {} }.',
  );
}

function lineOfPosition(text: string, words: string): string | undefined {
  const position = /position (\d+)/.exec(words)?.[1];
  return position === undefined ? undefined : String(text.slice(0, Number(position)).split('\n').length);
}

import { runInNewContext } from 'node:vm';
import { checkSettings, type SettingRule, setting } from '../notebook/check-settings.js';
import { refuse } from '../shared/input-error.js';
import { signOf } from '../signs/codebook.js';
import type { NotebookFile } from './notebook-file.js';

/** The call in a settings cell: a list of what is written and a list of what may be, a line a setting. */
const CALL =
  /(?<=checkSettings\(\n {2}\{\n)([\s\S]*?)(?=\n {2}\},\n {2}\{\n)\n {2}\},\n {2}\{\n([\s\S]*?)(?=\n {2}\},\n\);)/;
const LINE = /^ {4}([A-Za-z]\w*): .*,$/;

/** The settings a notebook has, and what each may be. */
export interface NotebookSettings {
  readonly written: Readonly<Record<string, unknown>>;
  readonly rules: Readonly<Record<string, SettingRule<unknown>>>;
}

/**
 * Reads the settings cell of a notebook.
 *
 * @throws InputError `settings-cell`, where the notebook has none of the usual form
 */
export function readSettingsCell(notebook: NotebookFile, name: string): NotebookSettings {
  const [, written = '', rules = ''] = callIn(notebook, name);
  // The cell is the notebook's own code, which the kernel is about to run; here it is read with nothing within its reach.
  const value = (lines: string, known: object) => runInNewContext(`({${lines}\n})`, { ...known }) as never;
  try {
    return { written: value(written, {}), rules: value(rules, { setting, signOf }) };
  } catch {
    throw unusual(name);
  }
}

/**
 * A notebook with other settings: those given are written, and those that no cell uses any more are left out.
 *
 * @throws InputError `settings-cell`; what `checkSettings` throws, for a setting that may not be so
 */
export function writeSettingsCell(
  notebook: NotebookFile,
  name: string,
  values: Readonly<Record<string, unknown>>,
): NotebookFile {
  const { written, rules } = readSettingsCell(notebook, name);
  const [call = '', writtenLines = '', ruleLines = ''] = callIn(notebook, name);
  const code = notebook.cells.map(({ source }) => source).join('\n');
  const used = new Set([...code.matchAll(/\bsettings\.(\w+)/g)].map((match) => match[1] ?? ''));
  const isKept = (line: string) => {
    const key = LINE.exec(line)?.[1];
    return key === undefined || used.has(key);
  };
  const kept = Object.fromEntries(
    Object.entries({ ...written, ...values }).filter(([key]) => used.has(key) || !(key in rules)),
  );
  checkSettings(kept, Object.fromEntries(Object.entries(rules).filter(([key]) => used.has(key))));
  const own = new Set(Object.keys(written));
  const lines = writtenLines
    .split('\n')
    .filter(isKept)
    .map((line) => {
      const key = LINE.exec(line)?.[1] ?? '';
      return key in values ? `    ${key}: ${JSON.stringify(values[key])},` : line;
    });
  const added = Object.keys(values)
    .filter((key) => !own.has(key))
    .map((key) => `    ${key}: ${JSON.stringify(values[key])},`);
  const rewritten = `${[...lines, ...added].join('\n')}\n  },\n  {\n${ruleLines.split('\n').filter(isKept).join('\n')}`;
  return {
    ...notebook,
    cells: notebook.cells.map((cell) =>
      cell.cell_type === 'code' && CALL.test(cell.source)
        ? { ...cell, source: cell.source.replace(call, () => rewritten) }
        : cell,
    ),
  };
}

function callIn(notebook: NotebookFile, name: string): RegExpExecArray {
  for (const { cell_type, source } of notebook.cells) {
    const call = cell_type === 'code' ? CALL.exec(source) : null;
    if (call !== null && [call[1], call[2]].every((list) => list?.split('\n').every((line) => LINE.test(line))))
      return call;
  }
  throw unusual(name);
}

function unusual(name: string) {
  return refuse(
    'settings-cell',
    ['notebooks', name],
    'Its settings cell has another form than usual, so no settings can be put in.',
    'keep a line a setting in both lists, or take the notebook anew from a fresh study folder.',
  );
}

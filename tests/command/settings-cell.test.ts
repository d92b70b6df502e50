import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { root } from '../../.config/set-up.mjs';
import { notebooksIn } from '../../src/command/execute-notebooks.ts';
import { type NotebookFile, notebookName, readNotebook } from '../../src/command/notebook-file.ts';
import { readSettingsCell, writeSettingsCell } from '../../src/command/settings-cell.ts';

const cell = (source: string) => ({ cell_type: 'code' as const, source, metadata: {} });
const notebook: NotebookFile = {
  cells: [
    cell(`import { checkSettings, setting } from 'limb-perfusion';

const settings = checkSettings(
  {
    file: '../data.csv',
    other: '../other.csv',
    seed: 3,
  },
  {
    file: setting.text(),
    other: setting.text(),
    seed: setting.wholeNumberFrom(0, 9),
  },
);`),
    cell('await load(settings.file, settings.other, settings.seed);'),
  ],
};
const sourceOf = (changed: NotebookFile) => changed.cells[0]?.source ?? '';

describe('a settings cell', () => {
  it('is read: what is written and what may be', () => {
    const { written, rules } = readSettingsCell(notebook, 'n');
    expect(written).toEqual({ file: '../data.csv', other: '../other.csv', seed: 3 });
    expect(Object.keys(rules)).toEqual(['file', 'other', 'seed']);
  });

  it('takes other values, whatever stands in them', () => {
    const file = `Füße "of" O'Neil $& $1 \\ .csv`;
    const changed = writeSettingsCell(notebook, 'n', { file, seed: 9 });
    expect(readSettingsCell(changed, 'n').written).toEqual({ file, other: '../other.csv', seed: 9 });
    expect(sourceOf(changed)).toContain("    other: '../other.csv',");
  });

  it('loses the settings that no cell uses any more', () => {
    const cut = { cells: [...notebook.cells.slice(0, 1), cell('await load(settings.file);')] };
    expect(sourceOf(writeSettingsCell(cut, 'n', { file: 'x', other: 'y' }))).not.toMatch(/other|seed/);
  });

  it('says that a setting is missing that is left out', () => {
    expect(() => writeSettingsCell(notebook, 'n', { other: undefined })).toThrow(/other is nothing/);
  });

  it('refuses with every fault what may not be so', () => {
    expect(() => writeSettingsCell(notebook, 'n', { sead: 3, seed: 12 })).toThrow(/you may mean seed.*seed is 12/s);
  });

  it('of another form is refused, and runs nothing that is within reach', () => {
    expect(() => readSettingsCell({ cells: [cell('const a = 1;')] }, 'n')).toThrow(/another form/);
    const reaching = { cells: [cell(sourceOf(notebook).replace('seed: 3', 'seed: process.exit(3)'))] };
    expect(() => readSettingsCell(reaching, 'n')).toThrow(/another form/);
  });
});

describe.each(notebooksIn(join(root, 'notebooks')).map((path) => [notebookName(path), path]))('%s', (name, path) => {
  it('has a settings cell of the usual form, and uses every setting', () => {
    const whole = readNotebook(path);
    const { written, rules } = readSettingsCell(whole, name);
    expect(Object.keys(written).every((key) => key in rules)).toBe(true);
    expect(writeSettingsCell(whole, name, {})).toEqual(whole);
  });
});

import { spawnSync } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildLibrary, root } from '../../.config/set-up.mjs';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { startStudy, TEMPLATE } from '../../src/command/start-study.ts';
import { studyFolderAt } from '../../src/command/study-folder.ts';
import { codeOf, type Notebook } from '../support/notebook.ts';
import { available } from '../support/optional.ts';

const folder = mkdtempSync(join(tmpdir(), 'start study ü-'));
afterAll(() => rmSync(folder, { recursive: true }));
beforeAll(buildLibrary, 300_000);

describe('a fresh study folder', () => {
  let place = '';
  beforeAll(() => {
    place = startStudy('Füße von Station 3', folder);
  });
  const text = (...parts: string[]) => readFileSync(join(place, ...parts), 'utf8');

  it('stands where it was asked for, alone', () => {
    expect(readdirSync(folder)).toEqual(['Füße von Station 3']);
    expect(studyFolderAt(join(place, 'data')).root).toBe(place);
  });

  it('has every notebook, reading the data of the folder, which are there', () => {
    const names = readdirSync(join(place, 'notebooks'));
    expect(names).toEqual(readdirSync(join(root, 'notebooks')).filter((name) => name.endsWith('.ipynb')));
    for (const name of names) {
      const notebook: Notebook = JSON.parse(text('notebooks', name));
      expect(text('notebooks', name)).not.toContain('data-demo');
      for (const [, file = ''] of codeOf(notebook)
        .join('\n')
        .matchAll(/'\.\.\/(example\/[^']+)'/g))
        expect(existsSync(join(place, file)), file).toBe(true);
    }
  });

  it('has a template that loads', async () => {
    expect((await loadAssessments({ text: text('data', 'template.csv') })).length).toBe(
      TEMPLATE.split('\n').length - 2,
    );
  });

  it('depends on the very library it was begun with', () => {
    const { dependencies } = JSON.parse(text('package.json'));
    expect(Object.keys(dependencies)).toEqual(['limb-perfusion', 'tslab']);
    expect(existsSync(join(place, dependencies['limb-perfusion'].replace('file:', '')))).toBe(true);
  });

  const git = available('git', spawnSync('git', ['--version']).status === 0, 'Install git.');

  it.runIf(git)('keeps data, keys, reports and private pages out of version control', () => {
    const secret = [
      'data/mine.xlsx',
      'mine.csv',
      'key.json',
      'notebooks/copy.csv',
      'reports/a/a.html',
      'private-pages/L01.html',
    ];
    for (const path of secret) {
      mkdirSync(join(place, path, '..'), { recursive: true });
      writeFileSync(join(place, path), 'secret');
    }
    spawnSync('git', ['init', '--quiet'], { cwd: place });
    const seen = spawnSync('git', ['-c', 'core.quotepath=off', 'ls-files', '--others', '--exclude-standard'], {
      cwd: place,
      encoding: 'utf8',
    })
      .stdout.trim()
      .split('\n');
    expect(seen).toEqual(
      expect.arrayContaining(['README.md', 'settings.json', 'data/template.csv', 'example/README.md']),
    );
    expect(seen.filter((path) => secret.includes(path))).toEqual([]);
  });
});

describe('what is there stays', () => {
  it('when a folder is not empty', () => {
    mkdirSync(join(folder, 'full'));
    writeFileSync(join(folder, 'full', 'mine.txt'), 'mine');
    expect(() => startStudy('full', folder)).toThrow(/is there and is not empty.*nothing was changed/s);
    expect(readdirSync(join(folder, 'full'))).toEqual(['mine.txt']);
  });

  it('when it is a file or a link', () => {
    writeFileSync(join(folder, 'file'), '');
    symlinkSync(join(folder, 'elsewhere'), join(folder, 'link'), 'junction');
    expect(() => startStudy('file', folder)).toThrow(/a file or a link/);
    expect(() => startStudy('link', folder)).toThrow(/a file or a link/);
  });

  it('but an empty folder is filled', () => {
    mkdirSync(join(folder, 'empty'));
    expect(readdirSync(startStudy('empty', folder))).toContain('notebooks');
  });

  it('when the name is none', () => {
    const before = readdirSync(folder);
    expect(() => startStudy('../outside', folder)).toThrow(/path and not a name/);
    expect(readdirSync(folder)).toEqual(before);
  });
});

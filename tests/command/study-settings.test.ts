import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { root } from '../../.config/set-up.mjs';
import { notebooksIn } from '../../src/command/execute-notebooks.ts';
import { readStudySettings, sheetsOf } from '../../src/command/study-settings.ts';

const folder = mkdtempSync(join(tmpdir(), 'study-settings-'));
afterAll(() => rmSync(folder, { recursive: true }));
const path = join(folder, 'settings.json');
const notebooks = notebooksIn(join(root, 'notebooks'));
const read = (text: string) => {
  writeFileSync(path, text);
  return readStudySettings(path, notebooks);
};

it('gives what is written and nothing else', () => {
  expect(read('{ "file": "data/a.csv", "notebooks": { "plan-a-study": false } }')).toEqual({
    file: 'data/a.csv',
    notebooks: { 'plan-a-study': false },
  });
  expect(readStudySettings(join(folder, 'none.json'), notebooks)).toEqual({ notebooks: {} });
});

it('reads a file that an editor of Windows has saved', () => {
  expect(read('\ufeff{ "notebooks": {} }\r\n')).toEqual({ notebooks: {} });
});

it('tells every fault at once, down to the settings of single notebooks', () => {
  const settings = {
    filles: 'x',
    answers: [],
    notIdentifying: 'room',
    notebooks: { 'agreement-of-pulses': {}, 'plan-a-study': 3, 'has-it-really-changed': { worse: 'down', sead: 1 } },
  };
  expect(() => read(JSON.stringify(settings))).toThrow(
    new RegExp(
      [
        'filles: There is no setting of that name; you may mean file',
        'notIdentifying is no list of texts',
        'answers is no list in braces',
        'notebooks.agreement-of-pulses: There is no setting',
        'plan-a-study is neither a list in braces nor false',
        'has-it-really-changed.sead: There is no setting of that name; you may mean seed',
        "You wrote 'down' for worse",
      ].join('.*'),
      's',
    ),
  );
});

it('takes the sheet of one file or of several', () => {
  expect(sheetsOf(read('{ "sheet": "Round 1" }'))).toEqual({ file: 'Round 1' });
  expect(sheetsOf(read('{ "sheet": { "file": "Round 1", "laterVisits": "Clinic" } }'))).toEqual({
    file: 'Round 1',
    laterVisits: 'Clinic',
  });
  expect(sheetsOf(read('{}'))).toEqual({});
  for (const wrong of ['3', '["Round 1"]', '{ "later": "Clinic" }', '{ "file": 1 }'])
    expect(() => read(`{ "sheet": ${wrong} }`)).toThrow(/sheet is no name of a sheet; write it as "Round 1"/);
});

it('says where the file is not JSON', () => {
  expect(() => read('{\n  "file": "a.csv"\n  "notebooks": {}\n}')).toThrow(
    /not written as JSON \(near line 3\).*comma/s,
  );
  expect(() => read('[]')).toThrow(/no list in braces/);
});

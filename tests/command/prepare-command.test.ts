import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdir, mkdtemp, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { prepareCommand } from '../../src/command/prepare-command.ts';
import { available } from '../support/optional.ts';

const text = [
  'MRN,Name,Age,Ward,Seen on,Nurse,Site,Leg,Edema,Comment',
  '44178201,"Doe, Jane",91,W1,1/14/2026,Kelly,shin,L,2+,wife says that it is worse than last week',
  '44178350,"Roe, Sam",67,W2,1/31/2026,Ortiz,shin,R,0,',
].join('\n');

let folder = '';
const at = (...parts: string[]): string => join(folder, ...parts);
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'prepare-test-'));
  await writeFile(at('export.csv'), text);
});
afterEach(() => rm(folder, { recursive: true }));

function conversation(answers: readonly string[] = []) {
  const lines: string[] = [];
  const questions: string[] = [];
  const left = [...answers];
  return {
    lines,
    questions,
    print: (line: string) => void lines.push(line),
    ask: async (question: string) => {
      questions.push(question);
      return left.shift() ?? '';
    },
  };
}

test('asks about every column with a careful proposal, writes copy, key and answers', async () => {
  const talk = conversation();
  await prepareCommand([at('export.csv'), '--clean', at('study', 'clean.csv'), '--key', at('safe', 'key.json')], talk);
  expect(talk.questions.map((question) => question.trim().replace(/ \(\d+ filled, \d+ different\)|:$/g, ''))).toEqual([
    'MRN [patient]',
    'Name [drop]',
    'Age [age]',
    'Ward [keep]',
    'Seen on [date]',
    'Nurse [assessor]',
    'Site [keep]',
    'Leg [keep]',
    'Edema [keep]',
    'Comment [drop]',
    "First day of the unit's period 1, as 2026-01-01 [the month of the earliest date]",
  ]);
  const clean = await readFile(at('study', 'clean.csv'), 'utf8');
  expect(clean.split('\n')[0]).toBe('patient,Age,Ward,day,period,assessor,Site,Leg,Edema');
  expect(`${clean} ${talk.lines.join(' ')}`).not.toMatch(/4417|Doe|Kelly|wife/);
  expect((await stat(at('safe', 'key.json'))).mode & 0o077).toBe(0);

  // The next month: the answers are taken, and patients keep their codes.
  const again = conversation();
  await prepareCommand(
    [
      at('export.csv'),
      '--clean',
      at('study', 'clean2.csv'),
      '--key',
      at('safe', 'key.json'),
      '--answers',
      at('study', 'clean-answers.json'),
    ],
    again,
  );
  expect(again.questions).toEqual([]);
  expect(await readFile(at('study', 'clean2.csv'), 'utf8')).toBe(clean);
});

test('a wrong answer is asked again', async () => {
  const talk = conversation(['patient', 'hide', 'drop']);
  await prepareCommand([at('export.csv'), '--clean', at('study', 'clean.csv'), '--key', at('safe', 'key.json')], talk);
  expect(talk.questions.filter((question) => question.includes('Name'))).toHaveLength(2);
});

test('the key is not written beside the study, below it, or into a repository', async () => {
  const refused = (key: string) =>
    prepareCommand([at('export.csv'), '--clean', at('study', 'clean.csv'), '--key', key], conversation());
  await expect(refused(at('study', 'key.json'))).rejects.toThrow(/folder of the study/);
  await expect(refused(at('study', 'hidden', 'key.json'))).rejects.toThrow(/folder of the study/);
  await expect(refused('key.json')).rejects.toThrow(/folder of the study|repository/);
  await mkdir(at('repository', '.git'), { recursive: true });
  await expect(refused(at('repository', 'keys', 'key.json'))).rejects.toThrow(/repository/);
  await expect(stat(at('study', 'clean.csv'))).rejects.toThrow();
});

test('says how it is used, what is missing, and that nobody can be asked', async () => {
  const talk = conversation();
  await prepareCommand([], talk);
  expect(talk.lines.join('\n')).toContain('Nothing leaves this computer');
  await expect(prepareCommand([at('export.csv')], talk)).rejects.toThrow(/Both places/);
  await expect(prepareCommand(['--what', 'x'], talk)).rejects.toThrow(/no such option/);
  const places = ['--clean', at('study', 'clean.csv'), '--key', at('safe', 'key.json')];
  await expect(prepareCommand([at('export.csv'), ...places], { print: talk.print })).rejects.toThrow(/nobody to ask/);
  await writeFile(at('bad.json'), '{}');
  await expect(prepareCommand([at('export.csv'), ...places, '--answers', at('bad.json')], talk)).rejects.toThrow(
    /do not say/,
  );
});

const command = fileURLToPath(new URL('../../dist/command/limb-perfusion.js', import.meta.url));
const built = available(
  'the built library',
  existsSync(new URL('../../dist/index.js', import.meta.url)),
  'npm run build makes it.',
);

test.runIf(built)(
  'the command takes a file of answers, and says what is wrong without a trace of the program',
  async () => {
    const columns = {
      MRN: 'patient',
      Name: 'drop',
      Age: 'age',
      Ward: 'keep',
      'Seen on': 'date',
      Nurse: 'assessor',
      Site: 'keep',
      Leg: 'keep',
      Edema: 'keep',
      Comment: 'drop',
    };
    await writeFile(at('answers.json'), JSON.stringify({ columns }));
    const run = (key: string) =>
      spawnSync(
        process.execPath,
        [
          command,
          'prepare',
          at('export.csv'),
          '--clean',
          at('study', 'clean.csv'),
          '--key',
          key,
          '--answers',
          at('answers.json'),
        ],
        {
          encoding: 'utf8',
          input: '',
        },
      );
    const good = run(at('safe', 'key.json'));
    expect([good.status, good.stderr]).toEqual([0, '']);
    expect(good.stdout).toContain('2 rows.');
    expect(await readFile(at('study', 'clean.csv'), 'utf8')).toContain('90+');
    const bad = run(at('study', 'key.json'));
    expect(bad.status).toBe(1);
    expect(bad.stderr).toContain('folder of the study');
    expect(bad.stderr).not.toContain(' at ');
  },
);

test('finds the table between titles and totals, drops birth dates, and asks which comes first in a date', async () => {
  await writeFile(
    at('export.csv'),
    [
      'Edema audit,,,,',
      'Printed by the ward,,,,',
      'MRN,DOB,Seen on,Leg,Edema',
      '4417823,4/3/1931,3/2/2026,L,2+',
      '4417824,1/12/1950,4/2/2026,R,0',
      'Total,,,,2',
    ].join('\n'),
  );
  const talk = conversation(['', '', '', '', '', '', '', '', 'day']);
  await prepareCommand([at('export.csv'), '--clean', at('study', 'clean.csv'), '--key', at('safe', 'key.json')], talk);
  const said = talk.questions.join('\n');
  expect(said).toMatch(/names of the columns\? \[3\]/);
  expect(said).toMatch(/at the end are no patients\? \[1\]/);
  expect(said).toMatch(/DOB \(2 filled, 2 different\) \[drop\]/);
  expect(said).toMatch(/Which comes first, month or day/);
  expect(talk.lines.join('\n')).toMatch(/patient\s+whose limbs they are; gets a random code/);
  const clean = await readFile(at('study', 'clean.csv'), 'utf8');
  expect(clean.split('\n')).toHaveLength(4);
  expect(clean).toMatch(/^patient,day,period,Leg,Edema\n/);
  // What was answered serves next month without a question.
  const next = conversation();
  await prepareCommand(
    [
      at('export.csv'),
      '--clean',
      at('study', 'clean.csv'),
      '--key',
      at('safe', 'key.json'),
      '--answers',
      at('study', 'clean-answers.json'),
    ],
    next,
  );
  expect(next.questions).toEqual([]);
  expect(await readFile(at('study', 'clean.csv'), 'utf8')).toBe(clean);
});

test('a name of a column that is itself an identifier is asked about by its letter', async () => {
  await writeFile(at('export.csv'), 'P1,John Smith,2+\nP2,Ann Lee,1+\n');
  const talk = conversation(['patient', 'drop', 'keep']);
  await prepareCommand(
    [at('export.csv'), '--clean', at('study', 'clean.csv'), '--key', at('safe', 'key.json')],
    talk,
  ).catch(() => {});
  expect(`${talk.questions.join(' ')} ${talk.lines.join(' ')}`).not.toMatch(/Smith/);
  expect(talk.questions.join(' ')).toContain('column B');
});

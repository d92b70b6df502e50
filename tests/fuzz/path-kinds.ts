import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import process from 'node:process';
import fc from 'fast-check';
import { compareTypings } from '../../src/assessments/compare-typings.ts';
import { loadAssessments } from '../../src/assessments/load-assessments.ts';
import { loadUnitTable } from '../../src/assessments/load-unit-table.ts';
import { previewSheet } from '../../src/assessments/preview-sheet.ts';
import { readSheet } from '../../src/assessments/read-sheet.ts';
import { writeFileSafely } from '../../src/shared/write-file-safely.ts';
import { fileOf } from './assessment-kinds.ts';
import { kind, outcomeOf, same } from './kind.ts';
import { oddText, prototypeWord, secret } from './secrets.ts';

const HOME = dirname(fileOf('here.csv', 'x'));
const CONTENT = 'patient,limb,site,sign,scale,value\nQz1,L,DP,pulse-grade,pulse.0-3.normal2,2\n';
const OTHER = `${CONTENT}Qz2,L,DP,pulse-grade,pulse.0-3.normal2,2\n`;

const fileName = fc
  .oneof(
    prototypeWord,
    oddText,
    secret,
    fc.constantFrom(
      "a'b.csv",
      'a"b.csv',
      'x [1].csv',
      'star*.csv',
      'what?.csv',
      '[a-z].csv',
      '{a,b}.csv',
      '~.csv',
      '~',
      ' blank .csv',
      'new\nline.csv',
      '%20.csv',
      '-v',
      's3:x.csv',
      'c0=zz.csv',
      'patient=Qz9',
      '$HOME.csv',
      '`id`.csv',
      "x'; DROP TABLE raw; --.csv",
      'back\\slash.csv',
      '.hidden',
      'x.parquet',
      'x.json',
      'n'.repeat(200),
      'NUL',
      'CON.csv',
    ),
  )
  .map((name) => name.replaceAll(/[/\0\p{Surrogate}]/gu, '_').slice(0, 80))
  .filter((name) => name !== '' && name !== '.' && name !== '..' && Buffer.byteLength(name) <= 255);

/** A file is found by its very name, whatever it is called and wherever it lies. */
const named = kind('path: odd names', 2, fc.tuple(fileName, fc.option(fileName)), async ([name, folder]) => {
  const place = join(HOME, 'named', ...(folder === null ? [] : [`in ${folder}`]));
  mkdirSync(place, { recursive: true });
  // Files beside it that a pattern would find as well.
  for (const other of ['xa.csv', 'a.csv', 'star1.csv', 'x 1.csv', 'b.csv']) writeFileSync(join(place, other), OTHER);
  const path = join(place, name);
  writeFileSync(path, CONTENT);
  const { value, refused } = await outcomeOf(() => loadAssessments(path));
  const isPacked = /\.(?:gz|zst)$/i.test(name);
  if (value === undefined && !isPacked) throw new Error(`Refused: ${refused.message}`);
  if (value !== undefined)
    same(
      value.toRows().map((row) => [row.patient, row.value]),
      [['Qz1', '2']],
      'Loaded',
    );
  const sheet = await outcomeOf(() => readSheet(path));
  same(sheet.value?.rows.length, 2, 'Rows');
});

function once(path: string, make: () => void): string {
  if (!existsSync(path)) {
    try {
      make();
    } catch {
      // A link to itself is there and yet is not.
    }
  }
  return path;
}

const fifo = once(join(HOME, 'pipe'), () => execFileSync('mkfifo', [join(HOME, 'pipe')]));
const circle = once(join(HOME, 'circle'), () => symlinkSync('circle', join(HOME, 'circle')));
const toDevice = once(join(HOME, 'zero.csv'), () => symlinkSync('/dev/zero', join(HOME, 'zero.csv')));
const toFolder = once(join(HOME, 'folder.csv'), () => symlinkSync(HOME, join(HOME, 'folder.csv')));

const trick = fc.oneof(
  fc.constantFrom(
    '',
    '.',
    '..',
    '/',
    '//',
    HOME,
    fifo,
    circle,
    toDevice,
    toFolder,
    '/dev/null',
    '/dev/zero',
    '/dev/stdin',
    '/dev/full',
    '/dev/random',
    '/dev/tty',
    '/proc/self/mem',
    '/proc/self/environ',
    '/proc/self/fd/0',
    `${'../'.repeat(60)}etc/passwd`,
    `${'../'.repeat(60)}etc/hostname`,
    'a\0b.csv',
    '\0',
    '*\0',
    `${HOME}/\0`,
    'n'.repeat(5000),
    `${HOME}/${'n'.repeat(300)}.csv`,
    `${'a/'.repeat(3000)}x.csv`,
    'https://data.invalid/x.csv',
    's3://bucket/*.csv',
    'http://data.invalid/*',
    'file:///etc/hostname',
    `${HOME}/[`,
    `${HOME}/**/*.none`,
    `${HOME}/**/**/x`,
    `${HOME}/*/../*/..`,
    '[!]',
    '*'.repeat(200),
    "'; SELECT 1; --*",
  ),
  fc
    .tuple(fc.constantFrom('', HOME, '..', '/dev', '/proc/self'), fc.oneof(oddText, secret, prototypeWord))
    .map(([place, name]) => `${place}/${name}`),
);

/** Devices, pipes, folders, links in circles, other computers: refused, without their names, and without waiting. */
const tricks = kind('path: tricks', 30, fc.tuple(trick, fc.nat(4)), async ([path, which]) => {
  // A pattern of real folders may match real files of this computer; what is in them must not be said.
  if (which === 0) await outcomeOf(() => loadAssessments(path));
  else if (which === 1) await outcomeOf(() => readSheet(path));
  else if (which === 2) await outcomeOf(() => previewSheet(path));
  else if (which === 3) await outcomeOf(() => loadUnitTable(path));
  else await outcomeOf(() => compareTypings(path, join(HOME, 'here.csv')));
});

const target = fc.oneof(
  fileName.map((name) => join(HOME, 'written', name)),
  fc.constantFrom(
    '',
    HOME,
    fifo,
    circle,
    toFolder,
    '/dev/null',
    '/dev/full',
    `${HOME}/\0`,
    `${HOME}/absent/x`,
    `${HOME}/${'n'.repeat(300)}`,
    `${HOME}/written/../written/x`,
  ),
);

/** Written whole under its very name, or refused. */
const written = kind('path: written', 30, fc.tuple(target, oddText), async ([path, content]) => {
  mkdirSync(join(HOME, 'written'), { recursive: true });
  const { refused } = await outcomeOf(() => writeFileSafely(path, content));
  if (refused === undefined) same(readFileSync(path, 'utf8'), Buffer.from(content).toString('utf8'), 'Written');
});

export const pathKinds = process.platform === 'win32' ? [named] : [named, tricks, written];

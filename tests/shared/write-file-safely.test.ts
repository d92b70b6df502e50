import { spawn } from 'node:child_process';
import { chmod, lstat, mkdir, mkdtemp, readdir, readFile, rm, stat, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import process from 'node:process';
import { setTimeout } from 'node:timers/promises';
import ts from 'typescript';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { InputError } from '../../src/shared/input-error.ts';
import { seededRandom } from '../../src/shared/random.ts';
import { writeFileSafely } from '../../src/shared/write-file-safely.ts';

let folder = '';
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'write-test-'));
});
afterAll(() => rm(folder, { recursive: true }));

const KILLS = 30;
const LENGTH = 3_000_000;

/** Writes files of one letter each over one another without end; says when the first is there. */
const WRITER = `
import { writeFileSafely } from './write-file-safely.js';
const [path] = process.argv.slice(2);
for (let round = 0; ; round++) {
  await writeFileSafely(path, Buffer.alloc(${LENGTH} + (round % 7) * 100_000, 97 + (round % 7)));
  if (round === 0) process.stdout.write('ready');
}`;

/** The function as Node runs it without the test runner. */
async function compiledInto(place: string): Promise<string> {
  for (const name of ['input-error', 'write-file-safely']) {
    const source = await readFile(new URL(`../../src/shared/${name}.ts`, import.meta.url), 'utf8');
    const { outputText } = ts.transpileModule(source, {
      compilerOptions: { module: ts.ModuleKind.ESNext, target: ts.ScriptTarget.ES2022 },
    });
    await writeFile(join(place, `${name}.js`), outputText);
  }
  await writeFile(join(place, 'package.json'), '{"type":"module"}');
  await writeFile(join(place, 'writer.js'), WRITER);
  return join(place, 'writer.js');
}

test('killed in the middle of writing, many times: the old file or the new one, never a part', async () => {
  const place = join(folder, 'killed');
  await mkdir(place);
  const writer = await compiledInto(place);
  const file = join(place, 'report.html');
  const random = seededRandom(20260801);
  let unfinished = 0;
  for (let kill = 0; kill < KILLS; kill++) {
    const child = spawn(process.execPath, [writer, file], { stdio: ['ignore', 'pipe', 'inherit'] });
    const ended = new Promise((resolve) => child.once('exit', (_, signal) => resolve(signal)));
    await new Promise((resolve) => child.stdout.once('data', resolve));
    await setTimeout(random.uniform() * 40);
    child.kill('SIGKILL');
    expect(await ended).toBe('SIGKILL');
    const bytes = await readFile(file);
    const letter = bytes[0] ?? 0;
    expect(bytes.length).toBe(LENGTH + (letter - 97) * 100_000);
    expect(bytes.equals(Buffer.alloc(bytes.length, letter))).toBe(true);
    const others = (await readdir(place)).filter((name) => name.startsWith('report.html.'));
    expect(others.every((name) => /^report\.html\.unfinished-[\da-f]{8}$/.test(name))).toBe(true);
    unfinished += others.length;
    for (const name of others) await rm(join(place, name));
  }
  // The kills did fall into the middle of writing.
  expect(unfinished).toBeGreaterThan(KILLS / 4);
});

describe('what is there', () => {
  test('is replaced and keeps who may read it; nothing is left beside it', async () => {
    const file = join(folder, 'key.json');
    await writeFile(file, 'old');
    await chmod(file, 0o640);
    await writeFileSafely(file, 'new');
    expect([await readFile(file, 'utf8'), (await stat(file)).mode & 0o777]).toEqual(['new', 0o640]);
    await writeFileSafely(file, new Uint8Array([110]), { mode: 0o600 });
    expect([await readFile(file, 'utf8'), (await stat(file)).mode & 0o777]).toEqual(['n', 0o600]);
    expect((await readdir(folder)).filter((name) => name.startsWith('key'))).toEqual(['key.json']);
  });

  test('a link stays a link, and the file behind it is replaced', async () => {
    const [file, link] = [join(folder, 'behind.csv'), join(folder, 'link.csv')];
    await writeFile(file, 'old');
    await symlink(file, link);
    await writeFileSafely(link, 'new');
    expect([(await lstat(link)).isSymbolicLink(), await readFile(file, 'utf8')]).toEqual([true, 'new']);
  });

  test.each([
    ['a folder', () => folder],
    ['a device', () => '/dev/null'],
    ['a name with NUL', () => join(folder, 'a\0b')],
    ['a name that is too long', () => join(folder, 'n'.repeat(300))],
    ['a folder that is not there', () => join(folder, 'absent', 'Jane Doe.csv')],
    ['a file as a folder', () => join(folder, 'file', 'x')],
    ['an empty name', () => ''],
    ['a link in a circle', () => join(folder, 'circle')],
  ])('%s is refused without its path, and nothing is left', async (_, path) => {
    await symlink('circle', join(folder, 'circle')).catch(() => undefined);
    await writeFile(join(folder, 'file'), '');
    const before = await readdir(folder);
    const error: unknown = await writeFileSafely(path(), 'x').catch((reason: unknown) => reason);
    expect(error).toBeInstanceOf(InputError);
    const { problems, message } = error as InputError;
    expect(problems.map(({ code }) => code)).toEqual(['file-not-written']);
    expect(message).not.toMatch(/Jane|write-test|nnn/);
    expect(await readdir(folder)).toEqual(before);
  });

  test('a long name is written', async () => {
    const file = join(folder, `${'ü'.repeat(120)}.csv`);
    await writeFileSafely(file, 'x');
    expect(await readFile(file, 'utf8')).toBe('x');
  });
});

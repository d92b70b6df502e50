import { randomBytes } from 'node:crypto';
import { chmod, open, realpath, rename, rm, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { type InputError, refuse } from './input-error.js';

/** Windows does not replace a file that another program (a spreadsheet, a virus scanner) holds open for a moment. */
const BUSY = ['EPERM', 'EACCES', 'EBUSY'];
const WAITS_MILLISECONDS = [20, 100, 300, 1000];

/**
 * Writes a file so that whoever looks finds the old file or the whole new one, never a part: written beside it, brought
 * to the disk, then renamed over it. Killed in the middle it leaves the old file, and beside it one whose name ends in
 * `.unfinished-` and eight letters, which can be deleted.
 *
 * A file that is there keeps who may read it, unless `mode` says otherwise; a link stays a link, and the file behind it is replaced.
 *
 * @param path the file; its folder must be there.
 * @param options `mode`: who may read and write it, as `0o600`.
 * @throws InputError `file-not-written`, without the path: the name of a file can be an identifier.
 */
export async function writeFileSafely(
  path: string,
  content: string | Uint8Array,
  options: { readonly mode?: number } = {},
): Promise<void> {
  let unfinished: string | undefined;
  try {
    const target = await realpath(path).catch(unlessAbsent(path));
    const old = await stat(target).catch(unlessAbsent(undefined));
    // A device or a folder must not be renamed away.
    if (old !== undefined && !old.isFile()) throw notWritten('What is there is no file but a folder or a device.');
    const mode = options.mode ?? (old === undefined ? undefined : old.mode & 0o777);
    // A name is at most 255 bytes long.
    const beside = `${basename(target).slice(0, 48)}.unfinished-${randomBytes(4).toString('hex')}`;
    unfinished = join(dirname(target), beside);
    const file = await open(unfinished, 'wx', mode);
    try {
      await file.writeFile(content);
      await file.sync();
    } finally {
      await file.close();
    }
    // What the process masks out is given back where the old file had it.
    if (mode !== undefined) await chmod(unfinished, mode);
    await renameOver(unfinished, target);
    await bringFolderToDisk(dirname(target));
  } catch (error) {
    if (unfinished !== undefined) await rm(unfinished, { force: true }).catch(() => undefined);
    throw error instanceof Error && 'problems' in error ? error : notWritten(reasonOf(error));
  }
}

async function renameOver(from: string, to: string): Promise<void> {
  for (const wait of process.platform === 'win32' ? WAITS_MILLISECONDS : []) {
    try {
      await rename(from, to);
      return;
    } catch (error) {
      if (!BUSY.includes(codeOf(error))) throw error;
      await setTimeout(wait);
    }
  }
  await rename(from, to);
}

/** The new name, too, must outlast a loss of power. Windows cannot, and needs not, open a folder for it. */
async function bringFolderToDisk(folder: string): Promise<void> {
  const handle = await open(folder).catch(() => undefined);
  await handle?.sync().catch(() => undefined);
  await handle?.close();
}

function unlessAbsent<T>(otherwise: T): (error: unknown) => T {
  return (error) => {
    if (codeOf(error) === 'ENOENT') return otherwise;
    throw error;
  };
}

function codeOf(error: unknown): string {
  return error instanceof Error && 'code' in error ? String(error.code) : '';
}

const REASONS: readonly (readonly [codes: readonly string[], reason: string])[] = [
  [['ENOENT', 'ENOTDIR'], 'Its folder is not there.'],
  [BUSY, 'It or its folder may not be written, or another program holds it open.'],
  [['EROFS'], 'Its folder is only for reading.'],
  [['ENOSPC', 'EDQUOT'], 'There is no room left on the disk.'],
  [['ENAMETOOLONG'], 'Its name is too long.'],
  [['ELOOP'], 'It is a link that leads round in a circle.'],
  [['ERR_INVALID_ARG_VALUE', 'ERR_INVALID_ARG_TYPE'], 'Its name holds something that no name of a file can hold.'],
];

function reasonOf(error: unknown): string {
  return REASONS.find(([codes]) => codes.includes(codeOf(error)))?.[1] ?? 'The system did not let it be written.';
}

function notWritten(reason: string): InputError {
  return refuse(
    'file-not-written',
    ['file'],
    `The file was not written; what was there before is unchanged. ${reason}`,
    'check the path, close the file in other programs, and write again.',
  );
}

import { createReadStream, createWriteStream } from 'node:fs';
import { mkdtemp, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { createGunzip } from 'node:zlib';
import { InputError } from '../shared/input-error.js';
import type { LongWorkOptions } from '../shared/options.js';

/** What a file or text is, whatever its name ends in. */
export type SourceForm = 'delimited' | 'workbook' | 'parquet' | 'json' | 'observations';

export interface FileHead {
  readonly form: SourceForm;
  /** Packed with gzip; `head` is unpacked. */
  readonly isGzip: boolean;
  /** The first bytes. */
  readonly head: Buffer;
}

export const HEAD_BYTES = 262_144;

/** Looks at the first bytes of a file. Throws `InputError`: `file-not-found`, `file-format`. */
export async function headOfFile(path: string): Promise<FileHead> {
  const file = await stat(path).catch(() => undefined);
  if (file === undefined || !file.isFile())
    throw new InputError([
      {
        code: 'file-not-found',
        message: 'There is no such file.',
        mend: 'check the path; it counts from the folder in which the program runs.',
      },
    ]);
  const packed = await firstBytes(openFile(path, false)).catch(() => {
    throw new InputError([
      {
        code: 'file-unreadable',
        message: 'The file may not be read.',
        mend: 'ask whoever keeps it, or copy it to a place of yours.',
      },
    ]);
  });
  const isGzip = packed[0] === 0x1f && packed[1] === 0x8b;
  const head = !isGzip
    ? packed
    : await firstBytes(openFile(path, true)).catch(() => {
        throw unpackable();
      });
  const form = formOf(head);
  if (isGzip && (form === 'workbook' || form === 'parquet'))
    throw new InputError([
      { code: 'file-format', message: 'A workbook or Parquet file is packed once more.', mend: 'unpack it first.' },
    ]);
  return { form, isGzip, head };
}

/** The form of what begins with these bytes: Parquet and workbooks by their marks, JSON by its first bracket. */
export function formOf(head: Uint8Array): SourceForm {
  if (head[0] === 0x50 && head[1] === 0x4b) return 'workbook';
  const text = new TextDecoder('utf-8').decode(head);
  if (text.startsWith('PAR1')) return 'parquet';
  if (!/^\s*[{[]/.test(text)) return 'delimited';
  return /"resourceType"\s*:/.test(text) ? 'observations' : 'json';
}

/** The bytes of a file, unpacked where it is packed with gzip. */
export function openFile(path: string, isGzip: boolean): Readable {
  const file = createReadStream(path);
  if (!isGzip) return file;
  const unpacked = createGunzip();
  file.on('error', (error) => unpacked.destroy(error));
  unpacked.on('close', () => file.destroy());
  return file.pipe(unpacked);
}

/** A packed text may be this many times as large as its file, and a gigabyte beyond that; more is an attack on the disk. */
const MOST_TIMES = 200;
const MOST_BEYOND = 2 ** 30;

/**
 * Lets work read a file, packed with gzip or not. A packed one is unpacked into a temporary file that only the user
 * can read, because the engine takes one that breaks off for a whole one. Throws `InputError`: `file-format`, `file-too-large`.
 */
export async function inUnpackedFile<T>(
  path: string,
  isGzip: boolean,
  { signal }: LongWorkOptions,
  work: (path: string) => Promise<T>,
): Promise<T> {
  if (!isGzip) return work(path);
  const most = MOST_BEYOND + MOST_TIMES * (await stat(path)).size;
  let length = 0;
  async function* counted(chunks: AsyncIterable<Buffer>): AsyncGenerator<Buffer> {
    for await (const chunk of chunks) {
      length += chunk.length;
      if (length > most) throw tooLarge();
      yield chunk;
    }
  }
  const folder = await mkdtemp(join(tmpdir(), 'assessments-'));
  try {
    const plain = join(folder, 'unpacked');
    const into = createWriteStream(plain, { mode: 0o600 });
    await pipeline(createReadStream(path), createGunzip(), counted, into, signal === undefined ? {} : { signal }).catch(
      (error: unknown) => {
        signal?.throwIfAborted();
        throw error instanceof InputError ? error : unpackable();
      },
    );
    return await work(plain);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

function tooLarge(): InputError {
  return new InputError([
    {
      code: 'file-too-large',
      message: `The file unpacks to more than ${MOST_TIMES} times its size.`,
      mend: 'unpack it yourself and look what it is.',
    },
  ]);
}

/** The lines of a text in UTF-8, without byte order mark and line ends. Throws `InputError`: `file-encoding`, `file-unreadable`. */
export async function* textLines(stream: Readable): AsyncGenerator<string> {
  const decoder = new TextDecoder('utf-8', { fatal: true });
  // The parts of a line that is not ended yet: put together once, however many they are.
  let parts: string[] = [];
  try {
    for await (const chunk of stream) {
      const [first = '', ...others] = decoder.decode(chunk as Buffer, { stream: true }).split('\n');
      parts.push(first);
      for (const next of others) {
        yield parts.join('').replace(/\r$/, '');
        parts = [next];
      }
    }
    yield [...parts, decoder.decode()].join('');
  } catch (error) {
    throw error instanceof InputError ? error : unreadable(error);
  } finally {
    stream.destroy();
  }
}

function unreadable(error: unknown): InputError {
  if (error instanceof TypeError)
    return new InputError([
      { code: 'file-encoding', message: 'The file is not in UTF-8.', mend: 'save it again in UTF-8.' },
    ]);
  return new InputError([
    {
      code: 'file-unreadable',
      message: 'The file could not be read to its end.',
      mend: 'look whether it is whole; if one line is larger than half a gigabyte, write NDJSON.',
    },
  ]);
}

async function firstBytes(stream: Readable): Promise<Buffer> {
  const chunks: Buffer[] = [];
  let length = 0;
  for await (const chunk of stream) {
    chunks.push(chunk as Buffer);
    length += (chunk as Buffer).length;
    if (length >= HEAD_BYTES) break;
  }
  return Buffer.concat(chunks).subarray(0, HEAD_BYTES);
}

function unpackable(): InputError {
  return new InputError([
    {
      code: 'file-format',
      message: 'The file is packed with gzip and could not be unpacked.',
      mend: 'look whether it is whole, and pack it again.',
    },
  ]);
}

import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import type { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { InputError } from '../shared/input-error.js';

/** What a file or text is, whatever its name ends in. */
export type SourceForm = 'delimited' | 'workbook' | 'parquet' | 'json' | 'observations';

export interface FileHead {
  readonly form: SourceForm;
  /** Packed with gzip; `head` is unpacked. */
  readonly isGzip: boolean;
  /** The first bytes. */
  readonly head: Buffer;
}

const HEAD_BYTES = 262_144;

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
  const packed = await firstBytes(openFile(path, false));
  const isGzip = packed[0] === 0x1f && packed[1] === 0x8b;
  const head = isGzip ? await firstBytes(openFile(path, true)).catch(unpackable) : packed;
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

function unpackable(): never {
  throw new InputError([
    {
      code: 'file-format',
      message: 'The file is packed with gzip and could not be unpacked.',
      mend: 'look whether it is whole, and pack it again.',
    },
  ]);
}

import { crc32, inflateRawSync } from 'node:zlib';

const END_OF_DIRECTORY = Buffer.from('PK\u0005\u0006', 'latin1');
const DIRECTORY_ENTRY = 0x02014b50;
const FILE_HEADER = 0x04034b50;
/** Stands in a field of 32 bits where the number is in a field of 64. */
const ELSEWHERE = 0xffffffff;
const ENCRYPTED = 0x2041;

/** Why a packed file was not unpacked. */
export class UnpackError extends Error {
  constructor(readonly reason: 'damaged' | 'encrypted' | 'too-large') {
    super(reason);
  }
}

/**
 * The parts of a ZIP file by their names. A part is believed only where its length and its checksum are as the file says,
 * and unpacking stops as soon as all parts together are longer than `largest`: what a file says of its own size is no limit.
 *
 * @throws UnpackError
 * Source: APPNOTE.TXT, the ZIP file format, 6.3.10, sections 4.3.7, 4.3.12, 4.3.16, 4.5.3.
 */
export function unpack(
  bytes: Buffer,
  largest: number,
  isWanted: (name: string) => boolean,
): ReadonlyMap<string, Buffer> {
  const parts = new Map<string, Buffer>();
  const twice = new Set<string>();
  let left = largest;
  try {
    const end = bytes.lastIndexOf(END_OF_DIRECTORY);
    if (end < 0) throw new UnpackError('damaged');
    const count = bytes.readUInt16LE(end + 10);
    let at = bytes.readUInt32LE(end + 16);
    for (let entry = 0; entry < count; entry++) {
      if (bytes.readUInt32LE(at) !== DIRECTORY_ENTRY) throw new UnpackError('damaged');
      const [nameLength, extraLength, commentLength] = [28, 30, 32].map((place) => bytes.readUInt16LE(at + place));
      const nameEnd = at + 46 + nameLength!;
      const name = bytes.toString('utf8', at + 46, nameEnd);
      const extra = bytes.subarray(nameEnd, nameEnd + extraLength!);
      if (isWanted(name)) {
        if (parts.has(name)) twice.add(name);
        if ((bytes.readUInt16LE(at + 8) & ENCRYPTED) !== 0) throw new UnpackError('encrypted');
        const part = partOf(bytes, at, extra, left);
        left -= part.length;
        parts.set(name, part);
      }
      at = nameEnd + extraLength! + commentLength!;
    }
  } catch (error) {
    if (error instanceof UnpackError) throw error;
    // A place outside the file, or packed bytes that cannot be unpacked.
    throw new UnpackError((error as { code?: string }).code === 'ERR_BUFFER_TOO_LARGE' ? 'too-large' : 'damaged');
  }
  // Two parts of one name: which of them is meant cannot be known.
  if (twice.size > 0) throw new UnpackError('damaged');
  return parts;
}

function partOf(bytes: Buffer, entry: number, extra: Buffer, left: number): Buffer {
  const method = bytes.readUInt16LE(entry + 10);
  const checksum = bytes.readUInt32LE(entry + 16);
  const [length, packedLength, place] = longNumbers(
    [24, 20, 42].map((field) => bytes.readUInt32LE(entry + field)),
    extra,
  ) as [number, number, number];
  if (length > left) throw new UnpackError('too-large');
  if (bytes.readUInt32LE(place) !== FILE_HEADER) throw new UnpackError('damaged');
  const start = place + 30 + bytes.readUInt16LE(place + 26) + bytes.readUInt16LE(place + 28);
  const packed = bytes.subarray(start, start + packedLength);
  if (method !== 0 && method !== 8) throw new UnpackError('damaged');
  const part = method === 0 ? packed : inflateRawSync(packed, { maxOutputLength: Math.max(1, left) });
  if (part.length !== length || crc32(part) !== checksum) throw new UnpackError('damaged');
  return part;
}

/** Numbers that do not fit in 32 bits stand one after another in an extra field (number 1). */
function longNumbers(short: readonly number[], extra: Buffer): number[] {
  let at = 0;
  while (short.includes(ELSEWHERE) && at + 4 <= extra.length && extra.readUInt16LE(at) !== 1)
    at += 4 + extra.readUInt16LE(at + 2);
  at += 4;
  return short.map((number) => {
    if (number !== ELSEWHERE) return number;
    at += 8;
    return Number(extra.readBigUInt64LE(at - 8));
  });
}

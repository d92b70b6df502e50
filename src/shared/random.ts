import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** A seeded source of randomness. The same seed gives the same numbers on every machine. */
export interface Random {
  /** A number in [0, 1) with 53 random bits. */
  uniform(): number;
  /** A whole number in 0 … bound − 1, for a bound up to 2³². The bias is below bound / 2⁵³. */
  below(bound: number): number;
  /** A standard normal number (Marsaglia's polar method). */
  normal(): number;
}

/**
 * A generator for a seed and a stream. Streams of one seed are independent for practical purposes,
 * so work can be cut into blocks (stream = block number) and give the same digits however many
 * workers share it. Generator: xoroshiro128+ of the pure-rand package, whose lowest bits are not used.
 */
export function seededRandom(seed: number, stream = 0): Random {
  const generator = xoroshiro128plus(mix(seed, stream));
  for (let i = 0; i < 8; i++) generator.next();
  let spare = Number.NaN;
  const uniform = (): number => {
    const high = (generator.next() >>> 5) * 67108864;
    return (high + (generator.next() >>> 6)) / 9007199254740992;
  };
  return {
    uniform,
    below: (bound) => Math.floor(((generator.next() >>> 0) / 4294967296) * bound),
    normal() {
      if (!Number.isNaN(spare)) {
        const kept = spare;
        spare = Number.NaN;
        return kept;
      }
      let u: number;
      let v: number;
      let s: number;
      do {
        u = 2 * uniform() - 1;
        v = 2 * uniform() - 1;
        s = u * u + v * v;
      } while (s >= 1 || s === 0);
      const factor = Math.sqrt((-2 * Math.log(s)) / s);
      spare = v * factor;
      return u * factor;
    },
  };
}

/** Spreads seed and stream over 32 bits (the finalizer of MurmurHash3, public domain), so neighbors do not resemble each other. */
function mix(seed: number, stream: number): number {
  let hash = 0x9e3779b9;
  for (const part of [seed | 0, Math.floor(seed / 4294967296) | 0, stream | 0]) {
    hash = Math.imul(hash ^ part, 0x85ebca6b);
    hash = Math.imul(hash ^ (hash >>> 13), 0xc2b2ae35);
    hash ^= hash >>> 16;
  }
  return hash | 0;
}

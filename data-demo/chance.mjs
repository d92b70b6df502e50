import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/**
 * Chance from a seed. Normal numbers are sums of twelve uniforms, so that only additions and
 * multiplications are used and every machine writes the same bytes.
 */
export function chance(seed) {
  const generator = xoroshiro128plus(seed);
  for (let i = 0; i < 16; i++) generator.next();
  const uniform = () => (generator.next() >>> 0) / 4294967296;
  const below = (bound) => Math.floor(uniform() * bound);
  return {
    uniform,
    below,
    between: (low, high) => low + (high - low) * uniform(),
    happens: (probability) => uniform() < probability,
    normal(mean, deviation) {
      let sum = -6;
      for (let i = 0; i < 12; i++) sum += uniform();
      return mean + deviation * sum;
    },
    pick: (list) => list[below(list.length)],
    shuffled(list) {
      const copy = [...list];
      for (let i = copy.length - 1; i > 0; i--) {
        const j = below(i + 1);
        [copy[i], copy[j]] = [copy[j], copy[i]];
      }
      return copy;
    },
  };
}

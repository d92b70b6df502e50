import type { MadeFor } from '../shared/audience.js';
import { binomial } from '../shared/distributions.js';
import { refuse } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import { checkSeries } from './control-chart.js';

export interface FunnelOptions {
  /** The share all are held against. Default: that of all units together. */
  readonly target?: number;
}

/** One unit in the funnel: its share, limits for its size, and how far it lies from the target. */
export interface FunnelUnit {
  readonly size: number;
  readonly share: number;
  readonly inner: { readonly lower: number; readonly upper: number };
  readonly outer: { readonly lower: number; readonly upper: number };
  /** (p − target)/√(target(1 − target)/n). */
  readonly z: number;
  /** Whether the share lies outside the outer limits. */
  readonly outside: boolean;
}

export interface Funnel extends MadeFor {
  readonly kind: 'funnel';
  readonly target: number;
  readonly units: readonly (FunnelUnit | undefined)[];
  /** Mean z² of the units: above 1 the units differ by more than chance; winsorized so that one unit does not make it. */
  readonly overdispersion: { readonly plain: number; readonly winsorized: number };
  readonly notes: readonly Note[];
}

/**
 * Funnel of several units: is a unit further from the share of all than chance explains for its size?
 *
 * Limits at 95 % and 99.8 % are binomial quantiles interpolated between counts: r the smallest count with P(X ≤ r) ≥ p, minus (P(X ≤ r) − p)/P(X = r). Overdispersion φ = Σz²/k,
 * plain and with z clipped to its floor(k/10)-th smallest and largest values. No order of units is given: a funnel is not a ranking.
 *
 * Missing values: a unit without anyone assessed is `undefined`.
 *
 * @throws InputError `bad-length`, `bad-count`, `bad-size`, `count-above-size`, `bad-option`.
 * Source: Spiegelhalter DJ. Stat Med 2005;24:1185–1202, doi:10.1002/sim.1970.
 */
export function funnel(counts: readonly number[], sizes: readonly number[], options: FunnelOptions = {}): Funnel {
  checkSeries(counts, sizes, true);
  counts.forEach((count, at) => {
    if (count > sizes[at]!)
      throw refuse(
        'count-above-size',
        ['counts', at],
        `Unit ${at} has ${count} with the finding of ${sizes[at]} assessed.`,
        'check the two columns.',
      );
  });
  const total = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0);
  const target = options.target ?? total(counts) / total(sizes);
  if (!(target > 0 && target < 1))
    throw refuse('bad-option', ['options', 'target'], `The target is ${target}.`, 'give a share between 0 and 1.');
  const units = counts.map((count, at): FunnelUnit | undefined => {
    const size = sizes[at]!;
    if (size === 0) return undefined;
    const share = count / size;
    const outer = { lower: interpolated(size, target, 0.001), upper: interpolated(size, target, 0.999) };
    return {
      size,
      share,
      inner: { lower: interpolated(size, target, 0.025), upper: interpolated(size, target, 0.975) },
      outer,
      z: (share - target) / Math.sqrt((target * (1 - target)) / size),
      outside: share < outer.lower || share > outer.upper,
    };
  });
  const z = units.flatMap((unit) => unit?.z ?? []).sort((a, b) => a - b);
  const clip = Math.floor(z.length / 10);
  const clipped = z.map((value) => Math.min(Math.max(value, z[clip]!), z[z.length - 1 - clip]!));
  const meanSquare = (values: readonly number[]): number => total(values.map((value) => value * value)) / values.length;
  return {
    kind: 'funnel',
    target,
    units,
    overdispersion: { plain: meanSquare(z), winsorized: meanSquare(clipped) },
    notes: [
      information(
        'not-a-ranking',
        'A unit outside its limits differs by more than chance explains; why is another question. Units are not ranked.',
      ),
    ],
  };
}

function interpolated(size: number, target: number, p: number): number {
  let count = 0;
  while (binomial.cdf(count, size, target) < p) count++;
  const upTo = binomial.cdf(count, size, target);
  const before = count === 0 ? 0 : binomial.cdf(count - 1, size, target);
  return Math.max(0, (count - (upTo - p) / (upTo - before)) / size);
}

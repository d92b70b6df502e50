import type { Ratings } from '../ratings/ratings.js';
import type { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { checkChoice, type IntervalOptions } from '../shared/options.js';
import type { Coefficient } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { alikeNote, undefinedNote } from './sparse-readings.js';

/** How far apart two readings are: see `krippendorffAlpha`. */
export type AlphaMetric = 'nominal' | 'ordinal' | 'interval' | 'ratio';

export interface KrippendorffAlphaOptions extends IntervalOptions {
  /** Default: the sign's own level; must be named for readings without a sign. */
  readonly metric?: AlphaMetric;
}

const METRICS = ['nominal', 'ordinal', 'interval', 'ratio'] as const;

/**
 * Krippendorff's alpha: agreement of any number of assessors, gaps allowed, corrected for the chance that
 * the pooled readings give.
 *
 * α = 1 − Dₒ / Dₑ. With coincidences o_ck = Σᵤ (pairs of a reading c and a reading k in target u) / (mᵤ − 1), mᵤ the readings of
 * target u, n_c = Σ_k o_ck and n = Σ n_c (pairable readings): Dₒ = Σ o_ck δ_ck / n, Dₑ = Σ n_c n_k δ_ck / (n(n − 1)).
 * δ nominal: 0 or 1; interval: (c − k)²; ratio: ((c − k)/(c + k))², 0 for c = k = 0; ordinal: (Σ n_g from c to k − (n_c + n_k)/2)²,
 * n_g from pairable readings.
 *
 * Undefined (`NaN` with a note) when the pairable readings do not vary. Missing values: targets with fewer than two readings
 * do not enter and are counted as `excluded`. Ratio needs a scale with a true zero: negative scores are refused.
 *
 * The asymptotic error linearizes 1 − n·Dₒ-sum/Dₑ-sum over targets with divisor n − 1 and t quantiles; Krippendorff gives no
 * closed form. The default with patients is the studentized patient bootstrap.
 * `details`: observedDisagreement Dₒ, expectedDisagreement Dₑ, pairableReadings n.
 *
 * @param ratings any number of assessors, known or not.
 * @throws InputError `metric-needed`, `unknown-choice`, `level-not-suited`, `negative-on-ratio`, `bad-option`.
 * @example krippendorffAlpha(ratingsOf([[1, 1], [2, 2], [1, 2]]), { metric: 'nominal' }).value // 0.4444
 * Source: Hayes AF, Krippendorff K. Commun Methods Meas 2007;1:77–89, doi:10.1080/19312450709336664; linearization: Gwet KL. Br J
 * Math Stat Psychol 2008;61:29–48, doi:10.1348/000711006X126600.
 */
export function krippendorffAlpha(ratings: Ratings, options: KrippendorffAlphaOptions = {}): Estimate {
  const metric = metricFor(ratings, options.metric);
  const coefficient = alphaCoefficient(ratings, { metric });
  return coefficientEstimate(ratings, coefficient, options, {
    options: { metric },
    ratings: (totals) => coefficient.disagreements(totals).pairableReadings,
    details: (totals) => coefficient.disagreements(totals),
    notes: (value) => [...undefinedNote(value, coefficient.name), ...alikeNote(ratings)],
  });
}

export interface AlphaCoefficient extends Coefficient {
  disagreements(totals: Float64Array): {
    observedDisagreement: number;
    expectedDisagreement: number;
    pairableReadings: number;
  };
}

/** The coefficient behind `krippendorffAlpha`. Its gradient is that of 1 − n·D/E, the limit for many readings. */
export function alphaCoefficient(
  ratings: Ratings,
  options: Pick<KrippendorffAlphaOptions, 'metric'>,
): AlphaCoefficient {
  const metric = metricFor(ratings, options.metric);
  if (metric === 'interval') return intervalAlpha(ratings);
  return metric === 'ordinal' ? ordinalAlpha(ratings) : fixedMetricAlpha(ratings, metric);
}

/** What the three kinds of sums share: with n pairable readings, D = Σ o δ and E = Σ n_c n_k δ, α = 1 − (n − 1) D / E. */
function alphaFrom(
  metric: AlphaMetric,
  cells: number,
  adding: Pick<Coefficient, 'add' | 'addFrom'>,
  parts: (sums: Float64Array) => { n: number; observed: number; expected: number },
  /** Derivatives of n, D and E by each sum. */
  derivatives: (sums: Float64Array) => { n: Float64Array; observed: Float64Array; expected: Float64Array },
): AlphaCoefficient {
  return {
    name: `Krippendorff alpha, ${metric}`,
    cells,
    scale: 'fisher',
    bootstrapForm: 'symmetric',
    asymptotic: 't, divisor n − 1',
    asymptoticSource: 'linearized after Gwet 2008',
    ...adding,
    value(sums) {
      const { n, observed, expected } = parts(sums);
      return expected > 1e-12 * n ? 1 - ((n - 1) * observed) / expected : Number.NaN;
    },
    // Of 1 − n D / E: doubling all sums must leave the function as it is, which n − 1 would not.
    gradient(sums) {
      const { n, observed, expected } = parts(sums);
      const by = derivatives(sums);
      return by.n.map(
        (byN, cell) =>
          -(byN * observed + n * by.observed[cell]!) / expected +
          (n * observed * by.expected[cell]!) / (expected * expected),
      );
    },
    disagreements(totals) {
      const { n, observed, expected } = parts(totals);
      return {
        observedDisagreement: observed / n,
        expectedDisagreement: expected / (n * (n - 1)),
        pairableReadings: n,
      };
    },
  };
}

/** Nominal and ratio: the distance of two categories does not depend on the readings. Sums: D, then n_c. */
function fixedMetricAlpha(ratings: Ratings, metric: 'nominal' | 'ratio'): AlphaCoefficient {
  const { columns } = ratings;
  const size = ratings.categories.length;
  const scores = ratings.categories.map((category) => category.score);
  const distance = (c: number, k: number): number => {
    if (c === k) return 0;
    if (metric === 'nominal') return 1;
    const sum = scores[c]! + scores[k]!;
    return sum === 0 ? 0 : ((scores[c]! - scores[k]!) / sum) ** 2;
  };
  const byCategory = (sums: Float64Array): Float64Array => {
    const result = new Float64Array(size);
    let n = 0;
    for (let k = 0; k < size; k++) n += sums[1 + k]!;
    for (let c = 0; c < size; c++) {
      if (metric === 'nominal') result[c] = n - sums[1 + c]!;
      else for (let k = 0; k < size; k++) result[c]! += sums[1 + k]! * distance(c, k);
    }
    return result;
  };
  return alphaFrom(
    metric,
    1 + size,
    fromCodes(ratings, (codes) => (target, sums, at, often = 1) => {
      const readings = readingsCount(codes, columns, target);
      if (readings < 2) return false;
      const from = target * columns;
      let apart = 0;
      for (let i = 0; i < columns; i++) {
        const a = codes[from + i]!;
        if (a < 0) continue;
        sums[at + 1 + a]! += often;
        for (let j = 0; j < i; j++) {
          const b = codes[from + j]!;
          if (b >= 0) apart += 2 * distance(a, b);
        }
      }
      sums[at]! += (often * apart) / (readings - 1);
      return true;
    }),
    (sums) => {
      const toOthers = byCategory(sums);
      let n = 0;
      let expected = 0;
      for (let c = 0; c < size; c++) {
        n += sums[1 + c]!;
        expected += sums[1 + c]! * toOthers[c]!;
      }
      return { n, observed: sums[0]!, expected };
    },
    (sums) => {
      const toOthers = byCategory(sums);
      const n = new Float64Array(1 + size).fill(1);
      n[0] = 0;
      const observed = new Float64Array(1 + size);
      observed[0] = 1;
      const expected = new Float64Array(1 + size);
      for (let c = 0; c < size; c++) expected[1 + c] = 2 * toOthers[c]!;
      return { n, observed, expected };
    },
  );
}

/** Interval: moments are enough, so measured numbers cost no more than grades. Sums: D, n, Σx, Σx² of centered scores. */
function intervalAlpha(ratings: Ratings): AlphaCoefficient {
  const center = centerOf(ratings.numbers);
  return alphaFrom(
    'interval',
    4,
    {
      add(target, sums, at) {
        let m = 0;
        let first = 0;
        let second = 0;
        for (let column = 0; column < ratings.columns; column++) {
          const x = ratings.numbers[target * ratings.columns + column]! - center;
          if (Number.isNaN(x)) continue;
          m++;
          first += x;
          second += x * x;
        }
        if (m < 2) return false;
        sums[at]! += (2 * (m * second - first * first)) / (m - 1);
        sums[at + 1]! += m;
        sums[at + 2]! += first;
        sums[at + 3]! += second;
        return true;
      },
    },
    (sums) => ({ n: sums[1]!, observed: sums[0]!, expected: 2 * (sums[1]! * sums[3]! - sums[2]! * sums[2]!) }),
    (sums) => ({
      n: Float64Array.of(0, 1, 0, 0),
      observed: Float64Array.of(1, 0, 0, 0),
      expected: Float64Array.of(0, 2 * sums[3]!, -4 * sums[2]!, 2 * sums[1]!),
    }),
  );
}

/** Ordinal: distances depend on the margins, so the coincidences themselves are kept. Sums: n_c, then o_ck for c < k. */
function ordinalAlpha(ratings: Ratings): AlphaCoefficient {
  const { columns } = ratings;
  const size = ratings.categories.length;
  const cells = size + (size * (size - 1)) / 2;
  const pairAt = (c: number, k: number): number => size + (k * (k - 1)) / 2 + c;
  /** Readings between the middles of categories c < k: the square root of their distance. */
  const between = (sums: Float64Array, c: number, k: number): number => {
    let sum = (sums[c]! + sums[k]!) / 2;
    for (let g = c + 1; g < k; g++) sum += sums[g]!;
    return sum;
  };
  return alphaFrom(
    'ordinal',
    cells,
    fromCodes(ratings, (codes) => (target, sums, at, often = 1) => {
      const readings = readingsCount(codes, columns, target);
      if (readings < 2) return false;
      const from = target * columns;
      for (let i = 0; i < columns; i++) {
        const a = codes[from + i]!;
        if (a < 0) continue;
        sums[at + a]! += often;
        for (let j = 0; j < i; j++) {
          const b = codes[from + j]!;
          if (b >= 0 && a !== b) sums[at + pairAt(Math.min(a, b), Math.max(a, b))]! += often / (readings - 1);
        }
      }
      return true;
    }),
    (sums) => {
      let n = 0;
      let observed = 0;
      let expected = 0;
      for (let k = 0; k < size; k++) {
        n += sums[k]!;
        for (let c = 0; c < k; c++) {
          const distance = between(sums, c, k) ** 2;
          observed += 2 * sums[pairAt(c, k)]! * distance;
          expected += 2 * sums[c]! * sums[k]! * distance;
        }
      }
      return { n, observed, expected };
    },
    (sums) => {
      const n = new Float64Array(cells);
      n.fill(1, 0, size);
      const observed = new Float64Array(cells);
      const expected = new Float64Array(cells);
      for (let k = 0; k < size; k++) {
        for (let c = 0; c < k; c++) {
          const root = between(sums, c, k);
          const pairs = sums[pairAt(c, k)]!;
          const product = sums[c]! * sums[k]!;
          observed[pairAt(c, k)] = 2 * root * root;
          expected[c]! += 2 * sums[k]! * root * root;
          expected[k]! += 2 * sums[c]! * root * root;
          for (let g = c; g <= k; g++) {
            const byMargin = 2 * root * (g === c || g === k ? 0.5 : 1);
            observed[g]! += 2 * pairs * byMargin;
            expected[g]! += 2 * product * byMargin;
          }
        }
      }
      return { n, observed, expected };
    },
  );
}

function metricFor(ratings: Ratings, asked: AlphaMetric | undefined): AlphaMetric {
  if (asked === undefined) {
    if (ratings.level !== 'unstated') return ratings.level;
    throw refuse(
      'metric-needed',
      ['options', 'metric'],
      'These readings have no sign, so their level is not known.',
      `name the metric: ${METRICS.join(', ')}.`,
    );
  }
  const metric = checkChoice('metric', asked, METRICS);
  if (ratings.level === 'nominal' && metric !== 'nominal')
    throw refuse(
      'level-not-suited',
      ['options', 'metric'],
      `The categories of ${ratings.subject?.signLabel ?? 'this sign'} have no order, so the metric "${metric}" does not suit them.`,
      'use metric: "nominal".',
    );
  if (metric === 'ratio' && ratings.categories.some((category) => category.score < 0))
    throw refuse(
      'negative-on-ratio',
      ['options', 'metric'],
      'A score is negative, so the scale has no true zero.',
      'use metric: "interval".',
    );
  return metric;
}

/** What a target adds, where that depends on its grades alone. */
function fromCodes(
  { codes }: Ratings,
  addFrom: NonNullable<Coefficient['addFrom']>,
): Pick<Coefficient, 'add' | 'addFrom'> {
  return { add: addFrom(codes), addFrom };
}

function readingsCount(codes: Int32Array, columns: number, target: number): number {
  let readings = 0;
  for (let at = target * columns; at < (target + 1) * columns; at++) if (codes[at]! >= 0) readings++;
  return readings;
}

/** The mean of the numbers there are: alpha does not change when it is taken off, and large offsets lose their sting. */
function centerOf(numbers: Float64Array): number {
  let count = 0;
  let mean = 0;
  for (let at = 0; at < numbers.length; at++) {
    const x = numbers[at]!;
    if (Number.isNaN(x)) continue;
    count++;
    mean += (x - mean) / count;
  }
  return mean;
}

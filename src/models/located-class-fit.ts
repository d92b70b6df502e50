import type { Note } from '../shared/note.js';
import { softmax } from './chain-likelihood.js';
import { checkConfidenceLevel, type ValueWithLimits } from './intensities.js';
import { limitsOf } from './limits.js';
import { symmetricInverse } from './linear-algebra.js';
import { minimize } from './optimize.js';
import { checkStudy, howMinimumEnded, type PositionModelOptions, studyNotes } from './position-model-fit.js';
import {
  addRisingDerivatives,
  priorsInWords,
  readingVector,
  risingNumbers,
  risingParameters,
  WEAK_PRIORS,
} from './reading-layer.js';
import { patternLikelihoods, type ReadingPatterns } from './reading-patterns.js';
import { fillReadingProbabilities, type ReadingParameters, readingDerivatives } from './reading-probabilities.js';
import { objectiveOf } from './value-and-gradient.js';

export interface LocatedClassOptions extends Omit<PositionModelOptions, 'start'> {
  /** The continuum's reading parameters (`positionModelFit`), whose first cut and mean ln spread fix the scale here. */
  readonly scale: ReadingParameters;
  /** Locations and shares to start from, with reading parameters; found from `scale` when left out. */
  readonly start?: {
    readonly reading: ReadingParameters;
    readonly locations: ArrayLike<number>;
    readonly shares: ArrayLike<number>;
  };
}

/** Classes of targets, one a grade, each at one location. */
export interface LocatedClassFit {
  readonly kind: 'located-class-fit';
  readonly converged: boolean;
  readonly how: string;
  readonly assumed: readonly string[];
  readonly notes: readonly Note[];
  readonly logLikelihood: number;
  readonly penalty: number;
  readonly iterations: number;
  readonly reading: ReadingParameters;
  /** Location of each class, rising, and its share in the study. */
  readonly locations: readonly number[];
  readonly shares: readonly number[];
  readonly tendencies: readonly ValueWithLimits[];
  readonly slip: ValueWithLimits;
}

/** Class shares ~ Dirichlet(1 + this): keeps a rare grade's class from vanishing. */
const SHARE_PRIOR = 0.5;
/** ln of the distance between neighboring classes ~ N(ln 0.7, 1²). */
const DISTANCE_CENTER = 0.7;

/**
 * The reading model with true grades as classes: every target of grade g lies at one location μ_g, μ rising, with share π_g, and is read as in
 * `positionModelFit`. It is the other extreme from a continuum: no limb is near a cut more than its grade is. ℓ = Σ ln Σ_g π_g Π P(y | μ_g, a),
 * penalized as there, with π ~ Dirichlet(1.5) and ln(μ_{g+1} − μ_g) ~ N(ln 0.7, 1). The first cut and the mean of ln σ are those of the continuum, which fixes origin and scale.
 * Chances of change are worked out under both models, because an agreement study of the usual size cannot choose between them.
 *
 * @throws InputError as `positionModelFit`.
 * @example
 * const continuum = positionModelFit(patterns);
 * locatedClassFit(patterns, { scale: continuum.reading }).shares; // share of each true grade
 *
 * Source: Uebersax JS, Grove WM. Biometrics 1993;49:823–835, doi:10.2307/2532202 (latent classes located on one trait).
 */
export function locatedClassFit(patterns: ReadingPatterns, options: LocatedClassOptions): LocatedClassFit {
  const level = checkConfidenceLevel(options.confidenceLevel);
  const commonSpread = checkStudy(patterns, options.spreads);
  const { grades, readers } = patterns;
  const { scale } = options;
  const priors = { ...WEAK_PRIORS, ...options.priors };
  const vector = readingVector(readers, commonSpread, priors);
  const counts = options.counts ?? patterns.counts;
  const firstCut = scale.cuts[0] as number;
  const meanLogSpread =
    Array.from(scale.spreads).reduce((sum, spread) => sum + Math.log(spread), 0) / scale.spreads.length;
  const spreadCount = vector.slipAt - vector.spreadsAt;

  // Free numbers: ln of the q − 2 steps between cuts; location of the first class and ln of the q − 1 steps; ln odds of shares; reading vector with
  // the last ln spread set by the mean.
  const locationsAt = grades - 2;
  const sharesAt = locationsAt + grades;
  const readingAt = sharesAt + grades - 1;
  const size = readingAt + vector.size - 1;
  const readingVectorAt = (point: Float64Array): Float64Array => {
    const full = new Float64Array(vector.size);
    for (let i = 0; i < vector.spreadsAt; i++) full[i] = point[readingAt + i] as number;
    let sum = 0;
    for (let s = 0; s + 1 < spreadCount; s++) {
      full[vector.spreadsAt + s] = point[readingAt + vector.spreadsAt + s] as number;
      sum += full[vector.spreadsAt + s] as number;
    }
    full[vector.slipAt - 1] = spreadCount * meanLogSpread - sum;
    full[vector.slipAt] = point[size - 1] as number;
    return full;
  };
  const cutParameters = (point: Float64Array): Float64Array =>
    Float64Array.from({ length: grades - 1 }, (_, k) => (k === 0 ? firstCut : (point[k - 1] as number)));
  const unpack = (
    point: Float64Array,
  ): { reading: ReadingParameters; locations: Float64Array; shares: Float64Array } => ({
    reading: { cuts: risingNumbers(cutParameters(point), grades - 1), ...vector.unpack(readingVectorAt(point)) },
    locations: risingNumbers(point.subarray(locationsAt), grades),
    shares: softmax(point, sharesAt, grades),
  });

  const probabilities = new Float64Array(readers * grades * grades);
  const expected = new Float64Array(probabilities.length);
  let parts = { logLikelihood: Number.NaN, penalty: Number.NaN };
  const evaluate = (point: Float64Array): { value: number; gradient: Float64Array } => {
    const { reading, locations, shares } = unpack(point);
    fillReadingProbabilities(reading, locations, probabilities);
    const { values, logScale } = patternLikelihoods(patterns.patterns, probabilities, grades);
    expected.fill(0);
    const members = new Float64Array(grades);
    let logLikelihood = 0;
    let targets = 0;
    for (let p = 0; p < patterns.patterns.length; p++) {
      const count = counts[p] as number;
      if (count === 0) continue;
      const row = p * grades;
      let total = 0;
      for (let g = 0; g < grades; g++) total += (values[row + g] as number) * (shares[g] as number);
      logLikelihood += count * (Math.log(total) + (logScale[p] as number));
      targets += count;
      const each = count / total;
      for (let g = 0; g < grades; g++) {
        const posterior = each * (values[row + g] as number) * (shares[g] as number);
        members[g] = (members[g] as number) + posterior;
        values[row + g] = posterior;
      }
      for (const cell of patterns.patterns[p] as readonly number[])
        for (let g = 0; g < grades; g++)
          expected[cell * grades + g] = (expected[cell * grades + g] as number) + (values[row + g] as number);
    }
    const derivatives = readingDerivatives(reading, locations, probabilities, expected);
    const gradient = new Float64Array(size);
    let penalty = 0;

    const byCut = new Float64Array(grades - 1);
    addRisingDerivatives(cutParameters(point), derivatives.cuts, byCut);
    for (let k = 1; k < grades - 1; k++) gradient[k - 1] = byCut[k] as number;

    const byLocation = new Float64Array(grades);
    addRisingDerivatives(point.subarray(locationsAt), derivatives.positions, byLocation);
    for (let g = 0; g < grades; g++) {
      let slope = byLocation[g] as number;
      if (g > 0) {
        const away = (point[locationsAt + g] as number) - Math.log(DISTANCE_CENTER);
        penalty -= 0.5 * away * away;
        slope -= away;
      }
      gradient[locationsAt + g] = slope;
    }
    for (let g = 0; g < grades; g++) {
      penalty += SHARE_PRIOR * Math.log(shares[g] as number);
      if (g > 0)
        gradient[sharesAt + g - 1] =
          (members[g] as number) + SHARE_PRIOR - (targets + SHARE_PRIOR * grades) * (shares[g] as number);
    }
    const full = new Float64Array(vector.size);
    penalty += vector.pull(readingVectorAt(point), derivatives, full);
    for (let i = 0; i < vector.spreadsAt; i++) gradient[readingAt + i] = full[i] as number;
    for (let s = 0; s + 1 < spreadCount; s++)
      gradient[readingAt + vector.spreadsAt + s] =
        (full[vector.spreadsAt + s] as number) - (full[vector.slipAt - 1] as number);
    gradient[size - 1] = full[vector.slipAt] as number;
    parts = { logLikelihood, penalty };
    return { value: -(logLikelihood + penalty), gradient: gradient.map((slope) => -slope) };
  };

  const start = new Float64Array(size);
  const begin = options.start ?? startingClasses(scale);
  const cutStart = risingParameters(begin.reading.cuts);
  for (let k = 1; k < grades - 1; k++) start[k - 1] = cutStart[k] as number;
  start.set(risingParameters(begin.locations), locationsAt);
  for (let g = 1; g < grades; g++)
    start[sharesAt + g - 1] = Math.log((begin.shares[g] as number) / (begin.shares[0] as number));
  const packed = vector.pack(begin.reading);
  for (let i = 0; i < vector.slipAt - 1; i++) start[readingAt + i] = packed[i] as number;
  start[size - 1] = packed[vector.slipAt] as number;
  const found = minimize(objectiveOf(evaluate), start, {
    gradientTolerance: 1e-5 / Math.max(1, patterns.targets / 100),
    finalHessian: options.pointOnly !== true,
  });
  evaluate(found.point);
  const { reading, locations, shares } = unpack(found.point);
  const covariance =
    (found.hessian === undefined ? undefined : symmetricInverse(found.hessian, size)) ??
    new Float64Array(size * size).fill(Number.NaN);
  const limits = (value: (p: Float64Array) => number, on: 'plain' | 'logit'): ValueWithLimits =>
    options.pointOnly === true
      ? { value: value(found.point), standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN }
      : limitsOf(value, found.point, covariance, level, on);
  return {
    kind: 'located-class-fit',
    converged: found.converged,
    how: howMinimumEnded(found),
    assumed: [
      'All targets of one true grade are alike: their readings differ by the assessor and by chance only.',
      'Readings are independent given the true grade.',
      'Targets of one patient are taken as independent for the estimate; limits that allow for patients come from the bootstrap.',
      'The first cut and the mean logarithm of the spreads are those of the continuum.',
      ...(commonSpread ? ['All assessors scatter alike (a common spread).'] : []),
      `${priorsInWords(priors)} Shares Dirichlet(${1 + SHARE_PRIOR}), ln distances of classes N(ln ${DISTANCE_CENTER}, 1²).`,
    ],
    notes: studyNotes(patterns),
    logLikelihood: parts.logLikelihood,
    penalty: parts.penalty,
    iterations: found.iterations,
    reading,
    locations: Array.from(locations),
    shares: Array.from(shares),
    tendencies: Array.from({ length: readers }, (_, a) =>
      limits((p) => unpack(p).reading.tendencies[a] as number, 'plain'),
    ),
    slip: limits((p) => unpack(p).reading.slip, 'logit'),
  };
}

/** Classes in the middle of each grade of the continuum, with its shares of N(0, 1). */
function startingClasses(scale: ReadingParameters): {
  reading: ReadingParameters;
  locations: Float64Array;
  shares: Float64Array;
} {
  const { cuts } = scale;
  const grades = cuts.length + 1;
  const shares = new Float64Array(grades);
  fillReadingProbabilities({ cuts, tendencies: [0], spreads: [1], slip: 0 }, [0], shares);
  const density = (x: number): number => Math.exp(-0.5 * x * x) / Math.sqrt(2 * Math.PI);
  // The mean of N(0, 1) between two cuts: (φ(lower) − φ(upper)) / P.
  const locations = shares.map((share, g) => {
    const lower = g === 0 ? 0 : density(cuts[g - 1] as number);
    const upper = g === grades - 1 ? 0 : density(cuts[g] as number);
    return (lower - upper) / share;
  });
  return { reading: scale, locations, shares };
}

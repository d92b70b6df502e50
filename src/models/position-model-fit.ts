import { InputError, type Problem } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';
import { checkConfidenceLevel, type ValueWithLimits } from './intensities.js';
import { limitsOf } from './limits.js';
import { diagonalMatrix, symmetricInverse } from './linear-algebra.js';
import { type Minimum, minimize } from './optimize.js';
import {
  addRisingDerivatives,
  leaningOnPriors,
  priorsInWords,
  type ReadingPriors,
  readingVector,
  risingNumbers,
  risingParameters,
  WEAK_PRIORS,
} from './reading-layer.js';
import { patternLikelihoods, type ReadingPatterns } from './reading-patterns.js';
import { fillReadingProbabilities, type ReadingParameters, readingDerivatives } from './reading-probabilities.js';
import { objectiveOf } from './value-and-gradient.js';

export interface PositionModelOptions {
  /** A spread for each reader, or one for all. Default: each with three or more readers, else common. */
  readonly spreads?: 'each reader' | 'common';
  readonly priors?: Partial<ReadingPriors>;
  /** Parameters to start from; found from the readings when left out. */
  readonly start?: ReadingParameters;
  /** How often each pattern counts, in place of `patterns.counts`: a bootstrap replicate. */
  readonly counts?: Float64Array;
  /** Leave out the curvature and with it limits: for replicates. Default false. */
  readonly pointOnly?: boolean;
  /** Default 0.95. */
  readonly confidenceLevel?: number;
}

/** How assessors turn a position into a grade, from readings of the same targets. */
export interface PositionModelFit {
  readonly kind: 'position-model-fit';
  readonly converged: boolean;
  readonly how: string;
  readonly assumed: readonly string[];
  readonly notes: readonly Note[];
  readonly logLikelihood: number;
  /** Log-priors without constants, as they were added to the log-likelihood. */
  readonly penalty: number;
  readonly iterations: number;
  readonly reading: ReadingParameters;
  /** Limits from the curvature, as if targets of one patient were independent: for a patient's limits take the bootstrap. */
  readonly cuts: readonly ValueWithLimits[];
  readonly tendencies: readonly ValueWithLimits[];
  readonly spreads: readonly ValueWithLimits[];
  readonly slip: ValueWithLimits;
  /** P(grade) in the study's own mix, on the average assessor's cuts. */
  readonly gradeShares: readonly number[];
  readonly counts: {
    readonly clusters: number;
    readonly targets: number;
    readonly readers: number;
    readonly readings: number;
    readonly patterns: number;
  };
}

/**
 * Places on which positions N(0, 1) are summed: an even grid from −6 to 6. For a smooth function such a sum is exact as soon as the step is no wider
 * than the narrowest feature, the width to which a target's readings pin its position.
 */
interface Grid {
  readonly places: Float64Array;
  readonly weights: Float64Array;
}

const WIDEST_STEP = 1 / 12;
const NARROWEST_STEP = 1 / 120;

function gridOf(step: number): Grid {
  const half = Math.ceil(6 / step);
  const places = Float64Array.from({ length: 2 * half + 1 }, (_, i) => (i - half) * step);
  return { places, weights: places.map((x) => (step * Math.exp(-0.5 * x * x)) / Math.sqrt(2 * Math.PI)) };
}

/** How narrowly the most often read target is pinned: the least of 1/√(Σ 1/σₐ²) over patterns. */
function narrowestFeature(patterns: ReadingPatterns, spreads: ArrayLike<number>): number {
  let most = 0;
  for (const cells of patterns.patterns) {
    let precision = 0;
    for (const cell of cells) precision += (spreads[Math.floor(cell / patterns.grades)] as number) ** -2;
    most = Math.max(most, precision);
  }
  return 1 / Math.sqrt(most);
}

/**
 * The reading model with positions on a continuum: θ ~ N(0, 1) over the study's targets, and assessor a writes grade k or less with
 * P(Y ≤ k | θ, a) = (1 − ε) Φ((c_{k+1} − θ − bₐ)/σₐ) + ε (k + 1)/q, Σ bₐ = 0. The true grade of a target is that of θ on the cuts: a consensus
 * of these assessors, not accuracy. Penalized marginal likelihood ℓ = Σ ln ∫ Π P(y | θ, a) φ(θ) dθ + ln priors of b, ln σ and ε, the targets of a patient
 * taken as independent (working independence), so limits that hold come from `readingBootstrap`.
 * Gaps and repeat readings enter as they are. Two assessors identify a common spread only.
 *
 * @throws InputError `no-double-readings`, `grade-never-written`, `spreads-not-identified`.
 * @example
 * const fit = positionModelFit(readingPatterns(readings, 5));
 * fit.reading.tendencies; // how far above or below the others each assessor grades
 *
 * Source: Johnson VE, Albert JH. Ordinal Data Modeling. Springer 1999, chapter 5; the slip as in common practice, no source.
 */
export function positionModelFit(patterns: ReadingPatterns, options: PositionModelOptions = {}): PositionModelFit {
  const level = checkConfidenceLevel(options.confidenceLevel);
  const commonSpread = checkStudy(patterns, options.spreads);
  const { grades, readers } = patterns;
  const priors = { ...WEAK_PRIORS, ...options.priors };
  const vector = readingVector(readers, commonSpread, priors);
  const counts = options.counts ?? patterns.counts;
  const cutCount = grades - 1;
  const size = cutCount + vector.size;
  const unpack = (point: Float64Array): ReadingParameters => ({
    cuts: risingNumbers(point, cutCount),
    ...vector.unpack(point.subarray(cutCount)),
  });
  let grid = gridOf(WIDEST_STEP);
  let parts = { logLikelihood: Number.NaN, penalty: Number.NaN };
  const evaluate = (point: Float64Array): { value: number; gradient: Float64Array } => {
    const reading = unpack(point);
    const places = grid.places.length;
    const probabilities = new Float64Array(readers * grades * places);
    const expected = new Float64Array(probabilities.length);
    fillReadingProbabilities(reading, grid.places, probabilities);
    const { values, logScale } = patternLikelihoods(patterns.patterns, probabilities, places);
    let logLikelihood = 0;
    for (let p = 0; p < patterns.patterns.length; p++) {
      const count = counts[p] as number;
      if (count === 0) continue;
      let total = 0;
      const row = p * places;
      for (let i = 0; i < places; i++) {
        const mass = (values[row + i] as number) * (grid.weights[i] as number);
        values[row + i] = mass;
        total += mass;
      }
      logLikelihood += count * (Math.log(total) + (logScale[p] as number));
      const each = count / total;
      for (const cell of patterns.patterns[p] as readonly number[]) {
        const column = cell * places;
        for (let i = 0; i < places; i++)
          expected[column + i] = (expected[column + i] as number) + each * (values[row + i] as number);
      }
    }
    const derivatives = readingDerivatives(reading, grid.places, probabilities, expected);
    const gradient = new Float64Array(size);
    addRisingDerivatives(point, derivatives.cuts, gradient);
    const penalty = vector.pull(point.subarray(cutCount), derivatives, gradient.subarray(cutCount));
    parts = { logLikelihood, penalty };
    return { value: -(logLikelihood + penalty), gradient: gradient.map((slope) => -slope) };
  };

  const begin = options.start ?? startingReading(patterns);
  const start = new Float64Array(size);
  start.set(risingParameters(begin.cuts));
  start.set(vector.pack(begin), cutCount);
  const variances = Array.from({ length: cutCount }, (_, k) => (k === 0 ? 2 : 3) / patterns.targets);
  const inverseHessian = diagonalMatrix([...variances, ...vector.roughVariances(patterns.targets)]);
  const climb = (from: ArrayLike<number>): Minimum =>
    minimize(objectiveOf(evaluate), from, {
      gradientTolerance: 1e-5 / Math.max(1, patterns.targets / 100),
      inverseHessian,
      finalHessian: options.pointOnly !== true,
    });
  let found = climb(start);
  // A fit that pins positions more narrowly than the grid sees is made again on a finer one.
  for (let step = WIDEST_STEP; step > NARROWEST_STEP; ) {
    const feature = narrowestFeature(patterns, unpack(found.point).spreads);
    if (feature >= step) break;
    step = Math.max(NARROWEST_STEP, 0.7 * feature);
    grid = gridOf(step);
    found = climb(found.point);
  }
  const reading = unpack(found.point);
  evaluate(found.point);
  const covariance =
    (found.hessian === undefined ? undefined : symmetricInverse(found.hessian, size)) ??
    new Float64Array(size * size).fill(Number.NaN);
  const limits = (value: (p: Float64Array) => number, scale: 'plain' | 'logarithm' | 'logit'): ValueWithLimits =>
    options.pointOnly === true
      ? { value: value(found.point), standardError: Number.NaN, lower: Number.NaN, upper: Number.NaN }
      : limitsOf(value, found.point, covariance, level, scale);
  return {
    kind: 'position-model-fit',
    converged: found.converged,
    how: howMinimumEnded(found),
    assumed: [
      'Positions of the targets are normal with variance 1, which fixes the scale; tendencies add up to 0, which fixes its origin.',
      'Readings are independent given the position.',
      'Targets of one patient are taken as independent for the estimate; limits that allow for patients come from the bootstrap.',
      ...(commonSpread ? ['All assessors scatter alike (a common spread).'] : []),
      priorsInWords(priors),
    ],
    notes: [
      ...studyNotes(patterns),
      ...(options.pointOnly === true
        ? []
        : leaningOnPriors(vector.names, vector.priorVariances, covariance, cutCount, size)),
    ],
    logLikelihood: parts.logLikelihood,
    penalty: parts.penalty,
    iterations: found.iterations,
    reading,
    cuts: Array.from({ length: cutCount }, (_, k) => limits((p) => unpack(p).cuts[k] as number, 'plain')),
    tendencies: Array.from({ length: readers }, (_, a) => limits((p) => unpack(p).tendencies[a] as number, 'plain')),
    spreads: Array.from({ length: readers }, (_, a) => limits((p) => unpack(p).spreads[a] as number, 'logarithm')),
    slip: limits((p) => unpack(p).slip, 'logit'),
    gradeShares: gradeSharesOf(reading.cuts),
    counts: {
      clusters: patterns.clusters,
      targets: patterns.targets,
      readers,
      readings: patterns.readings,
      patterns: patterns.patterns.length,
    },
  };
}

/** Refuses what no reading model can be fitted to; true when the spread has to be common. */
export function checkStudy(patterns: ReadingPatterns, spreads: 'each reader' | 'common' | undefined): boolean {
  const problems: Problem[] = [];
  if (!patterns.patterns.some((cells) => cells.length > 1))
    problems.push({
      code: 'no-double-readings',
      path: ['target'],
      message: 'No target was read twice, so nothing shows how far readings scatter.',
      mend: 'let two or more assessors read the same limbs, or one assessor read them twice.',
    });
  const never = Array.from(patterns.categoryCounts.entries()).filter(([, count]) => count === 0);
  for (const [category] of never)
    problems.push({
      code: 'grade-never-written',
      path: ['category'],
      message: `Grade ${category} was never written, so its cut cannot be placed.`,
      mend: 'merge it with a neighbor.',
    });
  if (spreads === 'each reader' && patterns.readers < 3)
    problems.push({
      code: 'spreads-not-identified',
      path: ['options', 'spreads'],
      message: `${patterns.readers === 1 ? 'One assessor does' : 'Two assessors do'} not show whose readings scatter more.`,
      mend: "use spreads: 'common', or add a third assessor.",
    });
  if (problems.length > 0) throw new InputError(problems);
  return (spreads ?? (patterns.readers >= 3 ? 'each reader' : 'common')) === 'common';
}

/** Cautions about the study itself. */
export function studyNotes(patterns: ReadingPatterns): Note[] {
  const notes: Note[] = [];
  const rare = Array.from(patterns.categoryCounts.entries()).filter(([, count]) => count < 10);
  if (rare.length > 0)
    notes.push(
      caution(
        'rare-grade',
        `Written fewer than 10 times: ${rare.map(([category, count]) => `grade ${category} (${count})`).join(', ')}; what is said about these grades rests on little.`,
      ),
    );
  if (patterns.clusters < 30)
    notes.push(caution('few-patients', `The readings come from ${patterns.clusters} patients; 30 or more are wanted.`));
  if (readerGroups(patterns) > 1)
    notes.push(
      caution(
        'unconnected-readers',
        'Some assessors share no target with the others; their tendencies are compared only by taking their limbs to be alike.',
      ),
    );
  return notes;
}

/** How many groups of assessors there are that share no target. */
function readerGroups(patterns: ReadingPatterns): number {
  const group = Array.from({ length: patterns.readers }, (_, a) => a);
  const rootOf = (a: number): number => {
    let at = a;
    while (group[at] !== at) at = group[at] as number;
    return at;
  };
  const seen = new Set<number>();
  for (const cells of patterns.patterns) {
    const first = Math.floor((cells[0] as number) / patterns.grades);
    for (const cell of cells) {
      const reader = Math.floor(cell / patterns.grades);
      seen.add(reader);
      group[rootOf(reader)] = rootOf(first);
    }
  }
  return new Set([...seen].map(rootOf)).size;
}

/** Cuts where the pooled shares of grades would put them, no tendencies, spreads of half a standard deviation. */
function startingReading(patterns: ReadingPatterns): ReadingParameters {
  const total = patterns.categoryCounts.reduce((sum, count) => sum + count + 0.5, 0);
  let below = 0;
  const cuts = Array.from({ length: patterns.grades - 1 }, (_, k) => {
    below += ((patterns.categoryCounts[k] as number) + 0.5) / total;
    // Readings spread wider than positions do, by √(1 + 0.5²). The logistic stands in for the normal quantile.
    return (Math.log(below / (1 - below)) / 1.7) * 1.12;
  });
  return {
    cuts,
    tendencies: new Float64Array(patterns.readers),
    spreads: new Float64Array(patterns.readers).fill(0.5),
    slip: 0.02,
  };
}

/** P(grade) for positions N(0, 1). */
function gradeSharesOf(cuts: ArrayLike<number>): number[] {
  const shares = new Float64Array(cuts.length + 1);
  const table = new Float64Array(shares.length);
  // A reader without error is the limit of a narrow spread; at one position 0 with spread 1 the reading model is the normal law itself.
  fillReadingProbabilities({ cuts, tendencies: [0], spreads: [1], slip: 0 }, [0], table);
  shares.set(table);
  return Array.from(shares);
}

/** How a search ended, in one sentence. */
export function howMinimumEnded(found: Minimum): string {
  const slope = found.gradientNorm.toExponential(1);
  if (found.converged && found.hessianPositiveDefinite === true)
    return `The largest slope is ${slope}, the curvature is that of a maximum, and by it the log-likelihood could still rise by ${found.remaining.toExponential(1)}.`;
  if (found.converged) return `The largest slope is ${slope}.`;
  if (found.stoppedBy === 'iteration-limit') return `The limit of ${found.iterations} steps was reached.`;
  if (found.stoppedBy === 'bad-start') return 'The log-likelihood is not finite at the start.';
  return 'The search stopped where the curvature is not that of a maximum: the readings do not determine every parameter.';
}

import { InputError, type Problem } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { DEFAULT_SEED } from '../shared/options.js';
import { type Random, seededRandom } from '../shared/random.js';
import type { ReadingPatterns } from './reading-patterns.js';

export interface LatentClassOptions {
  /** Scattered starts beside the two from the readings themselves. Default 100. */
  readonly starts?: number;
  readonly seed?: number;
  /**
   * Pseudo-readings added to each row of each matrix, spread evenly over the grades, where a grade is too rare to fill its row: 0 (none, the
   * default) or a small number such as 1. Then the penalized log-likelihood is maximized.
   */
  readonly shrinkage?: number;
  /** How often each pattern counts, in place of `patterns.counts`: a bootstrap replicate. */
  readonly counts?: Float64Array;
  /** Stop when one round raises the criterion by less than this times its size. Default 1e-13. */
  readonly tolerance?: number;
  /** Rounds at most. Default 20,000. */
  readonly maximumRounds?: number;
}

/** One maximum of the likelihood that some starts led to. */
export interface LikelihoodMaximum {
  readonly logLikelihood: number;
  /** How many starts led here; the names of the two from the readings where they did. */
  readonly starts: number;
  readonly from: readonly ('shares of readings' | 'majority' | 'scattered')[];
  readonly prevalence: readonly number[];
}

export interface LatentClassFit {
  readonly kind: 'latent-class-fit';
  readonly converged: boolean;
  readonly how: string;
  readonly assumed: readonly string[];
  readonly notes: readonly Note[];
  readonly logLikelihood: number;
  /** Share of each class. */
  readonly prevalence: readonly number[];
  /** errorRates[reader][class][grade written]; `NaN` in a row of a class without targets. */
  readonly errorRates: readonly (readonly (readonly number[])[])[];
  /** P(class | readings) for each target, targets × classes, in the order of the patterns' targets. */
  readonly membership: Float64Array;
  /** Every maximum that was found, highest first. */
  readonly maxima: readonly LikelihoodMaximum[];
  readonly rounds: number;
}

/**
 * True grades as classes and a full matrix of error rates for each assessor, by the EM algorithm.
 * ℓ = Σᵢ ln Σ_g p_g Πₐ Π_k e^a_gk^{nᵢₐₖ}, with nᵢₐₖ how often assessor a wrote k for target i: gaps are n = 0, repeats n > 1. The likelihood has several maxima, so it
 * is climbed from the shares of each target's readings (equation 3.1 of the source), from the majority (ties split), and from many scattered starts; every maximum
 * found is reported, and the highest is the fit. It needs three assessors: with two, full matrices are never identified.
 * Readings are taken as independent given the class, which limbs near a cut break: see `positionModelFit`.
 *
 * @throws InputError `matrices-not-identified` (fewer than three assessors), `bad-option`.
 * @example
 * const fit = latentClassFit(readingPatterns(readings, 4));
 * fit.maxima.map(({ logLikelihood, starts }) => [logLikelihood, starts]); // are there rivals?
 *
 * Source: Dawid AP, Skene AM. J R Stat Soc C 1979;28:20–28, doi:10.2307/2346806.
 */
export function latentClassFit(patterns: ReadingPatterns, options: LatentClassOptions = {}): LatentClassFit {
  const scattered = options.starts ?? 100;
  const shrinkage = options.shrinkage ?? 0;
  check(patterns, scattered, shrinkage);
  const counts = options.counts ?? patterns.counts;
  const limits = { tolerance: options.tolerance ?? 1e-13, rounds: options.maximumRounds ?? 20_000 };
  const climbs: (Climb & { readonly from: LikelihoodMaximum['from'][number] })[] = [];
  for (const from of ['shares of readings', 'majority'] as const)
    climbs.push({ from, ...climb(patterns, counts, readingShares(patterns, from), shrinkage, limits) });
  for (let s = 0; s < scattered; s++) {
    const random = seededRandom(options.seed ?? DEFAULT_SEED, s);
    const start = scatter(readingShares(patterns, 'shares of readings'), patterns.grades, random);
    climbs.push({ from: 'scattered', ...climb(patterns, counts, start, shrinkage, limits) });
  }
  climbs.sort((a, b) => b.criterion - a.criterion);
  const best = climbs[0] as Climb;
  const maxima: (LikelihoodMaximum & { readonly criterion: number })[] = [];
  for (const { from, criterion, logLikelihood, prevalence } of climbs) {
    const known = maxima.findIndex((own) => Math.abs(own.criterion - criterion) <= 1e-4);
    if (known < 0)
      maxima.push({ criterion, logLikelihood, starts: 1, from: [from], prevalence: Array.from(prevalence) });
    else {
      const own = maxima[known] as LikelihoodMaximum & { readonly criterion: number };
      maxima[known] = {
        ...own,
        starts: own.starts + 1,
        from: own.from.includes(from) ? own.from : [...own.from, from],
      };
    }
  }
  const { grades, readers } = patterns;
  const notes: Note[] = [];
  if (maxima.length > 1) {
    const [first, second] = maxima as readonly LikelihoodMaximum[] as readonly [LikelihoodMaximum, LikelihoodMaximum];
    notes.push(
      caution(
        'several-maxima',
        `The likelihood has at least ${maxima.length} maxima; the highest (${first.logLikelihood.toFixed(4)}) was reached from ${first.starts} of ${climbs.length} starts, the next is ${second.logLikelihood.toFixed(4)}. Look whether they tell the same story.`,
      ),
    );
  }
  const targets = counts.reduce((sum, count) => sum + count, 0);
  const rare = Array.from(best.prevalence.entries()).filter(([, share]) => share * targets < 10);
  if (rare.length > 0)
    notes.push(
      caution(
        'rare-class',
        `Fewer than 10 targets are expected in ${rare.map(([g, share]) => `class ${g} (${(share * targets).toFixed(1)})`).join(', ')}: error rates there are guesses${shrinkage > 0 ? '' : '; shrinkage: 1 would temper them'}.`,
      ),
    );
  if (shrinkage > 0)
    notes.push(
      information(
        'shrinkage',
        `Each row of each matrix was given ${shrinkage} pseudo-readings spread evenly over the ${grades} grades.`,
      ),
    );
  const membership = new Float64Array(patterns.targets * grades);
  for (let t = 0; t < patterns.targets; t++) {
    const p = patterns.patternOfTarget[t] as number;
    for (let g = 0; g < grades; g++) membership[t * grades + g] = best.posterior[p * grades + g] as number;
  }
  return {
    kind: 'latent-class-fit',
    converged: best.converged,
    how: best.converged
      ? `One more round raised the log-likelihood by less than ${limits.tolerance.toExponential(0)} of its size; ${maxima[0]?.starts} of ${climbs.length} starts led here.`
      : `The limit of ${limits.rounds} rounds was reached.`,
    assumed: [
      'Readings are independent given the true grade, those of one assessor on one target included.',
      'Each assessor errs in one way throughout.',
      'Targets are independent.',
      'Classes are named by the grade that most of their readings show at the start.',
    ],
    notes,
    logLikelihood: best.logLikelihood,
    prevalence: Array.from(best.prevalence),
    errorRates: Array.from({ length: readers }, (_, a) =>
      Array.from({ length: grades }, (_, g) =>
        Array.from({ length: grades }, (_, k) => best.rates[(a * grades + k) * grades + g] as number),
      ),
    ),
    membership,
    maxima: maxima.map(({ criterion: _, ...maximum }) => maximum),
    rounds: best.rounds,
  };
}

interface Climb {
  readonly logLikelihood: number;
  readonly criterion: number;
  readonly prevalence: Float64Array;
  /** (reader · grades + grade written) · grades + class. */
  readonly rates: Float64Array;
  /** patterns × classes. */
  readonly posterior: Float64Array;
  readonly converged: boolean;
  readonly rounds: number;
}

/** EM from given memberships (patterns × classes). */
function climb(
  patterns: ReadingPatterns,
  counts: Float64Array,
  start: Float64Array,
  shrinkage: number,
  limits: { readonly tolerance: number; readonly rounds: number },
): Climb {
  const { grades, readers } = patterns;
  const posterior = Float64Array.from(start);
  const prevalence = new Float64Array(grades);
  const rates = new Float64Array(readers * grades * grades);
  const row = new Float64Array(grades);
  const targets = counts.reduce((sum, count) => sum + count, 0);
  let criterion = Number.NEGATIVE_INFINITY;
  let logLikelihood = criterion;
  let rounds = 0;
  let converged = false;
  while (!converged && rounds < limits.rounds) {
    rounds++;
    prevalence.fill(0);
    rates.fill(shrinkage / grades);
    patterns.patterns.forEach((cells, p) => {
      for (let g = 0; g < grades; g++) {
        const mass = (counts[p] as number) * (posterior[p * grades + g] as number);
        prevalence[g] = (prevalence[g] as number) + mass / targets;
        for (const cell of cells) rates[cell * grades + g] = (rates[cell * grades + g] as number) + mass;
      }
    });
    let penalty = 0;
    for (let a = 0; a < readers; a++)
      for (let g = 0; g < grades; g++) {
        let total = 0;
        for (let k = 0; k < grades; k++) total += rates[(a * grades + k) * grades + g] as number;
        for (let k = 0; k < grades; k++) {
          const at = (a * grades + k) * grades + g;
          rates[at] = (rates[at] as number) / total;
          if (shrinkage > 0) penalty += (shrinkage / grades) * Math.log(rates[at] as number);
        }
      }
    logLikelihood = 0;
    patterns.patterns.forEach((cells, p) => {
      let total = 0;
      for (let g = 0; g < grades; g++) {
        let value = prevalence[g] as number;
        // A class without members has no rates; its likelihood is 0, not NaN.
        if (value > 0) for (const cell of cells) value *= rates[cell * grades + g] as number;
        row[g] = value;
        total += value;
      }
      const count = counts[p] as number;
      if (count > 0) logLikelihood += count * Math.log(total);
      for (let g = 0; g < grades; g++) posterior[p * grades + g] = total > 0 ? (row[g] as number) / total : 0;
    });
    const next = logLikelihood + penalty;
    converged = next - criterion <= limits.tolerance * Math.abs(next);
    criterion = next;
  }
  return { logLikelihood, criterion, prevalence, rates, posterior, converged, rounds };
}

/** Share of a pattern's readings that show each grade, or all of it to the most frequent, ties split. */
function readingShares(patterns: ReadingPatterns, kind: 'shares of readings' | 'majority'): Float64Array {
  const { grades } = patterns;
  const shares = new Float64Array(patterns.patterns.length * grades);
  patterns.patterns.forEach((cells, p) => {
    for (const cell of cells) {
      const at = p * grades + (cell % grades);
      shares[at] = (shares[at] as number) + 1 / cells.length;
    }
    if (kind === 'shares of readings') return;
    const own = shares.subarray(p * grades, (p + 1) * grades);
    const most = own.reduce((largest, share) => Math.max(largest, share), 0);
    const tied = own.reduce((sum, share) => sum + Number(share > most - 1e-9), 0);
    own.forEach((share, g) => {
      own[g] = share > most - 1e-9 ? 1 / tied : 0;
    });
  });
  return shares;
}

/** Memberships mixed half and half with random ones (exponential weights), so that classes keep their names. */
function scatter(shares: Float64Array, grades: number, random: Random): Float64Array {
  const mixed = Float64Array.from(shares);
  for (let at = 0; at < mixed.length; at += grades) {
    const weights = Array.from({ length: grades }, () => -Math.log(1 - random.uniform()));
    const total = weights.reduce((sum, weight) => sum + weight, 0);
    for (let g = 0; g < grades; g++)
      mixed[at + g] = 0.5 * (mixed[at + g] as number) + (0.5 * (weights[g] as number)) / total;
  }
  return mixed;
}

function check(patterns: ReadingPatterns, starts: number, shrinkage: number): void {
  const problems: Problem[] = [];
  if (patterns.readers < 3)
    problems.push({
      code: 'matrices-not-identified',
      path: ['reader'],
      message: `${patterns.readers === 1 ? 'One assessor does' : 'Two assessors do'} not determine full error matrices, however many limbs they read.`,
      mend: 'add a third assessor, or use the reading model with a common spread.',
    });
  if (!(Number.isInteger(starts) && starts >= 0))
    problems.push({
      code: 'bad-option',
      path: ['options', 'starts'],
      message: `starts is ${starts}.`,
      expected: 'a whole number from 0',
    });
  if (!(shrinkage >= 0 && shrinkage < Number.POSITIVE_INFINITY))
    problems.push({
      code: 'bad-option',
      path: ['options', 'shrinkage'],
      message: `shrinkage is ${shrinkage}.`,
      expected: 'a number from 0',
    });
  if (problems.length > 0) throw new InputError(problems);
}

import { type LatentClassFit, type LikelihoodMaximum, latentClassFit } from '../models/latent-class-fit.js';
import { countsOf, type ReadingPatterns, readingPatterns } from '../models/reading-patterns.js';
import type { RatingCategory, Ratings } from '../ratings/ratings.js';
import { CAUTIONS } from '../shared/cautions.js';
import type { Counts, Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions, type LongWorkOptions } from '../shared/options.js';
import { seededRandom } from '../shared/random.js';
import { Table } from '../shared/table.js';
import { quantileOf } from './interval.js';
import { refuseMeasured } from './suitable-ratings.js';

export interface LatentClassErrorRatesOptions extends LongWorkOptions {
  /** Scattered starts beside the two from the readings themselves. Default 100. */
  readonly starts?: number;
  /** Pseudo-readings spread over each row of each matrix, for grades that are rare. Default 0: none. */
  readonly shrinkage?: number;
  /** Patient-bootstrap replicates behind the intervals: 0 for none, or at least 200 (the default). */
  readonly replicates?: number;
  readonly confidenceLevel?: number;
  readonly seed?: number;
}

/** A share with its interval. */
export interface ErrorRate {
  readonly value: number;
  readonly interval: Interval;
}

/** The error rates of assessors against classes that nobody saw. */
export class LatentClassErrorRates {
  readonly kind = 'latent-class-error-rates';
  readonly categories: readonly RatingCategory[];
  readonly assessors: readonly string[];
  /** Share of targets in each class, in the order of the categories. */
  readonly prevalence: readonly ErrorRate[];
  /** errorRates[assessor][class][category read]. */
  readonly errorRates: readonly (readonly (readonly ErrorRate[])[])[];
  /** P(class | readings) of each target that was read, row by row. */
  readonly membership: Float64Array;
  readonly logLikelihood: number;
  /** Every maximum of the likelihood that was found, highest first; the rates belong to the first. */
  readonly maxima: readonly LikelihoodMaximum[];
  readonly converged: boolean;
  readonly assumed: readonly string[];
  readonly counts: Counts;
  readonly options: Readonly<Record<string, unknown>>;
  readonly notes: readonly Note[];

  constructor(fields: Omit<LatentClassErrorRates, 'kind' | 'tableOf'>) {
    this.categories = fields.categories;
    this.assessors = fields.assessors;
    this.prevalence = fields.prevalence;
    this.errorRates = fields.errorRates;
    this.membership = fields.membership;
    this.logLikelihood = fields.logLikelihood;
    this.maxima = fields.maxima;
    this.converged = fields.converged;
    this.assumed = fields.assumed;
    this.counts = Object.freeze(fields.counts);
    this.options = Object.freeze(fields.options);
    this.notes = Object.freeze([...fields.notes]);
    Object.freeze(this);
  }

  /** One assessor's matrix: a row a class, a column a category read; throws `InputError` `unknown-assessor`. */
  tableOf(assessor: string): Table {
    const at = this.assessors.indexOf(assessor);
    if (at < 0)
      throw refuse(
        'unknown-assessor',
        ['assessor'],
        `No assessor has that code; the codes are ${this.assessors.join(', ')}.`,
      );
    return new Table(
      'When the class is this, how often is each grade read?',
      [
        { key: 'class', label: 'class', kind: 'text' },
        ...this.categories.map(({ words }, code) => ({ key: `read ${code}`, label: words, kind: 'percent' as const })),
      ],
      this.categories.map(({ words }, own) => ({
        class: words,
        ...Object.fromEntries(this.errorRates[at]![own]!.map(({ value }, code) => [`read ${code}`, value])),
      })),
      this.notes,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.assessors.map((assessor) => `${assessor}\n${this.tableOf(assessor).toText()}`).join('\n\n');
  }
}

/**
 * Error rates of three or more assessors without a reference: how often each reads grade k when a target is of class g, with the classes
 * inferred from all readings.
 *
 * ℓ = Σₜ ln Σ_g p_g Πₐ Π_k e^a_gk^{nₜₐₖ}, p_g the share of class g, e^a_gk the chance that assessor a reads k in class g, nₜₐₖ how often
 * he or she read target t as k: gaps are n = 0, repeats n > 1. Maximized by the EM algorithm from the shares of each target's readings (equation
 * 3.1 of the source), from the majority, and from many scattered starts; the highest maximum is the fit and all are reported.
 *
 * Undefined: error rates of a class without targets (`NaN`). Missing values: a target enters with the readings it has; one without any is `excluded`.
 * Intervals: percentile patient bootstrap (each replicate climbs from the two starts of its readings), too narrow where a grade is rare.
 *
 * A class is what the readings have in common, not the truth; readings are taken as independent given the class, which limbs near a cut break, so
 * these rates are no basis for change in a limb (see `measurementErrorOf`).
 *
 * @param ratings three or more assessors, grades.
 * @throws InputError `matrices-not-identified` (fewer than three assessors), `level-not-suited`, `bad-option`.
 * @example (await latentClassErrorRates(ratings, { shrinkage: 1 })).tableOf('A')
 * Source: Dawid AP, Skene AM. J R Stat Soc C 1979;28:20–28, doi:10.2307/2346806.
 */
export async function latentClassErrorRates(
  ratings: Ratings,
  options: LatentClassErrorRatesOptions = {},
): Promise<LatentClassErrorRates> {
  refuseMeasured(ratings, 'latentClassErrorRates');
  const replicates = options.replicates ?? 200;
  const { confidenceLevel, seed } = checkIntervalOptions({
    ...(options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel }),
    ...(options.seed === undefined ? {} : { seed: options.seed }),
    ...(replicates === 0 ? {} : { replicates }),
  });
  if (ratings.assessors.length < 3)
    throw refuse(
      'matrices-not-identified',
      ['ratings'],
      ratings.assessors.length === 0
        ? 'Who gave which reading is not known here.'
        : `${ratings.assessors.length === 1 ? 'One assessor does' : 'Two assessors do'} not determine error rates, however many targets they read.`,
      'add a third assessor, or show who read what (crossTable).',
    );
  const size = ratings.categories.length;
  const readings = readingsOf(ratings);
  const patterns = readingPatterns(readings, size, ratings.columns);
  const shrinkage = options.shrinkage ?? 0;
  const fit = latentClassFit(patterns, {
    ...(options.starts === undefined ? {} : { starts: options.starts }),
    shrinkage,
    seed,
  });
  const replicated = await bootstrap(patterns, replicates, seed, shrinkage, options);
  const rate = (value: number, of: (one: LatentClassFit) => number): ErrorRate => ({
    value,
    interval: percentiles(replicated.map(of), confidenceLevel, seed),
  });
  return new LatentClassErrorRates({
    categories: ratings.categories,
    assessors: ratings.assessors,
    prevalence: fit.prevalence.map((value, own) => rate(value, (one) => one.prevalence[own]!)),
    errorRates: fit.errorRates.map((matrix, assessor) =>
      matrix.map((row, own) => row.map((value, code) => rate(value, (one) => one.errorRates[assessor]![own]![code]!))),
    ),
    membership: fit.membership,
    logLikelihood: fit.logLikelihood,
    maxima: fit.maxima,
    converged: fit.converged,
    assumed: fit.assumed,
    counts: {
      targets: patterns.targets,
      clusters: patterns.clusters,
      assessors: ratings.assessors.length,
      ratings: patterns.readings,
      excluded: ratings.targets - patterns.targets,
    },
    options: { starts: options.starts ?? 100, shrinkage, replicates, confidenceLevel, seed },
    notes: [...fit.notes, ...notesOf(ratings, fit, replicated.length, replicates)],
  });
}

/** First readings and repeats in long form, as the fit takes them. */
function readingsOf(ratings: Ratings): { target: number[]; reader: number[]; category: number[]; cluster: number[] } {
  const readings = {
    target: [] as number[],
    reader: [] as number[],
    category: [] as number[],
    cluster: [] as number[],
  };
  const add = (target: number, reader: number, category: number): void => {
    if (category < 0) return;
    readings.target.push(target);
    readings.reader.push(reader);
    readings.category.push(category);
    readings.cluster.push(ratings.clusterOf[target]!);
  };
  for (let target = 0; target < ratings.targets; target++)
    for (let column = 0; column < ratings.columns; column++)
      add(target, column, ratings.codes[target * ratings.columns + column]!);
  for (const { target, assessor, code } of ratings.repeats) add(target, assessor, code);
  return readings;
}

/** The fits of samples of patients drawn with replacement; those done when the work is stopped. */
async function bootstrap(
  patterns: ReadingPatterns,
  replicates: number,
  seed: number,
  shrinkage: number,
  { signal, progress }: LongWorkOptions,
): Promise<LatentClassFit[]> {
  const fits: LatentClassFit[] = [];
  for (let replicate = 0; replicate < replicates; replicate++) {
    if (signal?.aborted) break;
    const random = seededRandom(seed, 1_000 + replicate);
    const patients = new Int32Array(patterns.clusters);
    for (let i = 0; i < patterns.clusters; i++) patients[random.below(patterns.clusters)]!++;
    const counts = countsOf(patterns, patients);
    fits.push(latentClassFit(patterns, { starts: 0, shrinkage, counts, tolerance: 1e-9 }));
    progress?.((replicate + 1) / replicates, 'error rates of drawn patients');
    if (replicate % 10 === 9) await new Promise((resolve) => setImmediate(resolve));
  }
  return fits;
}

/** The interval between two quantiles of the replicates that are defined. */
export function percentiles(values: readonly number[], level: number, seed: number): Interval {
  const sorted = Float64Array.from(values.filter((value) => !Number.isNaN(value))).sort();
  const at = (share: number): number => (sorted.length < 20 ? Number.NaN : quantileOf(sorted, share));
  return {
    lower: at((1 - level) / 2),
    upper: at(1 - (1 - level) / 2),
    level,
    method: `percentile patient bootstrap, ${sorted.length} replicates, seed ${seed}`,
  };
}

function notesOf(ratings: Ratings, fit: LatentClassFit, done: number, asked: number): Note[] {
  return [
    caution('agreement-is-not-accuracy', CAUTIONS.agreementIsNotAccuracy),
    ...(fit.converged ? [] : [caution('not-converged', fit.how)]),
    ...(done < asked
      ? [caution('stopped', `Stopped after ${done} of ${asked} replicates; the intervals rest on these.`)]
      : []),
    ...(asked === 0 ? [information('no-interval', 'No replicates were asked for, so there are no intervals.')] : []),
    ...(ratings.clustersKnown
      ? []
      : [caution('patients-not-given', 'Patients were not given, so every target counts as independent.')]),
  ];
}

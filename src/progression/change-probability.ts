import type { ReadingError } from '../measurement-error/reading-error.js';
import {
  type ChangeModelFit,
  type CompiledPairs,
  changeModelFit,
  changeProbabilities,
  pairedPatterns,
  type TruthKind,
} from '../models/change-model.js';
import type { ReadingParameters } from '../models/reading-probabilities.js';
import { caution, information, type Note } from '../shared/note.js';
import type { LimbSeries } from './limb-series.js';

/** Chances that the true grade rose, fell or stayed between the first and the last visit. */
export interface ChangeChances {
  readonly rose: number;
  readonly fell: number;
  readonly stayed: number;
}

/** The chances of one limb-site: both models weighted by what the serial readings say of them, and each of them. */
export interface ChangeProbability extends ChangeChances {
  readonly continuum: ChangeChances;
  readonly classes: ChangeChances;
}

/** What was fitted to the serial readings, with the reading models of the study held fixed. */
export interface SerialFit {
  readonly pairs: CompiledPairs;
  /** The series of each pair, in the order of `pairs.targets`. */
  readonly seriesOf: readonly number[];
  readonly continuum: ChangeModelFit;
  readonly classes: ChangeModelFit;
  /** Weight of the continuum in the chances, 0 … 1; the rest is that of the classes. See `continuumWeight`. */
  readonly continuumWeight: number;
}

export interface ChangeProbabilityOptions {
  /**
   * Readings by assessors that the study did not see: `'refuse'` leaves their limbs without a chance of change; `'any assessor'` takes them as one more assessor of the same kind, with
   * the tendency unknown. Default `'refuse'`.
   */
  readonly unknownAssessors?: 'refuse' | 'any assessor';
}

/** The two models may differ by so much before a note says so. */
const GAP = 0.1;
/** Serial pairs below which grades and changes cannot be learned. */
export const LEAST_PAIRS = 10;

/**
 * Chances of change of each limb-site, from all readings of its first and its last visit and who made them.
 *
 * P(G₂ ≠ G₁ | readings) ∝ ∬ Π P(y₁ | θ₁, a) Π P(y₂ | θ₂, a′) f(θ₁) T(θ₂ | θ₁), the reading models P fixed by the study; how grades are spread (f) and change (T) is fitted on the serial
 * readings, never taken flat. Worked out with limbs on a continuum and in classes; the chance is the mean of both, each weighted by how well it explains the serial readings
 * (`continuumWeight`): readings of the usual size do not choose between them, several readings a visit begin to.
 *
 * @returns chances by series (undefined where none can be given), the fit, and notes; `fit` is undefined when nothing could be fitted.
 */
export function changeProbabilitiesOf(
  series: readonly LimbSeries[],
  error: ReadingError,
  options: ChangeProbabilityOptions,
): {
  readonly chances: readonly (ChangeProbability | undefined)[];
  readonly fit: SerialFit | undefined;
  readonly notes: readonly Note[];
} {
  const none = series.map(() => undefined);
  const { pairs, seriesOf, unknown, newGrades } = pairsOf(series, error, options);
  const notes: Note[] = [];
  if (unknown > 0)
    notes.push(
      caution(
        'unknown-assessors',
        `${unknown} limb-sites have only readings by assessors whom the agreement study did not see, so no chance of change is given for them; ask for unknownAssessors: 'any assessor' to take them as one more assessor of the same kind.`,
      ),
    );
  if (newGrades > 0)
    notes.push(
      caution(
        'new-grades',
        `${newGrades} readings are of a grade that the agreement study never saw; they do not enter the chances.`,
      ),
    );
  if (pairs === undefined || seriesOf.length < LEAST_PAIRS)
    return {
      chances: none,
      fit: undefined,
      notes: [
        ...notes,
        information(
          'too-few-pairs',
          `Chances of change need at least ${LEAST_PAIRS} limb-sites read on two days; there are ${seriesOf.length}.`,
        ),
      ],
    };
  const truths = truthsOf(error);
  const continuum = changeModelFit(pairs, truths.continuum);
  const classes = changeModelFit(pairs, truths.classes);
  const fit = { pairs, seriesOf, continuum, classes, continuumWeight: continuumWeight(continuum, classes) };
  const found = chancesOf(fit.pairs, fit.continuum, fit.classes);
  const chances: (ChangeProbability | undefined)[] = [...none];
  seriesOf.forEach((at, pair) => {
    chances[at] = found[pair]!;
  });
  const apart = found.filter(({ continuum, classes }) => Math.abs(continuum.stayed - classes.stayed) > GAP).length;
  if (apart > 0)
    notes.push(
      information(
        'models-differ',
        `For ${apart} limb-sites the two models differ by more than ${GAP} in the chance of change: it rests on how limbs lie between grades. The chance given is their mean, with weight ${fit.continuumWeight.toFixed(2)} on limbs along a continuum and ${(1 - fit.continuumWeight).toFixed(2)} on limbs in classes, as these readings bear them out.`,
      ),
    );
  const seen = new Set<string>();
  for (const one of [fit.continuum, fit.classes]) {
    if (!one.converged) notes.push(caution('not-converged', `The model of change did not converge (${one.how}).`));
    for (const note of one.notes) if (!seen.has(note.message) && seen.add(note.message)) notes.push(note);
  }
  return { chances, fit, notes };
}

/** The truth that each reading model supposes, with one more assessor at the end for those the study did not see. */
export function truthsOf(
  error: ReadingError,
  reading: {
    readonly positions: ReadingParameters;
    readonly classes: { readonly reading: ReadingParameters; readonly locations: ArrayLike<number> };
  } = {
    positions: error.continuum.reading,
    classes: error.classes,
  },
): { readonly continuum: TruthKind; readonly classes: TruthKind } {
  return {
    continuum: { kind: 'positions', reading: withAnyAssessor(reading.positions) },
    classes: {
      kind: 'classes',
      reading: withAnyAssessor(reading.classes.reading),
      locations: reading.classes.locations,
    },
  };
}

/**
 * Weight of the continuum against the classes: w = L₁ / (L₁ + L₂), L the maximized likelihood of the serial readings under each model of change, both thought equally likely
 * before. One reading a visit leaves w near ½; with more, the class model takes limbs near a cut for misread ones and is found out.
 *
 * Source: Hoeting JA, Madigan D, Raftery AE, Volinsky CT. Statistical Science 1999;14:382–417, doi:10.1214/ss/1009212519 (averaging over models by their posterior weights); the maximum stands for the
 * integral because the two have about as many free numbers under priors of like strength.
 */
export function continuumWeight(
  continuum: Pick<ChangeModelFit, 'logLikelihood'>,
  classes: Pick<ChangeModelFit, 'logLikelihood'>,
): number {
  return 1 / (1 + Math.exp(classes.logLikelihood - continuum.logLikelihood));
}

/** Chances of each pair, both models weighted (`continuumWeight`), in the order of the pairs. */
export function chancesOf(
  pairs: CompiledPairs,
  continuum: ChangeModelFit,
  classes: ChangeModelFit,
): ChangeProbability[] {
  const one = changeProbabilities(pairs, continuum.model);
  const two = changeProbabilities(pairs, classes.model);
  const weight = continuumWeight(continuum, classes);
  const mean = (first: number, second: number): number => weight * first + (1 - weight) * second;
  return Array.from(one.targets, (_, pair) => {
    const first = { rose: one.rose[pair]!, fell: one.fell[pair]!, stayed: one.stayed[pair]! };
    const second = { rose: two.rose[pair]!, fell: two.fell[pair]!, stayed: two.stayed[pair]! };
    return {
      rose: mean(first.rose, second.rose),
      fell: mean(first.fell, second.fell),
      stayed: mean(first.stayed, second.stayed),
      continuum: first,
      classes: second,
    };
  });
}

/** An assessor with tendency b ~ N(0, s²), s² the variance of the known tendencies: the same as no tendency and a wider spread. */
function withAnyAssessor(reading: ReadingParameters): ReadingParameters {
  const tendencies = Array.from(reading.tendencies);
  const spreads = Array.from(reading.spreads);
  const meanLog = spreads.reduce((sum, spread) => sum + Math.log(spread), 0) / spreads.length;
  const between =
    tendencies.reduce((sum, tendency) => sum + tendency * tendency, 0) / Math.max(1, tendencies.length - 1);
  return {
    cuts: reading.cuts,
    tendencies: [...tendencies, 0],
    spreads: [...spreads, Math.sqrt(Math.exp(2 * meanLog) + between)],
    slip: reading.slip,
  };
}

function pairsOf(
  series: readonly LimbSeries[],
  error: ReadingError,
  options: ChangeProbabilityOptions,
): { pairs: CompiledPairs | undefined; seriesOf: number[]; unknown: number; newGrades: number } {
  const readers = new Map(error.assessors.map((assessor, at) => [assessor, at]));
  const any = options.unknownAssessors === 'any assessor' ? error.assessors.length : undefined;
  const columns = {
    target: [] as number[],
    occasion: [] as number[],
    reader: [] as number[],
    category: [] as number[],
  };
  const seriesOf: number[] = [];
  let unknown = 0;
  let newGrades = 0;
  series.forEach((one, at) => {
    const first = one.readings[0]!.day;
    const last = one.readings.at(-1)!.day;
    if (first === last) return;
    const rows: { occasion: number; reader: number; category: number }[] = [];
    let strangers = 0;
    for (const reading of one.readings) {
      if (reading.day !== first && reading.day !== last) continue;
      const reader = readers.get(reading.assessor) ?? any;
      const category = error.gradeOf[reading.step]!;
      if (category < 0) newGrades++;
      else if (reader === undefined) strangers++;
      else rows.push({ occasion: reading.day === first ? 0 : 1, reader, category });
    }
    if (!rows.some((row) => row.occasion === 0) || !rows.some((row) => row.occasion === 1)) {
      if (strangers > 0) unknown++;
      return;
    }
    for (const row of rows) {
      columns.target.push(seriesOf.length);
      columns.occasion.push(row.occasion);
      columns.reader.push(row.reader);
      columns.category.push(row.category);
    }
    seriesOf.push(at);
  });
  const pairs =
    seriesOf.length === 0 ? undefined : pairedPatterns(columns, error.grades.length, error.assessors.length + 1);
  return { pairs, seriesOf, unknown, newGrades };
}

import { refuse } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';
import type { LongWorkOptions } from '../shared/options.js';
import { seededRandom } from '../shared/random.js';
import type { ChainLikelihood } from './chain-likelihood.js';
import { cholesky, inverseFromCholesky, solveCholesky, symmetricEigen } from './linear-algebra.js';
import { type Minimum, minimizeLong } from './optimize.js';
import { objectiveOf } from './value-and-gradient.js';

/** How a fit ended, how it knows, and what it took for granted. */
export interface FitReport {
  readonly converged: boolean;
  /** How the fit knows that it converged, or what is missing, in one sentence. */
  readonly how: string;
  /** What the fit takes for granted, each in one sentence. */
  readonly assumed: readonly string[];
  readonly notes: readonly Note[];
  readonly logLikelihood: number;
  /** Log-likelihood (with its penalty, where there is one) that each start led to, in the order of trying. */
  readonly starts: readonly number[];
  readonly iterations: number;
  /** max |gᵢ| over the parameters the data determine. */
  readonly gradientNorm: number;
}

export interface StartOptions extends LongWorkOptions {
  /** How many starts are tried: the one found from the data, then scattered ones. Default 3. */
  readonly starts?: number;
  /** Seed of the scattered starts. Default 20260301. */
  readonly seed?: number;
}

/** A parameter by its kind and its name in plain words, for notes. */
export interface NamedParameter {
  readonly kind: 'rate' | 'effect' | 'first state' | 'misreading' | 'reading';
  readonly name: string;
}

export interface MaximumFound {
  readonly point: Float64Array;
  readonly logLikelihood: number;
  readonly penalty: number;
  readonly converged: boolean;
  readonly how: string;
  readonly notes: readonly Note[];
  readonly starts: readonly number[];
  readonly iterations: number;
  readonly gradientNorm: number;
  /** Covariance of the parameters; rows of parameters that the data do not determine are `NaN`. */
  readonly covariance: Float64Array;
}

/** A parameter whose standard error passes this, on a logarithmic scale, is not determined by the data. */
const LARGEST_STANDARD_ERROR = 30;
/** Searches stop a little before their maximum; only the winner is finished. Ends this close are the same maximum. */
const SAME_MAXIMUM = 0.01;
/** Below this a ln intensity or ln odds has left for −∞. */
const GONE = -9;

/** The highest of several searches, with its covariance and, in plain words, what the data leave open. */
export async function maximizeChain(
  likelihood: Pick<ChainLikelihood, 'evaluate'>,
  start: Float64Array,
  names: readonly NamedParameter[],
  options: StartOptions,
): Promise<MaximumFound> {
  const count = options.starts ?? 3;
  const seed = options.seed ?? 20260301;
  if (!(Number.isInteger(count) && count >= 1))
    throw refuse('bad-option', ['options', 'starts'], `starts is ${count}, not a whole number from 1.`);
  const objective = objectiveOf((point) => {
    const { logLikelihood, penalty, gradient } = likelihood.evaluate(point);
    return { value: -(logLikelihood + penalty), gradient: gradient.map((slope) => -slope) };
  });
  let best: Minimum | undefined;
  const reached: number[] = [];
  for (let attempt = 0; attempt < count && !(attempt > 0 && options.signal?.aborted === true); attempt++) {
    const random = seededRandom(seed, attempt);
    const from = attempt === 0 ? start : start.map((value, i) => value + scatter(names[i]) * random.normal());
    // The last, exact steps and the curvature are for the winner only, and a scattered start need only show where it leads.
    const found = await minimizeLong(objective, from, {
      finalHessian: false,
      gradientTolerance: 1e-5,
      ...(attempt > 0 && { leastGain: 1e-3 }),
      ...(options.signal === undefined ? {} : { signal: options.signal }),
      progress: (share, words) =>
        options.progress?.((attempt + 0.9 * share) / count, `start ${attempt + 1} of ${count}: ${words}`),
    });
    reached.push(-found.value);
    if (best === undefined || found.value < best.value - SAME_MAXIMUM || Number.isNaN(best.value)) best = found;
  }
  if (best === undefined) throw new Error('No search was made.');
  const finished =
    best.stoppedBy === 'signal' || best.stoppedBy === 'bad-start'
      ? best
      : await minimizeLong(objective, best.point, {
          gradientTolerance: 1e-5,
          ...(options.signal === undefined ? {} : { signal: options.signal }),
        });
  const result = finished.value <= best.value ? finished : { ...best, hessian: finished.hessian };
  options.progress?.(1, 'done');

  const { logLikelihood, penalty } = likelihood.evaluate(result.point);
  const notes: Note[] = [];
  const open = undetermined(result, names, notes);
  const kept = names.map((_, i) => i).filter((i) => !open.has(i));
  const covariance = new Float64Array(names.length ** 2).fill(Number.NaN);
  let remaining = Number.NaN;
  if (result.hessian !== undefined) {
    const factor = Float64Array.from({ length: kept.length ** 2 }, (_, at) => {
      const [i, j] = [Math.floor(at / kept.length), at % kept.length];
      return (result.hessian as Float64Array)[(kept[i] as number) * names.length + (kept[j] as number)] as number;
    });
    if (cholesky(factor, kept.length)) {
      const step = Float64Array.from(kept, (i) => result.gradient[i] as number);
      solveCholesky(factor, kept.length, step);
      remaining = 0.5 * step.reduce((sum, s, i) => sum + s * (result.gradient[kept[i] as number] as number), 0);
      const inverse = inverseFromCholesky(factor, kept.length);
      kept.forEach((i, a) => {
        kept.forEach((j, b) => {
          covariance[i * names.length + j] = inverse[a * kept.length + b] as number;
        });
      });
    }
  }
  const agreed = reached.filter((value) => Math.abs(value + result.value) <= SAME_MAXIMUM).length;
  const converged =
    remaining <= 1e-8 + 1e-10 * Math.abs(result.value) &&
    (result.stoppedBy === 'gradient' || result.stoppedBy === 'no-progress');
  const gradientNorm = kept.reduce((largest, i) => Math.max(largest, Math.abs(result.gradient[i] as number)), 0);
  if (count > 1 && agreed < 2 && converged)
    notes.push(
      caution(
        'one-start-only',
        `Of ${reached.length} starts only one led to the highest log-likelihood; there may be a higher one: try more starts.`,
      ),
    );
  return {
    point: result.point,
    logLikelihood,
    penalty,
    converged,
    how: howItEnded(result, converged, remaining, gradientNorm, agreed, reached.length),
    notes,
    starts: reached,
    iterations: best.iterations + (finished === best ? 0 : finished.iterations),
    gradientNorm,
    covariance,
  };
}

/** A fit's report from the maximum found and what the model took for granted. */
export function reportOf(found: MaximumFound, assumed: readonly string[]): FitReport {
  const { converged, how, notes, logLikelihood, starts, iterations, gradientNorm } = found;
  return { converged, how, assumed, notes, logLikelihood, starts, iterations, gradientNorm };
}

function scatter(parameter: NamedParameter | undefined): number {
  return parameter?.kind === 'rate' || parameter?.kind === 'misreading' ? 0.7 : 0.3;
}

function howItEnded(
  result: Minimum,
  converged: boolean,
  remaining: number,
  gradientNorm: number,
  agreed: number,
  tried: number,
): string {
  if (result.stoppedBy === 'signal') return 'Stopped on request before it converged; the best point so far is kept.';
  if (result.stoppedBy === 'bad-start') return 'The log-likelihood is not finite at the start.';
  if (converged)
    return (
      `The largest slope is ${gradientNorm.toExponential(1)}, the curvature is that of a maximum, and by it the log-likelihood ` +
      `could still rise by ${Math.max(0, remaining).toExponential(1)}; ${agreed} of ${tried} starts led here.`
    );
  if (result.stoppedBy === 'iteration-limit') return `The limit of ${result.iterations} steps was reached.`;
  return 'The search stopped where the curvature is not that of a maximum: the data do not determine every parameter.';
}

/** Parameters that the data do not determine, with a note on each group and what would mend it. */
function undetermined(result: Minimum, names: readonly NamedParameter[], notes: Note[]): ReadonlySet<number> {
  const open = new Set<number>();
  const order = names.length;
  if (result.hessian === undefined || !result.hessian.every(Number.isFinite)) {
    for (let i = 0; i < order; i++) open.add(i);
    return open;
  }
  const { values, vectors } = symmetricEigen(result.hessian, order);
  const flat: Set<number>[] = [];
  for (let k = 0; k < order; k++) {
    if ((values[k] as number) > LARGEST_STANDARD_ERROR ** -2) continue;
    const involved = new Set<number>();
    for (let i = 0; i < order; i++) if (Math.abs(vectors[i * order + k] as number) > 0.2) involved.add(i);
    flat.push(involved);
  }
  for (const involved of flat) {
    for (const i of involved) open.add(i);
    const gone = [...involved].filter((i) => (result.point[i] as number) < GONE && isProbabilityLike(names[i]));
    if (gone.length === involved.size) {
      for (const i of gone) {
        const parameter = names[i] as NamedParameter;
        notes.push(
          caution(
            'estimate-at-zero',
            `The ${parameter.name} ran to 0, the edge of what is possible, and has no interval. ` +
              (parameter.kind === 'rate'
                ? 'The readings need no such change: leave it out of the allowed changes.'
                : 'The readings need no such misreading: leave it out of the allowed misreadings.'),
          ),
        );
      }
    } else {
      const listed = [...involved].map((i) => (names[i] as NamedParameter).name).join(', ');
      const kinds = new Set([...involved].map((i) => (names[i] as NamedParameter).kind));
      notes.push(
        caution(
          'not-identified',
          `The likelihood is flat: the data cannot tell these apart: ${listed}. ${remedy(kinds)}`,
        ),
      );
    }
  }
  return open;
}

function isProbabilityLike(parameter: NamedParameter | undefined): boolean {
  return parameter?.kind === 'rate' || parameter?.kind === 'misreading' || parameter?.kind === 'first state';
}

function remedy(kinds: ReadonlySet<NamedParameter['kind']>): string {
  if (kinds.has('effect')) return 'Leave out the covariate, or give the changes one common effect.';
  if (kinds.has('rate') && kinds.has('misreading'))
    return 'Allow only one-step changes, allow only misreadings by one grade, or add visits read by two assessors or with a known state.';
  if (kinds.has('misreading'))
    return 'Allow only misreadings by one grade, use one matrix for all readers, or add visits read by two assessors.';
  if (kinds.has('rate')) return 'Allow only one-step changes, or let several changes share one intensity.';
  if (kinds.has('first state')) return 'State the probabilities of the first state instead of estimating them.';
  return 'Hold the tendencies, spreads and the slip at the values of an agreement study.';
}

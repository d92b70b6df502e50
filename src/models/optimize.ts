import type { LongWorkOptions } from '../shared/options.js';
import { cholesky, solveCholesky } from './linear-algebra.js';

/** A function of several numbers to be minimized, such as −log likelihood. Points are never kept: copy one to keep it. */
export interface Objective {
  /** The value; `Infinity` or `NaN` where the point is not allowed. */
  readonly value: (point: Float64Array) => number;
  /** The gradient, a new array. Left out, it is taken by fourth-order differences of the value. */
  readonly gradient?: (point: Float64Array) => Float64Array;
  /** The Hessian, row by row. Given, steps are Newton's; left out, BFGS builds one up. */
  readonly hessian?: (point: Float64Array) => Float64Array;
}

export interface MinimizeOptions {
  /** Stop when max |gᵢ| max(1, |xᵢ|) ≤ this × max(1, |f|). Default 1e-6; Newton steps then finish. */
  readonly gradientTolerance?: number;
  /** Go on while the curvature that BFGS has seen promises a gain above this. Default 1e-10. */
  readonly leastGain?: number;
  /** Default 500. */
  readonly maximumIterations?: number;
  /** A guess at the inverse Hessian at the start, row by row, for BFGS to begin from. Default: none, a scaled identity. */
  readonly inverseHessian?: Float64Array;
  /** Finish with Newton steps on the Hessian at the end point, and report it. Default true. */
  readonly finalHessian?: boolean;
}

/** What ended the search. `no-progress` is the usual end at the limit of rounding: the Hessian then decides. */
export type StoppedBy = 'gradient' | 'no-progress' | 'iteration-limit' | 'bad-start' | 'signal';

/** How a search for a minimum ended and what shows that it arrived. */
export interface Convergence {
  /**
   * True when the search stopped by itself, the Hessian at its end is positive definite, and `remaining`
   * is at most 1e-8 + 1e-12 |f|. Without the final Hessian: when the gradient met its tolerance.
   */
  readonly converged: boolean;
  readonly stoppedBy: StoppedBy;
  readonly iterations: number;
  readonly evaluations: number;
  /** max |gᵢ| at the end. */
  readonly gradientNorm: number;
  /** ½ gᵀH⁻¹g: how much lower the minimum still is, by the local parabola. `NaN` when H is not positive definite or was not asked for. */
  readonly remaining: number;
  /** Whether the Hessian at the end is positive definite; `undefined` when it was not asked for. */
  readonly hessianPositiveDefinite: boolean | undefined;
}

export interface Minimum extends Convergence {
  readonly point: Float64Array;
  readonly value: number;
  readonly gradient: Float64Array;
  /** Row by row; `undefined` when it was not asked for or the search had no finite start. */
  readonly hessian: Float64Array | undefined;
}

/**
 * A local minimum of a smooth function from a start: BFGS (or Newton steps where the Hessian is given)
 * with a line search that meets the strong Wolfe conditions, finished by Newton steps. Deterministic.
 * Points where the value is not finite are stepped back from.
 * Source: Nocedal J, Wright SJ. Numerical Optimization, 2nd ed. Springer 2006, algorithms 3.5, 3.6 and 6.1,
 * doi:10.1007/978-0-387-40065-5; acceptance at the limit of rounding: Hager WW, Zhang H. SIAM J Optim
 * 2005;16:170–192, doi:10.1137/030601880.
 */
export function minimize(objective: Objective, start: ArrayLike<number>, options: MinimizeOptions = {}): Minimum {
  return finish(minimization(objective, start, options));
}

/** How long work goes on before it lets other work run. */
const PAUSE_MILLISECONDS = 40;

/**
 * The same digits as `minimize`, letting other work run between evaluations. A signal stops the search
 * at its next evaluation; the best point so far is kept and `stoppedBy` says `signal`. As the length of a
 * search is not known beforehand, `progress` hears 1 − 1/(1 + iterations/10).
 */
export function minimizeLong(
  objective: Objective,
  start: ArrayLike<number>,
  options: MinimizeOptions & LongWorkOptions = {},
): Promise<Minimum> {
  return finishLong(minimization(objective, start, options), options);
}

/** Where a search stands; it pauses with this after each evaluation, and ends early when resumed with `true`. */
export interface SearchStep {
  readonly iterations: number;
  readonly value: number;
}

/** A search in steps, to be run by `finish` or `finishLong`; a fit of several searches joins theirs with `yield*`. */
export type Search<T> = Generator<SearchStep, T, boolean | undefined>;

/** Runs a search to its end. */
export function finish<T>(search: Search<T>): T {
  for (;;) {
    const step = search.next();
    if (step.done === true) return step.value;
  }
}

/** Runs a search to its end, or until the signal, pausing so that other work can run. */
export async function finishLong<T>(search: Search<T>, options: LongWorkOptions): Promise<T> {
  let resumed = Date.now();
  let reported = -1;
  let share = 0;
  for (;;) {
    const step = search.next(options.signal?.aborted === true);
    if (step.done === true) return step.value;
    const { iterations, value } = step.value;
    if (iterations !== reported) {
      reported = iterations;
      // A second search within a fit counts from zero again; the share never goes back.
      share = Math.max(share, 1 - 1 / (1 + iterations / 10));
      options.progress?.(share, `step ${iterations}, criterion ${value.toPrecision(10)}`);
    }
    if (Date.now() - resumed > PAUSE_MILLISECONDS) {
      await new Promise((resolve) => setImmediate(resolve));
      resumed = Date.now();
    }
  }
}

/** Gradient by fourth-order central differences; the error is about ε^(4/5) of the function's scale. */
export function numericalGradient(value: (point: Float64Array) => number, point: ArrayLike<number>): Float64Array {
  const at = Float64Array.from(point);
  return at.map((center, i) => {
    const step = 1e-3 * Math.max(1, Math.abs(center));
    const valueAt = (offset: number): number => {
      at[i] = center + offset * step;
      return value(at);
    };
    const slope = (8 * (valueAt(1) - valueAt(-1)) - (valueAt(2) - valueAt(-2))) / (12 * step);
    at[i] = center;
    return slope;
  });
}

/**
 * Hessian by fourth-order central differences: of the gradient where it is given, made symmetric, else of
 * the value along every axis and every diagonal of two axes.
 */
export function numericalHessian(objective: Objective, point: ArrayLike<number>): Float64Array {
  return finish(hessianSteps(objective, Float64Array.from(point), { iterations: 0, value: 0 }));
}

function* hessianSteps(objective: Objective, point: Float64Array, step: SearchStep): Search<Float64Array> {
  return objective.gradient === undefined
    ? hessianFromValues(objective.value, point)
    : yield* hessianFromGradients(objective.gradient, Float64Array.from(point), step);
}

function* hessianFromGradients(
  gradientOf: (point: Float64Array) => Float64Array,
  at: Float64Array,
  pause: SearchStep,
): Search<Float64Array> {
  const order = at.length;
  const raw = new Float64Array(order * order);
  for (let i = 0; i < order; i++) {
    const center = at[i] as number;
    const step = 1e-3 * Math.max(1, Math.abs(center));
    const gradients: Float64Array[] = [];
    for (const offset of [1, -1, 2, -2]) {
      at[i] = center + offset * step;
      gradients.push(gradientOf(at));
      yield pause;
    }
    const [up, down, farUp, farDown] = gradients as [Float64Array, Float64Array, Float64Array, Float64Array];
    at[i] = center;
    for (let j = 0; j < order; j++)
      raw[i * order + j] =
        (8 * ((up[j] as number) - (down[j] as number)) - ((farUp[j] as number) - (farDown[j] as number))) / (12 * step);
  }
  return raw.map((entry, k) => (entry + (raw[(k % order) * order + Math.floor(k / order)] as number)) / 2);
}

function hessianFromValues(value: (point: Float64Array) => number, at: Float64Array): Float64Array {
  const order = at.length;
  const steps = at.map((center) => 2.5e-3 * Math.max(1, Math.abs(center)));
  const center = value(at);
  const along = (i: number, j: number): number => {
    const valueAt = (offset: number): number => {
      const moved = Float64Array.from(at);
      moved[i] = (moved[i] as number) + offset * (steps[i] as number);
      if (j !== i) moved[j] = (moved[j] as number) + offset * (steps[j] as number);
      return value(moved);
    };
    return (16 * (valueAt(1) + valueAt(-1)) - (valueAt(2) + valueAt(-2)) - 30 * center) / 12;
  };
  const pure = Float64Array.from(at, (_, i) => along(i, i));
  const hessian = new Float64Array(order * order);
  for (let i = 0; i < order; i++) {
    hessian[i * order + i] = (pure[i] as number) / (steps[i] as number) ** 2;
    for (let j = 0; j < i; j++) {
      const mixed = (along(i, j) - (pure[i] as number) - (pure[j] as number)) / 2;
      hessian[i * order + j] = mixed / ((steps[i] as number) * (steps[j] as number));
      hessian[j * order + i] = hessian[i * order + j] as number;
    }
  }
  return hessian;
}

/** The search of `minimize` in steps. */
export function* minimization(
  objective: Objective,
  start: ArrayLike<number>,
  options: MinimizeOptions = {},
): Search<Minimum> {
  const tolerance = options.gradientTolerance ?? 1e-6;
  const leastGain = options.leastGain ?? 1e-10;
  const limit = options.maximumIterations ?? 500;
  const order = start.length;
  const gradientOf = objective.gradient ?? ((p: Float64Array) => numericalGradient(objective.value, p));
  let point = Float64Array.from(start);
  let iterations = 0;
  let evaluations = 1;
  let value = objective.value(point);
  let gradient = Number.isFinite(value) ? gradientOf(point) : new Float64Array(order).fill(Number.NaN);
  let stoppedBy: StoppedBy | undefined =
    Number.isFinite(value) && gradient.every(Number.isFinite) ? undefined : 'bad-start';
  let inverse = options.inverseHessian ?? identity(order);
  let fresh = options.inverseHessian === undefined;

  while (stoppedBy === undefined) {
    // The gradient in the units of the criterion; once BFGS knows the curvature, also the gain still to be had.
    const gain = fresh || objective.hessian !== undefined ? 0 : 0.5 * dot(gradient, times(inverse, gradient));
    const scale = Math.max(1, Math.abs(value));
    if (scaledNorm(gradient, point) <= tolerance * scale && gain <= leastGain + 1e-14 * scale) {
      stoppedBy = 'gradient';
      break;
    }
    if (iterations >= limit) {
      stoppedBy = 'iteration-limit';
      break;
    }
    let direction: Float64Array;
    if (objective.hessian !== undefined) {
      direction = newtonDirection(objective.hessian(point), gradient, order);
    } else {
      direction = negated(times(inverse, gradient));
      if (!(dot(direction, gradient) < 0)) {
        inverse = identity(order);
        fresh = true;
        direction = negated(gradient);
      }
    }
    // With no curvature known yet a unit step has no meaning: the first moves the point by about its own size at most.
    const firstLength =
      objective.hessian === undefined && fresh ? Math.min(1, 1 / Math.max(1e-300, norm(gradient))) : 1;
    const found: LineResult = yield* lineSearch(
      objective.value,
      gradientOf,
      { point, value, gradient },
      direction,
      firstLength,
      iterations,
    );
    evaluations += found.evaluations;
    if (found.stopped) {
      stoppedBy = 'signal';
    } else if (found.length === 0) {
      if (fresh || objective.hessian !== undefined) {
        stoppedBy = 'no-progress';
        break;
      }
      inverse = identity(order);
      fresh = true;
      continue;
    }
    if (found.length > 0) {
      const moved = Float64Array.from(point, (x, i) => (found.point[i] as number) - x);
      const turned = Float64Array.from(gradient, (g, i) => (found.gradient[i] as number) - g);
      if (objective.hessian === undefined) {
        inverse = bfgsUpdate(inverse, moved, turned, fresh);
        fresh = false;
      }
      point = Float64Array.from(found.point);
      value = found.value;
      gradient = Float64Array.from(found.gradient);
      iterations++;
    }
  }

  let hessian: Float64Array | undefined;
  let remaining = Number.NaN;
  let positiveDefinite: boolean | undefined;
  if ((options.finalHessian ?? true) && stoppedBy !== 'bad-start' && stoppedBy !== 'signal') {
    let factor = new Float64Array(0);
    for (let polish = 0; ; polish++) {
      // Taken by differences it costs much, and a step this short leaves it as it was.
      if (objective.hessian !== undefined || !(remaining <= 1e-10)) {
        hessian = objective.hessian?.(point) ?? (yield* hessianSteps(objective, point, { iterations, value }));
        factor = Float64Array.from(hessian);
        positiveDefinite = hessian.every(Number.isFinite) && cholesky(factor, order);
        if (!positiveDefinite) {
          remaining = Number.NaN;
          break;
        }
      }
      const step = negated(gradient);
      solveCholesky(factor, order, step);
      remaining = -0.5 * dot(step, gradient);
      if (remaining <= 1e-20 * Math.max(1, Math.abs(value)) || polish === 4) break;
      const next = Float64Array.from(point, (x, i) => x + (step[i] as number));
      const nextValue = objective.value(next);
      evaluations++;
      yield { iterations, value };
      // Rounding in the value hides the last steps; the gradient still shows them.
      if (!(nextValue <= value + 1e-12 * Math.max(1, Math.abs(value)))) break;
      const nextGradient = gradientOf(next);
      if (!nextGradient.every(Number.isFinite) || scaledNorm(nextGradient, next) >= scaledNorm(gradient, point)) break;
      point = next;
      value = nextValue;
      gradient = nextGradient;
    }
  }

  const stoppedItself = stoppedBy === 'gradient' || stoppedBy === 'no-progress';
  const arrived =
    positiveDefinite === undefined
      ? stoppedBy === 'gradient'
      : positiveDefinite && remaining <= 1e-8 + 1e-12 * Math.abs(value);
  return {
    point,
    value,
    gradient,
    hessian,
    converged: stoppedItself && arrived,
    stoppedBy,
    iterations,
    evaluations,
    gradientNorm: gradient.reduce((largest, g) => Math.max(largest, Math.abs(g)), 0),
    remaining,
    hessianPositiveDefinite: positiveDefinite,
  };
}

interface Place {
  readonly point: Float64Array;
  readonly value: number;
  readonly gradient: Float64Array;
}

interface LineResult extends Place {
  /** 0 when no step was found. */
  readonly length: number;
  readonly evaluations: number;
  readonly stopped: boolean;
}

interface Trial {
  readonly length: number;
  readonly value: number;
  readonly slope: number;
  readonly gradient: Float64Array;
}

const SUFFICIENT_DECREASE = 1e-4;
const CURVATURE = 0.9;
const LINE_LIMIT = 40;

/** A step along `direction` that meets the strong Wolfe conditions, by bracketing and cubic interpolation. */
function* lineSearch(
  objectiveAt: (point: Float64Array) => number,
  gradientOf: (point: Float64Array) => Float64Array,
  from: Place,
  direction: Float64Array,
  firstLength: number,
  iterations: number,
): Search<LineResult> {
  const slope0 = dot(direction, from.gradient);
  const noise = 1e-13 * Math.max(1, Math.abs(from.value));
  const along = (length: number): Float64Array =>
    Float64Array.from(from.point, (x, i) => x + length * (direction[i] as number));
  let evaluations = 0;
  let stopped = false;
  let low: Trial = { length: 0, value: from.value, slope: slope0, gradient: from.gradient };
  let high: Trial | undefined;
  let length = firstLength;
  let accepted: Trial | undefined;

  while (evaluations < LINE_LIMIT && accepted === undefined) {
    const point = along(length);
    const value = objectiveAt(point);
    evaluations++;
    stopped = (yield { iterations, value: from.value }) === true;
    if (stopped) break;
    const decreased =
      value <= from.value + SUFFICIENT_DECREASE * length * slope0 && (low.length === 0 || value < low.value);
    if (!decreased && !(Math.abs(value - from.value) <= noise)) {
      high = { length, value, slope: Number.NaN, gradient: low.gradient };
    } else {
      const gradient = gradientOf(point);
      const slope = dot(direction, gradient);
      const trial: Trial = { length, value, slope, gradient };
      const flatEnough = Math.abs(slope) <= -CURVATURE * slope0;
      if (!Number.isFinite(slope)) high = { ...trial, value: Number.NaN, slope: Number.NaN };
      // Where rounding hides the decrease the slope alone decides (Hager and Zhang's approximate condition follows from it).
      else if (flatEnough) accepted = trial;
      else if (!decreased) high = trial;
      else {
        // The minimum lies between the new point and whichever end its slope points away from.
        if (slope * ((high?.length ?? Number.POSITIVE_INFINITY) - low.length) >= 0) high = low;
        low = trial;
      }
    }
    if (high === undefined) length *= 4;
    else {
      if (Math.abs(high.length - low.length) <= 1e-15 * Math.max(high.length, low.length)) break;
      length = between(low, high);
    }
  }
  // A step that lowers the value is worth taking even where the curvature condition could not be met.
  const best = accepted ?? (low.length > 0 ? low : undefined);
  if (best === undefined) return { ...from, length: 0, evaluations, stopped };
  return {
    point: along(best.length),
    value: best.value,
    gradient: best.gradient,
    length: best.length,
    evaluations,
    stopped,
  };
}

/** The minimum of the parabola or cubic through two trials, kept a tenth of the way from either end. */
function between(low: Trial, high: Trial): number {
  const width = high.length - low.length;
  let share = 0.5;
  if (Number.isFinite(high.value)) {
    if (Number.isFinite(high.slope)) {
      const d1 = low.slope + high.slope - (3 * (high.value - low.value)) / width;
      const d2 = Math.sign(width) * Math.sqrt(Math.max(0, d1 * d1 - low.slope * high.slope));
      share = 1 - (high.slope + d2 - d1) / (high.slope - low.slope + 2 * d2);
    } else {
      const curvature = high.value - low.value - low.slope * width;
      share = (-low.slope * width) / (2 * curvature);
    }
  } else share = 0.1;
  if (!Number.isFinite(share)) share = 0.5;
  return low.length + Math.min(0.9, Math.max(0.1, share)) * width;
}

/** Newton's direction, with the diagonal raised until the Hessian is positive definite. */
function newtonDirection(hessian: Float64Array, gradient: Float64Array, order: number): Float64Array {
  let scale = 0;
  for (let i = 0; i < order; i++) scale = Math.max(scale, Math.abs(hessian[i * order + i] as number));
  if (!(scale > 0) || !hessian.every(Number.isFinite)) return negated(gradient);
  for (let ridge = 0; ; ridge = ridge === 0 ? 1e-10 * scale : ridge * 10) {
    const factor = Float64Array.from(hessian);
    for (let i = 0; i < order; i++) factor[i * order + i] = (factor[i * order + i] as number) + ridge;
    if (cholesky(factor, order)) {
      const direction = negated(gradient);
      solveCholesky(factor, order, direction);
      return direction;
    }
  }
}

/** The BFGS update of the inverse Hessian; left as it was where the curvature along the step is not positive. */
function bfgsUpdate(inverse: Float64Array, moved: Float64Array, turned: Float64Array, fresh: boolean): Float64Array {
  const order = moved.length;
  const curvature = dot(moved, turned);
  if (!(curvature > 1e-14 * norm(moved) * norm(turned))) return inverse;
  if (fresh) {
    const size = curvature / dot(turned, turned);
    inverse = identity(order).map((entry) => entry * size);
  }
  const product = times(inverse, turned);
  const factor = (1 + dot(turned, product) / curvature) / curvature;
  const updated = new Float64Array(order * order);
  for (let i = 0; i < order; i++)
    for (let j = 0; j < order; j++)
      updated[i * order + j] =
        (inverse[i * order + j] as number) +
        factor * (moved[i] as number) * (moved[j] as number) -
        ((product[i] as number) * (moved[j] as number) + (moved[i] as number) * (product[j] as number)) / curvature;
  return updated;
}

function scaledNorm(gradient: Float64Array, point: Float64Array): number {
  return gradient.reduce(
    (largest, g, i) => Math.max(largest, Math.abs(g) * Math.max(1, Math.abs(point[i] as number))),
    0,
  );
}

function identity(order: number): Float64Array {
  const matrix = new Float64Array(order * order);
  for (let i = 0; i < order; i++) matrix[i * order + i] = 1;
  return matrix;
}

function times(matrix: Float64Array, vector: Float64Array): Float64Array {
  const order = vector.length;
  return Float64Array.from(vector, (_, i) => {
    let sum = 0;
    for (let j = 0; j < order; j++) sum += (matrix[i * order + j] as number) * (vector[j] as number);
    return sum;
  });
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += (a[i] as number) * (b[i] as number);
  return sum;
}

function norm(a: Float64Array): number {
  return Math.sqrt(dot(a, a));
}

function negated(a: Float64Array): Float64Array {
  return a.map((value) => -value);
}

import { studentT } from '../shared/distributions.js';
import type { Interval } from '../shared/estimate.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';
import { checkIntervalOptions, type LongWorkOptions } from '../shared/options.js';
import { type DesignColumns, type NamedColumns, readColumn, readDesign } from './design-columns.js';
import { type GroupEffects, groupEffects } from './group-effects.js';
import { symmetricInverse } from './linear-algebra.js';
import { LinearMixedCriterion } from './linear-mixed-criterion.js';
import { minimizationOnEdge } from './minimization-on-edge.js';
import { type Convergence, finish, finishLong, type Minimum, type Search } from './optimize.js';
import { checkTerms, type RandomBlock, type RandomTerm, RandomTerms } from './random-terms.js';
import {
  boundaryNotes,
  type Coefficient,
  componentDerivatives,
  edgesOf,
  entriesOf,
  type VarianceComponent,
  varianceComponent,
} from './variance-component.js';

/** What a linear mixed model is fitted to. */
export interface LinearMixedProblem {
  /** One number a row. */
  readonly response: ArrayLike<number>;
  /** Columns with fixed effects by name; categories as indicator columns. Default: none. */
  readonly fixed?: NamedColumns;
  /** Whether a column of ones is added first. Default true. */
  readonly intercept?: boolean;
  /** Random effects; groups may be nested (`within`) or crossed. */
  readonly random: readonly RandomTerm[];
  /** Restricted or full maximum likelihood. Default `'REML'`. */
  readonly method?: 'REML' | 'ML';
  /** Coverage of the intervals of the fixed effects. Default 0.95. */
  readonly confidenceLevel?: number;
}

/** A fixed effect. Its interval is by t with Satterthwaite's degrees of freedom. */
export interface FixedEffect extends Coefficient {
  readonly degreesOfFreedom: number;
  readonly interval: Interval;
}

export interface LinearMixedFit {
  readonly kind: 'linear-mixed-fit';
  readonly method: 'REML' | 'ML';
  readonly fixed: readonly FixedEffect[];
  /** Covariance of the fixed effects, row by row. */
  readonly fixedCovariance: Float64Array;
  readonly components: readonly VarianceComponent[];
  readonly residual: {
    readonly variance: number;
    readonly standardError: number;
    readonly standardDeviation: number;
  };
  /**
   * Large-sample covariance of (the components in order, each variance, or variance, covariance, variance
   * with a slope; then the residual variance), row by row; `NaN` for those on the boundary.
   */
  readonly componentCovariance: Float64Array;
  /** −2 ln of the likelihood, restricted with REML. */
  readonly criterion: number;
  readonly logLikelihood: number;
  /** Fixed effects, variances, covariances and the residual variance. */
  readonly parameters: number;
  readonly effects: Readonly<Record<string, GroupEffects>>;
  readonly counts: { readonly rows: number; readonly groups: Readonly<Record<string, number>> };
  readonly convergence: Convergence;
  readonly assumptions: readonly string[];
  readonly notes: readonly Note[];
}

const ASSUMPTIONS: readonly string[] = [
  'Residuals are normal and independent with one variance.',
  'Random effects are normal, independent between groups and between terms.',
  'Rows that are absent are absent at random, given what the model holds.',
];

/**
 * The linear mixed model y = Xβ + Σ Zₖbₖ + ε by restricted or full maximum likelihood, with nested and
 * crossed random intercepts and slopes correlated with them. It maximizes the likelihood profiled over β
 * and σ² (see `LinearMixedCriterion`), X the fixed columns, Zₖ the groups of term k, bₖ ~ N(0, Σₖ) in
 * every group, ε ~ N(0, σ²). Rows need not be balanced.
 *
 * A fixed effect's interval is β̂ ± t SE, t on Satterthwaite's ν = 2C² / (gᵀAg) degrees of freedom, C its squared standard error, g the
 * derivatives of C by the free parameters of the variances and A their covariance from the curvature of the criterion. A variance at zero
 * counts as known to be zero.
 *
 * Undefined: degrees of freedom and interval where the curvature is not that of a minimum; else nothing. A variance at zero or a correlation at ±1 is said in `notes`, and a model without a
 * residual variance is reported as not converged.
 * Missing values are refused: leave such rows out and say how many.
 *
 * @param problem response, fixed columns and random terms, one entry a row
 * @throws InputError `wrong-length`, `not-finite`, `reserved-name`, `collinear-column`, `no-random-term`,
 * `repeated-name`, `missing-group`, `unknown-term`, `one-group`, `one-row-a-group`, `same-groups`,
 * `constant-slope`, `too-many-crossed-groups`, `no-variation`, `too-few-rows`, `bad-option` (confidenceLevel)
 * @example
 * // Two assessors, three patients: variance between patients 4, within 0.5.
 * linearMixedModel({ response: [1, 2, 3, 4, 5, 6], random: [{ name: 'patient', groups: [1, 1, 2, 2, 3, 3] }] })
 *   .components[0].variance; // 3.75
 *
 * Source: Patterson HD, Thompson R. Biometrika 1971;58:545–554, doi:10.1093/biomet/58.3.545; Bates D et al.
 * J Stat Softw 2015;67(1), doi:10.18637/jss.v067.i01; degrees of freedom: Giesbrecht FG, Burns JC. Biometrics 1985;41:477–486, doi:10.2307/2530872.
 */
export function linearMixedModel(problem: LinearMixedProblem): LinearMixedFit {
  return finish(fitting(problem));
}

/**
 * The same digits as `linearMixedModel`, for hundreds of thousands of rows: lets other work run, reports progress,
 * and stops at a signal with the best point so far, which is then reported as not converged.
 */
export function linearMixedModelLong(
  problem: LinearMixedProblem,
  options: LongWorkOptions = {},
): Promise<LinearMixedFit> {
  return finishLong(fitting(problem), options);
}

function* fitting(problem: LinearMixedProblem): Search<LinearMixedFit> {
  const prepared = prepareLinearMixed(problem);
  return describe(prepared, yield* searchingTheta(prepared));
}

/** A problem that has been checked, with its criterion. */
export interface PreparedLinearMixed {
  readonly method: 'REML' | 'ML';
  readonly confidenceLevel: number;
  readonly design: DesignColumns;
  readonly response: Float64Array;
  readonly terms: RandomTerms;
  readonly criterion: LinearMixedCriterion;
  /** The terms as the user ordered them. */
  readonly blocks: readonly RandomBlock[];
}

export function prepareLinearMixed(problem: LinearMixedProblem): PreparedLinearMixed {
  const problems: Problem[] = [];
  const rows = problem.response.length;
  const response = readColumn(['response'], problem.response, rows, problems);
  const design = readDesign('fixed', problem.fixed ?? {}, rows, problem.intercept ?? true, problems);
  if (problem.random.length === 0)
    problems.push({
      code: 'no-random-term',
      path: ['random'],
      message: 'A mixed model needs a random term.',
      mend: 'Name the groups that rows share, such as the patient.',
    });
  const checked = checkTerms(problem.random, rows, problems, false);
  const needed = design.columns.length + 2;
  if (rows < needed)
    problems.push({
      code: 'too-few-rows',
      path: ['response'],
      message: `There are ${rows} rows for ${design.columns.length} fixed effects and the variances.`,
      expected: `at least ${needed} rows`,
    });
  if (problems.length > 0) throw new InputError(problems);
  const terms = new RandomTerms(rows, checked);
  const method = problem.method ?? 'REML';
  const { confidenceLevel } = checkIntervalOptions(
    problem.confidenceLevel === undefined ? {} : { confidenceLevel: problem.confidenceLevel },
  );
  const criterion = new LinearMixedCriterion(terms, design, response, method === 'REML');
  const blocks = problem.random.map(({ name }) => terms.blocks.find((block) => block.name === name) as RandomBlock);
  return { method, confidenceLevel, design, response, terms, criterion, blocks };
}

/** θ at the minimum of the profiled criterion. Entries on the boundary are exactly 0. */
export function searchTheta(prepared: PreparedLinearMixed): Minimum {
  return finish(searchingTheta(prepared));
}

function* searchingTheta({ terms, criterion }: PreparedLinearMixed): Search<Minimum> {
  // Each θ is searched in units of the standard error of a group's mean, so that steps suit small and large groups.
  const units = new Float64Array(terms.parameterCount);
  for (const { parameter, width, levels } of terms.blocks)
    units.fill(Math.sqrt(terms.rows / levels.length), parameter, parameter + (width * (width + 1)) / 2);
  const objective = {
    value: (point: Float64Array) => criterion.value(point.map((x, k) => x / (units[k] as number))),
    gradient: (point: Float64Array) =>
      criterion.gradient(point.map((x, k) => x / (units[k] as number))).theta.map((g, k) => g / (units[k] as number)),
  };
  const diagonal = terms.diagonal();
  const from = (size: number): Float64Array => {
    const start = new Float64Array(terms.parameterCount);
    for (const k of diagonal) start[k] = size * (units[k] as number);
    return start;
  };
  // For a variance v of q groups −2 ln L is about q ln v + S/v, whose curvature in θ is 4q/θ².
  const guess = (start: Float64Array): Float64Array => {
    const inverse = new Float64Array(start.length ** 2);
    for (const { parameter, width, levels } of terms.blocks)
      for (let k = parameter; k < parameter + (width * (width + 1)) / 2; k++)
        inverse[k * (start.length + 1)] = (start[parameter] as number) ** 2 / (4 * levels.length);
    return inverse;
  };
  const search = (size: number): Search<Minimum> => {
    const start = from(size);
    return minimizationOnEdge(objective, start, guess(start), terms.blocks, 0);
  };
  let found = yield* search(1);
  // A search that ends on the edge may have slid past a maximum inside: try from small effects too.
  const onEdge = diagonal.some((k) => found.point[k] === 0);
  if (found.stoppedBy !== 'signal' && (!found.converged || onEdge)) {
    const second = yield* search(0.1);
    if (second.value < found.value - 1e-9 || (second.converged && !found.converged)) found = second;
  }
  return {
    ...found,
    point: terms.positive(found.point.map((x, k) => x / (units[k] as number))),
    gradient: found.gradient.map((g, k) => g * (units[k] as number)),
    hessian: found.hessian?.map(
      (h, k) => h * (units[Math.floor(k / units.length)] as number) * (units[k % units.length] as number),
    ),
  };
}

function describe(prepared: PreparedLinearMixed, minimum: Minimum): LinearMixedFit {
  const { method, confidenceLevel, design, terms, criterion, blocks } = prepared;
  const theta = minimum.point;
  const variance = criterion.penalizedSquares(theta) / criterion.degrees;
  const { fixed, covariance, spherical } = criterion.estimates(theta);
  const fixedCovariance = covariance.map((entry) => entry * variance);
  const count = fixed.length;
  const search = covarianceOfSearch(prepared, minimum);
  const { componentCovariance, size } = covarianceOfComponents(prepared, minimum, search, variance);
  const standardError = (k: number): number => Math.sqrt(componentCovariance[k * (size + 1)] as number);
  let at = 0;
  const components = blocks.map((block) => {
    const component = varianceComponent(block, theta, variance, standardError(at), standardError(at + 2));
    at += entriesOf(block);
    return component;
  });
  const noResidual = criterion.leavesNothing(theta);
  const degrees = degreesOfFreedom(criterion, theta, covariance, noResidual ? undefined : search);
  return {
    kind: 'linear-mixed-fit',
    method,
    fixed: design.names.map((name, j) => {
      const value = fixed[j] as number;
      const own = Math.sqrt(fixedCovariance[j * (count + 1)] as number);
      const degreesOfFreedom = degrees[j] as number;
      const reach = studentT.quantile((1 + confidenceLevel) / 2, degreesOfFreedom) * own;
      return {
        name,
        value,
        standardError: own,
        degreesOfFreedom,
        interval: {
          lower: value - reach,
          upper: value + reach,
          level: confidenceLevel,
          method: Number.isNaN(degreesOfFreedom)
            ? 't, degrees of freedom not defined'
            : `t with ${degreesOfFreedom.toFixed(1)} degrees of freedom (Satterthwaite)`,
        },
      };
    }),
    fixedCovariance,
    components,
    residual: { variance, standardError: standardError(size - 1), standardDeviation: Math.sqrt(variance) },
    componentCovariance,
    criterion: minimum.value,
    logLikelihood: -minimum.value / 2,
    parameters: count + terms.parameterCount + 1,
    effects: groupEffects(terms, blocks, theta, spherical, criterion.selectedInverse(theta), Math.sqrt(variance)),
    counts: {
      rows: terms.rows,
      groups: Object.fromEntries(blocks.map((block) => [block.name, block.levels.length])),
    },
    convergence: {
      converged: minimum.converged && !noResidual,
      stoppedBy: minimum.stoppedBy,
      iterations: minimum.iterations,
      evaluations: minimum.evaluations,
      gradientNorm: minimum.gradientNorm,
      remaining: minimum.remaining,
      hessianPositiveDefinite: minimum.hessianPositiveDefinite,
    },
    assumptions: ASSUMPTIONS,
    notes: notesOn(components, minimum, noResidual, degrees.some(Number.isNaN)),
  };
}

/** The parameters of the search, θ and then ln σ, that do not stand on an edge, and their covariance, row by row. */
interface SearchCovariance {
  readonly free: readonly number[];
  readonly covariance: Float64Array;
}

/** 2 H⁻¹ of the criterion in (θ, ln σ); `undefined` where H is not that of a minimum. */
function covarianceOfSearch(
  { criterion, blocks }: PreparedLinearMixed,
  minimum: Minimum,
): SearchCovariance | undefined {
  if (minimum.hessian === undefined) return undefined;
  const theta = minimum.point;
  const order = theta.length;
  const edges = edgesOf(blocks, theta);
  const slope = criterion.logSquaresGradient(theta);
  const free = Array.from({ length: order + 1 }, (_, k) => k).filter((k) => !edges.has(k));
  const entry = (i: number, j: number): number => {
    const profiled = minimum.hessian as Float64Array;
    if (i === order && j === order) return 4 * criterion.degrees;
    if (i === order) return -2 * criterion.degrees * (slope[j] as number);
    if (j === order) return -2 * criterion.degrees * (slope[i] as number);
    return (profiled[i * order + j] as number) + criterion.degrees * (slope[i] as number) * (slope[j] as number);
  };
  const full = Float64Array.from({ length: free.length ** 2 }, (_, k) =>
    entry(free[Math.floor(k / free.length)] as number, free[k % free.length] as number),
  );
  const inverse = symmetricInverse(full, free.length);
  return inverse === undefined ? undefined : { free, covariance: inverse.map((value) => 2 * value) };
}

/** The covariance of the search's parameters, carried over to the variances by their derivatives. */
function covarianceOfComponents(
  { blocks }: PreparedLinearMixed,
  minimum: Minimum,
  search: SearchCovariance | undefined,
  variance: number,
): { componentCovariance: Float64Array; size: number } {
  const theta = minimum.point;
  const order = theta.length;
  const size = order + 1;
  const componentCovariance = new Float64Array(size * size).fill(Number.NaN);
  if (search === undefined) return { componentCovariance, size };
  const { free, covariance } = search;
  const derivatives = blocks.flatMap((block) => componentDerivatives(block, theta, variance));
  const residualRow = new Float64Array(size);
  residualRow[order] = 2 * variance;
  derivatives.push(residualRow);
  derivatives.forEach((left, i) => {
    derivatives.forEach((right, j) => {
      if (left === undefined || right === undefined) return;
      let sum = 0;
      free.forEach((k, a) => {
        free.forEach((l, b) => {
          sum += (left[k] as number) * (covariance[a * free.length + b] as number) * (right[l] as number);
        });
      });
      componentCovariance[i * size + j] = sum;
    });
  });
  return { componentCovariance, size };
}

/**
 * Satterthwaite's degrees of freedom of each fixed effect. C = σ² c(θ), so that its derivative by ln σ is 2C; those by θ are differences to the
 * fourth order.
 */
function degreesOfFreedom(
  criterion: LinearMixedCriterion,
  theta: Float64Array,
  atTheta: Float64Array,
  search: SearchCovariance | undefined,
): Float64Array {
  const count = Math.sqrt(atTheta.length);
  const squares = Float64Array.from({ length: count }, (_, j) => atTheta[j * (count + 1)] as number);
  if (search === undefined) return squares.fill(Number.NaN);
  const { free, covariance } = search;
  const slopes = free.map((k) => {
    if (k === theta.length) return squares.map((square) => 2 * square);
    const step = 1e-3 * Math.max(Math.abs(theta[k] as number), 1e-3);
    const slope = new Float64Array(count);
    for (const [by, weight] of DIFFERENCES) {
      const point = theta.slice();
      point[k]! += by * step;
      const there = criterion.estimates(point).covariance;
      for (let j = 0; j < count; j++) slope[j]! += (weight * (there[j * (count + 1)] as number)) / step;
    }
    return slope;
  });
  return squares.map((square, j) => {
    let variance = 0;
    slopes.forEach((left, a) => {
      slopes.forEach((right, b) => {
        variance += (left[j] as number) * (covariance[a * free.length + b] as number) * (right[j] as number);
      });
    });
    return (2 * square * square) / variance;
  });
}

/** Steps and weights of the central difference of fourth order. */
const DIFFERENCES = [
  [-2, 1 / 12],
  [-1, -8 / 12],
  [1, 8 / 12],
  [2, -1 / 12],
] as const;

function notesOn(
  components: readonly VarianceComponent[],
  minimum: Minimum,
  noResidual: boolean,
  noDegrees: boolean,
): Note[] {
  const notes = boundaryNotes(components);
  if (noResidual)
    notes.push(
      caution(
        'no-residual-variance',
        'The model leaves no residual variance: the likelihood grows without bound and the variances are not defined.',
      ),
    );
  else if (!minimum.converged)
    notes.push(
      caution(
        'not-converged',
        `The search for the maximum did not arrive (stopped by ${minimum.stoppedBy}); do not use these estimates.`,
      ),
    );
  else if (noDegrees)
    notes.push(
      caution(
        'no-degrees-of-freedom',
        'The curvature of the likelihood is not that of a maximum, so the fixed effects have no interval.',
      ),
    );
  return notes;
}

/**
 * −2 ln of the (restricted) likelihood at given variances, the fixed effects at their best.
 *
 * @param problem as for `linearMixedModel`
 * @param components for each term its variance, or with a slope [variance, covariance, slope variance]
 * @param residualVariance above 0
 * @throws InputError as `linearMixedModel`, and `bad-component` for a matrix that is no covariance
 */
export function linearMixedCriterion(
  problem: LinearMixedProblem,
  components: Readonly<Record<string, number | readonly [number, number, number]>>,
  residualVariance: number,
): number {
  const { terms, criterion } = prepareLinearMixed(problem);
  const problems: Problem[] = [];
  if (!(residualVariance > 0))
    problems.push({
      code: 'bad-component',
      path: ['residualVariance'],
      message: 'The residual variance must be above 0.',
    });
  const theta = new Float64Array(terms.parameterCount);
  for (const block of terms.blocks) {
    const given = components[block.name];
    const [variance, covariance, slopeVariance] = typeof given === 'number' ? [given, 0, 0] : (given ?? [-1, 0, 0]);
    const first = Math.sqrt(variance / residualVariance);
    const cross = first === 0 ? 0 : (covariance / residualVariance / first) * block.slopeScale;
    const second = Math.sqrt((slopeVariance / residualVariance) * block.slopeScale ** 2 - cross * cross);
    theta[block.parameter] = first;
    if (block.width === 2) theta.set([cross, second], block.parameter + 1);
    if (!(Number.isFinite(first) && (block.width === 1 || Number.isFinite(second))))
      problems.push({
        code: 'bad-component',
        path: ['components', block.name],
        message: `What is given for "${block.name}" is not a covariance.`,
        expected:
          block.width === 1
            ? 'a variance, 0 or above'
            : '[variance, covariance, slope variance], positive semidefinite',
      });
  }
  if (problems.length > 0) throw new InputError(problems);
  return criterion.value(theta, residualVariance);
}

import { InputError, type Problem } from '../shared/input-error.js';
import type { Note } from '../shared/note.js';
import type { LongWorkOptions } from '../shared/options.js';
import { type CumulativeLinkProblem, CumulativeLinkRows } from './cumulative-link.js';
import { CumulativeLinkMixedCriterion } from './cumulative-link-mixed-criterion.js';
import {
  type CumulativeLinkEstimates,
  convergenceOf,
  cumulativeLinkNotes,
  describeCumulativeLink,
  isSeparated,
  negativeLogLikelihood,
} from './cumulative-link-model.js';
import { type GroupEffects, groupEffects } from './group-effects.js';
import { symmetricInverse } from './linear-algebra.js';
import { minimizationOnEdge } from './minimization-on-edge.js';
import { type Convergence, finish, finishLong, type Minimum, minimize, type Search } from './optimize.js';
import { checkTerms, type RandomBlock, type RandomTerm, RandomTerms } from './random-terms.js';
import {
  boundaryNotes,
  componentDerivatives,
  edgesOf,
  entriesOf,
  type VarianceComponent,
  varianceComponent,
} from './variance-component.js';

/** A cumulative-link problem with random effects. */
export interface CumulativeLinkMixedProblem extends CumulativeLinkProblem {
  /** Random effects on the scale of the link; groups may be nested (`within`) or crossed. */
  readonly random: readonly RandomTerm[];
  /** Nodes of the adaptive Gauss–Hermite rule, for one random intercept. Default 1: Laplace's approximation. */
  readonly quadraturePoints?: number;
}

export interface CumulativeLinkMixedFit extends CumulativeLinkEstimates {
  readonly kind: 'cumulative-link-mixed-fit';
  /** Variances on the scale of the link, on which a row's own variance is π²/3 (logit) or 1 (probit). */
  readonly components: readonly VarianceComponent[];
  /** Positive effects read higher grades; each is the most likely value given the data. */
  readonly effectsOfGroups: Readonly<Record<string, GroupEffects>>;
  readonly approximation: string;
  readonly logLikelihood: number;
  readonly parameters: number;
  readonly counts: {
    readonly rows: number;
    readonly weight: number;
    readonly grades: readonly number[];
    readonly groups: Readonly<Record<string, number>>;
  };
  readonly convergence: Convergence;
  readonly assumptions: readonly string[];
  readonly notes: readonly Note[];
}

/**
 * The cumulative-link model with random effects, F⁻¹ P(Y ≤ j | b) = τⱼ − xβ − wδⱼ − zb, b normal: patients,
 * limbs in patients, assessors crossed with them. The likelihood is integrated over b by Laplace's
 * approximation, or for one random intercept by adaptive Gauss–Hermite quadrature
 * (see `CumulativeLinkMixedCriterion`), and maximized by BFGS on its exact gradient.
 *
 * Laplace's approximation is biased towards small variances where groups hold few rows; with one random
 * intercept compare 1 and, say, 11 points.
 * Undefined: as `cumulativeLinkModel`; variances at zero are said in `notes`.
 * Missing values are refused: leave such rows out and say how many.
 *
 * @param problem grades from 0, columns, groups and frequency weights, one entry a row
 * @throws InputError as `cumulativeLinkModel` and, for the random terms, as `linearMixedModel`; `bad-option` for
 * `quadraturePoints` that are no whole number from 1 to 100, or above 1 with more than one random intercept
 * @example
 * const fit = cumulativeLinkMixedModel({ response, effects: { warm }, random: [{ name: 'judge', groups }] });
 * fit.components[0].standardDeviation;
 *
 * Source: Tutz G, Hennevogl W. Comput Stat Data Anal 1996;22:537–557, doi:10.1016/0167-9473(96)00004-7;
 * Hedeker D, Gibbons RD. Biometrics 1994;50:933–944, doi:10.2307/2533433.
 */
export function cumulativeLinkMixedModel(problem: CumulativeLinkMixedProblem): CumulativeLinkMixedFit {
  return finish(fitting(problem));
}

/**
 * The same digits as `cumulativeLinkMixedModel`, for hundreds of thousands of rows: lets other work run, reports
 * progress, and stops at a signal with the best point so far, which is then reported as not converged.
 */
export function cumulativeLinkMixedModelLong(
  problem: CumulativeLinkMixedProblem,
  options: LongWorkOptions = {},
): Promise<CumulativeLinkMixedFit> {
  return finishLong(fitting(problem), options);
}

function* fitting(problem: CumulativeLinkMixedProblem): Search<CumulativeLinkMixedFit> {
  const { rows, criterion, blocks, points } = prepareCumulativeLinkMixed(problem);
  const { terms } = criterion;
  const minimum = yield* searchMaximum(rows, criterion);
  const fixedCount = rows.parameterCount;
  const theta = minimum.point.slice(fixedCount);
  const separated = isSeparated(rows, restricted(minimum, terms, fixedCount));
  const convergence = convergenceOf(minimum, !separated);
  const hessian = separated ? undefined : minimum.hessian;
  const errors = componentErrors(blocks, theta, hessian, fixedCount);
  let at = 0;
  const components = blocks.map((block) => {
    const component = varianceComponent(block, theta, 1, errors[at] as number, errors[at + 2] ?? Number.NaN);
    at += entriesOf(block);
    return component;
  });
  const { spherical, inverse } = criterion.effects(minimum.point);
  return {
    kind: 'cumulative-link-mixed-fit',
    ...describeCumulativeLink(
      rows,
      minimum.point,
      withoutEdges(hessian, terms, theta, fixedCount),
      minimum.point.length,
    ),
    components,
    effectsOfGroups: groupEffects(terms, blocks, theta, spherical, inverse, 1),
    approximation: points === 1 ? 'Laplace' : `adaptive Gauss–Hermite, ${points} points`,
    logLikelihood: -minimum.value,
    parameters: minimum.point.length,
    counts: {
      rows: rows.rows,
      weight: rows.totalWeight,
      grades: rows.gradeTotals,
      groups: Object.fromEntries(blocks.map((block) => [block.name, block.levels.length])),
    },
    convergence,
    assumptions: [
      'Rows are independent of each other given the random effects.',
      'Random effects are normal, independent between groups and between terms.',
      ...(rows.effects.columns.length > 0 ? ['Each effect is the same at every threshold, unless let vary.'] : []),
      points === 1
        ? 'The likelihood is Laplace’s approximation.'
        : `The likelihood is integrated with ${points} adaptive points a group.`,
    ],
    notes: [...boundaryNotes(components), ...cumulativeLinkNotes(rows, convergence, separated)],
  };
}

/**
 * ln L of the mixed model at given parameters, by the approximation the problem asks for.
 *
 * @param parameters thresholds of the grades that occur, effects, varying effects threshold by threshold
 * @param deviations for each term its standard deviation, or with a slope [intercept's, slope's, correlation]
 */
export function cumulativeLinkMixedLogLikelihood(
  problem: CumulativeLinkMixedProblem,
  parameters: ArrayLike<number>,
  deviations: Readonly<Record<string, number | readonly [number, number, number]>>,
): number {
  const { rows, criterion } = prepareCumulativeLinkMixed(problem);
  const point = new Float64Array(criterion.parameterCount);
  point.set(Float64Array.from(parameters));
  for (const { name, parameter, width, slopeScale } of criterion.terms.blocks) {
    const given = deviations[name] ?? Number.NaN;
    const [first, slope, correlation] = typeof given === 'number' ? [given, 0, 0] : given;
    const at = rows.parameterCount + parameter;
    point[at] = first;
    if (width === 2)
      point.set(
        [slope * correlation * slopeScale, slope * Math.sqrt(1 - correlation * correlation) * slopeScale],
        at + 1,
      );
  }
  return -criterion.value(point);
}

interface PreparedCumulativeLinkMixed {
  readonly rows: CumulativeLinkRows;
  readonly criterion: CumulativeLinkMixedCriterion;
  readonly blocks: readonly RandomBlock[];
  readonly points: number;
}

function prepareCumulativeLinkMixed(problem: CumulativeLinkMixedProblem): PreparedCumulativeLinkMixed {
  const problems: Problem[] = [];
  const count = problem.response.length;
  const points = problem.quadraturePoints ?? 1;
  if (problem.random.length === 0)
    problems.push({
      code: 'no-random-term',
      path: ['random'],
      message: 'A mixed model needs a random term.',
      mend: 'Name the groups that rows share, or fit the model without random effects.',
    });
  const single = problem.random.length === 1 && problem.random[0]?.slope === undefined;
  if (!(Number.isInteger(points) && points >= 1 && points <= 100))
    problems.push({
      code: 'bad-option',
      path: ['quadraturePoints'],
      message: `quadraturePoints is ${points}.`,
      expected: 'a whole number from 1 to 100',
    });
  else if (points > 1 && !single)
    problems.push({
      code: 'bad-option',
      path: ['quadraturePoints'],
      message: 'More than one quadrature point needs a single random intercept.',
      mend: 'Leave quadraturePoints out, for Laplace’s approximation.',
    });
  const checked = checkTerms(problem.random, count, problems, true);
  const rows = new CumulativeLinkRows(problem, problems);
  if (problems.length > 0) throw new InputError(problems);
  const terms = new RandomTerms(count, checked);
  const blocks = problem.random.map(({ name }) => terms.blocks.find((block) => block.name === name) as RandomBlock);
  return { rows, criterion: new CumulativeLinkMixedCriterion(rows, terms, points), blocks, points };
}

/** From the fit without random effects, standard deviations at 1, and again at 0.2 where the first ends on the edge. */
function* searchMaximum(rows: CumulativeLinkRows, criterion: CumulativeLinkMixedCriterion): Search<Minimum> {
  const { terms } = criterion;
  const fixedCount = rows.parameterCount;
  const order = criterion.parameterCount;
  const plain = minimize(negativeLogLikelihood(rows), rows.start());
  const usable = plain.converged && !isSeparated(rows, plain);
  const fixedInverse = usable && plain.hessian !== undefined ? symmetricInverse(plain.hessian, fixedCount) : undefined;
  const search = (size: number): Search<Minimum> => {
    const start = new Float64Array(order);
    start.set(usable ? plain.point : rows.start());
    for (const k of terms.diagonal()) start[fixedCount + k] = size;
    const inverse = new Float64Array(order * order);
    for (let i = 0; i < fixedCount; i++)
      for (let j = 0; j < fixedCount; j++)
        inverse[i * order + j] =
          fixedInverse?.[i * fixedCount + j] ?? (i === j ? 1 / Math.max(1, rows.totalWeight / 10) : 0);
    for (const block of terms.blocks)
      for (let k = 0; k < entriesOf(block); k++) {
        const at = fixedCount + block.parameter + k;
        inverse[at * (order + 1)] = size ** 2 / (2 * block.levels.length);
      }
    return minimizationOnEdge(
      { value: (point) => criterion.value(point), gradient: (point) => criterion.gradient(point) },
      start,
      inverse,
      terms.blocks,
      fixedCount,
    );
  };
  let found = yield* search(1);
  const onEdge = terms.diagonal().some((k) => found.point[fixedCount + k] === 0);
  if (found.stoppedBy !== 'signal' && (!found.converged || onEdge)) {
    const second = yield* search(0.2);
    if (second.value < found.value - 1e-9 || (second.converged && !found.converged)) found = second;
  }
  const point = Float64Array.from(found.point);
  point.set(terms.positive(point.slice(fixedCount)), fixedCount);
  return { ...found, point };
}

/** The search's end as one about the fixed part alone: the rows and columns of the Hessian that belong to it. */
function restricted(minimum: Minimum, terms: RandomTerms, fixedCount: number): Minimum {
  const order = fixedCount + terms.parameterCount;
  const hessian = minimum.hessian;
  return {
    ...minimum,
    point: minimum.point.slice(0, fixedCount),
    gradient: minimum.gradient.slice(0, fixedCount),
    hessian:
      hessian === undefined
        ? undefined
        : Float64Array.from(
            { length: fixedCount ** 2 },
            (_, k) => hessian[Math.floor(k / fixedCount) * order + (k % fixedCount)] as number,
          ),
  };
}

/** The Hessian with 1 on the diagonal of entries on the boundary, which then do not touch the inverse of the rest. */
function withoutEdges(
  hessian: Float64Array | undefined,
  terms: RandomTerms,
  theta: Float64Array,
  fixedCount: number,
): Float64Array | undefined {
  if (hessian === undefined) return undefined;
  const order = fixedCount + theta.length;
  const out = Float64Array.from(hessian);
  // The rest of its row and column is 0 already: `minimizationOnEdge` leaves it out.
  for (const edge of edgesOf(terms.blocks, theta)) out[(fixedCount + edge) * (order + 1)] = 1;
  return out;
}

/** Large-sample standard errors of the entries of each Σ, by the delta method. */
function componentErrors(
  blocks: readonly RandomBlock[],
  theta: Float64Array,
  hessian: Float64Array | undefined,
  fixedCount: number,
): number[] {
  const order = fixedCount + theta.length;
  const edges = edgesOf(blocks, theta);
  const free = Array.from({ length: order }, (_, k) => k).filter((k) => !edges.has(k - fixedCount));
  const inverse =
    hessian === undefined
      ? undefined
      : symmetricInverse(
          Float64Array.from(
            { length: free.length ** 2 },
            (_, k) =>
              hessian[
                (free[Math.floor(k / free.length)] as number) * order + (free[k % free.length] as number)
              ] as number,
          ),
          free.length,
        );
  return blocks.flatMap((block) =>
    componentDerivatives(block, theta, 1).map((derivative) => {
      if (derivative === undefined || inverse === undefined) return Number.NaN;
      let sum = 0;
      free.forEach((k, a) => {
        free.forEach((l, b) => {
          if (k < fixedCount || l < fixedCount) return;
          sum +=
            (derivative[k - fixedCount] as number) *
            (inverse[a * free.length + b] as number) *
            (derivative[l - fixedCount] as number);
        });
      });
      return Math.sqrt(sum);
    }),
  );
}

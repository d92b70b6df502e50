import { caution, information, type Note } from '../shared/note.js';
import { type CumulativeLinkProblem, CumulativeLinkRows, gradeDerivatives, type Link } from './cumulative-link.js';
import { symmetricInverse } from './linear-algebra.js';
import { type Convergence, type Minimum, minimize, type Objective } from './optimize.js';
import type { Coefficient } from './variance-component.js';

/** The effect of one column at every threshold of the grades that occur. */
export interface VaryingEffect {
  readonly name: string;
  readonly values: Float64Array;
  readonly standardErrors: Float64Array;
}

/** What every cumulative-link fit reports of its fixed part. */
export interface CumulativeLinkEstimates {
  readonly link: Link;
  /**
   * τⱼ with F⁻¹ P(grade ≤ j) = τⱼ − xβ, j = 0 … categories − 2. A grade that never occurs has no room of its
   * own: its threshold equals its neighbor's, or is infinite at the ends.
   */
  readonly thresholds: Float64Array;
  /** `NaN` where the threshold is not estimated. */
  readonly thresholdErrors: Float64Array;
  readonly effects: readonly Coefficient[];
  readonly varying: readonly VaryingEffect[];
  /** Covariance of (thresholds of the grades that occur, effects, varying effects by threshold), row by row. */
  readonly covariance: Float64Array;
}

export interface CumulativeLinkFit extends CumulativeLinkEstimates {
  readonly kind: 'cumulative-link-fit';
  readonly logLikelihood: number;
  readonly parameters: number;
  readonly counts: { readonly rows: number; readonly weight: number; readonly grades: readonly number[] };
  readonly convergence: Convergence;
  readonly assumptions: readonly string[];
  readonly notes: readonly Note[];
}

/**
 * The cumulative-link model of an ordered grade, with the logit link the proportional-odds model:
 *
 * F⁻¹ P(Y ≤ j) = τⱼ − xβ − wδⱼ, F the logistic or normal distribution function, τⱼ the thresholds, β effects
 * that are the same at every threshold, δⱼ those let vary. The likelihood is Π P(yᵢ)^wᵢ, maximized by Newton
 * steps on the exact Hessian; for the model without δ it is concave, so the maximum found is the only one.
 *
 * Undefined: where effects separate the grades completely the maximum lies at infinity; the fit is then
 * reported as not converged, with a note. A grade that never occurs gets no threshold of its own (a note).
 * Missing values are refused: leave such rows out and say how many.
 *
 * @param problem grades from 0, columns and frequency weights, one entry a row
 * @throws InputError `wrong-length`, `not-finite`, `not-a-grade`, `negative-weight`, `one-grade`,
 * `too-few-rows`, `collinear-column`, `unknown-choice`
 * @example
 * cumulativeLinkModel({ response: [0, 1, 0, 1], weights: [3, 1, 1, 3], effects: { late: [0, 0, 1, 1] } })
 *   .effects[0].value; // 2.1972 = ln 9
 *
 * Source: McCullagh P. J R Stat Soc B 1980;42:109–142, doi:10.1111/j.2517-6161.1980.tb01109.x; partial
 * proportional odds: Peterson B, Harrell FE. Appl Stat 1990;39:205–217, doi:10.2307/2347760.
 */
export function cumulativeLinkModel(problem: CumulativeLinkProblem): CumulativeLinkFit {
  const rows = new CumulativeLinkRows(problem);
  const minimum = minimize(negativeLogLikelihood(rows), rows.start());
  const separated = isSeparated(rows, minimum);
  const convergence = convergenceOf(minimum, !separated);
  return {
    kind: 'cumulative-link-fit',
    ...describeCumulativeLink(rows, minimum.point, separated ? undefined : minimum.hessian, rows.parameterCount),
    logLikelihood: -minimum.value,
    parameters: rows.parameterCount,
    counts: { rows: rows.rows, weight: rows.totalWeight, grades: rows.gradeTotals },
    convergence,
    assumptions: [
      'Rows are independent of each other.',
      ...(rows.effects.columns.length > 0 ? ['Each effect is the same at every threshold, unless let vary.'] : []),
    ],
    notes: cumulativeLinkNotes(rows, convergence, separated),
  };
}

/** −ln L with exact gradient and Hessian. */
export function negativeLogLikelihood(rows: CumulativeLinkRows): Required<Objective> {
  const order = rows.parameterCount;
  const a = new Float64Array(rows.rows);
  const b = new Float64Array(rows.rows);
  const grade = gradeDerivatives();
  const byA = new Float64Array(order);
  const byB = new Float64Array(order);
  return {
    value(parameters) {
      rows.limits(parameters, a, b);
      let sum = 0;
      for (let row = 0; row < rows.rows; row++) {
        const weight = rows.weights[row] as number;
        if (weight === 0) continue;
        rows.likelihood(a[row] as number, b[row] as number, grade);
        sum -= weight * grade.log;
      }
      return sum;
    },
    gradient(parameters) {
      rows.limits(parameters, a, b);
      const gradient = new Float64Array(order);
      for (let row = 0; row < rows.rows; row++) {
        const weight = rows.weights[row] as number;
        if (weight === 0) continue;
        rows.likelihood(a[row] as number, b[row] as number, grade);
        rows.scatter(row, -weight * grade.a, -weight * grade.b, gradient);
      }
      return gradient;
    },
    hessian(parameters) {
      rows.limits(parameters, a, b);
      const hessian = new Float64Array(order * order);
      for (let row = 0; row < rows.rows; row++) {
        const weight = rows.weights[row] as number;
        if (weight === 0) continue;
        rows.likelihood(a[row] as number, b[row] as number, grade);
        rows.limitDerivative(row, true, byA);
        rows.limitDerivative(row, false, byB);
        for (let i = 0; i < order; i++) {
          const left = byA[i] as number;
          const right = byB[i] as number;
          if (left === 0 && right === 0) continue;
          const factorA = -weight * (left * grade.aa + right * grade.ab);
          const factorB = -weight * (left * grade.ab + right * grade.bb);
          for (let j = 0; j <= i; j++)
            hessian[i * order + j] =
              (hessian[i * order + j] as number) + factorA * (byA[j] as number) + factorB * (byB[j] as number);
        }
      }
      for (let i = 0; i < order; i++)
        for (let j = 0; j < i; j++) hessian[j * order + i] = hessian[i * order + j] as number;
      return hessian;
    },
  };
}

/**
 * Estimates from the parameter vector, whose first entries are the fixed part, and the Hessian of −ln L of the
 * whole; without it no standard errors.
 */
export function describeCumulativeLink(
  rows: CumulativeLinkRows,
  parameters: Float64Array,
  hessian: Float64Array | undefined,
  order: number,
): CumulativeLinkEstimates {
  const inverse = hessian === undefined ? undefined : symmetricInverse(hessian, order);
  const count = rows.parameterCount;
  const covariance = new Float64Array(count * count).fill(Number.NaN);
  if (inverse !== undefined)
    for (let i = 0; i < count; i++)
      for (let j = 0; j < count; j++) covariance[i * count + j] = inverse[i * order + j] as number;
  const error = (k: number): number => Math.sqrt(covariance[k * (count + 1)] as number);
  const { thresholds } = rows;
  const all = rows.allThresholds(parameters);
  const firstOf = new Map(rows.used.slice(0, -1).map((grade, at) => [grade, at]));
  return {
    link: rows.link,
    thresholds: all,
    thresholdErrors: all.map((_, j) => {
      const at = firstOf.get(j);
      return at === undefined ? Number.NaN : error(at);
    }),
    effects: rows.effects.names.map((name, k) => ({
      name,
      value: parameters[thresholds + k] as number,
      standardError: error(thresholds + k),
    })),
    varying: rows.varying.names.map((name, k) => {
      const from = thresholds + rows.effects.names.length + k * thresholds;
      return {
        name,
        values: parameters.slice(from, from + thresholds),
        standardErrors: Float64Array.from({ length: thresholds }, (_, j) => error(from + j)),
      };
    }),
    covariance,
  };
}

/** A Newton step this long in the linear predictor, while the likelihood no longer moves, means that the maximum is at infinity. */
const STILL_MOVING = 0.1;
/** On the scale of the link no finite data of any size leave an effect this large. */
const OUT_OF_REACH = 15;

/**
 * The grades are separated when some row's limits are still moving at the end of the search although the
 * likelihood is not, or have run out of reach where the Hessian can no longer be inverted.
 */
export function isSeparated(rows: CumulativeLinkRows, minimum: Minimum): boolean {
  if (minimum.hessian === undefined) return false;
  const order = minimum.point.length;
  const inverse = symmetricInverse(minimum.hessian, order);
  const probe = new Float64Array(rows.parameterCount);
  const limit = (row: number, upper: boolean, vector: ArrayLike<number>): number => {
    rows.limitDerivative(row, upper, probe);
    return probe.reduce((sum, value, k) => sum + value * (vector[k] as number), 0);
  };
  const step =
    inverse === undefined
      ? undefined
      : Float64Array.from(probe, (_, i) => {
          let sum = 0;
          for (let j = 0; j < order; j++) sum -= (inverse[i * order + j] as number) * (minimum.gradient[j] as number);
          return sum;
        });
  for (let row = 0; row < rows.rows; row++)
    for (const upper of [true, false]) {
      if (step !== undefined && Math.abs(limit(row, upper, step)) > STILL_MOVING) return true;
      if (step === undefined && Math.abs(limit(row, upper, minimum.point)) > OUT_OF_REACH) return true;
    }
  return false;
}

/** The report of a search, with one more condition. */
export function convergenceOf(minimum: Minimum, also: boolean): Convergence {
  const { converged, stoppedBy, iterations, evaluations, gradientNorm, remaining, hessianPositiveDefinite } = minimum;
  return {
    converged: converged && also,
    stoppedBy,
    iterations,
    evaluations,
    gradientNorm,
    remaining,
    hessianPositiveDefinite,
  };
}

export function cumulativeLinkNotes(rows: CumulativeLinkRows, convergence: Convergence, separated: boolean): Note[] {
  const notes: Note[] = [];
  const unused = rows.gradeTotals.flatMap((total, grade) => (total > 0 ? [] : [grade]));
  if (unused.length > 0)
    notes.push(
      information(
        'grade-never-seen',
        `${unused.length === 1 ? 'Grade' : 'Grades'} ${unused.join(', ')} never occurred, so ${unused.length === 1 ? 'it has' : 'they have'} no threshold of ${unused.length === 1 ? 'its' : 'their'} own.`,
      ),
    );
  if (separated)
    notes.push(
      caution(
        'separated',
        'The columns tell some grades apart without exception, so the likelihood has no maximum: at least one effect is infinite. Leave a column out or merge grades.',
      ),
    );
  else if (!convergence.converged)
    notes.push(
      caution(
        'not-converged',
        `The search for the maximum did not arrive (stopped by ${convergence.stoppedBy}); do not use these estimates.`,
      ),
    );
  return notes;
}

/**
 * ln L of the cumulative-link model at given parameters: thresholds of the grades that occur, then the
 * effects, then the varying effects threshold by threshold; −∞ where thresholds cross.
 */
export function cumulativeLinkLogLikelihood(problem: CumulativeLinkProblem, parameters: ArrayLike<number>): number {
  return -negativeLogLikelihood(new CumulativeLinkRows(problem)).value(Float64Array.from(parameters));
}

import { normal } from '../shared/distributions.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { type DesignColumns, type NamedColumns, orthonormalize, readColumn, readDesign } from './design-columns.js';

export type Link = 'logit' | 'probit';

/**
 * ln P of one grade, P = F(a) − F(b), and its derivatives, as a likelihood needs them. η is the shift that
 * moves both limits down: ∂/∂η = −(∂/∂a + ∂/∂b).
 */
export interface GradeDerivatives {
  /** ln P; −∞ where a ≤ b. */
  log: number;
  a: number;
  b: number;
  aa: number;
  ab: number;
  bb: number;
  /** ∂²/∂η², never above 0. */
  shift2: number;
  /** ∂/∂a and ∂/∂b of it. */
  shift2a: number;
  shift2b: number;
}

export function gradeDerivatives(): GradeDerivatives {
  return { log: 0, a: 0, b: 0, aa: 0, ab: 0, bb: 0, shift2: 0, shift2a: 0, shift2b: 0 };
}

/** Fills `out` for the limits a > b; infinite limits are the open ends. */
export type GradeLikelihood = (a: number, b: number, out: GradeDerivatives) => void;

export const gradeLikelihood: Readonly<Record<Link, GradeLikelihood>> = { logit: logitGrade, probit: probitGrade };

/**
 * Logistic F, with ln P = −ln(1 + e^−a) − ln(1 + e^b) + ln(1 − e^−(a−b)), which loses no digits in either
 * tail and shows that ln P is concave.
 */
function logitGrade(a: number, b: number, out: GradeDerivatives): void {
  const width = a - b;
  if (!(width > 0)) {
    out.log = Number.NEGATIVE_INFINITY;
    return;
  }
  const tailA = Math.exp(-Math.abs(a));
  const tailB = Math.exp(-Math.abs(b));
  const aboveA = (a > 0 ? tailA : 1) / (1 + tailA);
  const belowB = (b > 0 ? 1 : tailB) / (1 + tailB);
  const densityA = tailA / ((1 + tailA) * (1 + tailA));
  const densityB = tailB / ((1 + tailB) * (1 + tailB));
  const scale = (1 + tailA) * (1 + tailB);
  let odds: number;
  let log = -Math.max(0, -a) - Math.max(0, b);
  if (width < 40) {
    const expected = Math.expm1(width);
    odds = 1 / expected;
    log += Math.log(expected / scale) - width;
  } else {
    // 1 − e^−width is 1 to double precision; an open end has width ∞ and its own limit gives nothing.
    odds = Math.exp(-width);
    log -= Math.log(scale);
  }
  const cross = odds * (1 + odds);
  out.log = log;
  out.a = aboveA + odds;
  out.b = -belowB - odds;
  out.aa = -densityA - cross;
  out.ab = cross;
  out.bb = -densityB - cross;
  out.shift2 = -densityA - densityB;
  out.shift2a = densityA * (1 - 2 * aboveA);
  out.shift2b = -densityB * (1 - 2 * belowB);
}

function probitGrade(a: number, b: number, out: GradeDerivatives): void {
  // Both limits above zero: the same from the upper tail, where nothing cancels.
  const probability = a > b ? (b > 0 ? normal.cdf(-b) - normal.cdf(-a) : normal.cdf(a) - normal.cdf(b)) : 0;
  if (!(probability > 0)) {
    out.log = Number.NEGATIVE_INFINITY;
    return;
  }
  const finiteA = Number.isFinite(a);
  const finiteB = Number.isFinite(b);
  const A = finiteA ? normal.density(a) / probability : 0;
  const B = finiteB ? normal.density(b) / probability : 0;
  const aA = finiteA ? a * A : 0;
  const bB = finiteB ? b * B : 0;
  const gap = A - B;
  const Aa = -aA - A * A;
  const Bb = -bB + B * B;
  const AB = A * B;
  out.log = Math.log(probability);
  out.a = A;
  out.b = -B;
  out.aa = Aa;
  out.ab = AB;
  out.bb = -Bb;
  out.shift2 = -aA + bB - gap * gap;
  out.shift2a = -A - (finiteA ? a * Aa : 0) - (finiteB ? b * AB : 0) - 2 * gap * (Aa + AB);
  out.shift2b = B - (finiteA ? a * AB : 0) + (finiteB ? b * Bb : 0) - 2 * gap * (AB - Bb);
}

/** Grades and the fixed part of a cumulative-link model. */
export interface CumulativeLinkProblem {
  /** The grade of every row, a whole number from 0. */
  readonly response: ArrayLike<number>;
  /** How many grades the scale has. Default: the highest grade seen, plus one. */
  readonly categories?: number;
  /** Columns whose effect is the same at every threshold: positive moves grades up. */
  readonly effects?: NamedColumns;
  /** Columns whose effect differs from threshold to threshold (partial proportional odds). */
  readonly varying?: NamedColumns;
  /** How often each row was seen. Default 1. */
  readonly weights?: ArrayLike<number>;
  /** Default `'logit'`. */
  readonly link?: Link;
}

/**
 * The fixed part of a cumulative-link model: for row i of grade y the limits
 * a = τ_y − xβ − wδ_y and b = τ_{y−1} − xβ − wδ_{y−1}, P(y) = F(a) − F(b), τ₋₁ = −∞ and τ of the last grade +∞.
 * Parameters in the order: thresholds of the grades that occur, β, then δ of each varying column by threshold.
 */
export class CumulativeLinkRows {
  readonly rows: number;
  readonly link: Link;
  readonly likelihood: GradeLikelihood;
  readonly categories: number;
  /** The grades that occur, ascending. */
  readonly used: readonly number[];
  /** Place of each row's grade among those that occur. */
  readonly grade: Int32Array;
  readonly effects: DesignColumns;
  readonly varying: DesignColumns;
  readonly weights: Float64Array;
  readonly totalWeight: number;
  readonly thresholds: number;
  readonly parameterCount: number;
  readonly gradeTotals: readonly number[];

  constructor(problem: CumulativeLinkProblem, problems: Problem[] = []) {
    const rows = problem.response.length;
    this.rows = rows;
    this.link = problem.link ?? 'logit';
    this.likelihood = gradeLikelihood[this.link];
    if (this.likelihood === undefined)
      problems.push({
        code: 'unknown-choice',
        path: ['link'],
        message: `You wrote ${JSON.stringify(problem.link)} for link; choose one of logit, probit.`,
      });
    const grades = readColumn(['response'], problem.response, rows, problems);
    const highest = grades.reduce((top, grade) => Math.max(top, grade), 0);
    this.categories = problem.categories ?? highest + 1;
    const outside = grades.filter(
      (grade) => !(Number.isInteger(grade) && grade >= 0 && grade < this.categories),
    ).length;
    if (outside > 0)
      problems.push({
        code: 'not-a-grade',
        path: ['response'],
        message: `${outside} of ${rows} responses are not grades.`,
        expected: `whole numbers from 0 to ${this.categories - 1}`,
      });
    this.effects = readDesign('effects', problem.effects ?? {}, rows, false, problems);
    this.varying = readDesign('varying', problem.varying ?? {}, rows, false, problems);
    this.weights =
      problem.weights === undefined
        ? new Float64Array(rows).fill(1)
        : readColumn(['weights'], problem.weights, rows, problems);
    if (this.weights.some((weight) => weight < 0))
      problems.push({
        code: 'negative-weight',
        path: ['weights'],
        message: 'A weight is negative.',
        expected: 'how often each row was seen, 0 or more',
      });
    this.totalWeight = this.weights.reduce((sum, weight) => sum + weight, 0);
    const totals = new Array<number>(Math.max(0, Math.floor(this.categories))).fill(0);
    grades.forEach((grade, row) => {
      if (totals[grade] !== undefined) totals[grade] += this.weights[row] as number;
    });
    this.gradeTotals = totals;
    this.used = totals.flatMap((total, grade) => (total > 0 ? [grade] : []));
    if (problems.length === 0 && this.used.length < 2)
      problems.push({
        code: 'one-grade',
        path: ['response'],
        message: 'Fewer than two grades occur, so nothing can be said about thresholds.',
      });
    if (problems.length > 0) throw new InputError(problems);
    const place = new Map(this.used.map((grade, at) => [grade, at]));
    this.grade = Int32Array.from(grades, (grade) => place.get(grade) ?? 0);
    this.thresholds = this.used.length - 1;
    this.parameterCount = this.thresholds + this.effects.columns.length + this.thresholds * this.varying.columns.length;
    if (!(this.totalWeight > this.parameterCount))
      throw new InputError([
        {
          code: 'too-few-rows',
          path: ['response'],
          message: `There are ${this.totalWeight} rows for ${this.parameterCount} parameters.`,
          expected: 'more rows than parameters',
        },
      ]);
    // The thresholds hold the constant: a column that is constant, or a combination of others, is refused here.
    orthonormalize('effects', {
      names: ['thresholds', ...this.effects.names, ...this.varying.names],
      columns: [new Float64Array(rows).fill(1), ...this.effects.columns, ...this.varying.columns].map((column) =>
        column.map((value, row) => ((this.weights[row] as number) > 0 ? value : 0)),
      ),
    });
  }

  /** Thresholds at the observed shares of the grades, no effects. */
  start(): Float64Array {
    const start = new Float64Array(this.parameterCount);
    let below = 0;
    for (let j = 0; j < this.thresholds; j++) {
      below += this.gradeTotals[this.used[j] as number] as number;
      const share = below / this.totalWeight;
      start[j] = this.link === 'logit' ? Math.log(share / (1 - share)) : normal.quantile(share);
    }
    return start;
  }

  /** The limits a and b of every row. */
  limits(parameters: Float64Array, a: Float64Array, b: Float64Array): void {
    const { rows, thresholds, grade } = this;
    const effects = this.effects.columns;
    const varying = this.varying.columns;
    for (let row = 0; row < rows; row++) {
      const y = grade[row] as number;
      let shift = 0;
      for (let k = 0; k < effects.length; k++)
        shift += (parameters[thresholds + k] as number) * ((effects[k] as Float64Array)[row] as number);
      let upper = y < thresholds ? (parameters[y] as number) - shift : Number.POSITIVE_INFINITY;
      let lower = y > 0 ? (parameters[y - 1] as number) - shift : Number.NEGATIVE_INFINITY;
      for (let k = 0; k < varying.length; k++) {
        const at = thresholds + effects.length + k * thresholds + y;
        const value = (varying[k] as Float64Array)[row] as number;
        if (y < thresholds) upper -= (parameters[at] as number) * value;
        if (y > 0) lower -= (parameters[at - 1] as number) * value;
      }
      a[row] = upper;
      b[row] = lower;
    }
  }

  /** Adds the derivatives of one row by its limits to the gradient in the parameters. */
  scatter(row: number, byA: number, byB: number, gradient: Float64Array): void {
    const { thresholds } = this;
    const y = this.grade[row] as number;
    const upper = y < thresholds ? byA : 0;
    const lower = y > 0 ? byB : 0;
    if (y < thresholds) gradient[y] = (gradient[y] as number) + upper;
    if (y > 0) gradient[y - 1] = (gradient[y - 1] as number) + lower;
    const effects = this.effects.columns;
    for (let k = 0; k < effects.length; k++)
      gradient[thresholds + k] =
        (gradient[thresholds + k] as number) - (upper + lower) * ((effects[k] as Float64Array)[row] as number);
    const varying = this.varying.columns;
    for (let k = 0; k < varying.length; k++) {
      const at = thresholds + effects.length + k * thresholds + y;
      const value = (varying[k] as Float64Array)[row] as number;
      if (y < thresholds) gradient[at] = (gradient[at] as number) - upper * value;
      if (y > 0) gradient[at - 1] = (gradient[at - 1] as number) - lower * value;
    }
  }

  /** The derivative of one limit of a row by every parameter: `upper` picks a, else b. */
  limitDerivative(row: number, upper: boolean, out: Float64Array): void {
    out.fill(0);
    this.scatter(row, upper ? 1 : 0, upper ? 0 : 1, out);
  }

  /** The thresholds of the whole scale from those of the grades that occur: grades never seen get none of the probability. */
  allThresholds(parameters: Float64Array): Float64Array {
    const all = new Float64Array(this.categories - 1);
    let at = -1;
    for (let j = 0; j < all.length; j++) {
      if (this.used.includes(j)) at++;
      all[j] =
        at < 0
          ? Number.NEGATIVE_INFINITY
          : at >= this.thresholds
            ? Number.POSITIVE_INFINITY
            : (parameters[at] as number);
    }
    return all;
  }
}

import { type CumulativeLinkRows, type GradeDerivatives, gradeDerivatives } from './cumulative-link.js';
import { gaussHermite, type QuadratureRule } from './gauss-hermite.js';
import type { RandomTerms } from './random-terms.js';

/** Newton steps to the mode of the random effects end when the longest is below this: the next would be below its square. */
const MODE_TOLERANCE = 1e-7;
const MODE_LIMIT = 100;
/** Derivatives kept of each row, in the order of `GradeDerivatives` from a on. */
const KEPT = 8;

/**
 * −ln of the approximate marginal likelihood of a cumulative-link model with random effects b = Λu,
 * u ~ N(0, I), at (fixed parameters, θ). With h(u) = Σ wᵢ ln Pᵢ(u) − ½uᵀu, its mode û and the information
 * H = I + ΛᵀZᵀWZΛ there:
 *
 * Laplace: ln L = h(û) − ½ ln |H|.
 * Adaptive Gauss–Hermite, for one random intercept: each group's integral by Σ ωₖ e^(zₖ²) e^(h(û + √2 σ̂ zₖ)) σ̂/√π,
 * σ̂² = 1/H; with one node it is Laplace's.
 *
 * The gradient is exact, with the way û, H and the nodes move; it needs the third derivatives of ln P and
 * the selected inverse of H. ln P is concave in u, so the mode is the only one.
 * Source: Laplace's for crossed effects: Doran H et al. J Stat Softw 2007;20(2), doi:10.18637/jss.v020.i02;
 * adaptive rule: Liu Q, Pierce DA. Biometrika 1994;81:624–629, doi:10.1093/biomet/81.3.624.
 */
export class CumulativeLinkMixedCriterion {
  private readonly fixedCount: number;
  private readonly rule: QuadratureRule;
  private readonly upper: Float64Array;
  private readonly lower: Float64Array;
  private readonly scaled: Float64Array;
  private readonly factor: Float64Array;
  private readonly mode: Float64Array;
  private readonly weights: Float64Array;
  /** Derivatives of ln P of every row where the last height was taken, which after a climb is the mode. */
  private readonly kept: Float64Array;
  private readonly point: Float64Array;
  private readonly theta: Float64Array;
  private state: 'none' | 'ready' | 'impossible' = 'none';
  private logLikelihood = 0;

  /** @param points nodes of the quadrature; 1 is Laplace's approximation, more need one random intercept */
  constructor(
    readonly rows: CumulativeLinkRows,
    readonly terms: RandomTerms,
    points: number,
  ) {
    this.fixedCount = rows.parameterCount;
    this.rule = gaussHermite(points);
    this.upper = new Float64Array(rows.rows);
    this.lower = new Float64Array(rows.rows);
    this.weights = new Float64Array(rows.rows);
    this.kept = new Float64Array(KEPT * rows.rows);
    this.scaled = new Float64Array(terms.design.length);
    this.factor = new Float64Array(terms.pattern.size);
    this.mode = new Float64Array(terms.order);
    this.theta = new Float64Array(terms.parameterCount);
    this.point = new Float64Array(this.fixedCount + terms.parameterCount);
  }

  get parameterCount(): number {
    return this.point.length;
  }

  value(point: Float64Array): number {
    return this.prepare(point) ? -this.logLikelihood : Number.POSITIVE_INFINITY;
  }

  gradient(point: Float64Array): Float64Array {
    if (!this.prepare(point)) return new Float64Array(point.length).fill(Number.NaN);
    const { rows, terms, scaled, mode, fixedCount, kept } = this;
    const { width, columns } = terms;
    const inverse = terms.pattern.selectedInverse(this.factor);
    const solved = new Float64Array(scaled.length);
    terms.solvedDesign(inverse, scaled, solved);
    const nodes = this.rule.nodes.length > 1 ? this.nodeSums() : undefined;

    // First pass: how the mode moves acts through s = Σ vᵢ (−∂³ ln P) z̃ᵢ, v the leverage of a row; c = H⁻¹s.
    const leverage = new Float64Array(rows.rows);
    const carried = new Float64Array(terms.order);
    if (nodes !== undefined) carried.set(nodes.slope.map((slope) => -2 * slope));
    for (let row = 0, from = 0; row < rows.rows; row++, from += width) {
      let share = 0;
      for (let a = 0; a < width; a++) share += (scaled[from + a] as number) * (solved[from + a] as number);
      if (nodes !== undefined) share *= nodes.spread[columns[from] as number] as number;
      share *= rows.weights[row] as number;
      leverage[row] = share;
      const third = share * ((kept[row * KEPT + 6] as number) + (kept[row * KEPT + 7] as number));
      for (let a = 0; a < width; a++) {
        const column = columns[from + a] as number;
        carried[column] = (carried[column] as number) + third * (scaled[from + a] as number);
      }
    }
    terms.pattern.solveLower(this.factor, carried);
    terms.pattern.solveLowerTransposed(this.factor, carried);

    const fixed = new Float64Array(fixedCount);
    const theta = new Float64Array(terms.parameterCount);
    const pull = new Float64Array(width);
    for (let row = 0, from = 0; row < rows.rows; row++, from += width) {
      const weight = rows.weights[row] as number;
      if (weight === 0) continue;
      const grade = keptOf(kept, row);
      let moved = 0;
      for (let a = 0; a < width; a++)
        moved += (scaled[from + a] as number) * (carried[columns[from + a] as number] as number);
      moved *= weight;
      const share = leverage[row] as number;
      const first = -(grade.a + grade.b);
      const direct = nodes === undefined;
      const byA =
        (direct ? weight * grade.a : (nodes.byUpper[row] as number)) +
        0.5 * share * grade.shift2a +
        0.5 * moved * (grade.aa + grade.ab);
      const byB =
        (direct ? weight * grade.b : (nodes.byLower[row] as number)) +
        0.5 * share * grade.shift2b +
        0.5 * moved * (grade.bb + grade.ab);
      rows.scatter(row, -byA, -byB, fixed);
      // Through the shift z̃ᵢu, then through the design in H and in the gradient at the mode.
      const throughShift =
        (direct ? weight * first : 0) - 0.5 * share * (grade.shift2a + grade.shift2b) - 0.5 * moved * grade.shift2;
      const spread = nodes === undefined ? 1 : (nodes.spread[columns[from] as number] as number);
      for (let a = 0; a < width; a++) {
        const column = columns[from + a] as number;
        pull[a] = -(
          throughShift * (mode[column] as number) +
          (nodes === undefined ? 0 : (nodes.byEffect[row] as number)) +
          weight * grade.shift2 * spread * (solved[from + a] as number) -
          0.5 * weight * first * (carried[column] as number)
        );
      }
      terms.addPull(theta, row, pull);
    }
    const gradient = new Float64Array(point.length);
    gradient.set(fixed);
    gradient.set(theta, fixedCount);
    return gradient;
  }

  /** The mode û and the selected inverse of H at a point. */
  effects(point: Float64Array): { spherical: Float64Array; inverse: Float64Array } {
    if (!this.prepare(point)) throw new RangeError('The likelihood is not defined at this point.');
    return { spherical: Float64Array.from(this.mode), inverse: this.terms.pattern.selectedInverse(this.factor) };
  }

  private prepare(point: Float64Array): boolean {
    if (this.state !== 'none' && point.every((value, k) => value === this.point[k])) return this.state === 'ready';
    this.point.set(point);
    this.state = this.refresh() ? 'ready' : 'impossible';
    return this.state === 'ready';
  }

  private refresh(): boolean {
    const { rows, terms, point, theta } = this;
    if (!point.every(Number.isFinite)) return false;
    rows.limits(point, this.upper, this.lower);
    for (let k = 0; k < theta.length; k++) theta[k] = point[this.fixedCount + k] as number;
    terms.scaleDesign(theta, this.scaled);
    // From where the last point's mode was, which is near; from zero where that leads nowhere.
    let height = this.climb();
    if (!Number.isFinite(height)) {
      this.mode.fill(0);
      height = this.climb();
      if (!Number.isFinite(height)) {
        this.mode.fill(0);
        return false;
      }
    }
    this.logLikelihood =
      this.rule.nodes.length > 1 ? this.quadrature() : height - 0.5 * terms.pattern.logDeterminant(this.factor);
    return Number.isFinite(this.logLikelihood);
  }

  /** Newton's method to the mode; leaves the factor of H there and returns h(û). */
  private climb(): number {
    const { terms, mode } = this;
    const step = new Float64Array(terms.order);
    const next = new Float64Array(terms.order);
    let height = this.height(mode, step);
    for (let iteration = 0; iteration < MODE_LIMIT && Number.isFinite(height); iteration++) {
      terms.information(this.scaled, this.weights, this.factor);
      if (!terms.pattern.factor(this.factor)) return Number.NaN;
      terms.pattern.solveLower(this.factor, step);
      terms.pattern.solveLowerTransposed(this.factor, step);
      const longest = step.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
      const direction = Float64Array.from(step);
      let share = 1;
      let reached: number;
      for (;;) {
        for (let k = 0; k < next.length; k++) next[k] = (mode[k] as number) + share * (direction[k] as number);
        reached = this.height(next, step);
        // At the end rounding may hide the rise: a short step is always taken.
        if (reached >= height || longest * share < 1e-6) break;
        share /= 2;
      }
      mode.set(next);
      height = reached;
      if (longest < MODE_TOLERANCE) {
        terms.information(this.scaled, this.weights, this.factor);
        return terms.pattern.factor(this.factor) ? height : Number.NaN;
      }
    }
    return Number.NaN;
  }

  /** h(u); leaves its gradient in `gradient` and the weights of the information. */
  private height(effects: Float64Array, gradient: Float64Array): number {
    const { rows, terms, scaled, weights, upper, lower, kept } = this;
    const { width, columns } = terms;
    const grade = gradeDerivatives();
    let sum = 0;
    for (let k = 0; k < effects.length; k++) {
      const value = effects[k] as number;
      gradient[k] = -value;
      sum -= 0.5 * value * value;
    }
    for (let row = 0, from = 0; row < rows.rows; row++, from += width) {
      const weight = rows.weights[row] as number;
      weights[row] = 0;
      if (weight === 0) continue;
      let shift = 0;
      for (let a = 0; a < width; a++)
        shift += (scaled[from + a] as number) * (effects[columns[from + a] as number] as number);
      rows.likelihood((upper[row] as number) - shift, (lower[row] as number) - shift, grade);
      if (grade.log === Number.NEGATIVE_INFINITY) return Number.NEGATIVE_INFINITY;
      sum += weight * grade.log;
      const at = row * KEPT;
      kept[at] = grade.a;
      kept[at + 1] = grade.b;
      kept[at + 2] = grade.aa;
      kept[at + 3] = grade.ab;
      kept[at + 4] = grade.bb;
      kept[at + 5] = grade.shift2;
      kept[at + 6] = grade.shift2a;
      kept[at + 7] = grade.shift2b;
      weights[row] = -weight * grade.shift2;
      const first = -weight * (grade.a + grade.b);
      for (let a = 0; a < width; a++) {
        const column = columns[from + a] as number;
        gradient[column] = (gradient[column] as number) + first * (scaled[from + a] as number);
      }
    }
    return sum;
  }

  /** h of every group at every node, group by group. */
  private nodeHeights(): Float64Array {
    const { rows, terms, mode, rule, factor } = this;
    const points = rule.nodes.length;
    const heights = new Float64Array(terms.order * points);
    const grade = gradeDerivatives();
    for (let group = 0; group < terms.order; group++)
      for (let k = 0; k < points; k++) {
        const u = (mode[group] as number) + (Math.SQRT2 / (factor[group] as number)) * (rule.nodes[k] as number);
        heights[group * points + k] = -0.5 * u * u;
      }
    for (let row = 0; row < rows.rows; row++) {
      const weight = rows.weights[row] as number;
      if (weight === 0) continue;
      const group = terms.columns[row] as number;
      const spread = Math.SQRT2 / (factor[group] as number);
      for (let k = 0; k < points; k++) {
        const u = (mode[group] as number) + spread * (rule.nodes[k] as number);
        const shift = (this.scaled[row] as number) * u;
        rows.likelihood((this.upper[row] as number) - shift, (this.lower[row] as number) - shift, grade);
        const at = group * points + k;
        heights[at] = (heights[at] as number) + weight * grade.log;
      }
    }
    return heights;
  }

  private quadrature(): number {
    const { rule, terms } = this;
    const points = rule.nodes.length;
    const heights = this.nodeHeights();
    let sum = 0;
    for (let group = 0; group < terms.order; group++)
      sum +=
        logSumExp(rule, heights, group * points) - Math.log(this.factor[group] as number) - 0.5 * Math.log(Math.PI);
    return sum;
  }

  /** What the gradient of the quadrature takes from its nodes, weighted by each node's share of its group's integral. */
  private nodeSums(): {
    spread: Float64Array;
    slope: Float64Array;
    byUpper: Float64Array;
    byLower: Float64Array;
    byEffect: Float64Array;
  } {
    const { rows, terms, mode, rule, factor } = this;
    const points = rule.nodes.length;
    const heights = this.nodeHeights();
    const shares = new Float64Array(heights.length);
    const slope = new Float64Array(terms.order);
    const spread = new Float64Array(terms.order).fill(1);
    for (let group = 0; group < terms.order; group++) {
      const total = logSumExp(rule, heights, group * points);
      for (let k = 0; k < points; k++) {
        const at = group * points + k;
        const z = rule.nodes[k] as number;
        const share = Math.exp((heights[at] as number) + (rule.logWeights[k] as number) + z * z - total);
        const offset = (Math.SQRT2 / (factor[group] as number)) * z;
        const u = (mode[group] as number) + offset;
        shares[at] = share;
        slope[group] = (slope[group] as number) - share * u;
        spread[group] = (spread[group] as number) - share * u * offset;
      }
    }
    const byUpper = new Float64Array(rows.rows);
    const byLower = new Float64Array(rows.rows);
    const byEffect = new Float64Array(rows.rows);
    const grade = gradeDerivatives();
    for (let row = 0; row < rows.rows; row++) {
      const weight = rows.weights[row] as number;
      if (weight === 0) continue;
      const group = terms.columns[row] as number;
      const own = this.scaled[row] as number;
      let upper = 0;
      let lower = 0;
      let effect = 0;
      for (let k = 0; k < points; k++) {
        const offset = (Math.SQRT2 / (factor[group] as number)) * (rule.nodes[k] as number);
        const u = (mode[group] as number) + offset;
        rows.likelihood((this.upper[row] as number) - own * u, (this.lower[row] as number) - own * u, grade);
        const share = weight * (shares[group * points + k] as number);
        const first = -share * (grade.a + grade.b);
        upper += share * grade.a;
        lower += share * grade.b;
        effect += first * u;
        slope[group] = (slope[group] as number) + first * own;
        spread[group] = (spread[group] as number) + first * own * offset;
      }
      byUpper[row] = upper;
      byLower[row] = lower;
      byEffect[row] = effect;
    }
    return { spread, slope, byUpper, byLower, byEffect };
  }
}

/** The derivatives kept of one row. */
function keptOf(kept: Float64Array, row: number): Omit<GradeDerivatives, 'log'> {
  const at = row * KEPT;
  return {
    a: kept[at] as number,
    b: kept[at + 1] as number,
    aa: kept[at + 2] as number,
    ab: kept[at + 3] as number,
    bb: kept[at + 4] as number,
    shift2: kept[at + 5] as number,
    shift2a: kept[at + 6] as number,
    shift2b: kept[at + 7] as number,
  };
}

/** ln Σₖ exp(heights + ln ωₖ + zₖ²) over the nodes of one group. */
function logSumExp(rule: QuadratureRule, heights: Float64Array, from: number): number {
  let most = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < rule.nodes.length; k++) most = Math.max(most, term(rule, heights, from, k));
  let sum = 0;
  for (let k = 0; k < rule.nodes.length; k++) sum += Math.exp(term(rule, heights, from, k) - most);
  return most + Math.log(sum);
}

function term(rule: QuadratureRule, heights: Float64Array, from: number, k: number): number {
  return (heights[from + k] as number) + (rule.logWeights[k] as number) + (rule.nodes[k] as number) ** 2;
}

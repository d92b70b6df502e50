import { refuse } from '../shared/input-error.js';
import { type DesignColumns, orthonormalize } from './design-columns.js';
import { cholesky, inverseFromCholesky, logDeterminant, solveLower, solveLowerTransposed } from './linear-algebra.js';
import type { RandomTerms } from './random-terms.js';

/**
 * −2 ln of the (restricted) likelihood of the linear mixed model y = Xβ + Zb + ε, b = Λu, u ~ N(0, σ²I),
 * ε ~ N(0, σ²I), as a function of the entries θ of Λ:
 *
 * d(θ, σ²) = ln |ΛᵀZᵀZΛ + I| + N ln(2πσ²) + r²(θ)/σ² [+ ln |XᵀV⁻¹X|, REML],
 * r²(θ) = min over β, u of ‖y − Xβ − ZΛu‖² + ‖u‖², V = I + ZΛΛᵀZᵀ,
 *
 * N the number of rows n, for REML n − p. Profiled over σ² it is d(θ) with σ² = r²/N. The response enters as
 * what least squares leaves of it and X as orthonormal columns, so that a large mean costs no digits.
 * The gradient is analytic, by the selected inverse of the random effects' matrix.
 * Source: Bates D, Mächler M, Bolker B, Walker S. J Stat Softw 2015;67(1), doi:10.18637/jss.v067.i01.
 */
export class LinearMixedCriterion {
  /** N: rows, less the fixed effects for REML. */
  readonly degrees: number;
  private readonly fixedCount: number;
  private readonly triangle: Float64Array;
  private readonly basis: readonly Float64Array[];
  private readonly leastSquares: Float64Array;
  private readonly residuals: Float64Array;
  private readonly residualSquares: number;
  /** Zᵀ of each basis column, then of the residuals. */
  private readonly sums: readonly Float64Array[];
  private readonly constant: number;
  private readonly theta: Float64Array;
  private readonly scaled: Float64Array;
  private readonly factor: Float64Array;
  /** L⁻¹ΛᵀZᵀ of each basis column, then of the residuals. */
  private readonly reduced: Float64Array[];
  private readonly fixedFactor: Float64Array;
  private readonly fixedRight: Float64Array;
  private state: 'none' | 'ready' | 'impossible' = 'none';
  private logDeterminants = 0;
  private squares = 0;

  constructor(
    readonly terms: RandomTerms,
    design: DesignColumns,
    response: Float64Array,
    readonly restricted: boolean,
  ) {
    const count = design.columns.length;
    const { columns, triangle } = orthonormalize('fixed', design);
    this.fixedCount = count;
    this.triangle = triangle;
    this.basis = columns;
    this.degrees = terms.rows - (restricted ? count : 0);
    const residuals = Float64Array.from(response);
    const shares = new Float64Array(count);
    for (let round = 0; round < 2; round++)
      columns.forEach((column, j) => {
        let share = 0;
        for (let row = 0; row < column.length; row++) share += (column[row] as number) * (residuals[row] as number);
        shares[j] = (shares[j] as number) + share;
        for (let row = 0; row < column.length; row++)
          residuals[row] = (residuals[row] as number) - share * (column[row] as number);
      });
    this.leastSquares = shares;
    this.residuals = residuals;
    this.residualSquares = residuals.reduce((sum, value) => sum + value * value, 0);
    const total = response.reduce((sum, value) => sum + value * value, 0);
    if (!(this.residualSquares > 1e-24 * total))
      throw refuse(
        'no-variation',
        ['response'],
        'The fixed effects reproduce the response exactly, so there is no variance to divide.',
      );
    this.sums = [...columns, residuals].map((column) => terms.sumByLevel(column));
    let logTriangle = 0;
    for (let j = 0; j < count; j++) logTriangle += Math.log(triangle[j * (count + 1)] as number);
    this.constant = restricted ? 2 * logTriangle : 0;
    this.theta = new Float64Array(terms.parameterCount);
    this.scaled = new Float64Array(terms.design.length);
    this.factor = new Float64Array(terms.pattern.size);
    this.reduced = this.sums.map(() => new Float64Array(terms.order));
    this.fixedFactor = new Float64Array(count * count);
    this.fixedRight = new Float64Array(count);
  }

  /** d(θ, σ²), or d(θ) when the residual variance is left out; `Infinity` where it is not defined. */
  value(theta: Float64Array, residualVariance?: number): number {
    if (!this.prepare(theta)) return Number.POSITIVE_INFINITY;
    const variance = residualVariance ?? this.squares / this.degrees;
    return (
      this.logDeterminants + this.constant + this.degrees * Math.log(2 * Math.PI * variance) + this.squares / variance
    );
  }

  /** ∂d/∂θ, and ∂d/∂ ln σ as `scale` (0 when σ² is profiled out). */
  gradient(theta: Float64Array, residualVariance?: number): { theta: Float64Array; scale: number } {
    const { terms, fixedCount } = this;
    if (!this.prepare(theta)) return { theta: new Float64Array(theta.length).fill(Number.NaN), scale: Number.NaN };
    const variance = residualVariance ?? this.squares / this.degrees;
    const inverse = terms.pattern.selectedInverse(this.factor);
    const solved = new Float64Array(this.scaled.length);
    terms.solvedDesign(inverse, this.scaled, solved);
    const { effects, basisShares } = this.solution();
    // With REML, the columns of W RX⁻ᵀ and of the fitted part of Q RX⁻ᵀ.
    const columns = this.restricted ? this.standardizedColumns() : [];
    const out = new Float64Array(theta.length);
    const pull = new Float64Array(terms.width);
    const { width } = terms;
    for (let row = 0, from = 0; row < terms.rows; row++, from += width) {
      let residual = this.residuals[row] as number;
      for (let j = 0; j < fixedCount; j++)
        residual -= (basisShares[j] as number) * ((this.basis[j] as Float64Array)[row] as number);
      for (let a = 0; a < width; a++)
        residual -= (this.scaled[from + a] as number) * (effects[terms.columns[from + a] as number] as number);
      const weight = residual / variance;
      for (let a = 0; a < width; a++)
        pull[a] =
          2 * (solved[from + a] as number) - 2 * weight * (effects[terms.columns[from + a] as number] as number);
      for (const { rowPart, levelPart } of columns) {
        let left = rowPart[row] as number;
        for (let a = 0; a < width; a++)
          left -= (this.scaled[from + a] as number) * (levelPart[terms.columns[from + a] as number] as number);
        for (let a = 0; a < width; a++)
          pull[a] = (pull[a] as number) - 2 * left * (levelPart[terms.columns[from + a] as number] as number);
      }
      terms.addPull(out, row, pull);
    }
    return {
      theta: out,
      scale: residualVariance === undefined ? 0 : 2 * (this.degrees - this.squares / residualVariance),
    };
  }

  /** ∂ ln r²/∂θ by the envelope theorem: what the profiled and the full criterion differ by. */
  logSquaresGradient(theta: Float64Array): Float64Array {
    const atProfiled = this.gradient(theta).theta;
    const flat = this.gradient(theta, Number.MAX_VALUE).theta;
    return atProfiled.map((value, k) => (value - (flat[k] as number)) / this.degrees);
  }

  /** r²(θ). */
  penalizedSquares(theta: Float64Array): number {
    return this.prepare(theta) ? this.squares : Number.NaN;
  }

  /** r²(θ) is at the limit of rounding: the model leaves no residual. */
  leavesNothing(theta: Float64Array): boolean {
    return !this.prepare(theta) || this.squares <= 1e-11 * this.residualSquares;
  }

  /** The best fixed effects β at θ, the random effects u, and (XᵀV⁻¹X)⁻¹, row by row. */
  estimates(theta: Float64Array): { fixed: Float64Array; covariance: Float64Array; spherical: Float64Array } {
    const count = this.fixedCount;
    if (!this.prepare(theta)) throw new RangeError('The covariance factor is not finite.');
    const { effects, basisShares } = this.solution();
    const fixed = Float64Array.from(this.leastSquares, (share, j) => share + (basisShares[j] as number));
    this.solveTriangle(fixed);
    const inner = inverseFromCholesky(this.fixedFactor, count);
    const covariance = new Float64Array(count * count);
    // (XᵀV⁻¹X)⁻¹ = R⁻¹ (QᵀV⁻¹Q)⁻¹ R⁻ᵀ: R⁻¹ applied to the columns, then to the rows.
    const half = new Float64Array(count * count);
    for (let j = 0; j < count; j++) {
      const column = Float64Array.from({ length: count }, (_, i) => inner[i * count + j] as number);
      this.solveTriangle(column);
      for (let i = 0; i < count; i++) half[i * count + j] = column[i] as number;
    }
    for (let i = 0; i < count; i++) {
      const row = half.slice(i * count, (i + 1) * count);
      this.solveTriangle(row);
      covariance.set(row, i * count);
    }
    return { fixed, covariance, spherical: effects };
  }

  /** The entries of (ΛᵀZᵀZΛ + I)⁻¹ at the positions of the pattern. */
  selectedInverse(theta: Float64Array): Float64Array {
    if (!this.prepare(theta)) throw new RangeError('The covariance factor is not finite.');
    return this.terms.pattern.selectedInverse(this.factor);
  }

  private prepare(theta: Float64Array): boolean {
    if (this.state !== 'none' && theta.every((value, k) => value === this.theta[k])) return this.state === 'ready';
    this.theta.set(theta);
    this.state = this.refresh() ? 'ready' : 'impossible';
    return this.state === 'ready';
  }

  private refresh(): boolean {
    const { terms, theta, factor, reduced, fixedCount, fixedFactor, fixedRight } = this;
    if (!theta.every(Number.isFinite)) return false;
    terms.scaleDesign(theta, this.scaled);
    terms.information(this.scaled, undefined, factor);
    if (!terms.pattern.factor(factor)) return false;
    this.sums.forEach((sums, c) => {
      const column = reduced[c] as Float64Array;
      terms.timesFactorTransposed(theta, sums, column);
      terms.pattern.solveLower(factor, column);
    });
    const right = reduced[fixedCount] as Float64Array;
    for (let i = 0; i < fixedCount; i++) {
      const left = reduced[i] as Float64Array;
      for (let j = 0; j <= i; j++)
        fixedFactor[i * fixedCount + j] = (i === j ? 1 : 0) - dot(left, reduced[j] as Float64Array);
      fixedRight[i] = -dot(left, right);
    }
    if (!cholesky(fixedFactor, fixedCount)) return false;
    solveLower(fixedFactor, fixedCount, fixedRight);
    this.squares = this.residualSquares - dot(right, right) - dot(fixedRight, fixedRight);
    // Below this share the difference is rounding: the residual variance has reached zero.
    if (!(this.squares > 1e-13 * this.residualSquares)) return false;
    this.logDeterminants =
      terms.pattern.logDeterminant(factor) + (this.restricted ? logDeterminant(fixedFactor, fixedCount) : 0);
    return true;
  }

  /** u and the coefficients of the basis columns beside least squares. */
  private solution(): { effects: Float64Array; basisShares: Float64Array } {
    const { reduced, fixedCount, fixedFactor } = this;
    const basisShares = Float64Array.from(this.fixedRight);
    solveLowerTransposed(fixedFactor, fixedCount, basisShares);
    const effects = Float64Array.from(reduced[fixedCount] as Float64Array);
    for (let j = 0; j < fixedCount; j++) addMultiple(effects, reduced[j] as Float64Array, -(basisShares[j] as number));
    this.terms.pattern.solveLowerTransposed(this.factor, effects);
    return { effects, basisShares };
  }

  private standardizedColumns(): { rowPart: Float64Array; levelPart: Float64Array }[] {
    const { reduced, fixedCount, fixedFactor } = this;
    return this.basis.map((_, a) => {
      // Column a of RX⁻ᵀ.
      const weights = new Float64Array(fixedCount);
      weights[a] = 1;
      solveLowerTransposed(fixedFactor, fixedCount, weights);
      const levelPart = new Float64Array(this.terms.order);
      const rowPart = new Float64Array(this.terms.rows);
      for (let j = 0; j <= a; j++) {
        addMultiple(levelPart, reduced[j] as Float64Array, weights[j] as number);
        addMultiple(rowPart, this.basis[j] as Float64Array, weights[j] as number);
      }
      this.terms.pattern.solveLowerTransposed(this.factor, levelPart);
      return { rowPart, levelPart };
    });
  }

  /** R x = b in place, R upper triangular from the Gram–Schmidt step. */
  private solveTriangle(b: Float64Array): void {
    const count = this.fixedCount;
    for (let i = count - 1; i >= 0; i--) {
      let sum = b[i] as number;
      for (let k = i + 1; k < count; k++) sum -= (this.triangle[i * count + k] as number) * (b[k] as number);
      b[i] = sum / (this.triangle[i * (count + 1)] as number);
    }
  }
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += (a[i] as number) * (b[i] as number);
  return sum;
}

function addMultiple(to: Float64Array, from: Float64Array, factor: number): void {
  for (let i = 0; i < to.length; i++) to[i] = (to[i] as number) + factor * (from[i] as number);
}

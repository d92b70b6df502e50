import { cholesky, inverseFromCholesky, logDeterminant } from '../models/linear-algebra.js';
import type { Ratings } from '../ratings/ratings.js';
import { centerOfNumbers, readingsOfTarget } from './measured-numbers.js';
import { quadraticForm } from './quadratic-form.js';
import type { TwoWayComponents } from './two-way-table.js';

/*
 * Restricted maximum likelihood of the two-way model with gaps, reading = mean + target + assessor + residual, on sums that
 * add up over targets: for the targets with m readings, how many there are, which pairs of assessors read them, and each
 * assessor's share of their totals. `linearMixedModel` fits the same model to rows and is the check on this one; here a fit
 * costs sums, so patients can be left out or drawn again.
 *
 * With ρ = target/residual and α = assessor/residual variance, λₘ = ρ/(1 + mρ):
 * A = diag(nⱼ) − Σₘ λₘ Nₘ (k × k), u = c − Σₘ λₘ Rₘ, B = (I + αA)⁻¹, q = W + Σₘ Σ T²/(m(1 + mρ)),
 * s = 1ᵀAB1, h = 1ᵀBu, S = q − α uᵀBu − h²/s;
 * criterion (N − 1) ln S + Σₘ nₘ ln(1 + mρ) + ln|I + αA| + ln s, residual variance S/(N − 1).
 */

export interface RestrictedSums {
  readonly cells: number;
  add(target: number, sums: Float64Array, at: number): boolean;
  components(sums: Float64Array): TwoWayComponents;
  /** A likelihood has no cheap derivative by its sums; its intervals are made by leaving patients out or drawing them again. */
  readonly derivatives?: undefined;
}

const WITHIN = 0;

/** Steps end below this length. */
const SMALLEST_STEP = 1e-11;
const MOST_STEPS = 100;
/** A residual below this share of the other variances is none. */
const SMALLEST_RESIDUAL = 1e-7;

export function restrictedSums(ratings: Ratings): RestrictedSums {
  const k = ratings.columns;
  const center = centerOfNumbers(ratings, () => true);
  const pairs = (k * (k + 1)) / 2;
  const sizes = sizesOf(ratings);
  // Per size: targets, Σ T²/m, R (k), N (lower triangle).
  const block = 2 + k + pairs;
  const firstBlock = 1 + k;
  const cells = firstBlock + sizes.length * block;
  return {
    cells,
    add(target, sums, at) {
      const m = readingsOfTarget(ratings, target);
      if (m === 0) return false;
      const from = target * k;
      const own = at + firstBlock + sizes.indexOf(m) * block;
      let total = 0;
      for (let j = 0; j < k; j++) {
        const x = ratings.numbers[from + j]! - center;
        if (!Number.isNaN(x)) total += x;
      }
      sums[own]!++;
      sums[own + 1]! += (total * total) / m;
      for (let j = 0; j < k; j++) {
        const x = ratings.numbers[from + j]! - center;
        if (Number.isNaN(x)) continue;
        sums[at + WITHIN]! += (x - total / m) ** 2;
        sums[at + 1 + j]! += x;
        sums[own + 2 + j]! += total;
        for (let l = 0; l <= j; l++)
          if (!Number.isNaN(ratings.numbers[from + l]!)) sums[own + 2 + k + (j * (j + 1)) / 2 + l]!++;
      }
      return true;
    },
    components(sums) {
      const likelihood = new RestrictedLikelihood(sums, sizes, k, firstBlock, block);
      return likelihood.maximum();
    },
  };
}

function sizesOf(ratings: Ratings): number[] {
  const found = new Set<number>();
  for (let target = 0; target < ratings.targets; target++) found.add(readingsOfTarget(ratings, target));
  found.delete(0);
  return [...found].sort((a, b) => a - b);
}

interface Point {
  readonly criterion: number;
  readonly byTarget: number;
  readonly byAssessor: number;
  readonly squares: number;
}

class RestrictedLikelihood {
  private readonly readings: number;
  private readonly assessorsSeen: number;
  private readonly meanSize: number;
  private readonly perAssessor: number;

  constructor(
    private readonly sums: Float64Array,
    private readonly sizes: readonly number[],
    private readonly k: number,
    private readonly firstBlock: number,
    private readonly block: number,
  ) {
    let readings = 0;
    let targets = 0;
    sizes.forEach((m, s) => {
      targets += this.of(s, 0);
      readings += m * this.of(s, 0);
    });
    this.readings = readings;
    this.meanSize = readings / targets;
    let seen = 0;
    for (let j = 0; j < k; j++) {
      let count = 0;
      sizes.forEach((_, s) => {
        count += this.of(s, 2 + k + (j * (j + 1)) / 2 + j);
      });
      if (count > 0) seen++;
    }
    this.assessorsSeen = seen;
    this.perAssessor = readings / seen;
  }

  maximum(): TwoWayComponents {
    if (this.readings < this.assessorsSeen + 2) return undefinedComponents();
    const alike = this.whereAllAgree();
    if (alike !== undefined) return alike;
    if (this.nothingIsLeft()) return undefinedComponents();
    let best = this.search(Math.log(1 + this.meanSize), Math.log(1 + 0.3 * this.perAssessor));
    // A search that ends on the edge may have slid past a maximum inside.
    if (best.eta === 0 || best.zeta === 0) {
      const second = this.search(0.1, 0.1);
      if (second.here.criterion < best.here.criterion) best = second;
    }
    if (!(best.here.squares > 0)) return undefinedComponents();
    const residual = best.here.squares / (this.readings - 1);
    const target = (residual * Math.expm1(best.eta)) / this.meanSize;
    const assessor = (residual * Math.expm1(best.zeta)) / this.perAssessor;
    // Targets and assessors explain every reading: the likelihood has no maximum, and nothing tells the two variances.
    if (residual < SMALLEST_RESIDUAL * (target + assessor)) return undefinedComponents();
    return { target, assessor, residual };
  }

  /** Every reading of a target the same: no variance but that of the targets, Σ (v − v̄)²/(n − 1) of their values v. */
  private whereAllAgree(): TwoWayComponents | undefined {
    let weighted = 0;
    let targets = 0;
    let sum = 0;
    let squares = 0;
    this.sizes.forEach((m, s) => {
      weighted += this.of(s, 1);
      targets += this.of(s, 0);
      squares += this.of(s, 1) / m;
      // Σⱼ R counts each target's total, m·v, once for each of its m assessors.
      for (let j = 0; j < this.k; j++) sum += this.of(s, 2 + j) / (m * m);
    });
    if (targets === this.readings) return undefinedComponents();
    if (this.sums[WITHIN]! > 1e-13 * weighted) return undefined;
    return { target: (squares - (sum * sum) / targets) / (targets - 1), assessor: 0, residual: 0 };
  }

  /**
   * Whether targets and assessors, fewer than the readings, explain every one: then the likelihood rises without end as the residual variance
   * falls. By least squares: what is left within targets, W, once assessors are fitted, and the rank of that fit.
   */
  private nothingIsLeft(): boolean {
    const { k, sizes, sums } = this;
    const within = sums[WITHIN]!;
    const normal = new Float64Array(k * k);
    const slopes = sums.slice(1, 1 + k);
    let targets = 0;
    sizes.forEach((m, s) => {
      targets += this.of(s, 0);
      for (let j = 0; j < k; j++) {
        slopes[j]! -= this.of(s, 2 + j) / m;
        for (let l = 0; l <= j; l++) {
          const together = this.of(s, 2 + k + (j * (j + 1)) / 2 + l);
          normal[j * k + l]! += (j === l ? together : 0) - together / m;
          normal[l * k + j] = normal[j * k + l]!;
        }
      }
    });
    const { value, rank } = quadraticForm(slopes, normal);
    return targets + rank < this.readings && within - value < 1e-12 * within;
  }

  /** Newton steps on the likelihood over η = ln(1 + m̄ρ) and ζ = ln(1 + n̄α), both at least 0. */
  private search(fromEta: number, fromZeta: number): { eta: number; zeta: number; here: Point } {
    let eta = fromEta;
    let zeta = fromZeta;
    let here = this.at(eta, zeta);
    if (!(here.squares > 0)) return { eta, zeta, here };
    for (let step = 0; step < MOST_STEPS; step++) {
      const width = 1e-5;
      const right = this.at(eta + width, zeta);
      const up = this.at(eta, zeta + width);
      const a = Math.max((right.byTarget - here.byTarget) / width, 0);
      const d = Math.max((up.byAssessor - here.byAssessor) / width, 0);
      const b = (right.byAssessor - here.byAssessor + up.byTarget - here.byTarget) / (2 * width);
      const targetHeld = eta === 0 && here.byTarget >= 0;
      const assessorHeld = zeta === 0 && here.byAssessor >= 0;
      const move = newtonStep(here, a, b, d, targetHeld, assessorHeld);
      let share = 1;
      let next = here;
      let nextEta = eta;
      let nextZeta = zeta;
      for (; share > 1e-8; share /= 2) {
        nextEta = Math.max(0, eta + share * move[0]);
        nextZeta = Math.max(0, zeta + share * move[1]);
        next = this.at(nextEta, nextZeta);
        if (next.criterion <= here.criterion + 1e-12 * Math.abs(here.criterion)) break;
      }
      const moved = Math.max(Math.abs(nextEta - eta), Math.abs(nextZeta - zeta));
      eta = nextEta;
      zeta = nextZeta;
      here = next;
      if (moved < SMALLEST_STEP || share <= 1e-8) break;
    }
    return { eta, zeta, here };
  }

  /** The criterion and its derivatives by η and ζ. */
  private at(eta: number, zeta: number): Point {
    const { k, sizes, sums } = this;
    const rho = Math.expm1(eta) / this.meanSize;
    const alpha = Math.expm1(zeta) / this.perAssessor;
    const a = new Float64Array(k * k);
    const aByRho = new Float64Array(k * k);
    const u = sums.slice(1, 1 + k);
    const uByRho = new Float64Array(k);
    let q = sums[WITHIN]!;
    let qByRho = 0;
    let logTargets = 0;
    let logTargetsByRho = 0;
    sizes.forEach((m, s) => {
      const shrink = 1 + m * rho;
      const lambda = rho / shrink;
      const slope = 1 / (shrink * shrink);
      q += this.of(s, 1) / shrink;
      qByRho -= m * this.of(s, 1) * slope;
      logTargets += this.of(s, 0) * Math.log(shrink);
      logTargetsByRho += (this.of(s, 0) * m) / shrink;
      for (let j = 0; j < k; j++) {
        u[j]! -= lambda * this.of(s, 2 + j);
        uByRho[j]! -= slope * this.of(s, 2 + j);
        for (let l = 0; l <= j; l++) {
          const together = this.of(s, 2 + k + (j * (j + 1)) / 2 + l);
          a[j * k + l]! += (j === l ? together : 0) - lambda * together;
          aByRho[j * k + l]! -= slope * together;
        }
      }
    });
    const inner = new Float64Array(k * k);
    for (let j = 0; j < k; j++) {
      for (let l = 0; l <= j; l++) {
        a[l * k + j] = a[j * k + l]!;
        aByRho[l * k + j] = aByRho[j * k + l]!;
        inner[j * k + l] = alpha * a[j * k + l]! + (j === l ? 1 : 0);
      }
    }
    if (!cholesky(inner, k))
      return { criterion: Number.POSITIVE_INFINITY, byTarget: Number.NaN, byAssessor: Number.NaN, squares: Number.NaN };
    const logAssessors = logDeterminant(inner, k);
    const b = inverseFromCholesky(inner, k);
    const v = times(b, u, k);
    const w = times(b, new Float64Array(k).fill(1), k);
    const aw = times(a, w, k);
    const av = times(a, v, k);
    const byRhoV = times(aByRho, v, k);
    const byRhoW = times(aByRho, w, k);
    const s = total(aw);
    const h = total(v);
    const squares = q - alpha * dot(u, v) - (h * h) / s;
    const sByRho = dot(w, byRhoW);
    const sByAlpha = -dot(aw, aw);
    const hByRho = dot(w, uByRho) - alpha * dot(w, byRhoV);
    const hByAlpha = -dot(w, av);
    const pByRho = qByRho - 2 * alpha * dot(uByRho, v) + alpha * alpha * dot(v, byRhoV);
    const pByAlpha = -dot(v, v);
    const rest = (sBy: number, hBy: number): number => (-2 * h * hBy) / s + (h * h * sBy) / (s * s);
    const degrees = this.readings - 1;
    const byRho =
      (degrees * (pByRho + rest(sByRho, hByRho))) / squares + logTargetsByRho + alpha * dot(b, aByRho) + sByRho / s;
    const byAlpha = (degrees * (pByAlpha + rest(sByAlpha, hByAlpha))) / squares + dot(b, a) + sByAlpha / s;
    return {
      criterion: degrees * Math.log(squares) + logTargets + logAssessors + Math.log(s),
      byTarget: (byRho * (1 + this.meanSize * rho)) / this.meanSize,
      byAssessor: (byAlpha * (1 + this.perAssessor * alpha)) / this.perAssessor,
      squares,
    };
  }

  private of(size: number, place: number): number {
    return this.sums[this.firstBlock + size * this.block + place]!;
  }
}

/** A descent step: Newton's where the curvature allows it, else along the gradient; held entries do not move. */
function newtonStep(
  { byTarget, byAssessor }: Point,
  a: number,
  b: number,
  d: number,
  targetHeld: boolean,
  assessorHeld: boolean,
): [number, number] {
  const alone = (gradient: number, curvature: number): number =>
    Math.max(-2, Math.min(2, -gradient / Math.max(curvature, 1e-3 * Math.abs(gradient), 1e-12)));
  if (targetHeld && assessorHeld) return [0, 0];
  if (targetHeld) return [0, alone(byAssessor, d)];
  if (assessorHeld) return [alone(byTarget, a), 0];
  const determinant = a * d - b * b;
  if (!(determinant > 1e-10 * a * d)) return [alone(byTarget, a), alone(byAssessor, d)];
  const first = -(d * byTarget - b * byAssessor) / determinant;
  const second = -(a * byAssessor - b * byTarget) / determinant;
  const length = Math.max(Math.abs(first), Math.abs(second), 2) / 2;
  return [first / length, second / length];
}

function undefinedComponents(): TwoWayComponents {
  return { target: Number.NaN, assessor: Number.NaN, residual: Number.NaN };
}

function times(matrix: Float64Array, vector: Float64Array, order: number): Float64Array {
  const result = new Float64Array(order);
  for (let i = 0; i < order; i++) for (let j = 0; j < order; j++) result[i]! += matrix[i * order + j]! * vector[j]!;
  return result;
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

function total(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum;
}

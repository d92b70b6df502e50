import { solveGeneral } from '../models/linear-algebra.js';
import { normal } from '../shared/distributions.js';

/** Gauss–Legendre nodes and weights on −1 … 1, by Newton's method on the Legendre polynomial. */
function legendre(order: number): { nodes: Float64Array; weights: Float64Array } {
  const nodes = new Float64Array(order);
  const weights = new Float64Array(order);
  for (let i = 0; i < order; i++) {
    let x = Math.cos((Math.PI * (i + 0.75)) / (order + 0.5));
    let slope = 1;
    for (let step = 0; step < 100; step++) {
      let before = 1;
      let now = x;
      for (let k = 2; k <= order; k++) [before, now] = [now, ((2 * k - 1) * x * now - (k - 1) * before) / k];
      slope = (order * (x * now - before)) / (x * x - 1);
      const move = now / slope;
      x -= move;
      if (Math.abs(move) < 1e-15) break;
    }
    nodes[i] = x;
    weights[i] = 2 / ((1 - x * x) * slope * slope);
  }
  return { nodes, weights };
}

export const QUADRATURE = legendre(60);

/**
 * Average number of periods to the first signal of a chart with fixed limits at ± `width` σ, for normal values shifted by `shift` σ:
 * 1 / P(outside).
 */
export function averageRunLength(shift: number, width = 3): number {
  return 1 / (normal.upper(width - shift) + normal.upper(width + shift));
}

/**
 * Average run length of a two-sided cumulative sum started at 0, for independent normal values shifted by `shift` σ; allowance k and decision h
 * in σ. Each side solves L(u) = 1 + L(0)Φ(k − u − δ) + ∫₀ʰ L(y) φ(y + k − u − δ) dy by Gauss–Legendre quadrature; both sides combine as
 * 1/L = 1/L⁺ + 1/L⁻.
 * Source: Lucas JM, Crosier RB. Technometrics 1982;24:199–205, doi:10.1080/00401706.1982.10487759.
 */
export function cumulativeSumRunLength(shift: number, allowance: number, decision: number): number {
  const up = oneSidedRunLength(shift, allowance, decision);
  const down = oneSidedRunLength(-shift, allowance, decision);
  return 1 / (1 / up + 1 / down);
}

/** Average run length of one side of a cumulative sum started at 0. */
export function oneSidedRunLength(shift: number, allowance: number, decision: number): number {
  const { nodes, weights } = QUADRATURE;
  const order = nodes.length;
  const places = [0, ...Array.from(nodes, (x) => (decision * (x + 1)) / 2)];
  const size = order + 1;
  const matrix = new Float64Array(size * size);
  for (let i = 0; i < size; i++) {
    const from = places[i]! - allowance + shift;
    for (let j = 0; j < size; j++) {
      const reach =
        j === 0 ? normal.cdf(-from) : ((weights[j - 1]! * decision) / 2) * normal.density(places[j]! - from);
      matrix[i * size + j] = (i === j ? 1 : 0) - reach;
    }
  }
  return solved(matrix, size)[0]!;
}

/**
 * Average run length of an exponentially weighted moving average with steady limits ± `width` · σ√(λ/(2 − λ)), started at the target, for
 * independent normal values shifted by `shift` σ: L(u) = 1 + (1/λ) ∫ L(y) φ((y − (1 − λ)u)/λ − δ) dy over the limits.
 * Source: Lucas JM, Saccucci MS. Technometrics 1990;32:1–12, doi:10.1080/00401706.1990.10484583.
 */
export function movingAverageRunLength(shift: number, lambda: number, width: number): number {
  const { nodes, weights } = QUADRATURE;
  const order = nodes.length;
  const limit = width * Math.sqrt(lambda / (2 - lambda));
  const places = nodes.map((x) => limit * x);
  const kernel = (from: number, at: number): number =>
    ((weights[at]! * limit) / lambda) * normal.density((places[at]! - (1 - lambda) * from) / lambda - shift);
  const matrix = new Float64Array(order * order);
  for (let i = 0; i < order; i++)
    for (let j = 0; j < order; j++) matrix[i * order + j] = (i === j ? 1 : 0) - kernel(places[i]!, j);
  const lengths = solved(matrix, order);
  let sum = 1;
  for (let j = 0; j < order; j++) sum += lengths[j]! * kernel(0, j);
  return sum;
}

/** Run lengths from I − kernel: the equations have a solution because a signal comes sooner or later. */
function solved(matrix: Float64Array, order: number): Float64Array {
  return solveGeneral(matrix, order, new Float64Array(order).fill(1), 1) ?? new Float64Array(order).fill(Number.NaN);
}

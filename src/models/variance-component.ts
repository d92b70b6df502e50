import { information, type Note } from '../shared/note.js';
import type { RandomBlock } from './random-terms.js';

/** A fixed effect with its standard error from the curvature of the likelihood. */
export interface Coefficient {
  readonly name: string;
  readonly value: number;
  readonly standardError: number;
}

/** The covariance of one random effect. */
export interface VarianceComponent {
  readonly term: string;
  /** Variance of the intercept, with its large-sample standard error (`NaN` on the boundary). */
  readonly variance: number;
  readonly standardError: number;
  readonly standardDeviation: number;
  /** Only with a slope. The correlation is `NaN` beside a variance of zero. */
  readonly slope?: {
    readonly name: string;
    readonly variance: number;
    readonly standardError: number;
    readonly standardDeviation: number;
    readonly covariance: number;
    readonly correlation: number;
  };
  /** A variance of zero or a correlation of ±1: the estimate stands at the edge of what is possible. */
  readonly onBoundary: boolean;
}

/** Number of entries of Σ: 1, or variance, covariance and variance with a slope. */
export function entriesOf(block: RandomBlock): number {
  return (block.width * (block.width + 1)) / 2;
}

/** Σ = s² Λ Λᵀ of one term, with the standard errors of its variances. */
export function varianceComponent(
  block: RandomBlock,
  theta: Float64Array,
  squaredScale: number,
  standardError: number,
  slopeStandardError: number,
): VarianceComponent {
  const first = theta[block.parameter] as number;
  const variance = squaredScale * first * first;
  const intercept = { term: block.name, variance, standardError, standardDeviation: Math.sqrt(variance) };
  if (block.width === 1) return { ...intercept, onBoundary: first === 0 };
  const cross = (theta[block.parameter + 1] as number) / block.slopeScale;
  const second = (theta[block.parameter + 2] as number) / block.slopeScale;
  const slopeVariance = squaredScale * (cross * cross + second * second);
  return {
    ...intercept,
    slope: {
      name: block.slopeName as string,
      variance: slopeVariance,
      standardError: slopeStandardError,
      standardDeviation: Math.sqrt(slopeVariance),
      covariance: squaredScale * first * cross,
      correlation: variance > 0 && slopeVariance > 0 ? cross / Math.hypot(cross, second) : Number.NaN,
    },
    onBoundary: first === 0 || second === 0,
  };
}

/**
 * The derivatives of the entries of Σ = s² Λ Λᵀ of one term: each a row over (all θ, ln s). `undefined` for
 * an entry on the boundary, where the large-sample error is not defined.
 */
export function componentDerivatives(
  block: RandomBlock,
  theta: Float64Array,
  squaredScale: number,
): (Float64Array | undefined)[] {
  const { parameter, width, slopeScale } = block;
  const row = (scale: number, value: number, own: readonly (readonly [number, number])[]): Float64Array => {
    const derivative = new Float64Array(theta.length + 1);
    for (const [k, d] of own) derivative[k] = (squaredScale * d) / scale;
    derivative[theta.length] = (2 * squaredScale * value) / scale;
    return derivative;
  };
  const first = theta[parameter] as number;
  const variance = first === 0 ? undefined : row(1, first * first, [[parameter, 2 * first]]);
  if (width === 1) return [variance];
  const cross = theta[parameter + 1] as number;
  const second = theta[parameter + 2] as number;
  const covarianceOwn = [
    [parameter, cross],
    [parameter + 1, first],
  ] as const;
  const slopeOwn = [
    [parameter + 1, 2 * cross],
    [parameter + 2, 2 * second],
  ] as const;
  return [
    variance,
    first === 0 ? undefined : row(slopeScale, first * cross, covarianceOwn),
    cross === 0 && second === 0 ? undefined : row(slopeScale ** 2, cross * cross + second * second, slopeOwn),
  ];
}

/** The entries of θ that stand on the boundary and so have no curvature to speak of. */
export function edgesOf(blocks: readonly RandomBlock[], theta: Float64Array): Set<number> {
  const edges = new Set<number>();
  for (const { parameter, width } of blocks) {
    if (theta[parameter] === 0) edges.add(parameter);
    if (width === 2 && theta[parameter] === 0) edges.add(parameter + 1);
    if (width === 2 && theta[parameter + 2] === 0) edges.add(parameter + 2);
  }
  return edges;
}

/** What a reader must know about variances on the boundary. */
export function boundaryNotes(components: readonly VarianceComponent[]): Note[] {
  return components.flatMap(({ term, variance, slope }): Note[] => [
    ...(variance === 0
      ? [
          information(
            'variance-at-zero',
            `The variance between the groups of "${term}" is estimated at zero: the rows differ no more between groups than within them.`,
          ),
        ]
      : []),
    ...(slope?.variance === 0
      ? [information('variance-at-zero', `The slope on "${slope.name}" does not vary between the groups of "${term}".`)]
      : []),
    ...(slope !== undefined && Math.abs(slope.correlation) > 1 - 1e-12
      ? [
          information(
            'correlation-at-one',
            `Intercept and slope of "${term}" are estimated as perfectly correlated: the data do not support both.`,
          ),
        ]
      : []),
  ]);
}

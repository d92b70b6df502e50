import type { Objective } from './optimize.js';

/** A function's value and its gradient, which the likelihoods here give in one pass. */
export interface ValueAndGradient {
  readonly value: number;
  readonly gradient: Float64Array;
}

/** An objective that keeps the last pass, so that asking for the value and then the gradient at one point costs one pass. */
export function objectiveOf(evaluate: (point: Float64Array) => ValueAndGradient): Objective {
  let last: { readonly point: Float64Array; readonly found: ValueAndGradient } | undefined;
  const at = (point: Float64Array): ValueAndGradient => {
    if (last === undefined || last.point.some((value, i) => value !== point[i]))
      last = { point: Float64Array.from(point), found: evaluate(point) };
    return last.found;
  };
  return { value: (point) => at(point).value, gradient: (point) => Float64Array.from(at(point).gradient) };
}

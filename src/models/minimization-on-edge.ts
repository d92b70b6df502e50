import { type Minimum, minimization, type Search } from './optimize.js';
import type { RandomBlock } from './random-terms.js';

/** A diagonal entry of Λ below this is tried at zero. */
const NEAR_ZERO = 1e-3;

/**
 * A minimum over the entries θ of covariance factors (from place `offset` of the point on) in which diagonal entries that tend to zero are set to zero and the rest searched again,
 * so that the report of convergence is about the parameters that are free. The Hessian is of full order,
 * with rows of zeros for the fixed ones.
 */
export function* minimizationOnEdge(
  objective: { value: (point: Float64Array) => number; gradient: (point: Float64Array) => Float64Array },
  start: Float64Array,
  inverseHessian: Float64Array,
  blocks: readonly RandomBlock[],
  offset: number,
): Search<Minimum> {
  const order = start.length;
  const free = yield* minimization(objective, start, { inverseHessian });
  if (free.stoppedBy === 'signal') return free;
  const point = Float64Array.from(free.point);
  const fixed = new Set<number>();
  for (const block of blocks) {
    const { width } = block;
    const parameter = offset + block.parameter;
    const edges = width === 1 ? [parameter] : [parameter, parameter + 2];
    for (const k of edges) {
      if (Math.abs(point[k] as number) > NEAR_ZERO) continue;
      const trial = Float64Array.from(point);
      trial[k] = 0;
      if (width === 2 && k === parameter) {
        // With no intercept variance only the slope's variance counts, not how it is divided.
        trial[parameter + 2] = Math.hypot(trial[parameter + 1] as number, trial[parameter + 2] as number);
        trial[parameter + 1] = 0;
      }
      if (!(objective.value(trial) <= free.value + 1e-6)) continue;
      point.set(trial);
      fixed.add(k);
      if (width === 2 && k === parameter) fixed.add(parameter + 1);
    }
  }
  if (fixed.size === 0) return free;
  const kept = Array.from({ length: order }, (_, k) => k).filter((k) => !fixed.has(k));
  const whole = (part: Float64Array): Float64Array => {
    const full = Float64Array.from(point);
    kept.forEach((k, at) => {
      full[k] = part[at] as number;
    });
    return full;
  };
  const inner = yield* minimization(
    {
      value: (part) => objective.value(whole(part)),
      gradient: (part) => {
        const full = objective.gradient(whole(part));
        return Float64Array.from(kept, (k) => full[k] as number);
      },
    },
    Float64Array.from(kept, (k) => point[k] as number),
  );
  const end = whole(inner.point);
  // The criterion is even in such an entry: it must rise as the entry leaves zero.
  const risesAtEdge = [...fixed].every((k) => {
    const off = Float64Array.from(end);
    off[k] = NEAR_ZERO;
    return (objective.gradient(off)[k] as number) >= -1e-8;
  });
  const hessian = new Float64Array(order * order);
  kept.forEach((i, a) => {
    kept.forEach((j, b) => {
      hessian[i * order + j] = inner.hessian?.[a * kept.length + b] ?? Number.NaN;
    });
  });
  const gradient = new Float64Array(order);
  kept.forEach((k, at) => {
    gradient[k] = inner.gradient[at] as number;
  });
  return {
    ...inner,
    point: end,
    gradient,
    hessian,
    iterations: free.iterations + inner.iterations,
    evaluations: free.evaluations + inner.evaluations,
    converged: inner.converged && risesAtEdge,
  };
}

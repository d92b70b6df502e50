import { normal } from '../shared/distributions.js';
import type { ValueWithLimits } from './intensities.js';
import { numericalGradient } from './optimize.js';

/** The scale on which an estimate is close to normal, and on which its limits are therefore symmetric. */
export type LimitScale = 'plain' | 'logarithm' | 'logit';

/** A slope below this by an open parameter is taken as none. */
const NEGLIGIBLE = 1e-3;

/**
 * A function of fitted parameters with limits by the delta method: the variance on the chosen scale is
 * g′Cg, with g the gradient of the function on that scale and C the parameters' covariance. Only parameters that the
 * function depends on count, so one that the data leave open (`NaN` in C) spoils only what uses it.
 */
export function limitsOf(
  value: (point: Float64Array) => number,
  point: Float64Array,
  covariance: Float64Array,
  level: number,
  scale: LimitScale,
): ValueWithLimits {
  const onScale = {
    plain: (x: number) => x,
    logarithm: Math.log,
    logit: (x: number) => Math.log(x / (1 - x)),
  }[scale];
  const back = {
    plain: (x: number) => x,
    logarithm: Math.exp,
    logit: (x: number) => 1 / (1 + Math.exp(-x)),
  }[scale];
  const own = value(point);
  const gradient = numericalGradient((p) => onScale(value(p)), point);
  const size = point.length;
  // A parameter that ran to its edge is open, but moves a probability near 0 by next to nothing: it then counts as known.
  const counts = (i: number): boolean =>
    gradient[i] !== 0 && !(Number.isNaN(covariance[i * size + i]) && Math.abs(gradient[i] as number) < NEGLIGIBLE);
  let variance = 0;
  for (let i = 0; i < size; i++) {
    if (!counts(i)) continue;
    for (let j = 0; j < size; j++)
      if (counts(j))
        variance += (gradient[i] as number) * (gradient[j] as number) * (covariance[i * size + j] as number);
  }
  const error = Math.sqrt(variance);
  const slope = { plain: 1, logarithm: own, logit: own * (1 - own) }[scale];
  const z = normal.quantile(0.5 + level / 2);
  const center = onScale(own);
  return {
    value: own,
    standardError: error * slope,
    lower: back(center - z * error),
    upper: back(center + z * error),
  };
}

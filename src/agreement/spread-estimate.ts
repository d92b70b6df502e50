import type { Ratings } from '../ratings/ratings.js';
import { chiSquare } from '../shared/distributions.js';
import { Estimate } from '../shared/estimate.js';
import { information, type Note } from '../shared/note.js';
import type { IntervalOptions } from '../shared/options.js';
import type { Coefficient } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';

/** A standard deviation of readings of the same target, as a coefficient, with what its asymptotic interval rests on. */
export interface Spread {
  readonly coefficient: Coefficient;
  /** Degrees of freedom f of f·s²/σ² ~ χ²; `undefined` where no such law holds and the interval is made from patients. */
  readonly degrees: number | undefined;
  readonly details?: Readonly<Record<string, number>>;
  readonly notes?: readonly Note[];
  readonly readings: number;
}

/** What every spread shares: positive, so its intervals are made on the log scale. */
export const SPREAD_SHAPE = {
  scale: 'log',
  bootstrapForm: 'equal-tailed',
  asymptotic: 'normal, divisor n',
  asymptoticSource: 'delta method',
} as const;

/**
 * The estimate of a spread. Asymptotic: s√(f/χ²) at both quantiles of χ² with f degrees of freedom, standard error s/√(2f), for
 * independent targets and normal errors. With patients: as every coefficient.
 */
export function spreadEstimate(
  ratings: Ratings,
  spread: Spread,
  options: IntervalOptions,
  asked: Readonly<Record<string, unknown>>,
): Estimate {
  const { degrees, coefficient } = spread;
  const noLaw = degrees === undefined && options.interval === undefined && !ratings.clustersKnown;
  const made = coefficientEstimate(ratings, coefficient, noLaw ? { ...options, interval: 'cluster-robust' } : options, {
    options: asked,
    ratings: () => spread.readings,
  });
  const notes = [
    ...(Number.isNaN(made.value)
      ? [information('not-defined', `The ${coefficient.name} is not defined: no finding was read twice in this way.`)]
      : []),
    ...(spread.notes ?? []),
    ...made.notes.filter(({ code }) => code !== 'limit-beyond-one'),
  ];
  const details = {
    ...made.details,
    ...(degrees === undefined ? {} : { degreesOfFreedom: degrees }),
    ...spread.details,
  };
  if (made.options.interval !== 'asymptotic' || degrees === undefined || !(made.value > 0))
    return new Estimate({ ...made, details, notes });
  const level = made.interval.level;
  const tail = (1 - level) / 2;
  const limit = (p: number): number => made.value * Math.sqrt(degrees / chiSquare.quantile(p, degrees));
  return new Estimate({
    ...made,
    standardError: made.value / Math.sqrt(2 * degrees),
    interval: {
      lower: limit(1 - tail),
      upper: limit(tail),
      level,
      method: `χ² with ${Number(degrees.toFixed(1))} degrees of freedom, targets taken as independent`,
    },
    details,
    notes,
  });
}

/** The estimate times a known factor, under another name. */
export function scaledEstimate(
  estimate: Estimate,
  factor: number,
  statistic: string,
  options: Readonly<Record<string, unknown>>,
  details: Readonly<Record<string, number>>,
): Estimate {
  const { lower, upper } = estimate.interval;
  return new Estimate({
    ...estimate,
    statistic,
    value: factor * estimate.value,
    standardError: factor * estimate.standardError,
    interval: { ...estimate.interval, lower: factor * lower, upper: factor * upper },
    options: { ...estimate.options, ...options },
    details: { ...estimate.details, ...details },
  });
}

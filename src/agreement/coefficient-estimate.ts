import type { Ratings } from '../ratings/ratings.js';
import { Estimate } from '../shared/estimate.js';
import { caution, type Note } from '../shared/note.js';
import { checkIntervalOptions, type IntervalOptions } from '../shared/options.js';
import { type ClusterSums, type Coefficient, clusterSums } from './coefficient.js';
import {
  asymptoticError,
  asymptoticInterval,
  bootstrapInterval,
  clusterRobustInterval,
  linearizedClusterError,
} from './interval.js';
import { fewMinorityPatients } from './sparse-readings.js';

/** What a coefficient adds to its estimate: figures that travel with it, notes, and the options it was asked with. */
export interface EstimateExtras {
  readonly options: Readonly<Record<string, unknown>>;
  readonly details?: (totals: Float64Array, sums: ClusterSums) => Readonly<Record<string, number>>;
  readonly notes?: (value: number, totals: Float64Array) => readonly Note[];
  /** Readings that entered; default all of them. */
  readonly ratings?: (totals: Float64Array) => number;
  /** The same as a number for each target that entered. */
  readonly ratingsPerTarget?: number;
  /** Adds `standardErrorDivisorN` to the details, for coefficients published with either divisor. */
  readonly divisorN?: boolean;
}

/**
 * The estimate of a coefficient: value, standard error and interval by the method asked for — by default
 * the studentized patient bootstrap where patients are known, the asymptotic interval where they are not.
 */
export function coefficientEstimate(
  ratings: Ratings,
  coefficient: Coefficient,
  options: IntervalOptions,
  extras: EstimateExtras,
): Estimate {
  const checked = checkIntervalOptions(options);
  const sums = clusterSums(ratings, coefficient);
  const value = sums.targets === 0 ? Number.NaN : coefficient.value(sums.totals);
  const method = checked.interval ?? (ratings.clustersKnown ? 'bootstrap' : 'asymptotic');
  const { standardError, interval, notes } =
    method === 'asymptotic'
      ? asymptoticInterval(coefficient, ratings, sums, checked)
      : method === 'cluster-robust'
        ? clusterRobustInterval(coefficient, sums, checked)
        : bootstrapInterval(coefficient, sums, checked);
  return new Estimate({
    statistic: coefficient.name,
    value,
    standardError,
    interval,
    counts: {
      targets: sums.targets,
      clusters: sums.clusters,
      assessors: ratings.readers,
      ratings:
        extras.ratingsPerTarget === undefined
          ? (extras.ratings?.(sums.totals) ?? ratings.readings)
          : extras.ratingsPerTarget * sums.targets,
      excluded: sums.excluded,
    },
    options: { ...extras.options, ...checked, interval: method },
    details: {
      ...(extras.details?.(sums.totals, sums) ?? {}),
      ...(extras.divisorN ? { standardErrorDivisorN: asymptoticError(coefficient, ratings, sums, 'n') } : {}),
      ...(ratings.clustersKnown && sums.clusters > 1
        ? { linearizedStandardError: linearizedClusterError(coefficient, sums) }
        : {}),
    },
    notes: [
      ...(extras.notes?.(value, sums.totals) ?? []),
      ...independenceNotes(ratings, method, sums),
      ...(ratings.clustersKnown ? fewMinorityPatients(ratings) : []),
      ...notes,
    ],
  });
}

/** What a reader must know about which readings were taken as independent. */
export function independenceNotes(
  ratings: Ratings,
  method: string,
  sums: Pick<ClusterSums, 'clusters' | 'targets'>,
): Note[] {
  if (!ratings.clustersKnown)
    return [
      caution(
        'patients-not-given',
        'Patients were not given, so every target counts as independent; two limbs of one patient are not.',
      ),
    ];
  if (method === 'asymptotic' && sums.clusters < sums.targets)
    return [
      caution(
        'assumes-independent-targets',
        'This interval takes targets as independent although some share a patient; it is too narrow.',
      ),
    ];
  if (sums.clusters < 12)
    return [
      caution(
        'few-patients',
        `Only ${sums.clusters} patients: the interval may be too narrow (below 12 it has not been shown to cover).`,
      ),
    ];
  return [];
}

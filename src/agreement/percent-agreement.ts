import type { Ratings } from '../ratings/ratings.js';
import { beta, normal, studentT } from '../shared/distributions.js';
import { Estimate, type Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information } from '../shared/note.js';
import { checkChoice, checkIntervalOptions, type IntervalOptions } from '../shared/options.js';
import type { Coefficient } from './coefficient.js';
import { coefficientEstimate } from './coefficient-estimate.js';
import { limitBeyondOne } from './interval.js';
import { ratioLeaveEachOut } from './leave-each-out.js';

export interface PercentAgreementOptions extends IntervalOptions {
  /** Readings at most this many grades apart count as agreeing: 0 (exact, the default) or 1, 2, … */
  readonly within?: number;
  /** The asymptotic interval of two assessors. Default `'wilson'`. */
  readonly proportionInterval?: 'wilson' | 'clopper-pearson';
}

/**
 * Percent agreement: the share of pairs of readings of the same target that agree, exactly or within some grades.
 *
 * p = mean over targets with at least two readings of (agreeing pairs of the target) / (its pairs). With two assessors this is
 * the share of targets on which they agree.
 *
 * Undefined (`NaN` with a note) when no target was read twice. Missing values: targets with fewer than two readings do not enter and
 * are counted as `excluded`.
 *
 * Intervals: with patients, studentized patient bootstrap on the logit scale; where every pair agrees (or none), the exact
 * one-sided limit with patients as the trials, 1 − α^(1/K). Asymptotic: two assessors without gaps, Wilson or Clopper–Pearson; else the
 * t interval of Gwet's error, √(Σ (aₜ − p)² / (n(n − 1))) over the n targets with a reading, aₜ = (n/n₂) · (the target's share of agreeing pairs), 0 below two
 * readings, n₂ targets with at least two.
 *
 * @throws InputError `bad-option`, `unknown-choice`, `level-not-suited` (within > 0 on a sign without order).
 * @example percentAgreement(ratingsOfTable([[43, 4], [4, 0]], { categories: ['no', 'yes'] })).value // 0.8431
 * Source: Newcombe RG. Stat Med 1998;17:857–872, doi:10.1002/(SICI)1097-0258(19980430)17:8<857::AID-SIM777>3.0.CO;2-E (intervals);
 * Gwet KL. Br J Math Stat Psychol 2008;61:29–48, doi:10.1348/000711006X126600 (error with gaps).
 */
export function percentAgreement(ratings: Ratings, options: PercentAgreementOptions = {}): Estimate {
  const within = options.within ?? 0;
  if (!Number.isInteger(within) || within < 0)
    throw refuse('bad-option', ['options', 'within'], `within is ${within}.`, 'give 0 (exact), 1, 2, … grades.');
  if (within > 0 && ratings.level === 'nominal')
    throw refuse(
      'level-not-suited',
      ['options', 'within'],
      'The categories of this sign have no order, so no two are one step apart.',
      'use within: 0.',
    );
  const proportionInterval = checkChoice('proportionInterval', options.proportionInterval ?? 'wilson', [
    'wilson',
    'clopper-pearson',
  ]);
  const coefficient = percentCoefficient(ratings, within);
  const estimate = coefficientEstimate(ratings, coefficient, options, {
    options: { within, proportionInterval },
    notes: (value) =>
      Number.isNaN(value)
        ? [information('not-defined', 'Percent agreement is not defined: no target was read twice.')]
        : [],
  });
  const checked = checkIntervalOptions(options);
  if (Number.isNaN(estimate.value)) return estimate;
  if (estimate.options.interval === 'asymptotic')
    return withInterval(estimate, asymptotic(ratings, within, estimate, checked.confidenceLevel, proportionInterval));
  if (estimate.value === 0 || estimate.value === 1)
    return withInterval(estimate, {
      standardError: 0,
      interval: oneSided(estimate.value, estimate.counts.clusters, checked.confidenceLevel),
    });
  return estimate;
}

/** The coefficient behind `percentAgreement`. Sums: share of agreeing pairs, targets. */
export function percentCoefficient(ratings: Ratings, within: number): Coefficient {
  return {
    name: within === 0 ? 'percent agreement' : `percent agreement within ${within} grade${within === 1 ? '' : 's'}`,
    cells: 2,
    scale: 'logit',
    bootstrapForm: 'symmetric',
    asymptotic: 't, divisor n − 1',
    asymptoticSource: 'share of targets',
    add(target, sums, at) {
      const share = agreeingShare(ratings, target, within);
      if (Number.isNaN(share)) return false;
      sums[at]! += share;
      sums[at + 1]!++;
      return true;
    },
    value: (sums) => sums[0]! / sums[1]!,
    leaveEachOut: ratioLeaveEachOut,
    gradient: (sums) => Float64Array.of(1 / sums[1]!, -sums[0]! / (sums[1]! * sums[1]!)),
  };
}

function agreeingShare(ratings: Ratings, target: number, within: number): number {
  let pairs = 0;
  let agreeing = 0;
  const from = target * ratings.columns;
  for (let i = 0; i < ratings.columns; i++) {
    const a = ratings.codes[from + i]!;
    if (a < 0) continue;
    for (let j = 0; j < i; j++) {
      const b = ratings.codes[from + j]!;
      if (b < 0) continue;
      pairs++;
      if (Math.abs(a - b) <= within) agreeing++;
    }
  }
  return pairs === 0 ? Number.NaN : agreeing / pairs;
}

function asymptotic(
  ratings: Ratings,
  within: number,
  estimate: Estimate,
  level: number,
  method: 'wilson' | 'clopper-pearson',
): { standardError: number; interval: Interval } {
  const { targets } = estimate.counts;
  const p = estimate.value;
  if (ratings.columns === 2 && estimate.counts.excluded === 0) {
    const limits =
      method === 'wilson' ? wilson(p * targets, targets, level) : clopperPearson(p * targets, targets, level);
    return {
      standardError: Math.sqrt((p * (1 - p)) / targets),
      interval: {
        ...limits,
        level,
        method: `${method === 'wilson' ? 'Wilson' : 'Clopper–Pearson'}, targets taken as independent`,
      },
    };
  }
  const shares: number[] = [];
  for (let target = 0; target < ratings.targets; target++) {
    const from = target * ratings.columns;
    if (ratings.codes.subarray(from, from + ratings.columns).every((code) => code < 0)) continue;
    const share = agreeingShare(ratings, target, within);
    shares.push(Number.isNaN(share) ? 0 : share);
  }
  const n = shares.length;
  const squares = shares.reduce((sum, share) => sum + ((share * n) / targets - p) ** 2, 0);
  const standardError = Math.sqrt(squares / (n * (n - 1)));
  const reach = studentT.quantile(1 - (1 - level) / 2, n - 1) * standardError;
  return {
    standardError,
    interval: {
      lower: p - reach,
      upper: p + reach,
      level,
      method: 'asymptotic t (Gwet 2008), targets taken as independent',
    },
  };
}

/** Wilson's score interval for x successes in n independent trials. */
export function wilson(x: number, n: number, level: number): { lower: number; upper: number } {
  const z = normal.quantile(1 - (1 - level) / 2);
  const p = x / n;
  const denominator = 1 + (z * z) / n;
  const center = (p + (z * z) / (2 * n)) / denominator;
  const reach = (z * Math.sqrt((p * (1 - p)) / n + (z * z) / (4 * n * n))) / denominator;
  return { lower: center - reach, upper: center + reach };
}

/** The exact Clopper–Pearson interval for x successes in n independent trials. */
function clopperPearson(x: number, n: number, level: number): { lower: number; upper: number } {
  const tail = (1 - level) / 2;
  return {
    lower: x === 0 ? 0 : beta.quantile(tail, x, n - x + 1),
    upper: x === n ? 1 : beta.quantile(1 - tail, x + 1, n - x),
  };
}

/** Every pair agrees, or none: what could still be behind that, were each patient one trial. */
function oneSided(value: number, patients: number, level: number): Interval {
  const reach = 1 - (1 - level) ** (1 / patients);
  return {
    lower: value === 1 ? 1 - reach : 0,
    upper: value === 1 ? 1 : reach,
    level,
    method: 'exact one-sided, patients as trials',
  };
}

function withInterval(estimate: Estimate, made: { standardError: number; interval: Interval }): Estimate {
  const allAgree = estimate.value === 0 || estimate.value === 1;
  return new Estimate({
    ...estimate,
    ...made,
    notes: [
      ...estimate.notes.filter(({ code }) => code !== 'no-variation' && code !== 'limit-beyond-one'),
      ...limitBeyondOne(made.interval.upper),
      ...(allAgree ? [caution('one-sided', 'All pairs came out alike; the interval is one-sided.')] : []),
    ],
  });
}

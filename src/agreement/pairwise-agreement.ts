import type { Ratings } from '../ratings/ratings.js';
import type { Audience, MadeFor } from '../shared/audience.js';
import { CAUTIONS } from '../shared/cautions.js';
import type { Estimate } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, type Note } from '../shared/note.js';
import type { IntervalOptions } from '../shared/options.js';
import { type Cell, Table } from '../shared/table.js';
import { agreementCoefficient, type CoefficientChoice } from './agreement-coefficient.js';
import { refuseUnknownAssessors } from './suitable-ratings.js';

export interface PairwiseAgreementOptions extends CoefficientChoice, IntervalOptions {}

/** One coefficient for every pair of assessors, in the order of the ratings. */
export class PairwiseAgreement implements MadeFor {
  readonly kind = 'pairwise-agreement';
  readonly audience: Audience;

  constructor(
    readonly assessors: readonly string[],
    readonly pairs: readonly { readonly assessors: readonly [string, string]; readonly estimate: Estimate }[],
    readonly notes: readonly Note[],
    madeFor: MadeFor = {},
  ) {
    this.audience = madeFor.audience ?? 'own';
    Object.freeze(this);
  }

  /** The estimate of two assessors, in either order; throws `InputError` `unknown-assessor`. */
  of(one: string, other: string): Estimate {
    const found = this.pairs.find(isOf(one, other));
    if (found !== undefined && one !== other) return found.estimate;
    throw refuse('unknown-assessor', ['assessors'], `No such pair; the assessors are ${this.assessors.join(', ')}.`);
  }

  /** One row a pair: value, interval, and the targets and patients it rests on. */
  get table(): Table {
    return new Table(
      `How far does each pair of assessors agree? (${this.pairs[0]?.estimate.statistic ?? 'agreement'})`,
      [
        { key: 'pair', label: 'pair', kind: 'text' },
        { key: 'value', label: 'value', kind: 'number' },
        { key: 'lower', label: 'from', kind: 'number' },
        { key: 'upper', label: 'to', kind: 'number' },
        { key: 'targets', label: 'findings', kind: 'count' },
        { key: 'clusters', label: 'people', kind: 'count' },
      ],
      this.pairs.map(({ assessors, estimate }) => ({
        pair: assessors.join(' and '),
        value: estimate.value,
        lower: estimate.interval.lower,
        upper: estimate.interval.upper,
        targets: estimate.counts.targets,
        clusters: estimate.counts.clusters,
      })),
      this.notes,
      this,
    );
  }

  /** The values alone as a square, assessors by assessors; the diagonal is empty. */
  get square(): Table {
    return new Table(
      'Agreement of each pair of assessors',
      [
        { key: 'assessor', label: 'assessor', kind: 'text' },
        ...this.assessors.map((assessor) => ({ key: `with ${assessor}`, label: assessor, kind: 'number' as const })),
      ],
      this.assessors.map((assessor) => ({
        assessor,
        ...Object.fromEntries(
          this.assessors.map((other): [string, Cell] => [
            `with ${other}`,
            other === assessor ? null : (this.pairs.find(isOf(assessor, other))?.estimate.value ?? 'hidden'),
          ]),
        ),
      })),
      this.notes,
      this,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

function isOf(one: string, other: string): (pair: { readonly assessors: readonly string[] }) => boolean {
  return ({ assessors }) => assessors.includes(one) && assessors.includes(other);
}

/**
 * A coefficient of agreement for every pair of assessors, each with its own interval.
 *
 * The coefficient is the one chosen (default Cohen's kappa) on the targets that both of a pair have read.
 *
 * Undefined pairs are `NaN` with a note of their own. Missing values: pair by pair, so pairs may rest on different targets; the table says
 * how many. The default interval is the patient jackknife where patients are known (`'cluster-robust'`), else asymptotic: a studentized bootstrap
 * for each of many pairs is there for the asking.
 *
 * Pairs stand in the order of the ratings: this is no ranking, and with few targets the extremes are mostly chance.
 *
 * @param ratings two or more assessors.
 * @throws InputError `assessors-needed`, `unknown-choice`, `bad-option`, and what the coefficient throws.
 * @example pairwiseAgreement(ratingsOf([[1, 1, 2], [2, 2, 2], [1, 1, 1], [1, 2, 2]])).pairs.length // 3
 * Source: common practice, no source; the coefficients have theirs.
 */
export function pairwiseAgreement(ratings: Ratings, options: PairwiseAgreementOptions = {}): PairwiseAgreement {
  refuseUnknownAssessors(ratings, 'pairwiseAgreement');
  const { coefficient = 'cohen-kappa' } = options;
  const { estimate } = agreementCoefficient(coefficient);
  const interval = options.interval ?? (ratings.clustersKnown ? 'cluster-robust' : 'asymptotic');
  const { assessors } = ratings;
  const pairs = assessors.flatMap((one, at) =>
    assessors.slice(at + 1).map((other) => {
      const pair = ratings.ofAssessors(one, other);
      const both = pair.ofTargets((target) => pair.codes[2 * target]! >= 0 && pair.codes[2 * target + 1]! >= 0);
      return { assessors: [one, other] as const, estimate: estimate(both, { ...options, interval }) };
    }),
  );
  return new PairwiseAgreement(assessors, pairs, [caution('no-ranking', CAUTIONS.noRanking)]);
}

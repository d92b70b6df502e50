import type { CategoryEstimates } from '../agreement/category-estimates.js';
import type { CrossTable } from '../agreement/cross-table.js';
import { PairwiseAgreement } from '../agreement/pairwise-agreement.js';
import { type ReleasedCrossTable, releasedCrossTable } from '../agreement/released-cross-table.js';
import { Chart } from '../charts/chart.js';
import { errorForAudience } from '../measurement-error/error-for-audience.js';
import { ChangeCalls } from '../progression/change-calls.js';
import type { SurvivalCurve } from '../progression/kaplan-meier.js';
import { type TransitionCounts, transitionResultOf } from '../progression/transition-counts.js';
import { AUDIENCES, type Audience, type FullRelease, isMadeFor, type MadeFor } from '../shared/audience.js';
import type { Estimate } from '../shared/estimate.js';
import { FEWEST_SHOWN } from '../shared/hide-small-counts.js';
import { type InputError, refuse } from '../shared/input-error.js';
import { caution, information } from '../shared/note.js';
import { checkChoice } from '../shared/options.js';
import { releaseSquare, squareNotes } from '../shared/release-square.js';
import { roundedEstimate } from '../shared/rounded-estimate.js';
import { Table } from '../shared/table.js';
import type { AgreementByGroup, AgreementStudy } from '../study/agreement-study.js';
import { specificFor, studyForAudience } from '../study/study-for-audience.js';
import type { HardLimbs } from '../teaching/hard-limbs.js';
import type { RetrainingEffect } from '../teaching/retraining-effect.js';
import type { ArrivalAndStay } from '../unit-quality/arrival-and-stay.js';
import { arrivalForAudience } from '../unit-quality/arrival-for-audience.js';
import { type Funnel, funnel } from '../unit-quality/funnel.js';
import type { GradesByPeriod } from '../unit-quality/grades-by-period.js';
import { type GradesForAudienceOptions, gradesForAudience } from '../unit-quality/grades-for-audience.js';
import { isFew } from '../unit-quality/join-periods.js';
import type { ShareByPeriod } from '../unit-quality/share-by-period.js';
import { shareForAudience } from '../unit-quality/share-for-audience.js';

export interface ForAudienceOptions extends GradesForAudienceOptions {
  /** Gives out every figure of this one result, table or chart in spite of the audience; the reason is printed on it. */
  readonly release?: FullRelease;
  /** Joins neighboring grades of a cross-table before hiding. Default true; false for kinds without an order. */
  readonly joinsGrades?: boolean;
}

/**
 * What may be shown of a result, by who will see it: the one place where small numbers are joined, hidden or refused. The answer is a result of the same kind, so
 * its table and its chart, with their hover text and alternative text, hold only what may be shown; it says whom it was made for, and so does every table and chart made from it.
 *
 * `'own'`: all of it; exports print "not for sharing". `'inside'` the hospital: totals of the unit are shown, breakdowns of fewer than 5 people joined, else hidden. `'outside'`: 1 to 4 people
 * in any part are joined with neighboring grades or periods, else hidden, with whatever they could be had from by subtraction.
 *
 * A share, arrival and stay, and grades by period join the same nested periods; a cross-table, transitions: neighboring grades; a study: groups of fewer
 * than 5 people are left out; agreement by group and pairs likewise; a funnel: small units; a curve: from where fewer than 5 are followed; an estimate: refused below 5 people; an error of measurement: without who reads how. What shows single people (a limb's course, a
 * learner's card) or cannot be joined is refused, unless `release` gives it out by a decision that is printed on it. A table or chart is only passed on where it was made for
 * the audience, so begin with the result.
 *
 * Undefined: nothing. Missing values: as in the result. Results given out one by one can be set against each other: one cut-off of a sign only, and see `atLeast`.
 *
 * @param result any result of this library, a table or a chart.
 * @param audience set once, at the top of a notebook or report.
 * @throws InputError `unknown-choice`, `reason-missing` (a release without a reason), `too-few-people`, `cannot-be-released`, `not-for-audience`.
 * @example await save(shareByPeriodChart(forAudience(share, 'outside')), 'board.png', { audience: 'outside' })
 * Source: a least cell of five, common practice, no source.
 */
export function forAudience(result: CrossTable, audience: Audience, options?: ForAudienceOptions): ReleasedCrossTable;
export function forAudience<T extends object>(result: T, audience: Audience, options?: ForAudienceOptions): T;
export function forAudience(result: object, audience: Audience, options: ForAudienceOptions = {}): object {
  const chosen = checkChoice('audience', audience, AUDIENCES);
  const { release } = options;
  if (release !== undefined && (typeof release.reason !== 'string' || release.reason.trim() === ''))
    throw refuse(
      'reason-missing',
      ['options', 'release', 'reason'],
      'The release gives no reason.',
      'say who asked for every figure, and why.',
    );
  const kind = kindOf(result);
  if (kind === 'cross-table')
    return releasedCrossTable(result as CrossTable, {
      audience: chosen,
      ...(release === undefined ? {} : { release }),
      ...(options.joinsGrades === undefined ? {} : { joinsGrades: options.joinsGrades }),
    });
  if (isMadeFor(result as MadeFor, chosen)) return result;
  if (release !== undefined) return releasedInFull(result, chosen, release);
  const way = WAYS[kind];
  // One's own eyes may see everything, so here it is others'.
  if (way === undefined) throw cannot(kind, chosen);
  return way(result as never, chosen as Other, options);
}

type Other = Exclude<Audience, 'own'>;

/** How each kind of result is made fit for others' eyes. */
const WAYS: Readonly<Record<string, (result: never, audience: Other, options: ForAudienceOptions) => object>> = {
  'share-by-period': (result: ShareByPeriod, audience) => shareForAudience(result, audience),
  'arrival-and-stay': (result: ArrivalAndStay, audience) => arrivalForAudience(result, audience),
  'grades-by-period': (result: GradesByPeriod, audience, options) => gradesForAudience(result, audience, options),
  'agreement-study': (result: AgreementStudy, audience) => studyForAudience(result, audience),
  'agreement-by-group': groupsFor,
  'pairwise-agreement': pairsFor,
  'specific-agreement': (result: CategoryEstimates, audience) => specificFor(result, audience === 'outside', audience),
  estimate: estimateFor,
  // The error of measurement.
  grades: errorForAudience,
  lengths: errorForAudience,
  transitions: transitionsFor,
  'change-calls': callsFor,
  funnel: funnelFor,
  'survival-curve': curveFor,
  'retraining-effect': (result: RetrainingEffect, audience) => ofEnoughLearners(result, audience),
  'hard-limbs': hardLimbsFor,
  'class-carpet': (result: { readonly rows: readonly unknown[] }, audience) => {
    if (audience === 'outside') throw cannot('class-carpet', audience);
    return ofEnoughLearners({ ...result, learners: result.rows.length }, audience);
  },
};

/** What cannot be made fit, and what to do instead. */
const INSTEAD: Readonly<Record<string, readonly [what: string, instead: string]>> = {
  table: ['This table was made for fewer eyes', 'pass the result it comes from through forAudience first.'],
  chart: ['This chart was made for fewer eyes', 'pass the result it draws through forAudience first.'],
  'released-cross-table': ['This cross-table was made for fewer eyes', 'pass the cross-table itself.'],
  'completeness-by-period': [
    'Completeness comes from a share',
    'use completenessByPeriod(forAudience(share, …)), which joins and hides the same periods.',
  ],
  'control-chart': [
    'A control chart does not know how many people stand behind a point',
    'make it from the counts of forAudience(share, …) and give that share to controlLimitsChart.',
  ],
  'class-carpet': ['Each mark is one volunteer’s limb', 'show it to the class only.'],
  'hard-limbs': ['Each row is one volunteer’s limb', 'show it to the class only.'],
  'learner-card': ['A learner’s card is for that learner only', 'give it to nobody else.'],
  'limb-course': ['A course is one person’s', 'show numbers of limbs instead, as changeCalls does.'],
  'true-grade-course': ['A course is one person’s', 'show numbers of limbs instead, as changeCalls does.'],
};

function kindOf(result: object): string {
  if (result instanceof Table) return 'table';
  if (result instanceof Chart) return 'chart';
  const has = (name: string): boolean => name in result;
  if ('kind' in result && typeof result.kind === 'string') return result.kind;
  if (has('transitions') && has('gapDays')) return 'transitions';
  if (has('pooled') && has('rows')) return 'agreement-by-group';
  if (has('readings') && has('limbLabel')) return 'limb-course';
  if (has('segments')) {
    const { segments } = result as ShareByPeriod | GradesByPeriod;
    return segments.some((segment) => 'grades' in segment) ? 'grades-by-period' : 'share-by-period';
  }
  return has('visits') && has('limb') ? 'true-grade-course' : 'other';
}

function cannot(kind: string, audience: Audience): InputError {
  const [what, instead] = INSTEAD[kind] ?? [
    'This result cannot be joined or hidden in part',
    'show it to yourself only.',
  ];
  return refuse(
    'cannot-be-released',
    ['result'],
    `${what}; it cannot be given to people ${audience} the hospital.`,
    `${instead} To give out every figure all the same, say why: { release: { reason: '…' } }.`,
  );
}

function tooFew(what: string): InputError {
  return refuse(
    'too-few-people',
    ['result'],
    `${what} rests on fewer than ${FEWEST_SHOWN} people and cannot be given to others.`,
    'show it to yourself only, or collect more.',
  );
}

/** Every figure, with the decision beside it. */
function releasedInFull(result: object, audience: Audience, release: FullRelease): object {
  const madeFor: MadeFor = { audience, release };
  if (result instanceof Table) return new Table(result.caption, result.columns, result.rows, result.notes, madeFor);
  if (result instanceof Chart) return new Chart({ ...result, ...madeFor });
  const note = caution('released-in-full', `Every figure is shown by decision: ${release.reason.trim()}.`);
  const notes = 'notes' in result && Array.isArray(result.notes) ? { notes: [...result.notes, note] } : {};
  const table =
    'table' in result && result.table instanceof Table
      ? {
          table: new Table(
            result.table.caption,
            result.table.columns,
            result.table.rows,
            [...result.table.notes, note],
            madeFor,
          ),
        }
      : {};
  // Results with methods keep them: only what is their own is copied.
  return Object.freeze(
    Object.create(Object.getPrototypeOf(result), {
      ...Object.getOwnPropertyDescriptors(result),
      ...Object.getOwnPropertyDescriptors({ ...notes, ...table, ...madeFor }),
    }),
  );
}

function groupsFor(group: AgreementByGroup, audience: Other): AgreementByGroup {
  if (group.pooled.counts.clusters < FEWEST_SHOWN) throw tooFew('This agreement');
  const isSmall = (estimate: Estimate): boolean => estimate.counts.clusters < FEWEST_SHOWN;
  const small = group.rows.filter(({ estimate }) => isSmall(estimate));
  const [helper] =
    small.length === 1
      ? group.rows
          .filter((row) => !small.includes(row))
          .sort((a, b) => a.estimate.counts.targets - b.estimate.counts.targets)
      : [];
  const shown = (estimate: Estimate): Estimate => (audience === 'outside' ? roundedEstimate(estimate) : estimate);
  return {
    ...group,
    rows: group.rows
      .filter((row) => !small.includes(row) && row !== helper)
      .map((row) => ({ ...row, estimate: shown(row.estimate) })),
    pooled: shown(group.pooled),
    audience,
  };
}

function pairsFor(result: PairwiseAgreement, audience: Other): PairwiseAgreement {
  const kept = result.pairs.filter(({ estimate }) => estimate.counts.clusters >= FEWEST_SHOWN);
  if (kept.length === 0) throw tooFew('Each pair');
  return new PairwiseAgreement(
    result.assessors,
    kept.map(({ assessors, estimate }) => ({
      assessors,
      estimate: audience === 'outside' ? roundedEstimate(estimate) : estimate,
    })),
    kept.length === result.pairs.length
      ? result.notes
      : [...result.notes, information('pairs-left-out', `Pairs with fewer than ${FEWEST_SHOWN} people are left out.`)],
    { audience },
  );
}

function estimateFor(estimate: Estimate, audience: Other): Estimate {
  if (estimate.counts.clusters < FEWEST_SHOWN) throw tooFew('This estimate');
  return audience === 'outside' ? roundedEstimate(estimate) : estimate;
}

function transitionsFor(result: TransitionCounts, audience: Other): TransitionCounts {
  if (result.patients < FEWEST_SHOWN) throw tooFew('This square');
  const { categories, scale } = result;
  const values = categories.map(({ value }) => value);
  const square = releaseSquare(values, result.counts, scale.level !== 'nominal');
  const known = new Map(categories.map((category) => [category.value, category]));
  return transitionResultOf(
    {
      ...result,
      categories: square.grades.map((value, score) => known.get(value) ?? { value, words: value, score }),
      counts: square.counts.map((row) => row.map((count) => count ?? Number.NaN)),
      audience,
    },
    squareNotes(values.length, square),
  );
}

function callsFor(result: ChangeCalls, audience: Other): ChangeCalls {
  if (result.patients < FEWEST_SHOWN) throw tooFew('This comparison');
  const remade = (limbs: ChangeCalls['limbs'], notes: ChangeCalls['notes']): ChangeCalls =>
    new ChangeCalls(
      result.signLabel,
      result.scale,
      limbs,
      result.expectedFromErrorAlone,
      result.withoutSecondVisit,
      result.fit,
      notes,
      { audience },
    );
  const plain = result.notes.filter((note) => audience === 'inside' || !/\d/.test(note.message));
  const isSafe = (calls: ChangeCalls): boolean =>
    calls.table.rows.every((row) => {
      const counts = Object.values(row).filter((cell) => typeof cell === 'number');
      return audience === 'outside' ? !counts.some(isFew) : !isFew(counts[0] ?? 0);
    });
  const bySite = remade(result.limbs, plain);
  if (isSafe(bySite)) return bySite;
  // All sites together: the breakdown by site is what is small.
  const together = remade(
    result.limbs.map((limb) => ({ ...limb, series: { ...limb.series, site: '' } })),
    [
      ...plain,
      information('sites-joined', `Sites were joined because numbers under ${FEWEST_SHOWN} could point at somebody.`),
    ],
  );
  if (isSafe(together)) return together;
  throw cannot(result.kind, audience);
}

function funnelFor(result: Funnel, audience: Other): Funnel {
  const counts = result.units.map((unit) => (unit === undefined ? 0 : Math.round(unit.share * unit.size)));
  const sizes = result.units.map((unit) => unit?.size ?? 0);
  const isSmall = (at: number): boolean =>
    audience === 'outside' ? isFew(counts[at]!) || isFew(sizes[at]! - counts[at]!) : isFew(sizes[at]!);
  const hidden = new Set(sizes.flatMap((_, at) => (isSmall(at) ? [at] : [])));
  if (hidden.size === 1) {
    const [helper] = sizes
      .flatMap((size, at) => (size > 0 && !hidden.has(at) ? [at] : []))
      .sort((a, b) => sizes[a]! - sizes[b]!);
    if (helper !== undefined) hidden.add(helper);
  }
  if (hidden.size === 0) return { ...result, audience };
  const shown = (values: readonly number[]): number[] => values.map((value, at) => (hidden.has(at) ? 0 : value));
  // The share of all units together would give the hidden ones: the funnel stands on those that are shown.
  if (shown(sizes).every((size) => size === 0)) throw tooFew('Each unit');
  const remade = funnel(shown(counts), shown(sizes));
  return {
    ...remade,
    audience,
    notes: [
      ...remade.notes,
      information(
        'units-hidden',
        `Units with numbers under ${FEWEST_SHOWN} are hidden; the middle is that of the units shown.`,
      ),
    ],
  };
}

function curveFor(curve: SurvivalCurve, audience: Other): SurvivalCurve {
  if (audience === 'outside' || curve.counts.patients < FEWEST_SHOWN) throw cannot(curve.kind, audience);
  const steps = curve.steps.filter(({ atRisk }) => atRisk >= FEWEST_SHOWN);
  const last = steps.at(-1);
  if (last === undefined) throw tooFew('This curve');
  const isReached = curve.median.value <= last.time;
  const { interval } = curve.median;
  return {
    ...curve,
    steps,
    lastTime: last.time,
    median: isReached
      ? curve.median
      : { value: Number.NaN, interval: { ...interval, lower: Number.NaN, upper: Number.NaN } },
    audience,
    notes: [...curve.notes, information('end-hidden', `The curve ends where fewer than ${FEWEST_SHOWN} are followed.`)],
  };
}

function hardLimbsFor(hard: HardLimbs, audience: Other): HardLimbs {
  if (audience === 'outside') throw cannot(hard.kind, audience);
  const { caption, columns, rows, notes } = hard.table;
  return ofEnoughLearners({ ...hard, table: new Table(caption, columns, rows, notes, { audience }) }, audience);
}

function ofEnoughLearners<T extends { readonly learners: number }>(result: T, audience: Other): T & MadeFor {
  if (result.learners < FEWEST_SHOWN) throw tooFew('This class');
  return { ...result, audience };
}

import { type CrossTable, crossTable } from '../agreement/cross-table.js';
import { type LimitsOfAgreement, limitsOfAgreement } from '../agreement/limits-of-agreement.js';
import { marginalShift } from '../agreement/marginal-shift.js';
import { type PairwiseAgreement, pairwiseAgreement } from '../agreement/pairwise-agreement.js';
import { type ReleasedCrossTable, releasedCrossTable } from '../agreement/released-cross-table.js';
import { withinAndBetween } from '../agreement/within-and-between.js';
import { crossAssessorMatrix } from '../measurement-error/cross-assessor-matrix.js';
import { type MeasurementError, measurementErrorOf } from '../measurement-error/measurement-error-of.js';
import type { Ratings } from '../ratings/ratings.js';
import type { Audience } from '../shared/audience.js';
import { Estimate } from '../shared/estimate.js';
import { FEWEST_SHOWN } from '../shared/hide-small-counts.js';
import { checkIntervalOptions, type IntervalOptions } from '../shared/options.js';
import { type Cell, Table } from '../shared/table.js';
import type { AgreementStudy } from '../study/agreement-study.js';
import { estimateShownTo } from '../study/study-for-audience.js';
import type { FurtherEstimate } from './results-file.js';

/** What a report shows of one sign beside the study's own results. */
export interface SignFigures {
  readonly sign: string;
  readonly label: string;
  readonly ratings: Ratings;
  readonly isGraded: boolean;
  readonly error: MeasurementError | undefined;
  /** Only for grades: readings of one assessor against those of another, over all pairs, as the audience may see them. */
  readonly released: ReleasedCrossTable | undefined;
  /** Only for grades in the makers' own copy: two assessors whose readings are drawn against each other. */
  readonly pair: CrossTable | undefined;
  /** Only for measured signs in the makers' own copy. */
  readonly limits: readonly { readonly assessors: readonly [string, string]; readonly limits: LimitsOfAgreement }[];
  /** The estimates of this sign that follow the study's own in the results file. */
  readonly further: readonly FurtherEstimate[];
}

/** Pairs beyond this are not taken one by one: nobody reads them. */
const MOST_PAIRS = 45;

/**
 * Everything a report computes beside the study, sign by sign, in the order in which its rows follow in the results file: pairs and limits of agreement (own copy only), one
 * assessor twice (for others only where several assessors read twice), the error of measurement.
 */
export function studyFigures(study: AgreementStudy, pair?: readonly [string, string]): readonly SignFigures[] {
  return study.plan.signs.map((sign) => {
    const ratings = study.ratings(sign);
    const options = optionsOf(study);
    const isGraded = ratings.level !== 'interval' && ratings.level !== 'ratio';
    const showsPairs =
      study.audience === 'own' && ratings.assessors.length * (ratings.assessors.length - 1) <= 2 * MOST_PAIRS;
    const limits = isGraded || !showsPairs ? [] : limitsOfPairs(ratings, pairOptionsOf(study));
    const error = ratings.level === 'nominal' ? undefined : measurementErrorOf(ratings, options);
    // Where one assessor alone read twice, how that one repeats is about a single person.
    const showsRepeats = study.audience === 'own' || new Set(ratings.repeats.map(({ assessor }) => assessor)).size > 1;
    const further: Omit<FurtherEstimate, 'sign'>[] = [
      ...(isGraded && showsPairs ? pairsOf(study, ratings, pairOptionsOf(study)) : []),
      ...limits.flatMap(({ assessors, limits: { bias, lower, upper } }) =>
        [bias, lower, upper].map((estimate) => ({
          role: 'limits of agreement' as const,
          where: `${assessors[0]} minus ${assessors[1]}`,
          estimate,
        })),
      ),
      ...(isGraded && ratings.repeats.length > 0 && showsRepeats ? twiceOf(study, ratings) : []),
      ...errorEstimates(error, showsRepeats),
    ];
    return {
      sign,
      label: ratings.subject?.signLabel ?? sign,
      ratings,
      isGraded,
      error,
      released: isGraded ? whoReadWhat(ratings, study.audience) : undefined,
      pair: isGraded && study.audience === 'own' ? drawnPair(ratings, pair) : undefined,
      limits,
      further: further.map((one) => ({
        ...one,
        sign,
        estimate: estimateShownTo(study.audience, one.estimate),
      })),
    };
  });
}

function drawnPair(ratings: Ratings, pair: readonly [string, string] | undefined): CrossTable | undefined {
  const [first, second, ...others] = ratings.assessors;
  if (pair !== undefined) return crossTable(ratings, { assessors: pair });
  return others.length > 0 ? undefined : crossTable(ratings, { assessors: [first!, second!] });
}

/** The one place where a report asks what of the counts its audience may see: every pair of readings both ways. */
function whoReadWhat(ratings: Ratings, audience: Audience): ReleasedCrossTable {
  const { categories, counts, targets, clusters } = crossAssessorMatrix(ratings);
  const assessors = ['one assessor', 'another'] as const;
  return releasedCrossTable(
    { kind: 'cross-table', assessors, categories, counts, targets, clusters, excluded: 0 },
    { audience, joinsGrades: ratings.level === 'ordinal' },
  );
}

/** What is counted in the rows of the file of counts. */
export const BOTH_WAYS = 'pairs of readings, both ways';

/** What is counted for two assessors. */
export function bothRead([first, second]: readonly [string, string]): string {
  return `findings that ${first} (one) and ${second} (another) read`;
}

/** How often a grade was read, with the row of the file of counts it stands in; `null` where the audience may not see it. */
export interface GradeCount {
  readonly id: string;
  readonly sign: string;
  readonly grade: string;
  readonly count: number | null;
}

/**
 * How often each grade was read by anybody, sign by sign: the first rows of the file of counts. For others than the makers grades are joined as in the table of who read what, and
 * what is still below five is hidden together with the next smallest, so that it cannot be had from the total.
 */
export function gradeCounts(study: AgreementStudy): readonly GradeCount[] {
  const rows = study.plan.signs.flatMap((sign) => {
    const ratings = study.ratings(sign);
    if (ratings.level === 'interval' || ratings.level === 'ratio') return [];
    const { grades } = whoReadWhat(ratings, study.audience);
    const own = new Array<number>(ratings.categories.length).fill(0);
    for (const code of ratings.codes) if (code >= 0) own[code]!++;
    let from = 0;
    const counts = grades.map((grade) => {
      const last = grade.split('–').at(-1)!;
      const to = ratings.categories.findIndex(({ value }) => String(value) === last) + 1;
      const count = own.slice(from, to).reduce((sum, readings) => sum + readings, 0);
      from = to;
      return count;
    });
    const shown = study.audience === 'own' ? counts : hiddenSmall(counts);
    return grades.map((grade, at) => ({ sign, grade, count: shown[at] ?? null }));
  });
  return rows.map((row, at) => ({ id: idOf(at), ...row }));
}

/** Hides what is below five, and the next smallest with it where the sum of the hidden, known from the total, would tell. */
function hiddenSmall(counts: readonly number[]): (number | null)[] {
  const small = counts.filter((count) => count > 0 && count < FEWEST_SHOWN);
  if (small.length === 0) return [...counts];
  const tells = small.length === 1 || small.reduce((sum, count) => sum + count, 0) < FEWEST_SHOWN;
  const next = Math.min(...counts.filter((count) => count >= FEWEST_SHOWN));
  const most = tells && Number.isFinite(next) ? next : FEWEST_SHOWN - 1;
  return counts.map((count) => (count > 0 && count <= most ? null : count));
}

/**
 * The counts of a report as rows of a file: how often each grade was read, and who read what. Hidden counts say so.
 *
 * Columns: id, sign, what is counted, the grade of one reading and of another, count.
 */
export function countsFile(study: AgreementStudy, figures: readonly SignFigures[]): Table {
  const rows: Record<string, Cell>[] = gradeCounts(study).map(({ sign, grade, count }) => ({
    sign,
    what: 'all readings',
    one: grade,
    another: '',
    count: count ?? 'hidden',
  }));
  for (const { sign, ratings, released, pair } of figures) {
    if (released === undefined) continue;
    released.grades.forEach((one, i) => {
      released.grades.forEach((another, j) => {
        const count = released.counts[i]?.[j] ?? 'hidden';
        rows.push({ sign, what: BOTH_WAYS, one, another, count });
      });
    });
    if (pair !== undefined) rows.push(...pairCounts(sign, pair));
    if (study.audience === 'own') rows.push(...habits(sign, ratings));
  }
  return new Table(
    'How often each grade was read, and who read what.',
    ['id', 'sign', 'what', 'one', 'another', 'count'].map((key) => ({ key, label: key, kind: 'text' }) as const),
    rows.map((row, at) => ({ id: idOf(at), ...row, count: String(row.count) })),
  );
}

function idOf(at: number): string {
  return `C${String(at + 1).padStart(3, '0')}`;
}

function pairCounts(sign: string, { assessors, categories, counts }: CrossTable): Record<string, Cell>[] {
  const names = categories.map(({ value }) => String(value));
  return names.flatMap((one, i) =>
    names.map((another, j) => ({ sign, what: bothRead(assessors), one, another, count: counts[i]![j]! })),
  );
}

/** Readings of each grade by each assessor on the findings that all of them read, as the bars of habits draw them. */
function habits(sign: string, ratings: Ratings): Record<string, Cell>[] {
  const { columns, codes, targets, categories } = ratings;
  const common = Array.from({ length: targets }, (_, target) => target).filter((target) =>
    ratings.assessors.every((_, column) => codes[target * columns + column]! >= 0),
  );
  return ratings.assessors.flatMap((assessor, column) =>
    categories.map(({ value }, code) => ({
      sign,
      what: `findings that all have read, by ${assessor}`,
      one: String(value),
      another: '',
      count: common.filter((target) => codes[target * columns + column] === code).length,
    })),
  );
}

function optionsOf({ plan }: AgreementStudy): IntervalOptions {
  const { interval, ...checked } = checkIntervalOptions(plan);
  return interval === undefined ? checked : { ...checked, interval };
}

/** Pairs are many: the quick interval for each. */
function pairOptionsOf(study: AgreementStudy): IntervalOptions {
  return { ...optionsOf(study), interval: 'cluster-robust' };
}

function pairsOf(study: AgreementStudy, ratings: Ratings, options: IntervalOptions): Omit<FurtherEstimate, 'sign'>[] {
  const { pairs } = pairwise(study, ratings);
  return pairs.flatMap(({ assessors, estimate }) => {
    const { difference } = marginalShift(ratings.ofAssessors(...assessors), options);
    const role = 'pair of assessors';
    const where = `${assessors[0]} and ${assessors[1]}`;
    return [
      { role, where, estimate },
      ...(difference === undefined
        ? []
        : ([{ role, where: `${where}: the second higher by`, estimate: difference }] as const)),
    ];
  });
}

/** The plan's coefficient for every pair of assessors. */
export function pairwise(study: AgreementStudy, ratings: Ratings): PairwiseAgreement {
  return pairwiseAgreement(ratings, { ...pairOptionsOf(study), ...choiceOf(study, 'cohen-kappa') });
}

/** The coefficient of the plan; Cohen's of each pair where the plan leaves it open. */
function choiceOf({ plan }: AgreementStudy, ifOpen: 'cohen-kappa' | 'conger-kappa') {
  return {
    coefficient: plan.coefficient ?? ifOpen,
    ...(plan.weights === undefined ? {} : { weights: plan.weights }),
    ...(plan.metric === undefined ? {} : { metric: plan.metric }),
  } as const;
}

function twiceOf(study: AgreementStudy, ratings: Ratings): Omit<FurtherEstimate, 'sign'>[] {
  const { confidenceLevel } = checkIntervalOptions(study.plan);
  const { within, between, difference } = withinAndBetween(ratings, {
    ...choiceOf(study, 'conger-kappa'),
    confidenceLevel,
  });
  const { effect, options, notes } = difference;
  const role = 'within and between';
  return [
    { role, where: 'one assessor twice', estimate: within },
    { role, where: 'two assessors', estimate: between },
    {
      role,
      where: 'one assessor twice less two assessors',
      estimate: new Estimate({
        statistic: effect.name,
        value: effect.value,
        standardError: Number.NaN,
        interval: effect.interval,
        // Those who were read twice are among all: they are not other people.
        counts: between.counts,
        options,
        notes,
      }),
    },
  ];
}

function errorEstimates(error: MeasurementError | undefined, showsRepeats: boolean): Omit<FurtherEstimate, 'sign'>[] {
  if (error === undefined) return [];
  const who = [
    ['two assessors', 'differentAssessor'] as const,
    ...(showsRepeats ? [['one assessor twice', 'sameAssessor'] as const] : []),
  ];
  const role = 'error of measurement';
  if (error.kind === 'grades')
    return who.flatMap(([where, key]) =>
      (error[key]?.atLeast ?? []).map(({ share }) => ({ role, where, estimate: share })),
    );
  return who.flatMap(([where, key]) =>
    [error.standardError[key], error.smallestDetectableChange[key]].flatMap((estimate) =>
      estimate === undefined ? [] : [{ role, where, estimate }],
    ),
  );
}

function limitsOfPairs(ratings: Ratings, options: IntervalOptions) {
  return ratings.assessors.flatMap((second, at) =>
    ratings.assessors.slice(0, at).map((first) => {
      const assessors = [first, second] as const;
      return { assessors, limits: limitsOfAgreement(ratings.ofAssessors(first, second), { ...options, assessors }) };
    }),
  );
}

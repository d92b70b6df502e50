import { marginalShift } from '../agreement/marginal-shift.js';
import { percentAgreement } from '../agreement/percent-agreement.js';
import { type SpecificAgreement, specificAgreement } from '../agreement/specific-agreement.js';
import { standardErrorOfMeasurement } from '../agreement/standard-error-of-measurement.js';
import type { Assessments } from '../assessments/assessments.js';
import { Ratings } from '../ratings/ratings.js';
import { ratingsFrom } from '../ratings/ratings-from.js';
import { type Audience, type FullRelease, type MadeFor, madeForOf } from '../shared/audience.js';
import { CAUTIONS } from '../shared/cautions.js';
import type { Estimate } from '../shared/estimate.js';
import { FEWEST_SHOWN } from '../shared/hide-small-counts.js';
import { InputError, refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions, type IntervalOptions, type LongWorkOptions } from '../shared/options.js';
import { type Cell, Table, type TableColumn } from '../shared/table.js';
import { libraryVersion } from '../shared/versions.js';
import { siteOf, sites } from '../signs/site.js';
import { type AgreementPlan, checkPlan, planSentences, type StudyGroup } from './agreement-plan.js';
import { measuredCoefficient, PRIMARY_COEFFICIENTS, type PrimaryCoefficient } from './primary-coefficient.js';
import { besidePublished, identicalColumns, orderEffect } from './study-checks.js';

/** Why a result is there: asked beforehand, only explored, or asked for after results were seen. */
export type Asked = 'planned' | 'explored' | 'amended';

/** One row of the study: a sign, all together or in one group, with the main figures. */
export interface StudyResult {
  readonly sign: string;
  /** `undefined` for all together. */
  readonly group: { readonly name: StudyGroup; readonly value: string; readonly label: string } | undefined;
  readonly asked: Asked;
  /** Date and reason of the amendment behind it. */
  readonly amendment: string | undefined;
  readonly primary: Estimate;
  /** Only for grades. */
  readonly exact: Estimate | undefined;
  /** Only for ordered grades. */
  readonly withinOneGrade: Estimate | undefined;
  /** Only for measured signs. */
  readonly standardErrorOfMeasurement: Estimate | undefined;
}

/** Agreement by one group, as a chart draws it. */
export interface AgreementByGroup extends MadeFor {
  readonly signLabel: string;
  readonly scaleLabel: string;
  readonly chanceCorrected: boolean;
  readonly rows: readonly { readonly value: string; readonly label: string; readonly estimate: Estimate }[];
  readonly pooled: Estimate;
}

interface SignPart {
  readonly ratings: Ratings;
  /** Only for grades. */
  readonly specific: SpecificAgreement | undefined;
  readonly chanceCorrected: boolean;
}

/**
 * An agreement study carried out by its plan: every estimate with how it was asked for, the ratings behind them, the
 * fingerprint of the data and the version of the library. `table` is the main table; the rest is behind methods.
 */
export class AgreementStudy implements MadeFor {
  readonly kind = 'agreement-study';
  readonly audience: Audience;
  readonly release?: FullRelease;

  constructor(
    readonly plan: AgreementPlan,
    readonly results: readonly StudyResult[],
    private readonly parts: ReadonlyMap<string, SignPart>,
    /** SHA-256 of the assessments the study was made from. */
    readonly fingerprint: string,
    readonly packageVersion: string,
    /** `false` when the work was stopped before its end; what is there is complete in itself. */
    readonly complete: boolean,
    readonly notes: readonly Note[],
    madeFor: MadeFor = {},
  ) {
    this.audience = madeFor.audience ?? 'own';
    if (madeFor.release !== undefined) this.release = madeFor.release;
    Object.freeze(this);
  }

  /** The same study with other results, specific agreement and notes, for an audience: what `studyForAudience` needs. */
  released(
    change: {
      readonly results: readonly StudyResult[];
      readonly specific: (agreement: SpecificAgreement) => SpecificAgreement;
      readonly notes: readonly Note[];
    },
    madeFor: MadeFor,
  ): AgreementStudy {
    const parts = new Map(
      [...this.parts].map(([sign, part]) => [
        sign,
        {
          ...part,
          ratings: withoutGaps(part.ratings),
          specific: part.specific === undefined ? undefined : change.specific(part.specific),
        },
      ]),
    );
    const { plan, fingerprint, packageVersion: version, complete } = this;
    return new AgreementStudy(plan, change.results, parts, fingerprint, version, complete, change.notes, madeFor);
  }

  /** The readings of a sign as the study used them. */
  ratings(sign: string): Ratings {
    return this.part(sign).ratings;
  }

  /** Specific agreement of each grade of a graded sign, all sites together. */
  specificAgreement(sign: string): SpecificAgreement {
    const { specific } = this.part(sign);
    if (specific === undefined)
      throw refuse('not-graded', ['sign'], `"${sign}" is measured; specific agreement is of grades.`);
    return specific;
  }

  /**
   * Pairs of assessors on the findings both have read: how often the same grade, and how much higher the second read. For the people it is about and whoever may see
   * their codes; it ranks nobody.
   */
  pairs(sign: string): Table {
    const { ratings } = this.part(sign);
    if (isMeasured(ratings))
      throw refuse('not-graded', ['sign'], `"${sign}" is measured; use limitsOfAgreement on two assessors.`);
    const interval = { ...intervalOptionsOf(this.plan), interval: 'cluster-robust' } as const;
    const rows = ratings.assessors
      .flatMap((second, at) =>
        ratings.assessors.slice(0, at).map((first) => {
          const pair = ratings.ofAssessors(first, second);
          const exact = percentAgreement(pair, interval);
          const { difference } = marginalShift(pair, interval);
          return {
            pair: `${first} and ${second}`,
            exact: exact.value,
            shift: difference?.value ?? Number.NaN,
            lower: difference?.interval.lower ?? Number.NaN,
            upper: difference?.interval.upper ?? Number.NaN,
            targets: exact.counts.targets,
            clusters: exact.counts.clusters,
          };
        }),
      )
      .filter(({ clusters }) => this.audience === 'own' || this.release !== undefined || clusters >= FEWEST_SHOWN);
    return new Table(
      `${ratings.subject!.signLabel}: does one of two assessors read higher than the other? (on the findings both read)`,
      [
        { key: 'pair', label: 'assessors', kind: 'text' },
        { key: 'exact', label: 'same grade', kind: 'percent' },
        { key: 'shift', label: 'second higher by (grades)', kind: 'number' },
        { key: 'lower', label: 'from', kind: 'number' },
        { key: 'upper', label: 'to', kind: 'number' },
        { key: 'targets', label: 'findings', kind: 'count' },
        { key: 'clusters', label: 'people', kind: 'count' },
      ],
      rows,
      [
        information('pairs-looked-at', `${rows.length} pairs were looked at.`),
        caution('no-ranking', CAUTIONS.noRanking),
      ],
      this,
    );
  }

  /** The planned results of a sign by a group (default by site, head to toe), for a chart or a table. */
  by(sign: string, group: StudyGroup = 'site'): AgreementByGroup {
    const { ratings, chanceCorrected } = this.part(sign);
    const ofSign = this.results.filter((result) => result.sign === sign && result.asked !== 'amended');
    const rows = ofSign.flatMap((result) =>
      result.group?.name === group
        ? [{ value: result.group.value, label: result.group.label, estimate: result.primary }]
        : [],
    );
    if (rows.length === 0)
      throw refuse(
        'not-in-plan',
        ['group'],
        `The study was not made by ${group}.`,
        `put "${group}" into by or explore of the plan.`,
      );
    return {
      signLabel: ratings.subject!.signLabel,
      scaleLabel: ratings.subject!.scaleLabel,
      chanceCorrected,
      rows,
      pooled: ofSign.find((result) => result.group === undefined)!.primary,
      ...madeForOf(this),
    };
  }

  /**
   * The main table: the primary coefficient with its interval, percent agreement, and what each rests on. What is the same in all rows stands in the
   * caption.
   */
  get table(): Table {
    const rows = this.results.map((result) => rowOf(result, this.ratings(result.sign).subject!.signLabel));
    const isSaid = (key: string): boolean => rows.some((row) => row[key] !== null && row[key] !== '');
    const differs = (key: string): boolean => new Set(rows.map((row) => row[key])).size > 1;
    const columns = MAIN_COLUMNS.filter(({ key }) =>
      ['sign', 'statistic'].includes(key)
        ? differs(key)
        : key === 'asked'
          ? this.results.some((result) => result.asked !== 'planned')
          : !['exact', 'within', 'error', 'care'].includes(key) || isSaid(key),
    );
    const same = ['sign', 'statistic'].filter((key) => rows.length > 0 && !differs(key)).map((key) => rows[0]![key]);
    const title = [this.plan.title ?? 'Agreement between assessors', ...same].join(', ');
    return new Table(
      `${title}: how far do assessors agree, all together and in each group?`,
      columns,
      rows,
      this.notes,
      this,
    );
  }

  /** Plan, data and version in sentences: what a methods section starts from. */
  get method(): readonly string[] {
    return [
      ...planSentences(this.plan),
      `Data fingerprint ${this.fingerprint.slice(0, 16)}…; limb-perfusion ${this.packageVersion}.`,
    ];
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return [this.table.toText(), '', ...this.method].join('\n');
  }

  private part(sign: string): SignPart {
    const part = this.parts.get(sign);
    if (part !== undefined) return part;
    throw refuse(
      'not-in-plan',
      ['sign'],
      `The study does not hold "${sign}"; it holds ${[...this.parts.keys()].join(', ')}.`,
    );
  }
}

/** Ratings without the note of why readings are missing, which counts single people. */
function withoutGaps(ratings: Ratings): Ratings {
  const { subject, ...rest } = ratings;
  return new Ratings({
    ...rest,
    ...(subject === undefined ? {} : { subject }),
    notes: ratings.notes.filter(({ code }) => code !== 'gaps'),
  });
}

const MAIN_COLUMNS: readonly TableColumn[] = [
  { key: 'sign', label: 'sign', kind: 'text' },
  { key: 'group', label: 'where', kind: 'text' },
  { key: 'statistic', label: 'coefficient', kind: 'text' },
  { key: 'value', label: 'value', kind: 'number' },
  { key: 'lower', label: 'from', kind: 'number' },
  { key: 'upper', label: 'to', kind: 'number' },
  { key: 'exact', label: 'same grade', kind: 'percent' },
  { key: 'within', label: 'within one grade', kind: 'percent' },
  { key: 'error', label: 'error of one reading', kind: 'number' },
  { key: 'targets', label: 'findings', kind: 'count' },
  { key: 'clusters', label: 'people', kind: 'count' },
  { key: 'ratings', label: 'readings', kind: 'count' },
  { key: 'care', label: 'read with care', kind: 'text' },
  { key: 'asked', label: 'asked', kind: 'text' },
];

/** The cautions of an estimate in a few words each, for a column of a table. */
const CARE: Readonly<Record<string, string>> = {
  'nearly-all-alike': 'nearly all readings alike',
  'never-agreed': 'never agreed on a grade',
  'few-patients': 'few people',
  'few-minority-patients': 'few people with another grade',
  'not-defined': 'not defined',
};

function careWords(estimate: Estimate): string {
  return estimate.notes.flatMap((note) => CARE[note.code] ?? []).join('; ');
}

function rowOf(result: StudyResult, signLabel: string): Record<string, Cell> {
  const { primary } = result;
  return {
    sign: signLabel,
    group: result.group?.label ?? 'all together',
    statistic: primary.statistic,
    value: primary.value,
    lower: primary.interval.lower,
    upper: primary.interval.upper,
    exact: result.exact?.value ?? null,
    within: result.withinOneGrade?.value ?? null,
    error: result.standardErrorOfMeasurement?.value ?? null,
    targets: primary.counts.targets,
    clusters: primary.counts.clusters,
    ratings: primary.counts.ratings,
    care: careWords(primary),
    asked: result.amendment ?? (result.asked === 'planned' ? 'beforehand' : 'explored'),
  };
}

/**
 * Carries out an agreement study by a plan that was fixed beforehand.
 *
 * For each sign, all together and in each group of the plan: the primary coefficient with its interval, percent agreement exact and
 * within one grade; specific agreement of each grade. Measured signs have the intraclass correlation for agreement of single
 * readings and the standard error of measurement between assessors instead. Amendments are computed beside the original plan, with their date and reason;
 * nothing is replaced. Interrupting keeps the results there are (`complete` is then `false`).
 *
 * @throws InputError every problem of the plan at once; what `ratingsFrom` throws.
 * @example (await agreementStudy(assessments, { signs: ['pulse-grade'], by: ['site'], weights: 'quadratic', seed: 20260301 })).table
 * Source: what the main table holds follows Kottner J and others. J Clin Epidemiol 2011;64:96–106, doi:10.1016/j.jclinepi.2010.03.002.
 */
export async function agreementStudy(
  assessments: Assessments,
  plan: AgreementPlan,
  work: LongWorkOptions = {},
): Promise<AgreementStudy> {
  checkPlan(plan, assessments);
  const tasks = new Map(plan.signs.map((sign) => [sign, ratingsOfPlan(assessments, plan, sign)]));
  checkGroups(plan, [...tasks.values()]);
  const questions = [...tasks].flatMap(([sign, ratings]) => questionsOf(plan, sign, ratings));
  const results: StudyResult[] = [];
  for (const question of questions) {
    if (work.signal?.aborted) break;
    results.push(answer(question, tasks.get(question.sign)!));
    work.progress?.(results.length / questions.length, `${question.sign}, ${question.group?.label ?? 'all together'}`);
    await nextTurn();
  }
  const interval = intervalOptionsOf(plan);
  const parts = new Map(
    [...tasks].map(([sign, ratings]) => [
      sign,
      {
        ratings,
        specific: isMeasured(ratings) ? undefined : specificAgreement(ratings, interval),
        chanceCorrected: isMeasured(ratings) || PRIMARY_COEFFICIENTS[coefficientFor(plan, ratings)].chanceCorrected,
      },
    ]),
  );
  return new AgreementStudy(
    plan,
    results,
    parts,
    assessments.fingerprint(),
    libraryVersion(),
    results.length === questions.length,
    [
      ...notesOf(results, questions.length, [...tasks.values()]),
      ...[...tasks].flatMap(([sign, ratings]) => checksOf(assessments, sign, ratings, results)),
    ],
  );
}

interface Question {
  readonly sign: string;
  readonly group: StudyResult['group'];
  readonly asked: Asked;
  readonly amendment: string | undefined;
  readonly plan: AgreementPlan;
}

function questionsOf(plan: AgreementPlan, sign: string, ratings: Ratings): Question[] {
  const ask = (
    asked: Asked,
    from: AgreementPlan,
    by: readonly StudyGroup[] | undefined,
    whole: boolean,
    amendment?: string,
  ): Question[] => [
    ...(whole ? [{ sign, group: undefined, asked, amendment, plan: from }] : []),
    ...(by ?? []).flatMap((name) =>
      orderedGroups(ratings, name).map((value) => ({
        sign,
        group: { name, value, label: labelOf(name, value) },
        asked,
        amendment,
        plan: from,
      })),
    ),
  ];
  return [
    ...ask('planned', plan, plan.by, true),
    ...ask('explored', plan, plan.explore, false),
    ...(plan.amendments ?? []).flatMap(({ date, reason, change }) => {
      const changed = { ...plan, ...change };
      return ask('amended', changed, changed.by, true, `amended ${date}: ${reason}`);
    }),
  ];
}

function answer(question: Question, ratings: Ratings): StudyResult {
  const { plan, group } = question;
  const own = group === undefined ? ratings : ratings.ofGroup(group.name, group.value);
  const interval = intervalOptionsOf(plan);
  const asked = { sign: question.sign, group, asked: question.asked, amendment: question.amendment };
  if (isMeasured(own))
    return {
      ...asked,
      primary: measuredCoefficient(own, interval),
      exact: undefined,
      withinOneGrade: undefined,
      standardErrorOfMeasurement: standardErrorOfMeasurement(own, interval),
    };
  return {
    ...asked,
    primary: PRIMARY_COEFFICIENTS[coefficientFor(plan, ratings)].estimate(own, {
      ...interval,
      ...(plan.weights === undefined ? {} : { weights: plan.weights }),
      ...(plan.metric === undefined ? {} : { metric: plan.metric }),
    }),
    exact: percentAgreement(own, interval),
    withinOneGrade: own.level === 'ordinal' ? percentAgreement(own, { ...interval, within: 1 }) : undefined,
    standardErrorOfMeasurement: undefined,
  };
}

function isMeasured(ratings: Ratings): boolean {
  return ratings.level === 'interval' || ratings.level === 'ratio';
}

function ratingsOfPlan(assessments: Assessments, plan: AgreementPlan, sign: string): Ratings {
  const scale = plan.scales?.[sign];
  const ratings = ratingsFrom(assessments, {
    sign,
    ...(scale === undefined ? {} : { scale }),
    ...(plan.sites === undefined ? {} : { site: plan.sites }),
    ...(plan.window === undefined ? {} : { window: plan.window }),
  });
  return plan.assessors === undefined ? ratings : ratings.ofAssessors(...plan.assessors);
}

function coefficientFor(plan: AgreementPlan, ratings: Ratings): PrimaryCoefficient {
  return plan.coefficient ?? (ratings.assessors.length === 2 ? 'cohen-kappa' : 'conger-kappa');
}

function intervalOptionsOf(plan: AgreementPlan): IntervalOptions {
  const { interval, ...checked } = checkIntervalOptions(plan);
  return interval === undefined ? checked : { ...checked, interval };
}

/** A group must be recorded for at least one of the signs; one that has no sites of its own is simply not split by site. */
function checkGroups(plan: AgreementPlan, ratings: readonly Ratings[]): void {
  const asked = [
    ...(plan.by ?? []),
    ...(plan.explore ?? []),
    ...(plan.amendments ?? []).flatMap(({ change }) => change.by ?? []),
  ];
  const problems = [...new Set(asked)]
    .filter((name) => ratings.every((one) => one.groups(name).length === 0))
    .map((name) => ({
      code: 'group-not-recorded',
      path: ['plan', 'by'],
      message: `The plan asks for results by ${name}, which is not recorded in these assessments.`,
    }));
  if (problems.length > 0) throw new InputError(problems);
}

/** Sites head to toe; numbers by size; the rest in order of appearance. */
function orderedGroups(ratings: Ratings, name: StudyGroup): string[] {
  const values = [...ratings.groups(name)];
  if (name === 'site') {
    const order = new Map(sites.map((site) => [site.id, site.order]));
    return values.sort((a, b) => (order.get(a) ?? 0) - (order.get(b) ?? 0));
  }
  if (values.every((value) => value !== '' && !Number.isNaN(Number(value))))
    return values.sort((a, b) => Number(a) - Number(b));
  return values;
}

function labelOf(name: StudyGroup, value: string): string {
  if (name === 'site') return value === '' ? 'no site' : siteOf(value).label;
  if (name === 'period' || name === 'round' || name === 'phase') return `${name} ${value}`;
  return value.replace('-', ' ');
}

function notesOf(results: readonly StudyResult[], asked: number, ratings: readonly Ratings[]): Note[] {
  const explored = results.filter((result) => result.asked === 'explored').length;
  const amended = results.filter((result) => result.asked === 'amended').length;
  const seen = new Set<string>();
  const fromEstimates = results
    .filter((result) => result.group === undefined)
    .flatMap((result) => result.primary.notes)
    .filter((note) => !seen.has(note.message) && seen.add(note.message));
  return [
    information(
      'these-assessors',
      'The intervals take these assessors as they are; they say nothing about other assessors.',
    ),
    caution('not-accuracy', 'Agreement is not accuracy: all assessors can be wrong together.'),
    ...(results.length < asked
      ? [caution('stopped', `The study was stopped after ${results.length} of ${asked} results.`)]
      : []),
    ...(explored > 0
      ? [
          caution(
            'explored',
            `${explored} results are explored, not asked beforehand: with so many looks some will stand out by chance.`,
          ),
        ]
      : []),
    ...(amended > 0 ? [caution('amended', `${amended} results were asked for after results had been seen.`)] : []),
    ...fromEstimates,
    ...ratings.flatMap((one) => one.notes),
  ];
}

/** Lets timers, progress and interrupts in between two results. */
function nextTurn(): Promise<void> {
  return new Promise((resolve) => setImmediate(resolve));
}

/** What a referee would look for before believing the figures. */
function checksOf(assessments: Assessments, sign: string, ratings: Ratings, results: readonly StudyResult[]): Note[] {
  const pooled = results.find(
    (result) => result.sign === sign && result.group === undefined && result.asked === 'planned',
  );
  const measured = isMeasured(ratings);
  const chanceCorrected = pooled !== undefined && (measured || pooled.primary.statistic !== 'percent agreement');
  return [
    ...identicalColumns(ratings),
    ...orderEffect(assessments, ratings),
    ...(chanceCorrected ? besidePublished(sign, pooled.primary, measured ? 'intraclass correlation' : 'kappa') : []),
  ];
}

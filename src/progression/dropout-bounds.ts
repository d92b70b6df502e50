import { wilson } from '../agreement/percent-agreement.js';
import type { Assessments } from '../assessments/assessments.js';
import { Estimate } from '../shared/estimate.js';
import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions } from '../shared/options.js';
import { formatCount, formatNumber, Table } from '../shared/table.js';
import { oneScale } from '../signs/scale-mapping.js';
import type { Scale } from '../signs/sign.js';
import { type LimbSeries, limbSeriesOf, type SeriesReading } from './limb-series.js';
import { superiority } from './superiority.js';

export interface DropoutBoundsOptions {
  /** Keep only this sign, where the assessments hold several. */
  readonly sign?: string;
  /** First day that counts as the last planned visit. */
  readonly lastVisitFrom: number;
  /** Last day that counts as the last planned visit; readings after it do not enter. Default: no end. */
  readonly lastVisitTo?: number;
  /** Which way is worse. Default: as the scale says; needed where the scale says neither. */
  readonly worse?: 'higher' | 'lower';
  /** How much worse counts: grades (default 1), or the sign's unit, needed for a measured value. */
  readonly least?: number;
  /** Default 0.95. */
  readonly confidenceLevel?: number;
}

/** Between which limits the share of patients who are worse lies, when some were not read at the last planned visit. */
export interface DropoutBounds {
  readonly kind: 'dropout-bounds';
  readonly scale: Scale;
  /** Patients with a reading before the last planned visit, by what is known about them at it. */
  readonly patients: {
    readonly followed: number;
    /** Worse at a site that was read, whatever the others are. */
    readonly worse: number;
    /** Not worse, every followed site read. */
    readonly notWorse: number;
    /** Not worse where read, with a followed site not read. */
    readonly partlyRead: number;
    /** Nothing read: they left. */
    readonly left: number;
  };
  /** Share worse had none of those not known been worse. */
  readonly noneWorse: Estimate;
  /** Share worse among those of whom it is known. */
  readonly knownOnly: Estimate;
  /** Share worse had all of those not known been worse. */
  readonly allWorse: Estimate;
  /** Cliff's delta of the worst last grade before the last planned visit: above 0, those who left were worse than those who stayed. */
  readonly leftAgainstStayed: Estimate;
  readonly table: Table;
  readonly notes: readonly Note[];
}

/**
 * The share of patients worse at the last planned visit than at their first, and how far those who were not read there could move it.
 *
 * Of n followed patients w are known to be worse and u are not known: noneWorse = w/n, knownOnly = w/(n − u), allWorse = (w + u)/n. The share lies between the first and the last whatever
 * became of those who left. Intervals: Wilson, patients as the trials; from the lower limit of noneWorse to the upper limit of allWorse the share is covered at the level or above.
 *
 * A limb-site is worse when its last day in the last planned visit lies at least `least` on the worse side of its first day; the same assessor's readings are compared where there are some, else all
 * pairs, and every pair must be worse. A patient is worse when one site is. `leftAgainstStayed` compares the worst of each patient's last readings before the last planned visit (P(left worse) −
 * P(stayed worse), interval of Cliff), so it says whether those who left were already worse; it cannot say what became of them.
 *
 * Missing values: never counted as normal or unchanged; a patient with an unread site and no worse one is not known. References, bounds (`<2`) and patients first read at the last visit do not enter
 * and are counted as excluded. Undefined (`NaN` with a note): shares without patients, knownOnly when nothing is known, leftAgainstStayed with fewer than two patients on a side.
 *
 * @throws InputError `no-scale`, `scales-differ`, `direction-needed`, `least-needed`, `bad-option`, `no-day`.
 * @example dropoutBounds(assessments, { sign: 'edema-overall', lastVisitFrom: 365 }).allWorse
 * Source: Manski CF. Partial Identification of Probability Distributions, 2003 (from memory); superiority: Cliff N. Psychol Bull 1993;114:494–509, doi:10.1037/0033-2909.114.3.494.
 */
export function dropoutBounds(assessments: Assessments, options: DropoutBoundsOptions): DropoutBounds {
  const here = options.sign === undefined ? assessments : assessments.where({ sign: options.sign });
  const scale = oneScale(here.scales);
  const rule = ruleOf(scale, options);
  const series = limbSeriesOf(here, scale);
  if (series.some(({ readings }) => readings.some(({ day }) => Number.isNaN(day))))
    throw refuse(
      'no-day',
      ['assessments', 'day'],
      'Some readings have no day, so it is not known whether they belong to the last visit.',
      'give the day of each assessment.',
    );
  const byPatient = new Map<string, LimbSeries[]>();
  for (const one of series) {
    if (one.readings[0]!.day >= rule.from) continue;
    byPatient.set(one.patient, [...(byPatient.get(one.patient) ?? []), one]);
  }
  const fates = [...byPatient.values()].map((sites) => fateOf(sites, rule));
  const number = (...which: Fate['fate'][]): number => fates.filter(({ fate }) => which.includes(fate)).length;
  const patients = {
    followed: fates.length,
    worse: number('worse'),
    notWorse: number('not worse'),
    partlyRead: number('partly read'),
    left: number('left'),
  };
  const used = [...byPatient.values()].flat();
  const counts = {
    targets: used.length,
    clusters: fates.length,
    assessors: new Set(used.flatMap(({ readings }) => readings.map(({ assessor }) => assessor))).size,
    ratings: used.reduce((sum, { readings }) => sum + readings.filter(({ day }) => day <= rule.to).length, 0),
    excluded: series.length - used.length,
  };
  const share = (statistic: string, worse: number, of: number): Estimate => {
    const limits = of === 0 ? { lower: Number.NaN, upper: Number.NaN } : wilson(worse, of, rule.level);
    return new Estimate({
      statistic,
      value: of === 0 ? Number.NaN : worse / of,
      standardError: of === 0 ? Number.NaN : Math.sqrt((worse * (of - worse)) / of ** 3),
      interval: {
        ...limits,
        level: rule.level,
        method: of === 0 ? 'not defined' : 'Wilson, patients as the trials',
      },
      counts: { ...counts, clusters: of },
      options: { ...rule },
      notes: of === 0 ? [caution('not-defined', 'Of no patient is it known, so there is no share.')] : [],
    });
  };
  const { followed, worse, partlyRead, left } = patients;
  const open = partlyRead + left;
  const noneWorse = share('share worse, had none of those not known been worse', worse, followed);
  const knownOnly = share('share worse, of those known', worse, followed - open);
  const allWorse = share('share worse, had all of those not known been worse', worse + open, followed);
  const leftAgainstStayed = comparisonOf(fates, rule, counts);
  const notes = [
    information(
      'worst-case-bounds',
      followed === 0
        ? 'Nobody was read before the last planned visit, so nobody was followed.'
        : `Of ${formatCount(followed)} patients ${formatCount(worse)} are known to be worse and of ${formatCount(open)} it is not known (${formatCount(left)} not read at all): the share worse lies between ${percent(noneWorse.value)} and ${percent(allWorse.value)} whatever became of them; with the chance of sampling (${percent(rule.level)} or more covered) between ${percent(noneWorse.interval.lower)} and ${percent(allWorse.interval.upper)}.`,
    ),
    caution(
      'not-read-is-not-unchanged',
      'Who was not read is neither better nor the same. Change is between readings, error of reading included; of a patient who died or lost the limb no grade exists.',
    ),
    ...leftAgainstStayed.notes,
  ];
  const table = new Table(
    'How many patients are worse at the last planned visit, and how far could those not read move it?',
    [
      { key: 'assumption', label: 'taken to be so', kind: 'text' },
      { key: 'worse', label: 'worse', kind: 'count' },
      { key: 'patients', label: 'patients', kind: 'count' },
      { key: 'share', label: 'share', kind: 'percent' },
      { key: 'lower', label: 'from', kind: 'percent' },
      { key: 'upper', label: 'to', kind: 'percent' },
    ],
    (
      [
        ['none of those not known is worse', worse, noneWorse],
        ['those not known are like the others', worse, knownOnly],
        ['all of those not known are worse', worse + open, allWorse],
      ] as const
    ).map(([assumption, count, estimate]) => ({
      assumption,
      worse: count,
      patients: estimate.counts.clusters,
      share: estimate.value,
      lower: estimate.interval.lower,
      upper: estimate.interval.upper,
    })),
    notes,
  );
  return Object.freeze({
    kind: 'dropout-bounds',
    scale,
    patients: Object.freeze(patients),
    noneWorse,
    knownOnly,
    allWorse,
    leftAgainstStayed,
    table,
    notes,
  });
}

type Rule = Readonly<{ worse: 'higher' | 'lower'; least: number; from: number; to: number; level: number }>;

interface Fate {
  readonly fate: 'worse' | 'not worse' | 'partly read' | 'left';
  /** Worst of the last readings before the last planned visit; the larger the worse. */
  readonly before: number;
}

function ruleOf(scale: Scale, options: DropoutBoundsOptions): Rule {
  const { confidenceLevel: level } = checkIntervalOptions({ confidenceLevel: options.confidenceLevel ?? 0.95 });
  const from = options.lastVisitFrom;
  const to = options.lastVisitTo ?? Number.POSITIVE_INFINITY;
  const least = options.least ?? (scale.categories === undefined ? undefined : 1);
  const usual = { 'higher-is-worse': 'higher', 'lower-is-worse': 'lower' } as const;
  const worse = options.worse ?? usual[scale.direction as keyof typeof usual];
  const problems: Problem[] = [];
  if (worse === undefined)
    problems.push({
      code: 'direction-needed',
      path: ['options', 'worse'],
      message: `On ${scale.label} neither end alone is worse.`,
      mend: "say which way is worse: worse: 'higher' or worse: 'lower'.",
    });
  if (least === undefined)
    problems.push({
      code: 'least-needed',
      path: ['options', 'least'],
      message: `${scale.label} is measured, so how much worse counts must be said.`,
      mend: 'give least in the unit of the sign, not less than its smallest detectable change.',
    });
  else if (!(least > 0))
    problems.push({ code: 'bad-option', path: ['options', 'least'], message: 'least must be above 0.' });
  if (!Number.isFinite(from) || !(to >= from))
    problems.push({
      code: 'bad-option',
      path: ['options', 'lastVisitFrom'],
      message: 'The last planned visit needs a first day that is not after its last.',
    });
  if (worse === undefined || least === undefined || problems.length > 0) throw new InputError(problems);
  return { worse, least, from, to, level };
}

function fateOf(sites: readonly LimbSeries[], rule: Rule): Fate {
  const calls = sites.map(({ readings }) => {
    const at = readings.filter(({ day }) => day >= rule.from && day <= rule.to);
    return at.length === 0 ? undefined : isWorse(onDay(readings, readings[0]!.day), onDay(at, at.at(-1)!.day), rule);
  });
  const before = sites.flatMap(({ readings }) => {
    const earlier = readings.filter(({ day }) => day < rule.from);
    return onDay(earlier, earlier.at(-1)!.day).map((reading) => badness(reading, rule));
  });
  const fate = calls.includes(true)
    ? 'worse'
    : calls.every((call) => call === undefined)
      ? 'left'
      : calls.includes(undefined)
        ? 'partly read'
        : 'not worse';
  return { fate, before: Math.max(...before) };
}

function isWorse(first: readonly SeriesReading[], last: readonly SeriesReading[], rule: Rule): boolean {
  const pairs = last.flatMap((late) =>
    first.map((early) => ({
      own: late.assessor === early.assessor,
      by: badness(late, rule) - badness(early, rule),
    })),
  );
  const own = pairs.filter((pair) => pair.own);
  // A difference of decimal numbers may fall short of the least by rounding alone.
  return (own.length > 0 ? own : pairs).every(({ by }) => by >= rule.least - 1e-9);
}

function comparisonOf(fates: readonly Fate[], rule: Rule, counts: Estimate['counts']): Estimate {
  const left = fates.filter(({ fate }) => fate === 'left').map(({ before }) => before);
  const stayed = fates.filter(({ fate }) => fate !== 'left').map(({ before }) => before);
  const statistic = "Cliff's delta of the last grade before the last visit, left against stayed";
  if (left.length < 2 || stayed.length < 2)
    return new Estimate({
      statistic,
      value: Number.NaN,
      standardError: Number.NaN,
      interval: { lower: Number.NaN, upper: Number.NaN, level: rule.level, method: 'not defined' },
      counts,
      options: { ...rule },
      notes: [
        information(
          'no-comparison',
          `Whether those who left were worse before cannot be said: ${formatCount(left.length)} left and ${formatCount(stayed.length)} stayed; two of each are needed.`,
        ),
      ],
    });
  const result = superiority(left, stayed, { confidenceLevel: rule.level });
  const { lower, upper } = result.interval;
  return new Estimate({
    statistic,
    value: result.delta,
    standardError: result.standardError,
    interval: result.interval,
    counts,
    options: { ...rule },
    details: { left: left.length, stayed: stayed.length },
    notes: [
      ...result.notes,
      information(
        'left-against-stayed',
        `Of 100 pairs of one who left and one who stayed, those in which who left had the worse last reading less those in which who stayed had it: ${formatNumber(100 * result.delta, 0)}${
          Number.isNaN(lower) ? '' : ` (${formatNumber(100 * lower, 0)} to ${formatNumber(100 * upper, 0)})`
        }; above 0, those who left were worse before.`,
      ),
    ],
  });
}

function onDay(readings: readonly SeriesReading[], day: number): SeriesReading[] {
  return readings.filter((reading) => reading.day === day);
}

function badness(reading: SeriesReading, rule: Rule): number {
  const value = Number.isNaN(reading.step) ? reading.value : reading.step;
  return rule.worse === 'higher' ? value : -value;
}

function percent(share: number): string {
  return `${formatNumber(100 * share, 0)} %`;
}

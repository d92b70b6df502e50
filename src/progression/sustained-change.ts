import type { Assessments } from '../assessments/assessments.js';
import { InputError, type Problem, refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { ownValue } from '../shared/own-value.js';
import { Table } from '../shared/table.js';
import type { Scale } from '../signs/sign.js';
import type { CompetingTimes } from './aalen-johansen.js';
import type { EventTimes } from './event-times.js';
import { type LimbSeries, limbSeriesOf, type SeriesReading } from './limb-series.js';

/** Worse, and still worse next time: every choice is named and printed with the result. */
export interface SustainedChangeRule {
  readonly sign: string;
  /** Needed when the sign is recorded on several scales. */
  readonly scale?: string;
  /** At least so many grades from the baseline. */
  readonly grades: number;
  /** On at least so many consecutive visits with a grade. */
  readonly consecutive: number;
  /** Which way is worse on this sign: higher (edema) or lower (pulse). */
  readonly worse: 'higher' | 'lower';
  /** Visits closer than this to the one before do not confirm anything; they are passed over. Default 0 days. */
  readonly minimumGapDays?: number;
  /** How many first visits form the baseline; of several the worse counts, so that a baseline read too well makes no event. Default 1. */
  readonly baselineVisits?: number;
  /** A last visit that is worse and has no visit after it: `'not yet'` (the default) or `'counts'`. */
  readonly unconfirmedLast?: 'not yet' | 'counts';
  /** A visit without a grade between two worse ones: `'passed over'` (the default) or `'breaks the row'`. */
  readonly missingVisit?: 'passed over' | 'breaks the row';
  /** Day of death by patient, counted as the days of the file are. The event can no longer happen then. */
  readonly deaths?: Readonly<Record<string, number>>;
}

/** What became of one limb-site. */
export interface SustainedCourse {
  readonly patient: string;
  readonly limb: string;
  readonly site: string;
  /** Days from the last baseline visit to the event, to what ruled it out, or to the last visit. */
  readonly time: number;
  readonly outcome: 'worse' | 'amputation' | 'death' | 'none';
  /** For events: days to the last visit without it and to the first with it. The event lies between. */
  readonly between: { readonly left: number; readonly right: number } | undefined;
  readonly visits: number;
}

export class SustainedChange {
  readonly kind = 'sustained-change';

  constructor(
    readonly rule: SustainedChangeRule,
    readonly courses: readonly SustainedCourse[],
    readonly excluded: number,
    readonly notes: readonly Note[],
  ) {
    Object.freeze(this);
  }

  /** For `kaplanMeier` and `coxRegression`: other endings censor; see `competingTimes` where they are many. */
  get eventTimes(): EventTimes {
    return {
      times: this.courses.map((course) => course.time),
      events: this.courses.map((course) => course.outcome === 'worse'),
      patients: this.courses.map((course) => course.patient),
    };
  }

  /** For `cumulativeIncidence`. */
  get competingTimes(): CompetingTimes {
    return {
      times: this.courses.map((course) => course.time),
      kinds: this.courses.map((course) => (course.outcome === 'none' ? null : course.outcome)),
    };
  }

  /** For `intervalCensoredCurve`: the event lies between two visits. */
  get intervals(): { readonly left: readonly number[]; readonly right: readonly (number | null)[] } {
    return {
      left: this.courses.map((course) => course.between?.left ?? course.time),
      right: this.courses.map((course) => course.between?.right ?? null),
    };
  }

  /** The rule in one sentence. */
  get sentence(): string {
    const {
      grades,
      consecutive,
      worse,
      minimumGapDays = 0,
      baselineVisits = 1,
      unconfirmedLast = 'not yet',
      missingVisit = 'passed over',
    } = this.rule;
    return (
      `Worse means at least ${grades} grade${grades === 1 ? '' : 's'} ${worse} than the baseline (${baselineVisits === 1 ? 'first visit' : `worse of the first ${baselineVisits} visits`}) on ${consecutive} consecutive visits` +
      `${minimumGapDays > 0 ? ` at least ${minimumGapDays} days apart` : ''}; a last visit that nobody confirmed ${unconfirmedLast === 'counts' ? 'counts' : 'does not count yet'}; a visit without a grade ` +
      `${missingVisit === 'passed over' ? 'is passed over' : 'breaks the row'}.`
    );
  }

  get table(): Table {
    const count = (outcome: SustainedCourse['outcome']): number =>
      this.courses.filter((course) => course.outcome === outcome).length;
    return new Table(
      `How many limbs became worse and stayed so? ${this.sentence}`,
      [
        { key: 'limbs', label: 'limb-sites', kind: 'count' },
        { key: 'patients', label: 'people', kind: 'count' },
        { key: 'worse', label: 'worse, and still worse', kind: 'count' },
        { key: 'amputation', label: 'amputation first', kind: 'count' },
        { key: 'death', label: 'death first', kind: 'count' },
        { key: 'none', label: 'neither', kind: 'count' },
        { key: 'visits', label: 'visits a limb-site', kind: 'number' },
      ],
      [
        {
          limbs: this.courses.length,
          patients: new Set(this.courses.map((course) => course.patient)).size,
          worse: count('worse'),
          amputation: count('amputation'),
          death: count('death'),
          none: count('none'),
          visits: this.courses.reduce((sum, course) => sum + course.visits, 0) / this.courses.length,
        },
      ],
      this.notes,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

/**
 * Worse, and still worse next time: for each limb-site whether and when its grade lay at least k grades from the baseline on m consecutive visits.
 *
 * A visit is as bad as the better of its readings, so one reader cannot make an event. The event is dated at the first of the confirming visits and lies between it and the visit before; who
 * was compared by it must not be known by its confirmation. A part recorded as absent after it was there is an amputation.
 *
 * Missing values: visits without a grade by the rule; limb-sites without a visit after the baseline are counted as excluded.
 *
 * @throws InputError `bad-option` (all at once), `sign-not-present`, `scale-needed`, `not-graded`.
 */
export function sustainedChange(assessments: Assessments, rule: SustainedChangeRule): SustainedChange {
  checkRule(rule);
  const ofSign = assessments.where({ sign: rule.sign, ...(rule.scale === undefined ? {} : { scale: rule.scale }) });
  if (ofSign.length === 0)
    throw refuse('sign-not-present', ['rule', 'sign'], `There are no assessments of "${rule.sign}" on that scale.`);
  if (ofSign.scales.length > 1)
    throw refuse(
      'scale-needed',
      ['rule', 'scale'],
      `The sign is recorded on ${ofSign.scales.map((one) => one.id).join(', ')}.`,
      'name one scale.',
    );
  const scale = ofSign.scales[0]!;
  if (scale.categories === undefined)
    throw refuse(
      'not-graded',
      ['rule', 'sign'],
      'This sign is measured; hold its change against the smallest detectable change instead.',
    );
  const gaps = gapsOf(ofSign);
  let excluded = 0;
  const courses = limbSeriesOf(ofSign, scale).flatMap((series) => {
    const course = courseOf(series, rule, gaps.get(keyOf(series)) ?? [], scale);
    if (course === undefined) excluded++;
    return course ?? [];
  });
  return new SustainedChange(rule, courses, excluded, notesOf(courses, excluded, rule));
}

interface Visit {
  readonly day: number;
  /** How bad: steps in the worse direction; `NaN` for a visit without a grade. */
  readonly badness: number;
  readonly absent: boolean;
}

function courseOf(
  series: LimbSeries,
  rule: SustainedChangeRule,
  gaps: readonly { day: number; absent: boolean }[],
  scale: Scale,
): SustainedCourse | undefined {
  const visits = visitsOf(series.readings, rule, gaps, scale);
  const graded = visits.filter((visit) => !Number.isNaN(visit.badness));
  const baselineVisits = rule.baselineVisits ?? 1;
  if (graded.length <= baselineVisits && !visits.some((visit) => visit.absent && visit.day > graded[0]!.day))
    return undefined;
  const start = graded[Math.min(baselineVisits, graded.length) - 1]!.day;
  const baseline = Math.max(...graded.slice(0, baselineVisits).map((visit) => visit.badness));
  const death = ownValue(rule.deaths, series.patient) ?? Number.POSITIVE_INFINITY;
  const after = visits.filter((visit) => visit.day > start && visit.day <= death);
  let row: Visit[] = [];
  let lastWithout = start;
  const shared = { patient: series.patient, limb: series.limb, site: series.site, visits: graded.length };
  const end = (
    time: number,
    outcome: SustainedCourse['outcome'],
    between?: SustainedCourse['between'],
  ): SustainedCourse => ({ ...shared, time: time - start, outcome, between });
  const event = (first: Visit): SustainedCourse =>
    end(first.day, 'worse', { left: lastWithout - start, right: first.day - start });
  for (const visit of after) {
    if (visit.absent)
      return row.length > 0 && rule.unconfirmedLast === 'counts' ? event(row[0]!) : end(visit.day, 'amputation');
    if (Number.isNaN(visit.badness)) {
      if (rule.missingVisit === 'breaks the row') row = [];
      continue;
    }
    const isWorse = visit.badness - baseline >= rule.grades;
    if (!isWorse) {
      row = [];
      lastWithout = visit.day;
      continue;
    }
    if (row.length > 0 && visit.day - row.at(-1)!.day < (rule.minimumGapDays ?? 0)) continue;
    row.push(visit);
    if (row.length === rule.consecutive) return event(row[0]!);
  }
  if (row.length > 0 && rule.unconfirmedLast === 'counts') return event(row[0]!);
  if (Number.isFinite(death)) return end(death, 'death');
  // Until confirmed, the limb is known to be free of the event only up to the visit before the worse ones.
  return end(row.length > 0 ? lastWithout : graded.at(-1)!.day, 'none');
}

function visitsOf(
  readings: readonly SeriesReading[],
  rule: SustainedChangeRule,
  gaps: readonly { day: number; absent: boolean }[],
  scale: Scale,
): Visit[] {
  const top = scale.categories!.length - 1;
  const byDay = new Map<number, number>();
  for (const { day, step } of readings) {
    const badness = rule.worse === 'higher' ? step : top - step;
    byDay.set(day, Math.min(byDay.get(day) ?? Number.POSITIVE_INFINITY, badness));
  }
  const visits: Visit[] = [...byDay].map(([day, badness]) => ({ day, badness, absent: false }));
  for (const { day, absent } of gaps) if (!byDay.has(day)) visits.push({ day, badness: Number.NaN, absent });
  return visits.sort((a, b) => a.day - b.day);
}

/** Days on which a limb-site was not graded, and whether its part was absent. */
function gapsOf(assessments: Assessments): Map<string, { day: number; absent: boolean }[]> {
  const gaps = new Map<string, { day: number; absent: boolean }[]>();
  for (let row = 0; row < assessments.length; row++) {
    if (assessments.category[row]! >= 0 || assessments.reference[row] === 1) continue;
    const key = ['patient', 'limb', 'site']
      .map((name) => assessments.wordAt(name as 'patient', row) ?? '')
      .join('\u0000');
    const own = gaps.get(key) ?? [];
    own.push({ day: assessments.day[row]!, absent: assessments.wordAt('missing', row) === 'part-absent' });
    gaps.set(key, own);
  }
  return gaps;
}

function keyOf(series: LimbSeries): string {
  return [series.patient, series.limb, series.site].join('\u0000');
}

function checkRule(rule: SustainedChangeRule): void {
  const problems: Problem[] = [];
  for (const [name, value, least] of [
    ['grades', rule.grades, 1],
    ['consecutive', rule.consecutive, 1],
    ['baselineVisits', rule.baselineVisits ?? 1, 1],
    ['minimumGapDays', rule.minimumGapDays ?? 0, 0],
  ] as const)
    if (!Number.isInteger(value) || value < least)
      problems.push({
        code: 'bad-option',
        path: ['rule', name],
        message: `${name} is ${value}.`,
        expected: `a whole number of ${least} or more`,
      });
  if (rule.worse !== 'higher' && rule.worse !== 'lower')
    problems.push({
      code: 'bad-option',
      path: ['rule', 'worse'],
      message: 'It is not said which way is worse.',
      expected: "'higher' (edema) or 'lower' (pulse)",
    });
  if (problems.length > 0) throw new InputError(problems);
}

function notesOf(courses: readonly SustainedCourse[], excluded: number, rule: SustainedChangeRule): Note[] {
  return [
    information(
      'dated-at-first',
      'An event is dated at the first of its confirming visits, which only later visits show; never sort people by it and then follow them from before.',
    ),
    ...((rule.baselineVisits ?? 1) === 1
      ? [
          caution(
            'one-baseline',
            'The baseline is one reading, shared by all later comparisons: one read too well makes every later visit look worse. Two baseline visits are safer.',
          ),
        ]
      : []),
    ...(excluded > 0
      ? [information('no-follow-up', `${excluded} limb-sites have no visit after the baseline and are left out.`)]
      : []),
    ...(courses.length === 0 ? [caution('nothing-followed', 'No limb-site was followed.')] : []),
  ];
}

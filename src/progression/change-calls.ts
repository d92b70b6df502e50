import type { Assessments } from '../assessments/assessments.js';
import { shareAtLeast } from '../measurement-error/grade-shifts.js';
import type { GradeError, LengthError, MeasurementError } from '../measurement-error/measurement-error-of.js';
import type { Audience, MadeFor } from '../shared/audience.js';
import { caution, information, type Note } from '../shared/note.js';
import { Table } from '../shared/table.js';
import type { Scale } from '../signs/sign.js';
import { siteOf } from '../signs/site.js';
import {
  type ChangeProbability,
  type ChangeProbabilityOptions,
  changeProbabilitiesOf,
  type SerialFit,
} from './change-probability.js';
import { type LimbSeries, limbSeriesOf, type SeriesReading } from './limb-series.js';
import { onScaleOfError } from './on-scale-of-error.js';

/** What a difference from the baseline says once the error of measurement is known. */
export type ChangeCall = 'same reading' | 'within error' | 'beyond error, higher' | 'beyond error, lower';

export interface LimbChange {
  readonly series: LimbSeries;
  /** Every reading after the baseline day, with its difference from the baseline and the call. */
  readonly later: readonly {
    readonly reading: SeriesReading;
    /** The baseline reading it is compared with: the same assessor's, where there is one. */
    readonly baseline: SeriesReading;
    /** Grades (steps of the scale) or the sign's unit. */
    readonly difference: number;
    readonly sameAssessor: boolean;
    /** Smallest difference that is beyond the error here. */
    readonly threshold: number;
    readonly call: ChangeCall;
  }[];
  /** The call of the last visit. */
  readonly call: ChangeCall;
  /** Chances that the true grade rose, fell, stayed from the first to the last visit; absent where the study cannot give them. */
  readonly chance: ChangeProbability | undefined;
}

/** The calls of all limb-sites, with what examiners alone would be expected to give. */
export class ChangeCalls implements MadeFor {
  readonly kind = 'change-calls';
  readonly audience: Audience;

  constructor(
    readonly signLabel: string,
    readonly scale: Scale,
    readonly limbs: readonly LimbChange[],
    /** Limb-sites whose last visit would be called beyond the error though nothing changed, by the error study alone. */
    readonly expectedFromErrorAlone: number,
    readonly withoutSecondVisit: number,
    /** The models of change behind the chances; absent for lengths and where nothing could be fitted. */
    readonly fit: SerialFit | undefined,
    readonly notes: readonly Note[],
    madeFor: MadeFor = {},
  ) {
    this.audience = madeFor.audience ?? 'own';
    Object.freeze(this);
  }

  get patients(): number {
    return new Set(this.limbs.map((limb) => limb.series.patient)).size;
  }

  /** Limb-sites by site and call, and all together. */
  get table(): Table {
    const sites = [...new Set(this.limbs.map((limb) => limb.series.site))].sort((a, b) => orderOf(a) - orderOf(b));
    const rowOf = (words: string, limbs: readonly LimbChange[]) => ({
      site: words,
      limbs: limbs.length,
      same: limbs.filter((limb) => limb.call === 'same reading').length,
      within: limbs.filter((limb) => limb.call === 'within error').length,
      higher: limbs.filter((limb) => limb.call === 'beyond error, higher').length,
      lower: limbs.filter((limb) => limb.call === 'beyond error, lower').length,
      rose: likely(limbs, 'rose'),
      fell: likely(limbs, 'fell'),
    });
    return new Table(
      `${this.signLabel}: is the last reading of each limb further from the first than the error of measurement?`,
      [
        { key: 'site', label: 'site', kind: 'text' },
        { key: 'limbs', label: 'limbs', kind: 'count' },
        { key: 'same', label: 'same reading', kind: 'count' },
        { key: 'within', label: 'different, within the error', kind: 'count' },
        { key: 'higher', label: 'beyond it, higher', kind: 'count' },
        { key: 'lower', label: 'beyond it, lower', kind: 'count' },
        ...(this.fit === undefined
          ? []
          : [
              { key: 'rose', label: `truly higher, chance ${LIKELY} or more`, kind: 'count' as const },
              { key: 'fell', label: `truly lower, chance ${LIKELY} or more`, kind: 'count' as const },
            ]),
      ],
      [
        ...(sites.length > 1
          ? sites.map((site) =>
              rowOf(
                site === '' ? 'no site' : siteOf(site).label,
                this.limbs.filter((limb) => limb.series.site === site),
              ),
            )
          : []),
        rowOf('all', this.limbs),
      ],
      this.notes,
      this,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

/**
 * For each limb-site: is a later reading further from the baseline than two readings of an unchanged limb are?
 *
 * The baseline is the first day with a reading. Where an assessor of the baseline reads again, the two readings of that assessor are
 * compared, with the error of one assessor (where the study knows it); otherwise readings of different assessors, with the error between
 * assessors. Of several readings at a visit the one nearest to the baseline decides, so a visit lies beyond the error only with all its
 * readings. Lengths: beyond the error when the difference exceeds the smallest detectable change. Grades: when it is at least the
 * smallest shift that at most 1 − confidence level of pairs of an unchanged limb show.
 *
 * Where the study knows how each assessor reads (`error.reading`), each limb-site also has the chance that its true grade rose, fell or stayed, from all readings of its first and
 * last visit and who made them; see `changeProbabilitiesOf`.
 *
 * A call is about the reading, not the patient: the error was measured on other people, and a difference within it may still be real.
 * Missing values: visits without a reading are passed over; limbs with one visit are counted, not called.
 *
 * Notes say when the error may not carry over: `assessors-not-in-study`, `unknown-assessors` (for the chances), `new-grades`, and for grades `other-case-mix`, when the total variation distance ½ Σ |pₖ − qₖ| of the grades at the first visit of each
 * limb-site (p) from the study's (q, over its pairs of readings) is .2 or more, with at least 20 limb-sites and findings.
 *
 * @throws InputError `different-sign` (no assessments of the error's sign), `different-scale` (they are on another scale), `subject-needed` (the error was
 * estimated from readings without a sign), `error-not-known` (a measured sign whose error the study could not find).
 * @example changeCalls(assessments, measurementErrorOf(study.ratings('pulse-grade'))).table
 */
export function changeCalls(
  assessments: Assessments,
  error: MeasurementError,
  options: ChangeProbabilityOptions = {},
): ChangeCalls {
  const { ofSign, onScale } = onScaleOfError(assessments, error);
  const scale = onScale.scales[0]!;
  const all = limbSeriesOf(onScale, scale);
  const { chances, fit, notes } =
    error.kind === 'grades' && error.reading !== undefined
      ? changeProbabilitiesOf(all, error.reading, options)
      : { chances: [], fit: undefined, notes: [] };
  const limbs: LimbChange[] = [];
  let single = 0;
  let expected = 0;
  all.forEach((series, at) => {
    const change = changeOf(series, error);
    if (change === undefined) {
      single++;
      return;
    }
    limbs.push({ ...change, chance: chances[at] });
    expected += falseCallShare(error, change.later.at(-1)!.sameAssessor, change.later.at(-1)!.threshold);
  });
  return new ChangeCalls(error.subject!.signLabel, scale, limbs, expected, single, fit, [
    ...summary(limbs, expected),
    ...notes,
    ...(error.kind === 'grades' ? caseMixNotes(all, error) : []),
    ...assessorNotes(all, error),
    ...(ofSign.length > onScale.length
      ? [
          information(
            'other-scales-left-out',
            `${ofSign.length - onScale.length} readings are on another scale than the error and were left out.`,
          ),
        ]
      : []),
    ...(single > 0 ? [information('single-visit', `${single} limb-sites have a reading on one day only.`)] : []),
    caution(
      'not-for-one-person',
      'These calls are about readings and groups. They are not for the decision about the person in front of you.',
    ),
    ...error.notes.filter((note) => note.severity === 'caution'),
  ]);
}

/** Chance from which a change is counted as likely. Not .9: no study of the usual size supports it. */
const LIKELY = 0.8;

function likely(limbs: readonly LimbChange[], way: 'rose' | 'fell'): number {
  return limbs.filter((limb) => limb.chance !== undefined && limb.chance[way] >= LIKELY).length;
}

function changeOf(series: LimbSeries, error: MeasurementError): Omit<LimbChange, 'chance'> | undefined {
  const firstDay = series.readings[0]!.day;
  const baselines = series.readings.filter((reading) => reading.day === firstDay);
  const days = [...new Set(series.readings.map((reading) => reading.day))].slice(1);
  if (days.length === 0) return undefined;
  const later = days.map((day) => {
    const pairs = series.readings
      .filter((reading) => reading.day === day)
      .flatMap((reading) =>
        baselines.map((baseline) => ({ reading, baseline, sameAssessor: reading.assessor === baseline.assessor })),
      );
    const own = pairs.filter((pair) => pair.sameAssessor);
    // Of several readings at a visit the one nearest to the baseline decides: a visit lies beyond the error only with all of them.
    const compared = (own.length > 0 ? own : pairs).map(({ reading, baseline, sameAssessor }) => {
      const difference = error.kind === 'grades' ? reading.step - baseline.step : reading.value - baseline.value;
      const threshold = thresholdOf(error, sameAssessor);
      return {
        reading,
        baseline,
        difference,
        sameAssessor,
        threshold,
        call: callOf(difference, threshold, error.kind),
      };
    });
    return compared.reduce((nearest, one) => (Math.abs(one.difference) < Math.abs(nearest.difference) ? one : nearest));
  });
  return { series, later, call: later.at(-1)!.call };
}

function callOf(difference: number, threshold: number, kind: MeasurementError['kind']): ChangeCall {
  if (difference === 0) return 'same reading';
  const beyond = kind === 'grades' ? Math.abs(difference) >= threshold : Math.abs(difference) > threshold;
  if (!beyond) return 'within error';
  return difference > 0 ? 'beyond error, higher' : 'beyond error, lower';
}

function thresholdOf(error: MeasurementError, sameAssessor: boolean): number {
  return error.kind === 'grades'
    ? shiftsFor(error, sameAssessor).smallestDetectableShift
    : detectableFor(error, sameAssessor).value;
}

function falseCallShare(error: MeasurementError, sameAssessor: boolean, threshold: number): number {
  if (error.kind === 'lengths') return 1 - error.confidenceLevel;
  return shareAtLeast(shiftsFor(error, sameAssessor), threshold);
}

function shiftsFor(error: GradeError, sameAssessor: boolean): GradeError['differentAssessor'] {
  return (sameAssessor ? error.sameAssessor : undefined) ?? error.differentAssessor;
}

function detectableFor(
  error: LengthError,
  sameAssessor: boolean,
): LengthError['smallestDetectableChange']['differentAssessor'] {
  const { sameAssessor: same, differentAssessor } = error.smallestDetectableChange;
  return (sameAssessor ? same : undefined) ?? differentAssessor;
}

function summary(limbs: readonly LimbChange[], expected: number): Note[] {
  const beyond = limbs.filter((limb) => limb.call.startsWith('beyond')).length;
  const differ = limbs.filter((limb) => limb.call !== 'same reading').length;
  return [
    information(
      'expected-from-error',
      `Of ${limbs.length} limb-sites, ${differ} were read differently at the last visit and ${beyond} of these differ by more than the error; ${Number.isNaN(expected) ? 'how many such calls assessors alone would give is not in this copy of the error' : `about ${Math.round(expected)} such calls would be expected from assessors alone if nothing had changed`}.`,
    ),
  ];
}

/** Total variation distance from which the grades of a file count as another mix than the study's: one reading in five would have to be of another grade (common practice, no source). */
const OTHER_MIX = 0.2;
/** Below this many limb-sites or findings, half of such a distance is chance. */
const LEAST_FOR_MIX = 20;

/** Says so when the first grades of these limbs are another mix than the study's: shares of pairs apart, and with them the smallest shift, belong to a mix. */
function caseMixNotes(all: readonly LimbSeries[], error: GradeError): Note[] {
  const { categories, counts, targets } = error.matrix;
  const study = counts.map((row) => row.reduce((sum, pairs) => sum + pairs, 0));
  const here = categories.map(() => 0);
  for (const { readings } of all) {
    const first = readings.filter(({ day }) => day === readings[0]!.day);
    for (const { step } of first) here[step]! += 1 / first.length;
  }
  const pairs = study.reduce((sum, count) => sum + count, 0);
  if (all.length < LEAST_FOR_MIX || targets < LEAST_FOR_MIX || !(pairs > 0)) return [];
  const differences = categories.map((_, at) => here[at]! / all.length - study[at]! / pairs);
  const distance = differences.reduce((sum, each) => sum + Math.abs(each), 0) / 2;
  if (distance < OTHER_MIX - 1e-9) return [];
  const most = differences.reduce(
    (found, each, at) => (Math.abs(each) > Math.abs(differences[found]!) ? at : found),
    0,
  );
  const percent = (share: number): string => `${Math.round(100 * share)} %`;
  return [
    caution(
      'other-case-mix',
      `These limbs are another mix than those of the agreement study: at their first visit ${percent(here[most]! / all.length)} were read "${categories[most]!.words}", in the study ${percent(study[most]! / pairs)}; ${percent(distance)} of the readings would have to be of another grade for the two to be alike. Assessors agree less on some grades than on others, so the error here may be larger or smaller.`,
    ),
  ];
}

/** Says so when some of these readings are by people whose reading the study did not see. */
function assessorNotes(all: readonly LimbSeries[], error: MeasurementError): Note[] {
  const { assessors } = error;
  if (assessors === undefined) return [];
  const readings = all.flatMap((series) => series.readings);
  const others = readings.filter(({ assessor }) => assessor !== '' && !assessors.includes(assessor));
  if (others.length === 0) return [];
  const people = (list: readonly SeriesReading[]): number => new Set(list.map(({ assessor }) => assessor)).size;
  return [
    caution(
      'assessors-not-in-study',
      `${others.length} of ${readings.length} readings are by assessors who were not in the agreement study (${people(others)} of ${people(readings)} assessors); how they read is not known, so their error may be another.`,
    ),
  ];
}

function orderOf(site: string): number {
  return site === '' ? -1 : siteOf(site).order;
}

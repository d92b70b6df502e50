import { median } from 'simple-statistics';
import type { Assessments } from '../assessments/assessments.js';
import type { LengthError } from '../measurement-error/measurement-error-of.js';
import { normal } from '../shared/distributions.js';
import { caution, information, type Note } from '../shared/note.js';
import { Table } from '../shared/table.js';
import { siteOf } from '../signs/site.js';
import { type LimbSeries, limbSeriesOf } from './limb-series.js';
import { onScaleOfError } from './on-scale-of-error.js';

/** The slope of one limb-site over all its visits, held against the error of measurement. */
export interface LimbSlope {
  readonly series: LimbSeries;
  /** Least-squares slope, in the sign's unit per 30 days. */
  readonly slope: number;
  /** Standard error that the error of measurement alone gives this slope. */
  readonly errorAlone: number;
  /** Smallest slope that is beyond the error at these visits. */
  readonly smallestDetectable: number;
  readonly call: 'within error' | 'beyond error, rising' | 'beyond error, falling';
}

/** The slopes of all limb-sites, with how many the error alone would put beyond itself. */
export class LimbSlopes {
  readonly kind = 'limb-slopes';

  constructor(
    readonly signLabel: string,
    /** Unit of a slope: "cm per 30 days". */
    readonly unit: string,
    readonly limbs: readonly LimbSlope[],
    /** Limb-sites that would be beyond the error though nothing changed. */
    readonly expectedFromErrorAlone: number,
    readonly notes: readonly Note[],
  ) {
    Object.freeze(this);
  }

  /** Limb-sites by site and call, and all together. */
  get table(): Table {
    const sites = [...new Set(this.limbs.map(({ series }) => series.site))].sort((a, b) => orderOf(a) - orderOf(b));
    const rowOf = (words: string, limbs: readonly LimbSlope[]) => {
      return {
        site: words,
        limbs: limbs.length,
        slope: middleOf(limbs.map(({ slope }) => slope)),
        detectable: middleOf(limbs.map(({ smallestDetectable }) => smallestDetectable)),
        within: limbs.filter(({ call }) => call === 'within error').length,
        rising: limbs.filter(({ call }) => call === 'beyond error, rising').length,
        falling: limbs.filter(({ call }) => call === 'beyond error, falling').length,
      };
    };
    return new Table(
      `${this.signLabel}: does it rise or fall over all visits by more than the error of measurement? (slopes in ${this.unit})`,
      [
        { key: 'site', label: 'site', kind: 'text' },
        { key: 'limbs', label: 'limbs', kind: 'count' },
        { key: 'slope', label: 'slope, middle limb', kind: 'number' },
        { key: 'detectable', label: 'smallest detectable, middle limb', kind: 'number' },
        { key: 'within', label: 'within the error', kind: 'count' },
        { key: 'rising', label: 'beyond it, rising', kind: 'count' },
        { key: 'falling', label: 'beyond it, falling', kind: 'count' },
      ],
      [
        ...(sites.length > 1
          ? sites.map((site) =>
              rowOf(
                site === '' ? 'no site' : siteOf(site).label,
                this.limbs.filter(({ series }) => series.site === site),
              ),
            )
          : []),
        rowOf('all', this.limbs),
      ],
      this.notes,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}

const DAYS = 30;

/**
 * For each limb-site of a measured sign: does it rise or fall over all its visits by more than the error of measurement explains?
 *
 * Slope b = Σ(tᵢ − t̄)xᵢ / Σ(tᵢ − t̄)² over all readings, per 30 days. If the limb never changed, b varies by SEM/√Σ(tᵢ − t̄)² alone, SEM the standard error of measurement of the study: that of one
 * assessor where one person made every reading (and the study knows it), else that between assessors. Beyond the error when |b| exceeds z times that, z the normal quantile of
 * the study's confidence level; with one reading on each of two days this is the smallest detectable change. More visits, and visits further apart, detect smaller slopes.
 *
 * About the readings, not the patient: a limb may go up and down and have no slope, and differences from day to day that the study did not see make slopes beyond the error more frequent.
 * Missing values: readings without a number and bounds (`<2`) do not enter; limb-sites read on one day only are counted in a note.
 *
 * @throws InputError `subject-needed`, `different-sign`, `different-scale`, `error-not-known`.
 * @example limbSlopes(assessments, measurementErrorOf(study.ratings('ankle-girth'))).table
 * Source: least squares with a known error variance (Draper NR, Smith H. Applied Regression Analysis. Wiley 1998, from memory); SEM: de Vet HCW and others. J Clin Epidemiol 2006;59:1033–1039,
 * doi:10.1016/j.jclinepi.2005.10.015.
 */
export function limbSlopes(assessments: Assessments, error: LengthError): LimbSlopes {
  const { onScale } = onScaleOfError(assessments, error);
  const { signLabel, unit } = error.subject!;
  const quantile = normal.quantile((1 + error.confidenceLevel) / 2);
  const all = limbSeriesOf(onScale, onScale.scales[0]!);
  const limbs = all.flatMap((series) => slopeOf(series, error, quantile) ?? []);
  const expected = (1 - error.confidenceLevel) * limbs.length;
  const beyond = limbs.filter(({ call }) => call !== 'within error').length;
  return new LimbSlopes(signLabel, `${unit === undefined ? '' : `${unit} `}per ${DAYS} days`, limbs, expected, [
    information(
      'expected-from-error',
      `Of ${limbs.length} limb-sites ${beyond} rise or fall by more than the error; about ${Math.round(expected)} would from assessors alone if nothing had changed.`,
    ),
    ...(all.length > limbs.length
      ? [information('single-visit', `${all.length - limbs.length} limb-sites have a reading on one day only.`)]
      : []),
    caution(
      'not-for-one-person',
      'These slopes are about readings and groups. They are not for the decision about the person in front of you.',
    ),
    ...error.notes.filter((note) => note.severity === 'caution'),
  ]);
}

function slopeOf(series: LimbSeries, error: LengthError, quantile: number): LimbSlope | undefined {
  const { readings } = series;
  const center = readings.reduce((sum, { day }) => sum + day, 0) / readings.length;
  let squares = 0;
  let products = 0;
  for (const { day, value } of readings) {
    squares += ((day - center) / DAYS) ** 2;
    products += ((day - center) / DAYS) * value;
  }
  if (squares === 0) return undefined;
  const alone = new Set(readings.map(({ assessor }) => assessor)).size === 1;
  const { sameAssessor, differentAssessor } = error.standardError;
  const sem = ((alone ? sameAssessor : undefined) ?? differentAssessor).value;
  const slope = products / squares;
  const errorAlone = sem / Math.sqrt(squares);
  const smallestDetectable = quantile * errorAlone;
  return {
    series,
    slope,
    errorAlone,
    smallestDetectable,
    call:
      Math.abs(slope) > smallestDetectable
        ? slope > 0
          ? 'beyond error, rising'
          : 'beyond error, falling'
        : 'within error',
  };
}

function middleOf(values: number[]): number {
  return values.length === 0 ? Number.NaN : median(values);
}

function orderOf(site: string): number {
  return site === '' ? -1 : siteOf(site).order;
}

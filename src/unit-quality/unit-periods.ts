import type { Assessments } from '../assessments/assessments.js';
import { refuse } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import { signOf } from '../signs/codebook.js';
import type { Scale } from '../signs/sign.js';

/** What counts once in a period: a stay, or a person. */
export type Counted = 'stays' | 'patients';

/** A second small table: what the unit had in a period, whether or not it was assessed. */
export interface UnitDenominator {
  readonly period: number;
  /** Stays (or patients) on the unit in the period; where it is not known, those with a row count. */
  readonly present?: number;
  /** The unit, where the table holds several. */
  readonly unit?: string;
}

export interface UnitPeriodOptions {
  readonly sign: string;
  /** Only this unit. Needed when the assessments hold several. */
  readonly unit?: string;
  /** Default `'stays'` where stays are recorded, else `'patients'`. */
  readonly counted?: Counted;
  readonly denominators?: readonly UnitDenominator[];
  /** Words of a period; default "period 1", … */
  readonly periodLabel?: (period: number) => string;
}

/** One period: the worst grade of each stay on the scale in use. */
export interface UnitPeriod {
  readonly period: number;
  readonly label: string;
  readonly scale: Scale;
  /** Stays whose worst grade is each category, in the scale's order. */
  readonly worst: readonly number[];
  readonly assessed: number;
  readonly present: number;
}

export interface UnitPeriods {
  readonly signLabel: string;
  readonly counted: Counted;
  readonly periods: readonly UnitPeriod[];
  readonly notes: readonly Note[];
}

/**
 * The worst grade of each stay (or patient) in each of the unit's periods, either side and all sites together: what every chart
 * of a unit starts from.
 *
 * A stay that was there and has no grade in the period is present and not assessed; it is never counted as normal. Who was there
 * comes from the denominators, else from the rows of the file (a missing reading shows presence). Where two scales meet in one period the scale
 * with more readings stands for it and the other readings are left out, with a note.
 *
 * @throws InputError `sign-not-present`, `not-graded`, `no-periods`, `unit-needed`, `denominator-too-small` (every period at once would be one message each).
 */
export function unitPeriods(assessments: Assessments, options: UnitPeriodOptions): UnitPeriods {
  const ofUnit = assessments.where({
    sign: options.sign,
    ...(options.unit === undefined ? {} : { unit: options.unit }),
  });
  if (ofUnit.length === 0)
    throw refuse(
      'sign-not-present',
      ['options', 'sign'],
      `There are no assessments of "${options.sign}"${options.unit === undefined ? '' : ' on that unit'}.`,
      `the file holds ${assessments.sign.values.join(', ')}.`,
    );
  if (ofUnit.unit.values.length > 1)
    throw refuse(
      'unit-needed',
      ['options', 'unit'],
      'The assessments are of several units; their periods are not one series.',
      'name one in the option unit.',
    );
  if (ofUnit.scales.some((scale) => scale.categories === undefined))
    throw refuse(
      'not-graded',
      ['options', 'sign'],
      'This sign is measured, not graded; a worst grade does not exist for it.',
    );
  const periods = [...new Set(ofUnit.period)].filter((period) => !Number.isNaN(period)).sort((a, b) => a - b);
  if (periods.length === 0)
    throw refuse(
      'no-periods',
      ['assessments'],
      'No period is recorded.',
      "give the unit's numbered periods in the column period.",
    );
  const counted = options.counted ?? (ofUnit.stay.values.length > 0 ? 'stays' : 'patients');
  const people = counted === 'stays' ? ofUnit.stay : ofUnit.patient;
  const own = ofUnit.unit.values[0];
  const presentIn = new Map(
    (options.denominators ?? [])
      .filter(({ unit }) => unit === undefined || own === undefined || unit === own)
      .map(({ period, present }) => [period, present]),
  );
  let otherScale = 0;
  const result = periods.map((period): UnitPeriod => {
    const rows = rowsOf(ofUnit, period);
    const scale = scaleMostUsed(ofUnit, rows);
    const seen = new Set<number>();
    const worst = new Map<number, number>();
    for (const row of rows) {
      const person = people.codes[row]!;
      seen.add(person);
      const category = ofUnit.category[row]!;
      if (category < 0) continue;
      if (ofUnit.wordAt('scale', row) !== scale.id) otherScale++;
      else worst.set(person, Math.max(worst.get(person) ?? 0, category));
    }
    const present = presentIn.get(period) ?? seen.size;
    if (present < seen.size)
      throw refuse(
        'denominator-too-small',
        ['options', 'denominators'],
        `Period ${period} has ${seen.size} ${counted} with a row, but its denominator is ${present}.`,
        'check the small table of denominators.',
      );
    return {
      period,
      label: options.periodLabel?.(period) ?? String(period),
      scale,
      worst: scale.categories!.map((_, at) => [...worst.values()].filter((category) => category === at).length),
      assessed: worst.size,
      present,
    };
  });
  return {
    signLabel: signLabelOf(ofUnit),
    counted,
    periods: result,
    notes:
      otherScale === 0
        ? []
        : [
            information(
              'two-scales-in-a-period',
              `${otherScale} readings on the less used scale of a period were left out.`,
            ),
          ],
  };
}

/** The periods cut where the scale changes. */
export function scaleSegments(periods: readonly UnitPeriod[]): { scale: Scale; periods: UnitPeriod[] }[] {
  const segments: { scale: Scale; periods: UnitPeriod[] }[] = [];
  for (const period of periods) {
    const last = segments.at(-1);
    if (last?.scale.id === period.scale.id) last.periods.push(period);
    else segments.push({ scale: period.scale, periods: [period] });
  }
  return segments;
}

/** How a person with several readings was counted, in words. */
export const WORST_IN_PERIOD = 'worst reading in the period, either leg';

function rowsOf(assessments: Assessments, period: number): number[] {
  const rows: number[] = [];
  for (let row = 0; row < assessments.length; row++)
    if (assessments.period[row] === period && assessments.reference[row] !== 1) rows.push(row);
  return rows;
}

function scaleMostUsed(assessments: Assessments, rows: readonly number[]): Scale {
  const uses = assessments.scales.map(
    (scale) =>
      rows.filter((row) => assessments.category[row]! >= 0 && assessments.wordAt('scale', row) === scale.id).length,
  );
  const most = uses.indexOf(Math.max(...uses));
  return assessments.scales[most]!;
}

function signLabelOf(assessments: Assessments): string {
  return signOf(assessments.sign.values[0]!).label;
}

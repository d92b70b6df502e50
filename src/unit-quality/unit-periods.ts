import type { Assessments } from '../assessments/assessments.js';
import { refuse } from '../shared/input-error.js';
import { information, type Note } from '../shared/note.js';
import type { Scale } from '../signs/sign.js';
import { type Counted, countUnit, type UnitCell, type UnitCountOptions, type UnitCounts } from './unit-counts.js';

/** A second small table: what the unit had in a period, whether or not it was assessed. */
export interface UnitDenominator {
  readonly period: number;
  /** Stays (or patients) on the unit in the period; where it is not known, those with a row count. */
  readonly present?: number;
  /** The unit, where the table holds several. */
  readonly unit?: string;
}

export interface UnitPeriodOptions extends UnitCountOptions {
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
export function unitPeriods(source: Assessments | UnitCounts, options: UnitPeriodOptions): UnitPeriods {
  const counts = 'cells' in source ? source : countUnit(source, options);
  const { counted, cells } = counts;
  const presentIn = new Map(
    (options.denominators ?? [])
      .filter(({ unit }) => unit === undefined || counts.unit === undefined || unit === counts.unit)
      .map(({ period, present }) => [period, present]),
  );
  const cellsIn = new Map([...counts.present.keys()].map((period): [number, UnitCell[]] => [period, []]));
  for (const cell of cells) cellsIn.get(cell.period)!.push(cell);
  let otherScale = 0;
  const periods = [...counts.present].sort(([a], [b]) => a - b);
  const result = periods.map(([period, seen]): UnitPeriod => {
    const own = cellsIn.get(period)!;
    const uses = counts.scales.map((scale) =>
      own.filter((cell) => cell.scale === scale.id).reduce((sum, { readings }) => sum + readings, 0),
    );
    const at = uses.indexOf(Math.max(...uses));
    const scale = counts.scales[at]!;
    otherScale += uses.reduce((sum, readings) => sum + readings, 0) - uses[at]!;
    const present = presentIn.get(period) ?? seen;
    if (present < seen)
      throw refuse(
        'denominator-too-small',
        ['options', 'denominators'],
        `Period ${period} has ${seen} ${counted} with a row, but its denominator is ${present}.`,
        'check the small table of denominators.',
      );
    const worst = scale.categories!.map((_, category) =>
      own
        .filter((cell) => cell.scale === scale.id && cell.worst === category)
        .reduce((sum, { people }) => sum + people, 0),
    );
    return {
      period,
      label: options.periodLabel?.(period) ?? String(period),
      scale,
      worst,
      assessed: worst.reduce((sum, people) => sum + people, 0),
      present,
    };
  });
  return {
    signLabel: counts.signLabel,
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

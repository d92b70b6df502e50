import { wilson } from '../agreement/percent-agreement.js';
import type { Assessments } from '../assessments/assessments.js';
import type { MadeFor } from '../shared/audience.js';
import type { Interval } from '../shared/estimate.js';
import { refuse } from '../shared/input-error.js';
import { caution, information, type Note } from '../shared/note.js';
import { checkIntervalOptions } from '../shared/options.js';
import { type Cell, Table } from '../shared/table.js';
import { scaleSegments, type UnitPeriodOptions, unitPeriods } from './unit-periods.js';

export interface ArrivalAndStayOptions extends Omit<UnitPeriodOptions, 'counted'> {
  /** The lowest grade that counts, as it is written on the scale: "2". */
  readonly atLeast: string;
  /** Days from the first row of a stay on whose readings are those of arrival. Default 1: the first day only. */
  readonly arrivalDays?: number;
  readonly confidenceLevel?: number;
}

/** Stays with the finding, over the stays that could have shown it; `NaN` where hidden. */
export interface CountedShare {
  readonly count: number;
  readonly outOf: number;
  readonly interval: Interval;
}

/** One period: what came in, and what was new. */
export interface PeriodArrivals {
  readonly label: string;
  /** Of the stays that began in the period and were read on arrival: those at the grade. */
  readonly onArrival: CountedShare;
  /** Of the stays known to be below the grade on arrival and not yet at it, read again in the period: those that reached it. */
  readonly newDuringStay: CountedShare;
  /** Stays that began in the period and have no reading on arrival: never new, never normal. */
  readonly unknownOnArrival: number;
}

export interface ArrivalsSegment {
  readonly scaleLabel: string;
  readonly finding: string;
  readonly periods: readonly PeriodArrivals[];
}

/** A finding on arrival against the finding new during stay, period by period. */
export interface ArrivalAndStay extends MadeFor {
  readonly kind: 'arrival-and-stay';
  readonly signLabel: string;
  readonly segments: readonly ArrivalsSegment[];
  readonly table: Table;
  readonly notes: readonly Note[];
}

/**
 * On arrival against new during stay: did people bring it, or did it come on the unit?
 *
 * A stay's arrival is its first row's day and `arrivalDays` − 1 days after it. On arrival: the worst reading of those days, in the period of the first
 * row. New: a limb and site read below the grade on arrival that later reads at the grade, in a stay that was below the grade everywhere on arrival; counted once, in the first
 * period it is seen. A limb not read on arrival can never be new. Readings on another scale than that of the arrival are not compared.
 *
 * Undefined: a period without such stays has a `NaN` interval. Intervals are Wilson's, each stay once. Missing values: a stay without a reading
 * on arrival is unknown on arrival and is counted as that.
 *
 * @throws InputError `stays-needed`, `days-needed`, `bad-option`, `unknown-category`, and what `unitPeriods` throws.
 * @example arrivalAndStay(assessments, { sign: 'pitting-edema', atLeast: '2' }).segments[0].periods[0].onArrival.count
 * Source: the split by arrival is that of pressure-injury surveillance (common practice, no source).
 */
export function arrivalAndStay(assessments: Assessments, options: ArrivalAndStayOptions): ArrivalAndStay {
  const { confidenceLevel } = checkIntervalOptions(
    options.confidenceLevel === undefined ? {} : { confidenceLevel: options.confidenceLevel },
  );
  const arrivalDays = options.arrivalDays ?? 1;
  if (!Number.isInteger(arrivalDays) || arrivalDays < 1)
    throw refuse(
      'bad-option',
      ['options', 'arrivalDays'],
      `arrivalDays is ${arrivalDays}.`,
      'give a whole number of days from 1.',
    );
  const ofUnit = assessments.where({
    sign: options.sign,
    ...(options.unit === undefined ? {} : { unit: options.unit }),
  });
  const unit = unitPeriods(assessments, options);
  if (ofUnit.stay.values.length === 0)
    throw refuse(
      'stays-needed',
      ['assessments'],
      'No stay is recorded, so what was there on arrival is not known.',
      'give the column stay.',
    );
  if (ofUnit.day.some((day) => Number.isNaN(day)))
    throw refuse(
      'days-needed',
      ['assessments'],
      'Some readings have no day, so what came first in their stay is not known.',
      'give the column day in every row.',
    );
  const stays = staysOf(ofUnit);
  const cells = new Map<number, { arrived: number; on: number; unknown: number; atRisk: number; fresh: number }>(
    unit.periods.map(({ period }) => [period, { arrived: 0, on: 0, unknown: 0, atRisk: 0, fresh: 0 }]),
  );
  const scaleOf = new Map(unit.periods.map(({ period, scale }) => [period, scale]));
  const lowest = (scaleId: string): number => {
    const scale = ofUnit.scales.find(({ id }) => id === scaleId)!;
    const at = scale.categories!.findIndex(({ value }) => value === options.atLeast);
    if (at < 0)
      throw refuse(
        'unknown-category',
        ['options', 'atLeast'],
        `The scale ${scale.id} has no grade "${options.atLeast}".`,
        `choose one of ${scale.categories!.map(({ value }) => value).join(', ')}.`,
      );
    return at;
  };
  let otherScale = 0;
  for (const rows of stays) {
    const begun = Math.min(...rows.map(({ day }) => day));
    const first = rows.find(({ day }) => day === begun)!;
    const onArrival = rows.filter(({ day, category }) => category >= 0 && day < begun + arrivalDays);
    const arrival = cells.get(first.period)!;
    if (onArrival.length === 0) {
      arrival.unknown++;
      continue;
    }
    const scale = onArrival[0]!.scale;
    if (scale !== scaleOf.get(first.period)!.id) {
      otherScale++;
      continue;
    }
    const from = lowest(scale);
    arrival.arrived++;
    if (onArrival.some((row) => row.scale === scale && row.category >= from)) {
      arrival.on++;
      continue;
    }
    const clear = new Set(onArrival.filter((row) => row.scale === scale).map(({ place }) => place));
    const later = rows
      .filter(
        (row) => row.day >= begun + arrivalDays && row.category >= 0 && row.scale === scale && clear.has(row.place),
      )
      .sort((a, b) => a.period - b.period || a.day - b.day);
    for (const period of [...new Set(later.map((row) => row.period))]) {
      const cell = cells.get(period)!;
      cell.atRisk++;
      if (!later.some((row) => row.period === period && row.category >= from)) continue;
      cell.fresh++;
      break;
    }
  }
  const segments = scaleSegments(unit.periods).map(({ scale, periods }) => ({
    scaleLabel: scale.label,
    finding: `grade ${options.atLeast} or more`,
    periods: periods.map(({ period, label }) => {
      const cell = cells.get(period)!;
      return {
        label,
        onArrival: countedShare(cell.on, cell.arrived, confidenceLevel),
        newDuringStay: countedShare(cell.fresh, cell.atRisk, confidenceLevel),
        unknownOnArrival: cell.unknown,
      };
    }),
  }));
  const unknown = [...cells.values()].reduce((sum, cell) => sum + cell.unknown, 0);
  const notes = [
    ...unit.notes,
    information(
      'arrival-is-first-row',
      `Arrival is the day of a stay’s first row${arrivalDays === 1 ? '' : ` and the ${arrivalDays - 1} after it`}; where the first rows are lacking, a later day stands for it.`,
    ),
    ...(unknown > 0
      ? [
          caution(
            'unknown-on-arrival',
            `${unknown} of ${stays.length} stays have no reading on arrival; nothing in them is counted as new.`,
          ),
        ]
      : []),
    ...(otherScale > 0
      ? [
          information(
            'other-scale',
            `${otherScale} stays were read on arrival on the less used scale of their period and are left out.`,
          ),
        ]
      : []),
  ];
  return arrivalResultOf({ signLabel: unit.signLabel, segments }, notes);
}

/** A share of stays with Wilson's interval, each stay once. */
export function countedShare(count: number, outOf: number, confidenceLevel: number): CountedShare {
  return {
    count,
    outOf,
    interval: {
      ...(outOf > 0 ? wilson(count, outOf, confidenceLevel) : { lower: Number.NaN, upper: Number.NaN }),
      level: confidenceLevel,
      method: 'Wilson, each stay once',
    },
  };
}

/** The two series with their table and notes. */
export function arrivalResultOf(
  result: Pick<ArrivalAndStay, 'signLabel' | 'segments'> & MadeFor,
  notes: readonly Note[],
): ArrivalAndStay {
  return { ...result, kind: 'arrival-and-stay', table: tableOf(result, notes), notes };
}

interface StayRow {
  readonly day: number;
  readonly period: number;
  readonly place: string;
  readonly scale: string;
  readonly category: number;
}

function staysOf(ofUnit: Assessments): StayRow[][] {
  const stays = new Map<number, StayRow[]>();
  for (let row = 0; row < ofUnit.length; row++) {
    const stay = ofUnit.stay.codes[row]!;
    const period = ofUnit.period[row]!;
    if (stay < 0 || Number.isNaN(period) || ofUnit.reference[row] === 1) continue;
    const rows = stays.get(stay) ?? [];
    if (rows.length === 0) stays.set(stay, rows);
    rows.push({
      day: ofUnit.day[row]!,
      period,
      place: `${ofUnit.limb.codes[row]}/${ofUnit.site.codes[row]}`,
      scale: ofUnit.wordAt('scale', row) ?? '',
      category: ofUnit.category[row]!,
    });
  }
  return [...stays.values()];
}

function tableOf(result: Pick<ArrivalAndStay, 'signLabel' | 'segments'> & MadeFor, notes: readonly Note[]): Table {
  const { signLabel, segments } = result;
  const shown = (count: number): Cell => (Number.isNaN(count) ? 'hidden' : count);
  const shareOf = ({ count, outOf }: CountedShare): Cell => (Number.isNaN(count) ? 'hidden' : count / outOf);
  return new Table(
    `${signLabel}: how many stays had it on arrival, and in how many was it new during the stay?`,
    [
      { key: 'period', label: 'period', kind: 'text' },
      { key: 'on', label: 'on arrival', kind: 'count' },
      { key: 'arrived', label: 'of those read on arrival', kind: 'count' },
      { key: 'onShare', label: 'share', kind: 'percent' },
      { key: 'fresh', label: 'new during stay', kind: 'count' },
      { key: 'atRisk', label: 'of those free on arrival and read again', kind: 'count' },
      { key: 'freshShare', label: 'share', kind: 'percent' },
      { key: 'unknown', label: 'unknown on arrival', kind: 'count' },
    ],
    segments.flatMap(({ periods }) =>
      periods.map(({ label, onArrival, newDuringStay, unknownOnArrival }) => ({
        period: label,
        on: shown(onArrival.count),
        arrived: shown(onArrival.outOf),
        onShare: shareOf(onArrival),
        fresh: shown(newDuringStay.count),
        atRisk: shown(newDuringStay.outOf),
        freshShare: shareOf(newDuringStay),
        unknown: shown(unknownOnArrival),
      })),
    ),
    notes,
    result,
  );
}

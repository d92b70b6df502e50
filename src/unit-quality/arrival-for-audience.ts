import { AUDIENCES, type Audience } from '../shared/audience.js';
import { checkChoice } from '../shared/options.js';
import {
  type ArrivalAndStay,
  type ArrivalsSegment,
  arrivalResultOf,
  type CountedShare,
  countedShare,
  type PeriodArrivals,
} from './arrival-and-stay.js';
import { isFew, joinedLabel, joinPeriods } from './join-periods.js';
import { suppressionNotes } from './share-for-audience.js';

/**
 * Arrival and stay with what could point at a person joined or hidden, by who will see it, as `shareForAudience` does it: inside the hospital 1 to 4 stays read, outside 1 to 4 stays
 * with the finding, without it, or unknown on arrival.
 *
 * @throws InputError `unknown-choice`.
 */
export function arrivalForAudience(result: ArrivalAndStay, audience: Audience): ArrivalAndStay {
  const chosen = checkChoice('audience', audience, AUDIENCES);
  if (chosen === 'own') return result;
  const isSmallShare = ({ count, outOf }: CountedShare): boolean =>
    Number.isNaN(count) || (chosen === 'outside' ? isFew(count) || isFew(outOf - count) : isFew(outOf));
  const isSmall = ({ onArrival, newDuringStay, unknownOnArrival }: PeriodArrivals): boolean =>
    isSmallShare(onArrival) || isSmallShare(newDuringStay) || (chosen === 'outside' && isFew(unknownOnArrival));
  const segments = result.segments.map((segment): ArrivalsSegment => {
    const sumOf = (from: number, to: number): PeriodArrivals => joined(segment.periods.slice(from, to));
    return {
      ...segment,
      periods: joinPeriods(segment.periods.length, (from, to) => isSmall(sumOf(from, to))).map(
        ({ from, to, hidden }) => (hidden ? hiddenPeriod(sumOf(from, to)) : sumOf(from, to)),
      ),
    };
  });
  const counted = (all: readonly ArrivalsSegment[]) =>
    all.map(({ periods }) => ({
      periods: periods.map(({ label, onArrival }) => ({ label, count: Number.isNaN(onArrival.count) ? null : 0 })),
    }));
  return arrivalResultOf(
    { signLabel: result.signLabel, segments, audience: chosen },
    suppressionNotes(counted(result.segments), counted(segments)),
  );
}

function joined(periods: readonly PeriodArrivals[]): PeriodArrivals {
  const sum = (of: (period: PeriodArrivals) => number): number =>
    periods.reduce((total, period) => total + of(period), 0);
  const { level } = periods[0]!.onArrival.interval;
  return {
    label: joinedLabel(periods.map(({ label }) => label)),
    onArrival: countedShare(
      sum(({ onArrival }) => onArrival.count),
      sum(({ onArrival }) => onArrival.outOf),
      level,
    ),
    newDuringStay: countedShare(
      sum(({ newDuringStay }) => newDuringStay.count),
      sum(({ newDuringStay }) => newDuringStay.outOf),
      level,
    ),
    unknownOnArrival: sum(({ unknownOnArrival }) => unknownOnArrival),
  };
}

function hiddenPeriod({ label, onArrival }: PeriodArrivals): PeriodArrivals {
  const hidden = countedShare(Number.NaN, Number.NaN, onArrival.interval.level);
  return { label, onArrival: hidden, newDuringStay: hidden, unknownOnArrival: Number.NaN };
}
